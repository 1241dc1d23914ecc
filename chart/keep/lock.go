package keep

import (
	"context"
	"errors"
	"fmt"
	"os"
	"sync"
	"time"
)

// ErrLocked is wrapped by the error of [Lock] where somebody holds the lock.
var ErrLocked = errors.New("another run holds the lock")

// RunLock is a lock that is held. It is safe for concurrent use.
type RunLock struct {
	mu   sync.Mutex
	file *os.File
}

// Lock takes the lock that the file at path stands for, making the file where
// there is none; its contents are neither read nor changed. The error wraps
// [ErrLocked] where another process holds the lock, or this one through another
// RunLock.
//
// The lock is the operating system's and ends with [RunLock.Release] or with
// the process, however that ends; a file left behind by a dead process is no
// lock. The file stays: removing it would open a gap for two holders. The lock
// binds only those who ask for it, so that path may also be a file that grows
// by [AppendLine]; a file that is replaced cannot be one, for its successor is
// another file.
//
// On systems without such locks, js/wasm among them, Lock succeeds always and
// keeps nobody out: there, one program at a time is the user's promise.
func Lock(path string) (*RunLock, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, fmt.Errorf("keep: cannot lock %s: %w", path, err)
	}
	held, err := tryLock(f)
	if err == nil && !held {
		err = fmt.Errorf("%w; wait until it has ended, or end it", ErrLocked)
	}
	if err != nil {
		f.Close()
		return nil, fmt.Errorf("keep: cannot lock %s: %w", path, err)
	}
	return &RunLock{file: f}, nil
}

// LockWait is [Lock], but waits until the lock is free or ctx ends; the error
// then wraps the context's.
func LockWait(ctx context.Context, path string) (*RunLock, error) {
	for {
		l, err := Lock(path)
		if !errors.Is(err, ErrLocked) {
			return l, err
		}
		// A short critical section, such as one more line of a history, takes
		// a few milliseconds.
		timer := time.NewTimer(5 * time.Millisecond)
		select {
		case <-ctx.Done():
			timer.Stop()
			return nil, fmt.Errorf("keep: waiting for the lock %s: %w", path, ctx.Err())
		case <-timer.C:
		}
	}
}

// Release gives the lock back. Releasing again does nothing.
func (l *RunLock) Release() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.file == nil {
		return nil
	}
	f := l.file
	l.file = nil
	return errors.Join(unlock(f), f.Close())
}
