package simulate

import (
	"fmt"
	"math"
	"time"
)

// Settling is how slowly pixels follow their drive: at the time t after a patch
// was shown, each source of light still has the share
//
//	exp(−t/Rise) or, where it falls, exp(−t/Fall)
//
// of the difference to what it gave under the patch before, which counts as
// settled; before the first there was darkness. The zero value follows at once.
type Settling struct {
	Rise, Fall time.Duration
}

// towards returns what a source gives on its way from one amount to another.
func (s *Settling) towards(from, to float64, since time.Duration) float64 {
	slow := s.Rise
	if to < from {
		slow = s.Fall
	}
	if slow == 0 {
		return to
	}
	return to + (from-to)*math.Exp(-since.Seconds()/slow.Seconds())
}

func (s *Settling) check() error {
	if s.Rise < 0 || s.Fall < 0 || s.Rise > time.Hour || s.Fall > time.Hour {
		return fmt.Errorf("simulate: pixels rise within %v and fall within %v; give 0 to an hour", s.Rise, s.Fall)
	}
	return nil
}
