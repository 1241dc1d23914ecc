package plug

import (
	"context"
	"errors"
	"sync"
)

// Programs starts programs, each command once: a screen and an instrument that
// are named by the same command are one process. The zero value is ready. It is
// safe for concurrent use.
type Programs struct {
	mu   sync.Mutex
	list []*Process
}

// Start returns the process that an equal command was started as, with the
// options of that time, or starts one. Such a process is closed by
// [Programs.Close], not by itself.
func (s *Programs) Start(ctx context.Context, command Command, options Options) (*Process, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, p := range s.list {
		if p.command.Equal(command) {
			return p, nil
		}
	}
	p, err := Start(ctx, command, options)
	if err == nil {
		s.list = append(s.list, p)
	}
	return p, err
}

// Close closes all that were started.
func (s *Programs) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	var errs []error
	for _, p := range s.list {
		errs = append(errs, p.Close())
	}
	s.list = nil
	return errors.Join(errs...)
}
