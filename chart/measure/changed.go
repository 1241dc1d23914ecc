package measure

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// change is what became of a state: gains of the channels and light on top.
type change struct {
	luminance float64    // of white, without what lies on top
	gains     [3]float64 // of the channels
	// unequal is the largest ratio of two gains less 1, beyond what noise explains.
	unequal float64
	added   colorimetry.XYZ
	// off is by how much the patch that gains explain worst departs, as a
	// share of its light; tint how differently the gains of greys are coloured.
	off, tint float64
	worst     string // that patch
	// primaries is the same of the primaries alone, worstPrimary that patch;
	// departures is that of each patch.
	primaries    float64
	worstPrimary string
	departures   []departure
	// bent is by how much a patch departs from any multiple of its light, and
	// level the multiple of the primaries that is closest to 1.
	bent, level float64
}

// compare finds the change from what is known to a look.
func (j *judge) compare(look []Reading) (c change, ok bool) {
	w, haveWhite := j.known[whiteSignal]
	k, haveBlack := j.known[blackSignal]
	if !haveWhite || !haveBlack {
		return c, false
	}
	white, black := of(look, whiteSignal).XYZ, of(look, blackSignal).XYZ
	was, is := vector(j.inverse.Apply(w.XYZ.Sub(k.XYZ))), vector(j.inverse.Apply(white.Sub(black)))
	for i := range c.gains {
		c.gains[i] = is[i] / was[i]
	}
	doubt := j.gainNoise(was, of(look, whiteSignal).Covariance.Add(of(look, blackSignal).Covariance).Add(w.Covariance).Add(k.Covariance))
	c.unequal = unequal(c.gains, doubt)
	c.luminance = (white.Y - black.Y) / (w.XYZ.Y - k.XYZ.Y)
	c.level = math.Inf(1)
	g := colorimetry.Diagonal(c.gains[0], c.gains[1], c.gains[2])
	gain := j.lights.Mul(g).Mul(j.inverse)
	c.added = black.Sub(gain.Apply(k.XYZ))
	for _, r := range look {
		old, known := j.known[r.Patch.Signal]
		if s := r.Patch.Signal; !known || s == whiteSignal || s == blackSignal {
			continue
		}
		expected := gain.Apply(old.XYZ.Sub(k.XYZ)).Add(black)
		rest := vector(j.inverse.Apply(r.XYZ.Sub(expected)))
		size := vector(j.inverse.Apply(expected.Sub(black)))
		noise := j.inverse.Mul(r.Covariance.Add(old.Covariance)).Mul(j.inverse.Transpose())
		amounts := vector(j.inverse.Apply(old.XYZ.Sub(k.XYZ)))
		for a := range amounts {
			for b := range amounts { // what is expected has the gains' noise
				noise[a][b] += amounts[a] * amounts[b] * doubt[a][b]
			}
		}
		largest := max(size[0], size[1], size[2], clippedFoot)
		multiple := (rest[0]*size[0] + rest[1]*size[1] + rest[2]*size[2]) / math.Max(size[0]*size[0]+size[1]*size[1]+size[2]*size[2], clippedFoot*clippedFoot)
		this := departure{name: r.Patch.ID, pure: r.Patch.Signal.Min() == 0 && r.Patch.Signal.Max() == 1}
		for i := range rest {
			sure := sureTimes * math.Sqrt(math.Max(noise[i][i], 0))
			off := math.Max(0, math.Abs(rest[i])-sure) / largest
			if off > c.off {
				c.off, c.worst = off, r.Patch.ID
			}
			c.bent = math.Max(c.bent, (math.Abs(rest[i]-multiple*size[i])-sure)/largest)
			if r.Patch.Signal.Min() == 0 && off > c.primaries {
				c.primaries, c.worstPrimary = off, r.Patch.ID
			}
			this.off = math.Max(this.off, off)
		}
		c.departures = append(c.departures, this)
		if r.Patch.Signal.Min() == 0 && math.Abs(multiple) < math.Abs(c.level-1) {
			c.level = 1 + multiple
		}
		if r.Patch.Signal.Min() > 0.2 {
			// The colour of a grey's own gains, whatever their common size.
			var own [3]float64
			for i := range own {
				own[i] = 1 + rest[i]/size[i]
			}
			sure := sureTimes * math.Sqrt(noise[1][1]) / size[1]
			if tint := max(own[0], own[1], own[2])/min(own[0], own[1], own[2]) - 1 - sure; tint > c.tint && !math.IsInf(tint, 0) {
				c.tint = tint
			}
		}
	}
	return c, true
}

// gainNoise returns the covariance of the channels' gains, which were made from
// the light was of each and a difference with a noise. Where two primaries are
// alike it is large: channels are hard to tell apart.
func (j *judge) gainNoise(was [3]float64, noise colorimetry.Matrix) colorimetry.Matrix {
	v := j.inverse.Mul(noise).Mul(j.inverse.Transpose())
	for a := range was {
		for b := range was {
			v[a][b] /= was[a] * was[b]
		}
	}
	return v
}

// leastGain is the gain that a channel without light is taken to have.
const leastGain = 0.01

// unequal returns the largest ratio of two gains less 1, beyond what their noise
// explains.
func unequal(gains [3]float64, noise colorimetry.Matrix) (ratio float64) {
	for a := range gains {
		for b := range a {
			sure := sureTimes * math.Sqrt(math.Max(noise[a][a]+noise[b][b]-2*noise[a][b], 0))
			// A channel that gives nothing is far from the others, not infinitely far.
			ratio = math.Max(ratio, (math.Abs(gains[a]-gains[b])-sure)/math.Max(math.Min(gains[a], gains[b]), leastGain))
		}
	}
	return ratio
}

// changed names a change of state.
func (j *judge) changed(look []Reading) *ConditionError {
	if j.native {
		return nil // another state on purpose: curvesMissing has looked
	}
	c, ok := j.compare(look)
	if !ok {
		return nil
	}
	white, black := of(look, whiteSignal), of(look, blackSignal)
	known := j.known[blackSignal]
	// What is expected of black is as uncertain as the gain, which drift of its
	// own moves by a hundredth.
	gain := math.Hypot(math.Hypot(white.SpreadShare(), j.known[whiteSignal].SpreadShare()), 0.01/sureTimes) * known.XYZ.Y
	least := math.Max(sureTimes*math.Hypot(gain, math.Hypot(deviation(black), deviation(known))), clippedFoot*white.XYZ.Y)
	added := math.Abs(c.added.Y) > least
	lum := math.Abs(c.luminance-1) > j.o.Luminance
	unequal := c.unequal > j.o.Gain
	steady := !lum && !unequal
	if c.off > shapeShare && c.bent < tintShare && math.Abs(c.level-1) > shapeShare && !math.IsInf(c.level, 0) {
		if c.level > farGain || c.level < 1.0/farGain {
			return doubt(fmt.Sprintf("against white the primaries give %.3g times their light, and white reads %.4g cd/m² and read %.4g: one white is off", c.level, white.XYZ.Y, j.known[whiteSignal].XYZ.Y))
		}
		return &ConditionError{Condition: SelfAdjusting,
			Evidence: fmt.Sprintf("patches keep their colour, but not their light against white: the primaries give %.2f of theirs", c.level),
			Remedy:   "switch dynamic contrast and whatever else follows the picture off, then resume"}
	}
	if e := j.beyond(look, c); e != nil {
		return e
	}
	remedy := ", then resume"
	if c.luminance > farGain || c.luminance < 1.0/farGain {
		remedy = "; if that is not it, " + unitRemedy + remedy
	}
	switch {
	case c.off > shapeShare && (steady || c.tint > tintShare):
		return j.curvesUnexpected(c)
	case unequal:
		return &ConditionError{Condition: SelfAdjusting,
			Evidence: fmt.Sprintf("red, green and blue give %.3f, %.3f and %.3f times their light", c.gains[0], c.gains[1], c.gains[2]),
			Remedy:   "switch night modes and whatever else tints the picture off, see that no controls were changed" + remedy}
	case lum && c.luminance < 1 && added && c.added.Y > 0:
		return &ConditionError{Condition: InstrumentSlipped,
			Evidence: fmt.Sprintf("white gives %.1f %% of its light, and %.3g cd/m² have come into the dark", 100*c.luminance, c.added.Y),
			Remedy:   "put the instrument back on the middle of the patch, flat, under its own weight, then resume"}
	case lum:
		return &ConditionError{Condition: SelfAdjusting,
			Evidence: fmt.Sprintf("every patch gives about %.1f %% of its light", 100*c.luminance),
			Remedy:   "switch automatic brightness, power saving and dynamic contrast off; if all are off, see that the instrument is in its place" + remedy}
	case added:
		return &ConditionError{Condition: AmbientChanged,
			Evidence: fmt.Sprintf("black reads %.3g cd/m² and read %.3g, and white is the same", black.XYZ.Y, known.XYZ.Y),
			Remedy:   "bring the room's light back to what it was, or keep it out, then resume"}
	}
	return nil
}

func (j *judge) curvesUnexpected(c change) *ConditionError {
	evidence := fmt.Sprintf("white and the primaries are as they were, but %s is off by %.0f %%, as curves do it", c.worst, 100*c.off)
	if c.primaries > shapeShare {
		evidence = fmt.Sprintf("%s is off by %.0f %% against white: primaries are mixed, as a profile does it", c.worst, 100*c.off)
	}
	return &ConditionError{Condition: CurvesUnexpected, Evidence: evidence,
		Remedy: "take the display's profile and every correction out of force, in the system and in the program that shows the patches, then resume"}
}

// greyLevels are the greys of a look between the ends.
var greyLevels = []float64{nearBlack, 0.25, 0.5, 0.75, nearWhite}

// curvesMissing finds curves that are in force for the session and not on the
// display: greys are then as they were without, which is known or follows from
// what they were with them.
func (j *judge) curvesMissing(look []Reading) *ConditionError {
	if j.curves.Len() == 0 {
		return nil
	}
	with, without, count := 0.0, 0.0, 0.0
	for _, v := range greyLevels[1:] {
		got := vector(j.inverse.Apply(of(look, colorimetry.Gray(v)).XYZ.Sub(of(look, blackSignal).XYZ)))
		for i := range got {
			inForce, lost, ok := j.greyEither(v, i)
			if !ok {
				continue
			}
			with += math.Pow(math.Log(math.Max(got[i], 1e-9)/inForce), 2)
			without += math.Pow(math.Log(math.Max(got[i], 1e-9)/lost), 2)
			count++
		}
	}
	if count < 6 {
		return nil
	}
	with, without = math.Sqrt(with/count), math.Sqrt(without/count)
	if with < shapeShare || without > shapeShare || without > with/2 {
		return nil
	}
	return &ConditionError{Condition: CurvesMissing,
		Evidence: fmt.Sprintf("greys are within %.1f %% of what they are without curves, and off by %.1f %% from what curves make of them", 100*without, 100*with),
		Remedy:   "see that nothing else has taken the curves off, such as the system or a sleeping display, load them again, then resume"}
}

// greyEither returns the amount of channel i that a grey gives above black with
// the curves in force and with them lost.
func (j *judge) greyEither(v float64, i int) (inForce, lost float64, ok bool) {
	through := func(s float64) float64 {
		c := j.curves.Apply(colorimetry.Gray(s))
		return [3]float64{c.R, c.G, c.B}[i]
	}
	if j.native {
		inForce, ok = j.greyKnown(through(v), i)
		if !ok {
			return 0, 0, false
		}
		lost, ok = j.greyKnown(v, i)
		return inForce, lost, ok
	}
	// The signal that the curves would bring to v is where known shows it.
	if v >= through(1) || v <= through(0) {
		return 0, 0, false
	}
	low, high := 0.0, 1.0
	for range 40 {
		if m := (low + high) / 2; through(m) < v {
			low = m
		} else {
			high = m
		}
	}
	if inForce, ok = j.greyKnown(v, i); !ok {
		return 0, 0, false
	}
	lost, ok = j.greyKnown(high, i)
	return inForce, lost, ok
}

// greyKnown returns the amount of channel i that a grey gives above black, from
// known greys: on straight lines between them, on the scale on which a power of
// 2.2 is one.
func (j *judge) greyKnown(v float64, i int) (float64, bool) {
	black, ok := j.known[blackSignal]
	if !ok {
		return 0, false
	}
	bend := func(s float64) (float64, bool) {
		r, ok := j.known[colorimetry.Gray(s)]
		if s == 0 {
			return 0, true
		}
		return math.Pow(math.Max(vector(j.inverse.Apply(r.XYZ.Sub(black.XYZ)))[i], 0), 1/2.2), ok
	}
	levels := append([]float64{0}, greyLevels...)
	levels = append(levels, 1)
	for n := 1; n < len(levels); n++ {
		if v > levels[n] {
			continue
		}
		a, okA := bend(levels[n-1])
		b, okB := bend(levels[n])
		w := (v - levels[n-1]) / (levels[n] - levels[n-1])
		got := math.Pow((1-w)*a+w*b, 2.2)
		return got, okA && okB && got > 0
	}
	return 0, false
}
