package measure

import (
	"context"
	"math"
	"slices"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

const (
	watchLuminance = 0.05 // of the light, by which it may have changed since the last good white
	watchGain      = 0.05
	coarseMargin   = 0.1 // of a channel's lightness, by which a patch may depart from a guess
	marginGrows    = 1.5 // each time that a guess was wrong
	mostPassing    = 5   // times that trouble may pass by itself before it is told
)

// watch holds readings of a run against an inspection, brought up to the latest
// good white.
type watch struct {
	curves tone.Channels
	o      InspectOptions
	base   []Reading
	judge  *judge                  // of base as it has drifted
	good   map[colorimetry.RGB]int // how many patches were read when a signal was last seen good
	whites []goodWhite
	margin float64
}

// goodWhite is the gains of a white that was well, after count patches.
type goodWhite struct {
	count int
	gains [3]float64
}

func newWatch(curves tone.Channels, i *Inspection) *watch {
	w := &watch{curves: curves, o: i.o, base: i.Readings, good: map[colorimetry.RGB]int{}, margin: coarseMargin}
	w.o.Luminance, w.o.Gain = watchLuminance, watchGain
	w.judge = newJudge(curves, w.base, w.o)
	return w
}

// see takes note of a reading, count patches being read with it, and reports
// whether it is odd.
func (w *watch) see(r Reading, count int) (odd bool) {
	if _, ok := w.judge.known[r.Patch.Signal]; !ok {
		return w.strange(r, w.margin)
	}
	if w.deviates(r, sureTimes+1) {
		return true
	}
	// What is neither odd nor surely well says nothing.
	if !w.deviates(r, sureTimes/2.0) {
		w.fine(r, count)
	}
	return false
}

// fine takes note of a good reading of one of the inspection's patches.
func (w *watch) fine(r Reading, count int) {
	w.good[r.Patch.Signal] = count
	if r.Patch.Signal != whiteSignal {
		return
	}
	white, black := of(w.base, whiteSignal), of(w.base, blackSignal)
	was, is := vector(w.judge.inverse.Apply(white.XYZ.Sub(black.XYZ))), vector(w.judge.inverse.Apply(r.XYZ.Sub(black.XYZ)))
	var g [3]float64
	for i := range g {
		if g[i] = is[i] / was[i]; !(g[i] > 0) {
			return
		}
	}
	w.whites = append(w.whites, goodWhite{count, g})
	w.drift(g)
}

// drift brings what is known up to the gains of a white.
func (w *watch) drift(g [3]float64) {
	drifted := w.judge.lights.Mul(colorimetry.Diagonal(g[0], g[1], g[2])).Mul(w.judge.inverse)
	for _, b := range w.base {
		b.XYZ = drifted.Apply(b.XYZ)
		w.judge.known[b.Patch.Signal] = b
	}
}

// backTo forgets the whites that were read after count patches: they were taken
// for good while something was wrong.
func (w *watch) backTo(count int) {
	for n := len(w.whites); n > 0 && w.whites[n-1].count > count; n-- {
		w.whites = w.whites[:n-1]
	}
	g := [3]float64{1, 1, 1}
	if n := len(w.whites); n > 0 {
		g = w.whites[n-1].gains
	}
	w.drift(g)
}

// deviates reports whether a reading of one of the inspection's patches is not
// as it was: by more than drift may have done, and a number of standard
// deviations.
func (w *watch) deviates(r Reading, times float64) bool {
	old := w.judge.known[r.Patch.Signal]
	inverse := w.judge.inverse
	change := r.XYZ.Sub(old.XYZ)
	// The white that old was brought up by has its noise, too.
	noise := r.Covariance.Add(old.Covariance.Scale(2))
	rest, size := vector(inverse.Apply(change)), vector(inverse.Apply(old.XYZ))
	inChannels := inverse.Mul(noise).Mul(inverse.Transpose())
	off := func(change, size, foot, variance float64) bool {
		allowed := watchLuminance * size
		if r.Patch.Signal == blackSignal {
			allowed = math.Max(allowed, foot)
		}
		return math.Abs(change) > allowed+times*math.Sqrt(math.Max(variance, 0))
	}
	// Luminance is the surest part of a reading.
	if off(change.Y, old.XYZ.Y, clippedFoot*w.judge.known[whiteSignal].XYZ.Y, noise[1][1]) {
		return true
	}
	for i := range rest {
		if off(rest[i], max(size[0], size[1], size[2]), clippedFoot, inChannels[i][i]) {
			return true
		}
	}
	return false
}

// strange reports whether a reading departs from what the inspection lets expect
// of its signal by more than a margin of a channel's lightness.
func (w *watch) strange(r Reading, margin float64) bool {
	s := r.Patch.Signal
	black := w.judge.known[blackSignal].XYZ
	got := vector(w.judge.inverse.Apply(r.XYZ.Sub(black)))
	bend := func(q float64) float64 { return math.Copysign(math.Pow(math.Abs(q), 1/2.2), q) }
	primaries := [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}}
	for i, v := range [3]float64{s.R, s.G, s.B} {
		grey, ok := w.judge.greyKnown(v, i)
		full, okFull := w.judge.greyKnown(1, i)
		if v > 0 && !ok || !okFull {
			return false
		}
		alone := vector(w.judge.inverse.Apply(w.judge.known[primaries[i]].XYZ.Sub(black)))[i] / full
		a, b := bend(grey)/bend(full), bend(grey*alone)/bend(full)
		seen := bend(got[i]) / bend(full)
		if seen < math.Min(a, b)-margin || seen > math.Max(a, b)+margin {
			return true
		}
	}
	return false
}

// examine looks at all patches of the inspection and returns the patch to go on
// with: the next, or where something was wrong and is mended, the first that it
// may have spoiled.
func (c *chartRun) examine(ctx context.Context, odd bool) (next int, err error) {
	next = len(c.taken)
	restart, well, err := c.wait(ctx, next)
	switch {
	case err != nil:
		return next, err
	case !well:
		for at := range c.tries[restart:next] {
			c.tries[restart+at] = nil
		}
		c.taken = c.taken[:restart]
		return restart, nil
	case odd:
		c.watch.margin *= marginGrows
	}
	return next, nil
}

// wait looks until all is well. Where it was not, it returns after how many
// patches, of count, it still was; what is wrong and was not told yet is an
// error, and so is, now and then, what comes and passes again and again.
func (c *chartRun) wait(ctx context.Context, count int) (good int, well bool, err error) {
	w := c.watch
	good, well = count, true
	var first *ConditionError
	for {
		w.judge.before = c.stood()
		look, replayed, err := c.s.look(ctx, w.o.Averages)
		if err != nil {
			return good, well, err
		}
		found := w.judge.judge(look)
		if found != nil || !ordered(look) {
			if well {
				good, well = w.lastGood(look), false
				w.backTo(good)
				if first = found; first == nil {
					first = contradiction(look)
				}
			}
			if look, found, replayed, err = c.s.sure(ctx, w.judge); err != nil {
				return good, well, err
			}
		}
		if found == nil {
			for _, r := range look {
				w.fine(r, good)
			}
			if !well {
				c.passed++
			}
			if !well && c.passed%mostPassing == 0 && !replayed {
				return good, well, first
			}
			return good, well, nil
		}
		if !slices.ContainsFunc(c.mended, func(e *ConditionError) bool { return e.Condition == found.Condition }) {
			c.mended = append(c.mended, found)
		}
		if !replayed {
			return good, well, found
		}
	}
}

// lastGood returns how many patches were read when the patches that now deviate
// were all last seen to be well.
func (w *watch) lastGood(look []Reading) int {
	last := 0
	for _, r := range look {
		if _, ok := w.judge.known[r.Patch.Signal]; ok && w.deviates(r, sureTimes) {
			last = max(last, w.good[r.Patch.Signal])
		}
	}
	return last
}

// stood returns the light at which the screen may stand still: that of the first
// of the latest readings that are all of one light, if it is as its patch should
// be.
func (c *chartRun) stood() (light colorimetry.XYZ) {
	last := c.taken[len(c.taken)-1].XYZ
	first := len(c.taken) - 1
	for ; first > 0; first-- {
		if a := c.taken[first-1].XYZ; math.Abs(a.Y-last.Y) > sameLight*last.Y || a.UV().Distance(last.UV()) > 0.01 {
			break
		}
	}
	r := c.taken[first]
	if _, known := c.watch.judge.known[r.Patch.Signal]; known && c.watch.deviates(r, sureTimes) || !known && c.watch.strange(r, coarseMargin/2) {
		return light
	}
	return r.XYZ
}
