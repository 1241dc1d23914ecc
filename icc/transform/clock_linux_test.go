package transform_test

import (
	"syscall"
	"time"
	"unsafe"
)

// clock tells the time that this thread spent on a processor, which a busy machine
// does not change. What it counts from means nothing. getrusage, for which no
// unsafe were needed, counts in ticks of 4 ms.
func clock() time.Duration {
	const thread = 3 // CLOCK_THREAD_CPUTIME_ID of clock_gettime(2)
	var now syscall.Timespec
	if _, _, e := syscall.Syscall(syscall.SYS_CLOCK_GETTIME, thread, uintptr(unsafe.Pointer(&now)), 0); e != 0 {
		panic(e)
	}
	return time.Duration(now.Nano())
}
