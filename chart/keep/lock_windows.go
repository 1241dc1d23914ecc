package keep

import (
	"errors"
	"os"
	"syscall"
	"unsafe"
)

// Flags and errors of LockFileEx (Microsoft, Win32 API, fileapi.h).
const (
	lockFailImmediately = 0x1
	lockExclusive       = 0x2
	errorLockViolation  = syscall.Errno(33)
	errorNotLocked      = syscall.Errno(158)
)

// region is the byte that is locked, far behind any contents, because Windows
// keeps others from reading and writing a locked region.
func region() *syscall.Overlapped { return &syscall.Overlapped{OffsetHigh: 0x40000000} }

// tryLock takes the lock of f; held is false where somebody else has it.
func tryLock(f *os.File) (held bool, err error) {
	call := syscall.NewLazyDLL("kernel32.dll").NewProc("LockFileEx")
	ok, _, err := call.Call(f.Fd(), lockExclusive|lockFailImmediately, 0, 1, 0, uintptr(unsafe.Pointer(region())))
	switch {
	case ok != 0:
		return true, nil
	case errors.Is(err, errorLockViolation), errors.Is(err, syscall.ERROR_IO_PENDING):
		return false, nil
	}
	return false, err
}

func unlock(f *os.File) error {
	call := syscall.NewLazyDLL("kernel32.dll").NewProc("UnlockFileEx")
	ok, _, err := call.Call(f.Fd(), 0, 1, 0, uintptr(unsafe.Pointer(region())))
	if ok != 0 || errors.Is(err, errorNotLocked) {
		return nil
	}
	return err
}
