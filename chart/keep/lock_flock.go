//go:build darwin || dragonfly || freebsd || linux || netbsd || openbsd

package keep

import (
	"errors"
	"os"
	"syscall"
)

// tryLock takes the lock of f; held is false where somebody else has it. The
// lock belongs to this opening of the file, and Go lets no child process
// inherit that.
func tryLock(f *os.File) (held bool, err error) {
	for {
		err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
		switch {
		case err == nil:
			return true, nil
		case errors.Is(err, syscall.EWOULDBLOCK):
			return false, nil
		case !errors.Is(err, syscall.EINTR):
			return false, err
		}
	}
}

func unlock(f *os.File) error { return syscall.Flock(int(f.Fd()), syscall.LOCK_UN) }
