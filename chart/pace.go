package chart

import (
	"math"
	"time"

	"example.org/primaries/colorimetry"
)

// Pace is how long a patch takes to measure: the display settles, then the
// instrument integrates, and since it waits for a fixed amount of light, the
// longer the darker the patch, up to a limit. The zero value is a display of
// 100 cd/m² before a filter colorimeter: typical figures, common practice, no
// source.
type Pace struct {
	// SettleS is the time in seconds from a patch's appearance to the start of its
	// reading, the instrument's delays included. 0 means 0.4; below 0 none.
	SettleS float64
	// IntegrateS is the time in seconds of a reading of SlowBelowCdM2 and more,
	// averages included. 0 means 1; below 0 none.
	IntegrateS float64
	// SlowBelowCdM2 is the luminance in cd/m² below which a reading takes longer:
	// IntegrateS·SlowBelowCdM2/luminance. 0 means 2; below 0 no patch does.
	SlowBelowCdM2 float64
	// LongestS is the longest time in seconds of a reading. 0 means 10; it is no
	// less than IntegrateS.
	LongestS float64
	// WhiteCdM2 and BlackCdM2 are the display's luminances in cd/m² for signals 1
	// and 0. A WhiteCdM2 of 0 means 100.
	WhiteCdM2, BlackCdM2 float64
}

// withDefaults returns p with every default filled in.
func (p Pace) withDefaults() Pace {
	fill := func(v *float64, zero float64) {
		if *v == 0 {
			*v = zero
		}
		*v = max(*v, 0)
	}
	fill(&p.SettleS, 0.4)
	fill(&p.IntegrateS, 1)
	fill(&p.SlowBelowCdM2, 2)
	fill(&p.LongestS, 10)
	fill(&p.WhiteCdM2, 100)
	p.LongestS = max(p.LongestS, p.IntegrateS)
	return p
}

// Seconds returns the time in seconds that a patch of signal s takes. Its
// luminance is what the display of [Nominal] makes of it, between BlackCdM2 and
// WhiteCdM2.
func (p Pace) Seconds(s colorimetry.RGB) float64 {
	p = p.withDefaults()
	return p.seconds(newNominal().xyz(s).Y)
}

// seconds is Seconds of a relative luminance, the defaults filled in.
func (p Pace) seconds(y float64) float64 {
	luminance := p.BlackCdM2 + y*(p.WhiteCdM2-p.BlackCdM2)
	reading := p.IntegrateS
	if luminance < p.SlowBelowCdM2 {
		reading = p.LongestS
		if luminance > 0 {
			reading = min(p.IntegrateS*p.SlowBelowCdM2/luminance, p.LongestS)
		}
	}
	return p.SettleS + reading
}

// Duration returns how long set takes to measure, in any order. The repeats of
// white that [Order] adds count where set is what Order returned.
func (p Pace) Duration(set Set) time.Duration {
	p = p.withDefaults()
	display, sum := newNominal(), 0.0
	for _, patch := range set {
		sum += p.seconds(display.xyz(patch.Signal).Y)
	}
	if sum >= math.MaxInt64/float64(time.Second) {
		return math.MaxInt64
	}
	return time.Duration(math.Round(sum * float64(time.Second)))
}

// largestTimed is the number of patches up to which Patches makes the sets that
// it times: a second or two of work.
const largestTimed = 2048

// Patches returns how many patches of [Default] can be measured in the given
// time, put in order by [Order] with its usual repeats of white: the number n
// for which Default(n, o) still fits and Default(n+1, o) no longer does. Where
// not even one fits, it is 0.
//
// Beyond 2,048 patches it goes on in proportion. Where a path of o.Bits has too
// few signals to fill the time, it is the number that there are. The panics are
// those of Default.
func (p Pace) Patches(available time.Duration, o Options) int {
	p = p.withDefaults()
	takes := func(n int) (time.Duration, int) {
		set := Default(n, o)
		return p.Duration(Order(set, OrderOptions{})), len(set)
	}
	// low fits (no patch is no run); double it while that fits, too.
	low, high := 0, 32
	for {
		taken, all := takes(high)
		if taken > available {
			break
		}
		if all < high {
			return all
		}
		if high == largestTimed {
			return int(min(largestTimed*float64(available)/max(float64(taken), 1), 1<<30))
		}
		low, high = high, 2*high
	}
	for high-low > 1 {
		middle := (low + high) / 2
		if taken, _ := takes(middle); taken <= available {
			low = middle
		} else {
			high = middle
		}
	}
	return low
}
