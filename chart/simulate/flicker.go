package simulate

import (
	"fmt"
	"math"
	"time"
)

// Flicker is light that is switched on and off: within each period it shines
// for the share Duty with 1 + Depth·(1/Duty − 1) of its mean, and for the rest
// with 1 − Depth of it. Periods are counted from the start of the run. An
// instrument whose integration does not span whole periods reads the part of a
// period that is left over. The zero value is steady light.
type Flicker struct {
	Hz    float64 // periods a second, 1 to 100,000
	Depth float64 // above 0 to 1
	Duty  float64 // above 0 to below 1
}

// mean returns the light between two times since the start, as a share of the
// mean over whole periods.
func (f *Flicker) mean(from, to time.Duration) float64 {
	if f.Hz == 0 || to <= from {
		return 1
	}
	a, b := from.Seconds()*f.Hz, to.Seconds()*f.Hz
	return (f.since(b) - f.since(a)) / (b - a)
}

// since returns the integral of the light over the periods 0 to p, in periods.
func (f *Flicker) since(p float64) float64 {
	whole := math.Floor(p)
	on, rest := min(p-whole, f.Duty), max(p-whole-f.Duty, 0)
	return whole + on*(1+f.Depth*(1/f.Duty-1)) + rest*(1-f.Depth)
}

// wholePeriods returns d, made longer so that it spans whole periods.
func (f *Flicker) wholePeriods(d time.Duration) time.Duration {
	if f.Hz == 0 {
		return d
	}
	return time.Duration(math.Ceil(d.Seconds()*f.Hz) / f.Hz * float64(time.Second)).Round(time.Microsecond)
}

func (f *Flicker) check() error {
	if *f == (Flicker{}) {
		return nil
	}
	if !(f.Hz >= 1 && f.Hz <= 1e5) || !(f.Depth > 0 && f.Depth <= 1) || !(f.Duty > 0 && f.Duty < 1) {
		return fmt.Errorf("simulate: the light flickers at %g Hz with depth %g and duty %g; give 1 to 100,000 Hz, above 0 to 1 and above 0 to below 1", f.Hz, f.Depth, f.Duty)
	}
	return nil
}
