package profile

import (
	"math"
	"math/rand/v2"
	"slices"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/fit/internal/gamutmap"
	"example.org/primaries/fit/internal/level"
	"example.org/primaries/icc"
)

// tableSignals are what tables are judged on: a lattice that meets few nodes,
// greys, and signals from a fixed seed, a third of them dark.
func tableSignals() []colorimetry.RGB {
	var out []colorimetry.RGB
	for i := range 512 {
		out = append(out, colorimetry.RGB{R: float64(i/64) / 7, G: float64(i/8%8) / 7, B: float64(i%8) / 7})
	}
	for i := range 128 {
		out = append(out, colorimetry.Gray(float64(i)/127))
	}
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range 600 {
		k := 1.0
		if i%3 == 0 {
			k = 0.25
		}
		out = append(out, colorimetry.RGB{R: k * rng.Float64(), G: k * rng.Float64(), B: k * rng.Float64()})
	}
	return out
}

// delta is CIEDE2000 in the connection space.
func delta(a, b colorimetry.XYZ) float64 {
	return difference.CIEDE2000(a.Lab(colorimetry.D50()), b.Lab(colorimetry.D50()))
}

// judgement is what the model shows at a signal, in the connection space.
type judgement struct {
	signal colorimetry.RGB
	shown  colorimetry.XYZ
}

// judge returns what the model shows at signals.
func (f *frame) judge(signals []colorimetry.RGB) []judgement {
	out := make([]judgement, len(signals))
	for i, s := range signals {
		out[i] = judgement{s, f.show([3]float64{s.R, s.G, s.B})}
	}
	return out
}

// clip leaves of judgements what the connection space can hold, and returns the
// largest difference that this makes.
func clip(all []judgement) (held []judgement, most float64) {
	held = slices.Clone(all)
	for i, j := range all {
		c := j.shown
		held[i].shown = colorimetry.XYZ{X: math.Max(c.X, 0), Y: math.Max(c.Y, 0), Z: math.Max(c.Z, 0)}
		most = math.Max(most, delta(c, held[i].shown))
	}
	return held, most
}

// toLoss compares what a profile says, colorimetrically, with judgements.
func toLoss(p *icc.Profile, all []judgement) (mean, most float64, err error) {
	to, err := icc.ToPCS(p, icc.Options{Intent: icc.Relative, PCS: icc.SpaceXYZ})
	if err != nil {
		return 0, 0, err
	}
	for _, j := range all {
		e := delta(j.shown, through(to, j.signal))
		mean, most = mean+e/float64(len(all)), math.Max(most, e)
	}
	return mean, most, nil
}

func through(c *icc.Chain, s colorimetry.RGB) colorimetry.XYZ {
	v := [3]float64{s.R, s.G, s.B}
	c.Eval(v[:], v[:])
	return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
}

// roundTrip takes the display's colours through the colorimetric tables to
// signals and back.
func roundTrip(p *icc.Profile, signals []colorimetry.RGB) (mean, most float64, err error) {
	e, err := icc.NewEvaluator(p, icc.Relative)
	if err != nil {
		return 0, 0, err
	}
	for _, s := range signals {
		c := e.ToPCS(s)
		d := delta(c, e.ToPCS(e.FromPCS(c)))
		mean, most = mean+d/float64(len(signals)), math.Max(most, d)
	}
	return mean, most, nil
}

// hueTurn returns by how many degrees the colorimetric tables turn the hue of
// colours of BT.2020 that the display cannot show, in the mean, and how many
// there were. Near the greys hue means nothing.
func hueTurn(p *icc.Profile) (mean float64, count int, err error) {
	e, err := icc.NewEvaluator(p, icc.Relative)
	if err != nil {
		return 0, 0, err
	}
	space, err := gamut.Oklab(colorimetry.D50())
	if err != nil {
		return 0, 0, err
	}
	corners, err := wideCorners()
	if err != nil {
		return 0, 0, err
	}
	rng := rand.New(rand.NewPCG(3, 1))
	for range 1000 {
		var c colorimetry.XYZ
		for k := range 3 {
			c = c.Add(corners[1<<k].Scale(level.Tables.Light(rng.Float64())))
		}
		shown := e.ToPCS(e.FromPCS(c))
		if delta(c, shown) < 1 {
			continue
		}
		a, _ := space.Coordinates(c)
		b, _ := space.Coordinates(shown)
		if math.Hypot(a.A, a.B) < gamutmap.Grey || math.Hypot(b.A, b.B) < gamutmap.Grey/2 {
			continue
		}
		mean += math.Abs(math.Atan2(a.A*b.B-a.B*b.A, a.A*b.A+a.B*b.B)) * 180 / math.Pi
		count++
	}
	return mean / float64(max(count, 1)), count, nil
}

// loss returns the largest difference between the grid, between its nodes, and
// the model.
func (g *grid) loss() float64 {
	rng := rand.New(rand.NewPCG(2, 1))
	var most float64
	for range 300 {
		v := [3]float64{rng.Float64(), rng.Float64(), rng.Float64()}
		most = math.Max(most, delta(g.colour(v), g.frame.show(g.signals(v))))
	}
	return most
}

// smoothness returns the largest second difference of a table's signals, in
// parts of full signal, along paths of the connection space: the greys and the
// hues at half of the display's lightness.
func smoothness(p *icc.Profile) (greys, hues float64, err error) {
	from, err := icc.FromPCS(p, icc.Options{Intent: icc.Relative, PCS: icc.SpaceXYZ})
	if err != nil {
		return 0, 0, err
	}
	space, err := gamut.Oklab(colorimetry.D50())
	if err != nil {
		return 0, 0, err
	}
	const steps = 256
	greys = bend(from, steps, func(f float64) colorimetry.XYZ {
		return colorimetry.D50().Scale(colorimetry.LightnessInverse(100 * f))
	})
	hues = bend(from, steps, func(f float64) colorimetry.XYZ {
		sin, cos := math.Sincos(2 * math.Pi * f)
		c, _ := space.XYZ(gamut.Coordinates{L: 0.6, A: 0.08 * cos, B: 0.08 * sin})
		return c
	})
	return greys, hues, nil
}

func bend(from *icc.Chain, steps int, path func(float64) colorimetry.XYZ) float64 {
	var most float64
	var last, before [3]float64
	for i := range steps + 1 {
		c := path(float64(i) / float64(steps))
		v := [3]float64{c.X, c.Y, c.Z}
		from.Eval(v[:], v[:])
		for k := range 3 {
			if i >= 2 {
				most = math.Max(most, math.Abs(v[k]-2*last[k]+before[k]))
			}
		}
		before, last = last, v
	}
	return most
}
