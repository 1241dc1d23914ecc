package measure

import (
	"context"
	"fmt"
	"math"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// StageSettling is the stage of the readings of MeasureSettling.
const StageSettling = "settling"

// Settling is how long a display needs to settle, by the step of lightness: in
// ms, for steps of half and of the whole scale, up and down. Steps between are on
// straight lines; no step at all needs nothing but the 350 ms of the flash limit.
// The zero value says nothing.
type Settling struct {
	UpHalfMS   int `json:"up_half_ms"`
	UpFullMS   int `json:"up_full_ms"`
	DownHalfMS int `json:"down_half_ms"`
	DownFullMS int `json:"down_full_ms"`
}

// time returns how long a step of lightness, -1 to 1, needs.
func (m Settling) time(step float64) time.Duration {
	half, full := m.UpHalfMS, m.UpFullMS
	if step < 0 {
		half, full, step = m.DownHalfMS, m.DownFullMS, -step
	}
	var ms float64
	if step < 0.5 {
		ms = 2 * step * float64(half)
	} else {
		ms = float64(half) + (2*step-1)*float64(full-half)
	}
	return max(time.Duration(ms)*time.Millisecond, Dwell)
}

// SettlingOptions say how settling is measured. The zero value is the default.
type SettlingOptions struct {
	// Share is the part of a patch's light by which a reading may still be off,
	// and Black that of white for what is dark; 0 = 0.001 and 0.0001.
	Share, Black float64
	Times        int           // how often each step is made, 1 to 100; 0 = 3
	Longest      time.Duration // after which everything has settled; 0 = 6 s
}

const (
	settlingSteps  = 5   // waits that are tried, each twice the one before
	settlingSure   = 2.5 // standard deviations that a residue must have
	settlingMostMS = 60_000
)

// settlingJumps are the steps that are made: half and whole, up and down, between
// greys of lightness 0, 53 and 100 of a display with a power of 2.2.
var settlingJumps = [4]struct{ from, to float64 }{{0.5, 1}, {0, 1}, {1, 0.5}, {1, 0}}

// MeasureSettling makes steps of lightness, reads after different waits what is
// left of the light before, and returns how long the display needs. What is left
// is taken to die away as an exponential, so that waits follow for residues that
// noise would hide. Hand the result to Session.SetSettling.
//
// It takes about ten minutes with the default options. A residue that is below
// about twice the noise of a reading after 350 ms stays unseen: more Times see
// more. The steps keep the flash
// limit, but they are bright and dark in turn: nobody who may be sensitive to
// that should watch.
func MeasureSettling(ctx context.Context, s *Session, o SettlingOptions) (Settling, error) {
	if o.Share == 0 {
		o.Share = 0.001
	}
	if o.Black == 0 {
		o.Black = 0.0001
	}
	if o.Times == 0 {
		o.Times = 3
	}
	if o.Longest == 0 {
		o.Longest = 6 * time.Second
	}
	if !(o.Share > 0 && o.Black > 0 && o.Share < 1 && o.Black < 1) || o.Times < 1 || o.Times > 100 || o.Longest < 2*Dwell || o.Longest > settlingMostMS*time.Millisecond {
		return Settling{}, fmt.Errorf("measure: settling to %g and %g of the light, %d times, at most %v; shares from 0 to 1, 1 to 100 times and %v to a minute are possible", o.Share, o.Black, o.Times, o.Longest, 2*Dwell)
	}
	var ms [4]int
	white := 0.0
	for _, i := range [4]int{1, 0, 2, 3} { // black to white first: the others are held against white
		jump := settlingJumps[i]
		residues, last, err := residuesOf(ctx, s, o, jump.from, jump.to)
		if err != nil {
			return Settling{}, err
		}
		if jump.to == 1 {
			white = math.Max(white, last)
		}
		ms[i] = waitFor(residues, math.Max(o.Share*last, o.Black*white), o.Longest)
	}
	return Settling{
		UpHalfMS: ms[0], UpFullMS: max(ms[1], ms[0]), DownHalfMS: ms[2], DownFullMS: max(ms[3], ms[2]),
	}, nil
}

// residue is what is left of the light before a step after a wait.
type residue struct {
	wait     float64 // s
	left     float64 // cd/m²
	variance float64
}

// residuesOf makes one step with every wait, and returns the residues and the
// luminance that is reached.
func residuesOf(ctx context.Context, s *Session, o SettlingOptions, from, to float64) (out []residue, last float64, err error) {
	read := func(v float64, wait time.Duration) (Reading, error) {
		return s.Read(ctx, ReadRequest{Stage: StageSettling, Patch: chart.Patch{Signal: colorimetry.Gray(v)}, Averages: 1, Settle: wait})
	}
	var settled, variance, count float64
	for range o.Times {
		wait := o.Longest
		for range settlingSteps {
			if _, err := read(from, o.Longest); err != nil {
				return nil, 0, err
			}
			r, err := read(to, wait)
			if err != nil {
				return nil, 0, err
			}
			if wait == o.Longest {
				settled, variance, count = settled+r.XYZ.Y, variance+r.Covariance[1][1], count+1
			} else {
				out = append(out, residue{wait.Seconds(), r.XYZ.Y, r.Covariance[1][1]})
			}
			wait = max((wait / 2).Truncate(time.Millisecond), Dwell)
		}
	}
	last = settled / count
	for i := range out {
		out[i].left -= last
		out[i].variance += variance / (count * count)
	}
	return out, last, nil
}

// waitFor returns the ms after which an exponential through the residues is down
// to a limit: the one whose decay leaves least of them unexplained.
func waitFor(residues []residue, limit float64, longest time.Duration) int {
	best, wait := math.Inf(1), Dwell.Seconds()
	for decay := 0.02; decay < longest.Seconds(); decay *= 1.1 {
		var top, bottom, rest float64
		for _, r := range residues {
			e := math.Exp(-r.wait/decay) - math.Exp(-longest.Seconds()/decay)
			top += e * r.left / r.variance
			bottom += e * e / r.variance
		}
		size := top / bottom
		for _, r := range residues {
			d := r.left - size*(math.Exp(-r.wait/decay)-math.Exp(-longest.Seconds()/decay))
			rest += d * d / r.variance
		}
		if rest < best {
			best, wait = rest, Dwell.Seconds()
			if size = math.Abs(size); size*math.Sqrt(bottom) > settlingSure && size > limit {
				wait = decay * math.Log(size/limit)
			}
		}
	}
	return int(math.Ceil(1000 * math.Min(math.Max(wait, Dwell.Seconds()), longest.Seconds())))
}

// SetSettling makes the session wait as m says before each reading, in place of
// what Screen says of itself; the zero Settling takes that back. A second more
// after a change of controls or curves, and the flash limit, stay. It is not
// written to the journal, being a function of what is.
func (s *Session) SetSettling(m Settling) { s.settling = m }
