package simulate

import (
	"fmt"
	"math"
	"time"
)

// Drift is how the light of the channels wanders during a run, for instance
// because the panel warms under its picture or wears: after the time t since
// the start channel c gives
//
//	1 + Amount_c·(1 − exp(−t/Time)) + Wave_c·sin(2π·t/Period)
//
// of its light. The white sub-pixel follows the channels' mean. The zero value
// is no drift.
type Drift struct {
	Amount [3]float64    // in the end, as a share; below 0 is a loss
	Time   time.Duration // in which all but 1/e of Amount has happened
	Wave   [3]float64    // amplitude of the slow swing, as a share
	Period time.Duration // of the swing
}

// share returns the share of its light that each channel has after the display
// was watched for d.
func (f *Drift) share(d time.Duration) [3]float64 {
	gone, swing := 0.0, 0.0
	if f.Time > 0 {
		gone = -math.Expm1(-d.Seconds() / f.Time.Seconds())
	}
	if f.Period > 0 {
		swing = math.Sin(2 * math.Pi * d.Seconds() / f.Period.Seconds())
	}
	var s [3]float64
	for c := range s {
		s[c] = 1 + f.Amount[c]*gone + f.Wave[c]*swing
	}
	return s
}

func (f *Drift) check() error {
	for c := range f.Amount {
		if total := math.Abs(f.Amount[c]) + math.Abs(f.Wave[c]); !(total < 1) {
			return fmt.Errorf("simulate: %s drifts by %g and swings by %g; together they must stay below 1", channelNames[c], f.Amount[c], f.Wave[c])
		}
	}
	if f.Time < 0 || f.Period < 0 || f.Amount != ([3]float64{}) && f.Time == 0 || f.Wave != ([3]float64{}) && f.Period == 0 {
		return fmt.Errorf("simulate: the drift takes %v and swings in %v; give times above 0 where there is drift or swing", f.Time, f.Period)
	}
	return nil
}
