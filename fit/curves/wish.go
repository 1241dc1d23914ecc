package curves

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
)

// space counts colours in amounts of the display's own channels: 1 is what a
// channel adds to the black at full signal, by the model of the display as
// found.
type space struct {
	primaries, inverse colorimetry.Matrix
	black              colorimetry.XYZ
}

func newSpace(primaries colorimetry.Matrix, black colorimetry.XYZ) (space, error) {
	inv, err := primaries.Inverse()
	if err != nil {
		return space{}, fmt.Errorf("curves: the display's primaries: %w", err)
	}
	return space{primaries, inv, black}, nil
}

// amounts returns the amounts of a colour.
func (p space) amounts(c colorimetry.XYZ) [3]float64 {
	v := p.inverse.ToLinear(c.Sub(p.black))
	return [3]float64{v.R, v.G, v.B}
}

// xyz returns the colour of amounts.
func (p space) xyz(a [3]float64) colorimetry.XYZ {
	return p.black.Add(p.primaries.FromLinear(colorimetry.RGB{R: a[0], G: a[1], B: a[2]}))
}

// wish is what is wanted of each grey, in amounts.
//
// Above the floor it is the aim. Below it at least one channel would have to
// go below its own black, as where a display leaks blue: that channel stays at
// its black, and the others carry the luminance of the aim, so that the colour
// of the greys goes over to that of the native black while their luminance
// keeps to the tone.
type wish struct {
	aim   aim.Aim
	space space
	// black is the black of the aim: the display's, none where that cannot be
	// told from none.
	black colorimetry.XYZ
	white colorimetry.XYZ
	// soft is half the width, in amounts, of the round corner where a channel
	// leaves its black; 0 for a channel that is never asked to go below it.
	soft [3]float64
	// Floor is the signal at which the last channel has left its round corner,
	// Cause that channel, −1 without a floor.
	Floor float64
	Cause int
}

// corner is how much of the signal's range the round corner above the floor
// takes: one and a half steps of an 8-bit signal.
const corner = 1.5 / 255

// newWish returns the wish of an aim whose white and luminance are filled in.
// blackNoise is the standard uncertainty of the black's amounts: a channel
// that falls short by no more than twice that is not said to have a floor.
func newWish(a aim.Aim, p space, black colorimetry.XYZ, blackNoise [3]float64) wish {
	w := wish{aim: a, space: p, black: black, white: a.White.XYZ(a.Luminance), Cause: -1}
	depth := w.ideal(0)
	for c := range 3 {
		if depth[c] >= 0 {
			continue
		}
		at := w.crossing(c)
		w.soft[c] = math.Min(-depth[c], w.ideal(math.Min(at+corner, 1))[c])
		if -depth[c] <= 2*blackNoise[c] {
			continue
		}
		if f := math.Min(at+corner, 1); f > w.Floor {
			w.Floor, w.Cause = f, c
		}
	}
	return w
}

// ideal returns the amounts of the aim itself, below 0 where a channel's black
// is too bright for it.
func (w wish) ideal(signal float64) [3]float64 {
	return w.space.amounts(w.aim.TargetOf(signal, w.black, w.white))
}

// crossing returns the highest signal at which channel c is asked for nothing.
func (w wish) crossing(c int) float64 {
	const steps = 1024
	hi := steps
	for hi > 0 && w.ideal(float64(hi-1) / steps)[c] >= 0 {
		hi--
	}
	lo, up := float64(max(hi-1, 0))/steps, float64(hi)/steps
	for range 30 {
		if mid := (lo + up) / 2; w.ideal(mid)[c] < 0 {
			lo = mid
		} else {
			up = mid
		}
	}
	return up
}

// at returns the amounts wanted at a grey signal, none below 0. Signal 0 is
// the display's own black unless the aim names another.
func (w wish) at(signal float64) [3]float64 {
	if signal <= 0 && w.aim.BlackCdM2 == 0 {
		return [3]float64{}
	}
	a := w.ideal(signal)
	y := w.space.primaries[1]
	var total, kept float64
	out := a
	for c := range 3 {
		out[c] = rounded(a[c], w.soft[c])
		total += y[c] * a[c]
		kept += y[c] * out[c]
	}
	if out == a || kept <= 0 {
		return out
	}
	k := math.Max(total/kept, 0)
	for c := range 3 {
		out[c] *= k
	}
	return out
}

// colour returns the colour wanted of any signal, in cd/m²: the display's own
// primaries, each channel following its part in the greys.
func (w wish) colour(s colorimetry.RGB) colorimetry.XYZ {
	return w.space.xyz([3]float64{w.at(s.R)[0], w.at(s.G)[1], w.at(s.B)[2]})
}

// rounded is the larger of v and 0 with the corner at 0 rounded off by a
// parabola from −half to half.
func rounded(v, half float64) float64 {
	switch {
	case v >= half:
		return v
	case v <= -half:
		return 0
	}
	return (v + half) * (v + half) / (4 * half)
}
