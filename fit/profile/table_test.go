package profile_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// truth is a display's truth as a model.
type truth struct {
	fit.Model
	show func(colorimetry.RGB) colorimetry.XYZ
}

func (t truth) Name() string                          { return "truth" }
func (t truth) XYZ(s colorimetry.RGB) colorimetry.XYZ { return t.show(s.Clamp()) }
func example(e simulate.Example) fit.Model {
	return truth{show: simulate.Invented(e, simulate.Options{}).Truth}
}
func tabled(version icc.Version) (o profile.Options) {
	o = options()
	o.Version, o.Kind = version, profile.KindTable
	return o
}
func lab(c colorimetry.XYZ) colorimetry.Lab { return c.Lab(colorimetry.D50()) }

var tableCases = []struct {
	name string
	m    fit.Model
}{
	{"additive", leaky},
	{"additive, coloured black", flare},
	{"coupled", example(simulate.CoupledLCD)},
	{"sagging", example(simulate.SaggingPanel)},
}

// signals are those that tables are judged on here: other ones than Build's own.
func signals(n int) []colorimetry.RGB {
	rng := rand.New(rand.NewPCG(9, 9))
	var out []colorimetry.RGB
	for i := range n {
		k := 1.0
		if i%4 == 0 {
			k = 0.15
		}
		s := colorimetry.RGB{R: k * rng.Float64(), G: k * rng.Float64(), B: k * rng.Float64()}
		switch i % 8 {
		case 1:
			s = colorimetry.Gray(s.R)
		case 3:
			s.R = math.Round(s.R)
		case 5:
			s.G, s.B = math.Round(s.G), math.Round(s.B)
		}
		out = append(out, s)
	}
	return out
}

// The bytes give the model back, and its colours come back through both tables,
// on 2,000 signals: an eighth greys, a quarter on faces and edges, a quarter
// dark. Version 4 on additive displays: mean 0.03 and max 0.3 ΔE00, where tables
// in uniform Lab have a mean of 0.16 and a max of 3.3. Displays whose channels
// disturb each other bend colours between nodes, and version 2 cannot put nodes
// on the display's own ends: what they reach is held.
func TestTablesGiveTheModelBack(t *testing.T) {
	limits := map[string]struct{ lossMean, lossMax, roundMean, roundMax float64 }{
		"additive, 4.3.0":                 {0.01, 0.05, 0.03, 0.3},
		"additive, 2.4.0":                 {0.05, 0.5, 0.3, 3},
		"additive, coloured black, 4.3.0": {0.01, 0.1, 0.03, 0.3},
		"additive, coloured black, 2.4.0": {0.05, 0.5, 0.35, 5},
		"coupled, 4.3.0":                  {0.07, 0.5, 0.07, 0.5},
		"coupled, 2.4.0":                  {0.08, 0.5, 0.1, 1},
		"sagging, 4.3.0":                  {0.09, 0.9, 0.09, 0.6},
		"sagging, 2.4.0":                  {0.1, 0.9, 0.2, 5},
	}
	for _, c := range tableCases {
		for _, version := range []icc.Version{profile.V4, profile.V2} {
			name := fmt.Sprint(c.name, ", ", version)
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				white := c.m.XYZ(colorimetry.Gray(1))
				r, predict := build(t, c.m, white, tone.Channels{}, tabled(version))
				e, err := icc.NewEvaluator(r.Profile, icc.Relative)
				if err != nil {
					t.Fatal(err)
				}
				var loss, round []float64
				for _, s := range signals(2000) {
					loss = append(loss, difference.CIEDE2000(c.m.XYZ(s).Lab(white), predict(s).Lab(white)))
					p := e.ToPCS(s)
					round = append(round, difference.CIEDE2000(lab(p), lab(e.ToPCS(e.FromPCS(p)))))
				}
				a, b, d := summary(loss), summary(round), r.Diagnostics
				t.Logf("%d and %d nodes, %d bytes; ΔE00 loss %.4f, round trip %.4f; grid %.3f, bends %.4f along greys, %.4f along hues",
					d.NodesAToB, d.NodesBToA, len(r.Bytes), a, b, d.GridLoss, d.GreyBend, d.HueBend)
				if l := limits[name]; !(a.mean <= l.lossMean && a.max <= l.lossMax && b.mean <= l.roundMean && b.max <= l.roundMax) {
					t.Errorf("want at most %+v", l)
				}
				// Build's own figures are those of other signals.
				if d.LossMean > 2*a.mean || a.mean > 4*d.LossMean || d.RoundMean > 2*b.mean || b.mean > 4*d.RoundMean {
					t.Errorf("the diagnostics say %.4f and %.4f", d.LossMean, d.RoundMean)
				}
				for _, f := range r.Profile.Check() {
					if f.Severity > icc.Remark {
						t.Error(f)
					}
				}
				if e := difference.CIEDE2000(predict(colorimetry.Gray(1)).Lab(white), white.Lab(white)); e > 0.02 {
					t.Errorf("white is %.4f ΔE00 off", e)
				}
			})
		}
	}
}

// Colours of BT.2020 that a display cannot show come back with their own hue in
// Oklab, through the bytes, in every intent. A matrix profile, which clips each
// channel by itself, is the measure.
func TestTablesKeepHue(t *testing.T) {
	t.Parallel()
	narrow := leaky
	narrow.primaries, _ = rgb.SRGB().Matrix()
	narrow.primaries = narrow.primaries.Scale(100)
	narrow.black = narrow.primaries.FromLinear(colorimetry.Gray(0.001))
	wide, err := rgb.BT2020().Matrix()
	if err != nil {
		t.Fatal(err)
	}
	chad, err := colorimetry.Bradford(rgb.BT2020().White.XYZ(1), colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	wide = chad.Mul(wide)
	space, err := gamut.Oklab(colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	turned := func(p *icc.Profile, intent icc.Intent) (out []float64) {
		e, err := icc.NewEvaluator(p, intent)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(5, 5))
		for range 2000 {
			c := wide.FromLinear(colorimetry.RGB{R: math.Pow(rng.Float64(), 2.4), G: math.Pow(rng.Float64(), 2.4), B: math.Pow(rng.Float64(), 2.4)})
			back := e.ToPCS(e.FromPCS(c))
			if difference.CIEDE2000(lab(c), lab(back)) < 1 {
				continue // it can be shown
			}
			p, _ := space.Coordinates(c)
			q, _ := space.Coordinates(back)
			if m, n := math.Hypot(p.A, p.B), math.Hypot(q.A, q.B); m > 0.04 && n > 0.02 {
				out = append(out, math.Abs(math.Asin((p.A*q.B-p.B*q.A)/(m*n)))*180/math.Pi)
			}
		}
		return out
	}
	white := narrow.White()
	matrix, _ := build(t, narrow, white, tone.Channels{}, options())
	before := summary(turned(matrix.Profile, icc.Relative))
	for _, version := range []icc.Version{profile.V4, profile.V2} {
		r, _ := build(t, narrow, white, tone.Channels{}, tabled(version))
		for _, intent := range []icc.Intent{icc.Perceptual, icc.Relative} { // the others share their tables
			all := turned(r.Profile, intent)
			a := summary(all)
			t.Logf("version %v, %v: hue turned by %.2f° (mean, 95 %%, max) on %d colours; a matrix turns it by %.2f°", version, intent, a, len(all), before)
			if len(all) < 500 || a.mean > before.mean/3 {
				t.Errorf("version %v, %v: hue turned by %.2f°, matrix %.2f°", version, intent, a, before)
			}
		}
	}
}

// Greys of the connection space come back as greys of the display, through the
// bytes, down to its black.
func TestTablesKeepGreys(t *testing.T) {
	t.Parallel()
	for _, c := range tableCases {
		white := c.m.XYZ(colorimetry.Gray(1))
		r, _ := build(t, c.m, white, tone.Channels{}, tabled(profile.V4))
		e, err := icc.NewEvaluator(r.Profile, icc.Relative)
		if err != nil {
			t.Fatal(err)
		}
		var worst, falls float64
		var last colorimetry.RGB
		first := e.FromPCS(colorimetry.XYZ{})
		for i := range 256 {
			l := float64(i) / 255 * 100
			s := e.FromPCS(colorimetry.D50().Scale(colorimetry.LightnessInverse(l)))
			// Below, a coloured black leaves no greys.
			if l > 15 {
				back := lab(e.ToPCS(s))
				worst = math.Max(worst, math.Hypot(back.A, back.B))
				falls = math.Max(falls, math.Max(last.R-s.R, math.Max(last.G-s.G, last.B-s.B)))
			}
			last = s
		}
		limit, dark := 0.03, 0.06
		if _, ok := c.m.(fit.Separable); !ok {
			limit, dark = 0.4, 0.01
		}
		t.Logf("%s: chroma of greys %.3f at most, signals fall by %.5f; black %v, white %v", c.name, worst, falls, first, last)
		if worst > limit || falls > 1e-5 || last.Min() < 0.9999 || first.Max() > dark {
			t.Errorf("%s: chroma of greys %.3f, signals fall by %.5f, black at %v, white at %v", c.name, worst, falls, first, last)
		}
	}
}

// The perceptual tables of version 4 hold the reference medium's black, Y
// 0.0034731 (ICC.1:2022, 6.3.3), for the display's, both ways.
func TestPerceptualBlack(t *testing.T) {
	m := leaky
	m.black = m.primaries.FromLinear(colorimetry.Gray(0.002))
	r, _ := build(t, m, m.White(), tone.Channels{}, tabled(profile.V4))
	for _, intent := range []icc.Intent{icc.Perceptual, icc.Saturation} {
		e, err := icc.NewEvaluator(r.Profile, intent)
		if err != nil {
			t.Fatal(err)
		}
		if k := e.ToPCS(colorimetry.RGB{}); math.Abs(k.Y-0.0034731) > 3e-5 {
			t.Errorf("%v: black is %v", intent, k)
		}
		if s := e.FromPCS(colorimetry.D50().Scale(0.0034731)); s.Max() > 0.02 {
			t.Errorf("%v: the medium's black comes back as %v", intent, s)
		}
		if w := lab(e.ToPCS(colorimetry.Gray(1))); math.Abs(w.L-100) > 0.01 || math.Hypot(w.A, w.B) > 0.02 {
			t.Errorf("%v: white is %v", intent, w)
		}
	}
}

// What reads no tables sees the same white and the same greys by the matrix.
func TestTablesHaveAMatrixToFallBackOn(t *testing.T) {
	t.Parallel()
	for _, c := range tableCases {
		white := c.m.XYZ(colorimetry.Gray(1))
		o := tabled(profile.V4)
		o.Grid = 9
		r, _ := build(t, c.m, white, tone.Channels{}, o)
		for _, tag := range []icc.Signature{icc.TagAToB0, icc.TagAToB1, icc.TagAToB2, icc.TagBToA0, icc.TagBToA1, icc.TagBToA2} {
			r.Profile.Remove(tag)
		}
		b, err := r.Profile.Encode()
		if err != nil {
			t.Fatal(err)
		}
		predict, err := profile.Predictor(b)
		if err != nil {
			t.Fatal(err)
		}
		worst, limit := 0.0, 0.1
		var single func(colorimetry.RGB) colorimetry.XYZ
		if _, ok := c.m.(fit.Separable); ok {
			// A black that the primaries cannot mix has no place in curves.
			_, single = build(t, c.m, white, tone.Channels{}, options())
		}
		for i := range 101 {
			s := colorimetry.Gray(float64(i) / 100)
			worst = math.Max(worst, difference.CIEDE2000(c.m.XYZ(s).Lab(white), predict(s).Lab(white)))
			if single != nil {
				limit = math.Max(limit, 0.2+difference.CIEDE2000(c.m.XYZ(s).Lab(white), single(s).Lab(white)))
			}
		}
		t.Logf("%s: greys by the matrix within %.3f ΔE00", c.name, worst)
		if worst > limit {
			t.Errorf("%s: greys by the matrix are %.3f ΔE00 off, want at most %.3f", c.name, worst, limit)
		}
	}
}

func TestSameTables(t *testing.T) {
	for _, version := range []icc.Version{profile.V4, profile.V2} {
		o := tabled(version)
		o.Grid = 17
		m := example(simulate.SaggingPanel)
		white := m.XYZ(colorimetry.Gray(1))
		a, _ := build(t, m, white, tone.Channels{}, o)
		if b, _ := build(t, m, white, tone.Channels{}, o); !bytes.Equal(a.Bytes, b.Bytes) {
			t.Errorf("version %v: equal input gave other bytes", version)
		}
		if a.Diagnostics.NodesAToB != 17 || a.Diagnostics.NodesBToA != 17 {
			t.Errorf("%d and %d nodes, 17 were asked for", a.Diagnostics.NodesAToB, a.Diagnostics.NodesBToA)
		}
	}
}

// BenchmarkTables is one table from signals and the tables to them, at the full
// size, of a model that costs next to nothing.
func BenchmarkTables(b *testing.B) {
	for _, c := range tableCases {
		o := tabled(profile.V4)
		o.Grid = 33
		white := c.m.XYZ(colorimetry.Gray(1))
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				if _, err := profile.Build(c.m, white, tone.Channels{}, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
