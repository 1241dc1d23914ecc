package profile

import (
	"fmt"
	"math"
	"math/rand/v2"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/icc"
)

// tableSizes are the nodes an edge that are tried. A size is taken without trying
// the next if its mean and largest difference are at most meanGoal and mostGoal,
// in ΔE00, and it turns the hue of colours beyond the gamut by hueGoal in the
// mean, in degrees.
var tableSizes = [3]int{9, 17, 33}

const (
	meanGoal = 0.03
	mostGoal = 0.3
	hueGoal  = 0.5
)

// newTable returns a table profile of the model, not yet encoded, and fills what
// is found out on the way.
func newTable(m fit.Model, white colorimetry.XYZ, curves tone.Channels, o Options, d *Diagnostics) (*icc.Profile, error) {
	f, err := newFrame(m, white, o.Entries)
	if err != nil {
		return nil, err
	}
	d.PrimaryGains, d.Entries, d.CurveError = f.gains, f.entries, f.miss
	p, err := fallback(f, white, curves, o)
	if err != nil {
		return nil, err
	}
	g := newGrid(f)
	to, err := newMapper(g)
	if err != nil {
		return nil, err
	}
	d.GridLoss = g.loss()
	signals := tableSignals()
	for _, n := range tableSizes {
		if o.Grid != 0 && n != o.Grid {
			continue
		}
		if err := setToTables(p, g, n, o); err != nil {
			return nil, err
		}
		d.NodesAToB = n
		mean, most, err := f.toLoss(p, signals)
		if err != nil {
			return nil, err
		}
		if mean <= meanGoal && most <= mostGoal {
			break
		}
	}
	for _, n := range tableSizes[1:] {
		if o.Grid != 0 && n != max(o.Grid, tableSizes[1]) {
			continue
		}
		if err := setFromTables(p, to, n, o); err != nil {
			return nil, err
		}
		d.NodesBToA = n
		if d.RoundMean, d.RoundMax, err = roundTrip(p, signals); err != nil {
			return nil, err
		}
		if d.HueMean, d.HueCount, err = hueTurn(p); err != nil {
			return nil, err
		}
		if d.RoundMean <= meanGoal && d.RoundMax <= mostGoal && d.HueMean <= hueGoal {
			break
		}
	}
	d.RoundCount = len(signals)
	b, err := p.Encode()
	if err != nil {
		return nil, err
	}
	p.Header.ID, err = icc.ProfileID(b)
	return p, err
}

// setToTables writes the tables from signals with n nodes an edge. Version 2
// knows no reference medium: all its intents share one.
func setToTables(p *icc.Profile, g *grid, n int, o Options) error {
	if o.Version == V2 {
		v := toTable16(g, n)
		for _, tag := range []icc.Signature{icc.TagAToB0, icc.TagAToB1, icc.TagAToB2} {
			p.Set(tag, v)
		}
		return nil
	}
	e, err := newEncoding(g)
	if err != nil {
		return err
	}
	p.Set(icc.TagAToB0, toTable(g, &e, n, true))
	p.Set(icc.TagAToB1, toTable(g, &e, n, false))
	p.Set(icc.TagAToB2, p.Value(icc.TagAToB0))
	return nil
}

// setFromTables writes the tables to signals with n nodes an edge.
func setFromTables(p *icc.Profile, m *mapper, n int, o Options) error {
	if o.Version == V2 {
		v, err := fromTable16(m, n)
		for _, tag := range []icc.Signature{icc.TagBToA0, icc.TagBToA1, icc.TagBToA2} {
			p.Set(tag, v)
		}
		return err
	}
	colorimetric, perceptual, err := fromTable(m, n)
	if err != nil {
		return err
	}
	p.Set(icc.TagBToA0, perceptual)
	p.Set(icc.TagBToA1, colorimetric)
	p.Set(icc.TagBToA2, perceptual)
	return nil
}

// fallback returns a matrix profile for those that read no tables: the greys and
// the white are the model's, and so are the primaries' hues.
func fallback(f *frame, white colorimetry.XYZ, curves tone.Channels, o Options) (*icc.Profile, error) {
	var columns [3]colorimetry.XYZ
	var offsets [3]float64
	share := f.leaks
	if math.Min(share[0], math.Min(share[1], share[2])) < 0 {
		share = nearestMix(f.mix, f.black, colorimetry.D50())
	}
	for c := range 3 {
		columns[c] = f.mix.Column(c).Scale(1 + f.leaks[c])
		switch o.Black {
		case BlackMeasured:
			offsets[c] = share[c] / (1 + share[c])
		case BlackNeutral:
			offsets[c] = f.black.Y
		case BlackZero:
		default:
			return nil, fmt.Errorf("profile: black option %d is unknown", o.Black)
		}
		if !(offsets[c] >= 0 && offsets[c] < 1) {
			return nil, fmt.Errorf("profile: the model's black asks for offset %g of channel %d; offsets run from 0 to 1", offsets[c], c)
		}
	}
	spec, err := newSpec(white, columns, curves, o)
	if err != nil {
		return nil, err
	}
	for c := range 3 {
		spec.Colorants[c] = columns[c] // in the connection space already
		spec.Curves[c] = f.sample(c, offsets[c], f.entries)
	}
	addMeta(&spec, f.model, curves, o)
	p, err := icc.MatrixProfile(spec)
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	return p, nil
}

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

// toLoss compares the colorimetric table with the model.
func (f *frame) toLoss(p *icc.Profile, signals []colorimetry.RGB) (mean, most float64, err error) {
	to, err := icc.ToPCS(p, icc.Options{Intent: icc.Relative, PCS: icc.SpaceXYZ})
	if err != nil {
		return 0, 0, err
	}
	for _, s := range signals {
		e := delta(f.show([3]float64{s.R, s.G, s.B}), through(to, s))
		mean, most = mean+e/float64(len(signals)), math.Max(most, e)
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
			c = c.Add(corners[1<<k].Scale(unlevel(rng.Float64())))
		}
		shown := e.ToPCS(e.FromPCS(c))
		if delta(c, shown) < 1 {
			continue
		}
		a, _ := space.Coordinates(c)
		b, _ := space.Coordinates(shown)
		if math.Hypot(a.A, a.B) < grey || math.Hypot(b.A, b.B) < grey/2 {
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
