package profile

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/internal/level"
	"example.org/primaries/icc"
)

// frame holds the coordinates in which tables are made. In the connection space
// a colour is the display's black and amounts of three columns that add up to
// D50 with it: its light. Each channel's curve is the light of that channel
// along the greys. Where channels do not disturb each other, the light of a
// signal is what the three curves say, and a table between the two is the
// identity, which is exact between its nodes too.
type frame struct {
	model   fit.Model
	adapt   colorimetry.Matrix // from the model's colours to the connection space
	black   colorimetry.XYZ    // in the connection space
	mix     colorimetry.Matrix // the columns
	unmix   colorimetry.Matrix
	gains   colorimetry.RGB // by which the measured white scales the columns
	greys   [3][]float64    // light of each channel at equally spaced greys, rising from 0 to 1
	leaks   [3]float64      // the black as amounts of columns
	entries int             // of the curves that are written
	miss    float64         // largest, in L*, of lines between entries
	places  [3][]uint16     // light of each channel as a place in the table, by signal
}

// greySteps are the steps between greys: a multiple of 8-bit signals' and of
// every number of entries that is tried.
const greySteps = 4080

// newFrame returns the frame of a model whose white was measured.
func newFrame(m fit.Model, white colorimetry.XYZ, entries int) (*frame, error) {
	f := &frame{model: m}
	black, full := m.XYZ(colorimetry.RGB{}), m.XYZ(colorimetry.Gray(1))
	p := colorimetry.Columns(m.XYZ(colorimetry.RGB{R: 1}).Sub(black), m.XYZ(colorimetry.RGB{G: 1}).Sub(black), m.XYZ(colorimetry.RGB{B: 1}).Sub(black))
	// Channels that disturb each other do not add up to the white; their
	// colours scaled so that they do are as good as any.
	inv, err := p.Inverse()
	if err != nil {
		return nil, fmt.Errorf("profile: the model's primaries do not differ: %w", err)
	}
	w := inv.ToLinear(full.Sub(black))
	if !(w.Min() > 0) {
		return nil, fmt.Errorf("profile: the model's white %v is no mixture of its primaries; look for readings of another state", full)
	}
	p = p.Mul(colorimetry.Diagonal(w.R, w.G, w.B))
	if err := f.adaptTo(p, black, white); err != nil {
		return nil, err
	}
	return f, f.readGreys(entries)
}

// adaptTo sets what leads from the model's light to the connection space, by
// way of the measured white: the columns, black included, are scaled to add up
// to it.
func (f *frame) adaptTo(p colorimetry.Matrix, black, white colorimetry.XYZ) error {
	inv, err := p.Inverse()
	if err != nil {
		return fmt.Errorf("profile: the model's primaries do not differ: %w", err)
	}
	k := inv.ToLinear(black)
	full := p.Mul(colorimetry.Diagonal(1+k.R, 1+k.G, 1+k.B))
	back, err := full.Inverse()
	if err != nil {
		return fmt.Errorf("profile: the model's primaries do not differ: %w", err)
	}
	f.gains = back.ToLinear(white)
	if err := checkGains(f.gains); err != nil {
		return err
	}
	chad, err := colorimetry.Bradford(white.Scale(1/white.Y), colorimetry.D50())
	if err != nil {
		return fmt.Errorf("profile: the measured white %v cannot be adapted to D50: %w", white, err)
	}
	f.adapt = chad.Mul(full).Mul(colorimetry.Diagonal(f.gains.R, f.gains.G, f.gains.B)).Mul(back).Scale(1 / white.Y)
	f.black, f.mix = f.adapt.Apply(black), f.adapt.Mul(p)
	if f.unmix, err = f.mix.Inverse(); err != nil {
		return fmt.Errorf("profile: the model's primaries do not differ: %w", err)
	}
	l := f.unmix.ToLinear(f.black)
	f.leaks = [3]float64{l.R, l.G, l.B}
	return nil
}

// checkGains refuses a white of another state than the readings'.
func checkGains(gains colorimetry.RGB) error {
	for c, g := range [3]float64{gains.R, gains.G, gains.B} {
		if !(g < mostGain && g > 1/mostGain) {
			return fmt.Errorf("profile: the measured white asks for %.3f times the %s of the model; measure the white and the readings in the same state", g, [3]string{"red", "green", "blue"}[c])
		}
	}
	return nil
}

// show returns the model's colour in the connection space.
func (f *frame) show(s [3]float64) colorimetry.XYZ {
	return f.adapt.Apply(f.model.XYZ(colorimetry.RGB{R: s[0], G: s[1], B: s[2]}))
}

// light returns a colour's amounts of the three columns beyond the black.
func (f *frame) light(c colorimetry.XYZ) [3]float64 {
	l := f.unmix.ToLinear(c.Sub(f.black))
	return [3]float64{l.R, l.G, l.B}
}

// colour returns the colour of levels, in the connection space.
func (f *frame) colour(y [3]float64) colorimetry.XYZ {
	return f.black.Add(f.mix.FromLinear(colorimetry.RGB{R: level.Tables.Light(y[0]), G: level.Tables.Light(y[1]), B: level.Tables.Light(y[2])}))
}

// readGreys fills the curves and chooses how many of their entries are written.
func (f *frame) readGreys(entries int) error {
	for c := range 3 {
		f.greys[c] = make([]float64, greySteps+1)
	}
	for i := range greySteps + 1 {
		d := float64(i) / greySteps
		l := f.light(f.show([3]float64{d, d, d}))
		for c := range 3 {
			if l[c]-l[c] != 0 {
				return fmt.Errorf("profile: the model shows no finite colour at signal %.4f", d)
			}
			f.greys[c][i] = math.Min(math.Max(l[c], 0), 1)
			if i > 0 {
				f.greys[c][i] = math.Max(f.greys[c][i], f.greys[c][i-1])
			}
		}
	}
	for c := range 3 {
		f.greys[c][0], f.greys[c][greySteps] = 0, 1
	}
	f.entries = entries
	for n := 255; entries == 0; n *= 2 {
		f.entries = n + 1
		if f.greyError(n+1) <= lightnessTolerance || greySteps/n < 2 {
			break
		}
	}
	f.miss = f.greyError(f.entries)
	for c := range 3 {
		t := f.sample(c, 0, f.entries)
		f.places[c] = make([]uint16, len(t))
		for i, v := range t {
			f.places[c][i] = word(level.Tables.Of(v))
		}
	}
	return nil
}

// grey returns the light of a channel along the greys.
func (f *frame) grey(c int, signal float64) float64 {
	at := signal * greySteps
	i := min(int(at), greySteps-1)
	return f.greys[c][i] + (at-float64(i))*(f.greys[c][i+1]-f.greys[c][i])
}

// sample returns n entries of a channel's curve that begins at an offset.
func (f *frame) sample(c int, offset float64, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = offset + (1-offset)*f.grey(c, float64(i)/float64(n-1))
	}
	out[n-1] = 1
	return out
}

// greyError returns the largest miss of lines between n entries, in L*.
func (f *frame) greyError(n int) float64 {
	var miss float64
	for c := range 3 {
		t := f.sample(c, 0, n)
		for i := range greySteps + 1 {
			at := float64(i) / greySteps * float64(n-1)
			k := min(int(at), n-2)
			got := t[k] + (at-float64(k))*(t[k+1]-t[k])
			miss = math.Max(miss, math.Abs(colorimetry.Lightness(got)-colorimetry.Lightness(f.greys[c][i])))
		}
	}
	return miss
}

// signal returns the signal at which a channel's written curve reaches a place,
// the lowest where it is flat.
func (f *frame) signal(c int, place float64) float64 { return lowest(f.places[c], place) }

// levels returns the level of each channel's light.
func levels(light [3]float64) [3]float64 {
	return [3]float64{level.Tables.Of(light[0]), level.Tables.Of(light[1]), level.Tables.Of(light[2])}
}

// word returns the 16-bit number nearest to v in [0, 1].
func word(v float64) uint16 { return uint16(math.Round(math.Min(math.Max(v, 0), 1) * 65535)) }

// lowest returns the place from 0 to 1 at which never-falling entries first
// reach y in [0, 1]; 1 where they do not.
func lowest(t []uint16, y float64) float64 {
	y *= 65535
	if !(y > float64(t[0])) {
		return 0
	}
	lo, hi := 0, len(t)-1 // t[lo] < y ≤ t[hi]
	if y > float64(t[hi]) {
		return 1
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; float64(t[mid]) < y {
			lo = mid
		} else {
			hi = mid
		}
	}
	a, b := float64(t[lo]), float64(t[hi])
	return (float64(lo) + (y-a)/(b-a)) / float64(len(t)-1)
}

// between returns the entries at x in [0, 1], 0 to 1.
func between(t []uint16, x float64) float64 { return icc.SampledCurve(t).At(x) }

// fixed rounds v to the 16 fractional bits that profiles hold.
func fixed(v float64) float64 { return math.Round(v*65536) / 65536 }
