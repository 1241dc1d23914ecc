package profile_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// The bytes give the model back, and its colours come back through both tables,
// on 2,000 signals: an eighth greys, a quarter on faces and edges, a quarter
// dark. All within a mean of 0.03 and a max of 0.3 ΔE00, where tables in uniform
// Lab have a mean of 0.16 and a max of 3.3 on an additive display; but for what
// the connection space cannot hold, which the diagnostics tell.
func TestTablesGiveTheModelBack(t *testing.T) {
	for _, c := range tableCases {
		for _, version := range []icc.Version{profile.V4, profile.V2} {
			name := fmt.Sprint(c.name, ", ", version)
			t.Run(name, func(t *testing.T) {
				t.Parallel()
				r, e := c.profile(t, version, icc.Relative)
				white := c.white()
				predict, err := profile.Predictor(r.Bytes)
				if err != nil {
					t.Fatal(err)
				}
				// Programs that read tables linearly in each channel.
				other, err := icc.FromPCS(r.Profile, icc.Options{Intent: icc.Relative, PCS: icc.SpaceXYZ, Interpolation: icc.Multilinear})
				if err != nil {
					t.Fatal(err)
				}
				var loss, round, linear []float64
				for _, s := range signals(2000) {
					v := e.ToPCS(s)
					back := [3]float64{v.X, v.Y, v.Z}
					other.Eval(back[:], back[:])
					linear = append(linear, difference.CIEDE2000(lab(v), lab(e.ToPCS(colorimetry.RGB{R: back[0], G: back[1], B: back[2]}))))
					loss = append(loss, difference.CIEDE2000(c.m.XYZ(s).Lab(white), predict(s).Lab(white)))
					p := e.ToPCS(s)
					round = append(round, difference.CIEDE2000(lab(p), lab(e.ToPCS(e.FromPCS(p)))))
				}
				a, b, l, d := summary(loss), summary(round), summary(linear), r.Diagnostics
				t.Logf("%d bytes; ΔE00 loss %.4f, by the connection space %.4f, round trip %.4f, and %.4f if read linearly in each channel; grid %.3f, bends %.4f along greys, %.4f along hues; %s",
					len(r.Bytes), a, d.ClipMax, b, l, d.GridLoss, d.GreyBend, d.HueBend, d.Choice)
				if !(a.mean <= 0.03 && a.max <= math.Max(0.3, d.ClipMax+0.05) && b.mean <= 0.03 && b.max <= 0.3) {
					t.Errorf("loss %.4f, round trip %.4f; want means of 0.03 and largest of 0.3 at most", a, b)
				}
				if l.mean > 0.04 || l.max > 0.5 {
					t.Errorf("read linearly in each channel: round trip %.4f", l)
				}
				// Build's own figures are those of other signals.
				if d.LossMean > 2*a.mean || a.mean > 6*d.LossMean || d.RoundMean > 2*b.mean || b.mean > 4*d.RoundMean {
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

// Of the sizes that may be chosen the first that keeps the bounds is taken: an
// additive display needs few nodes from signals, one whose channels disturb each
// other more.
func TestSizeFollowsTheLoss(t *testing.T) {
	t.Parallel()
	few, _ := build(t, leaky, leaky.White(), tone.Channels{}, tabled(profile.V4))
	m := example(simulate.CoupledLCD)
	more, _ := build(t, m, m.XYZ(colorimetry.Gray(1)), tone.Channels{}, tabled(profile.V4))
	a, b := few.Diagnostics, more.Diagnostics
	t.Logf("%d and %d nodes from signals, %d and %d to them; loss %.4f and %.4f, round trip %.4f and %.4f", a.NodesAToB, b.NodesAToB, a.NodesBToA, b.NodesBToA, a.LossMean, b.LossMean, a.RoundMean, b.RoundMean)
	if a.NodesAToB != 9 || b.NodesAToB <= 9 {
		t.Errorf("%d and %d nodes", a.NodesAToB, b.NodesAToB)
	}
	for _, d := range []profile.Diagnostics{a, b} {
		if d.LossMean > 0.03 || d.RoundMean > 0.03 || d.RoundMax > 0.3 {
			t.Errorf("%+v", d)
		}
	}
}

// Colours of BT.2020 that a display of sRGB's primaries cannot show come back with
// their own hue in Oklab, through the bytes, in every intent. A matrix profile,
// which clips each channel by itself, is the measure. What is left turns the hue
// of a few colours that are nearly black, within one cell of a table.
func TestTablesKeepHue(t *testing.T) {
	t.Parallel()
	space, err := gamut.Oklab(colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	turned := func(p *icc.Profile, version icc.Version, intent icc.Intent) (out []float64) {
		e, err := icc.NewEvaluator(p, intent)
		if err != nil {
			t.Fatal(err)
		}
		colour, err := bt2020(version, intent)
		if err != nil {
			t.Fatal(err)
		}
		rng := rand.New(rand.NewPCG(5, 5))
		for range 2000 {
			c := colour(colorimetry.RGB{R: math.Pow(rng.Float64(), 2.4), G: math.Pow(rng.Float64(), 2.4), B: math.Pow(rng.Float64(), 2.4)})
			back := e.ToPCS(e.FromPCS(c))
			if difference.CIEDE2000(lab(c), lab(back)) < 1 || c.Y < 2*e.ToPCS(colorimetry.RGB{}).Y {
				continue // it can be shown, or next to the black
			}
			p, _ := space.Coordinates(c)
			q, _ := space.Coordinates(back)
			if m, n := math.Hypot(p.A, p.B), math.Hypot(q.A, q.B); m > 0.04 && n > 0.02 {
				out = append(out, math.Abs(math.Asin((p.A*q.B-p.B*q.A)/(m*n)))*180/math.Pi)
			}
		}
		return out
	}
	matrix, _ := build(t, narrow, narrow.White(), tone.Channels{}, options())
	before := summary(turned(matrix.Profile, profile.V4, icc.Relative))
	check := func(name string, p *icc.Profile, version icc.Version, intent icc.Intent) {
		all := turned(p, version, intent)
		a := summary(all)
		t.Logf("version %v, %s: hue turned by %.2f° (mean, 95 %%, max) on %d colours; a matrix turns it by %.2f°", version, name, a, len(all), before)
		if len(all) < 500 || a.mean > 0.5 || a.p95 > 2.2 || a.max > 30 || a.mean > before.mean/10 {
			t.Errorf("version %v, %s: hue turned by %.2f°, matrix %.2f°", version, name, a, before)
		}
	}
	for _, version := range []icc.Version{profile.V4, profile.V2} {
		for _, intent := range []icc.Intent{icc.Perceptual, icc.Relative, icc.Saturation} {
			r, _ := narrowCase.profile(t, version, intent)
			check(fmt.Sprint(intent), r.Profile, version, intent)
		}
	}
	r, _ := greyCase.profile(t, profile.V4, icc.Relative)
	check("relative, towards grey", r.Profile, profile.V4, icc.Relative)
}

// Greys of the connection space come back as greys of the display, through the
// bytes, down to its black, and whatever the intent, and signals rise with them.
func TestTablesKeepGreys(t *testing.T) {
	t.Parallel()
	for _, c := range tableCases {
		for _, version := range []icc.Version{profile.V4, profile.V2} {
			for _, intent := range []icc.Intent{icc.Relative, icc.Perceptual} {
				_, e := c.profile(t, version, intent)
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
				t.Logf("%s, version %v, %v: chroma of greys %.3f at most, signals fall by %.5f; black %.4f, white %.4f", c.name, version, intent, worst, falls, first, last)
				if worst > 0.1 || falls > 1e-5 || last.Min() < 0.999 || first.Max() > 0.06 {
					t.Errorf("%s, version %v, %v: chroma of greys %.3f, signals fall by %.5f, black at %v, white at %v", c.name, version, intent, worst, falls, first, last)
				}
			}
		}
	}
}

// The perceptual tables of version 4 hold the reference medium's black, Y
// 0.0034731 (ICC.1:2022, 6.3.3), for the display's, both ways.
func TestPerceptualBlack(t *testing.T) {
	for _, intent := range []icc.Intent{icc.Perceptual, icc.Saturation} {
		_, e := narrowCase.profile(t, profile.V4, intent)
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
		r, _ := c.profile(t, profile.V4, icc.Relative)
		white := c.white()
		var err error
		if r.Profile, err = icc.Decode(r.Bytes); err != nil { // the profile is shared
			t.Fatal(err)
		}
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

// Diagnostics say whether tables are worth it: not where channels leave each other
// alone. What a matrix says is the matrix profile's loss where there is one.
func TestChoiceIsTold(t *testing.T) {
	t.Parallel()
	for _, c := range tableCases {
		r, _ := c.profile(t, profile.V4, icc.Relative)
		d := r.Diagnostics
		needed := strings.Contains(d.Choice, "tables are needed")
		if want := c.name != "additive"; needed != want || !needed && !strings.Contains(d.Choice, "KindMatrix") {
			t.Errorf("%s: %q", c.name, d.Choice)
		}
		if _, ok := c.m.(fit.Separable); !ok {
			continue
		}
		single, _ := build(t, c.m, c.white(), tone.Channels{}, options())
		if a, b := d.MatrixMean, single.Diagnostics.LossMean; math.Abs(a-b) > 0.1+b {
			t.Errorf("%s: the matrix is said to lose %.3f, a matrix profile loses %.3f", c.name, a, b)
		}
		if told := strings.Contains(fmt.Sprint(single.Diagnostics.Warnings), "KindTable"); told == (c.name == "additive") {
			t.Errorf("%s: a matrix profile's warnings are %q", c.name, single.Diagnostics.Warnings)
		}
	}
}

// A black that is no colour, as noise makes it where there is no light, spoils no
// more than itself.
func TestTablesOfAnOddBlack(t *testing.T) {
	t.Parallel()
	m := leaky
	m.black = colorimetry.XYZ{X: 0.002, Y: 0.0001, Z: 0.09}
	for _, version := range []icc.Version{profile.V4, profile.V2} {
		o := tabled(version)
		o.Grid = 33
		r, _ := build(t, m, m.White(), tone.Channels{}, o)
		e, err := icc.NewEvaluator(r.Profile, icc.Relative)
		if err != nil {
			t.Fatal(err)
		}
		var lit, dark []float64
		for _, s := range signals(1000) {
			p := e.ToPCS(s)
			d := difference.CIEDE2000(lab(p), lab(e.ToPCS(e.FromPCS(p))))
			if lab(p).L > 5 {
				lit = append(lit, d)
			} else {
				dark = append(dark, d)
			}
		}
		t.Logf("version %v: round trip %.3f, below L* 5 %.3f", version, summary(lit), summary(dark))
		if a := summary(lit); a.mean > 0.03 || a.max > 0.3 || summary(dark).mean > 0.3 {
			t.Errorf("version %v: round trip %.3f, below L* 5 %.3f", version, a, summary(dark))
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

// BenchmarkTables is all the tables at the full size: two from signals and two to
// them, which the four intents share, of models that cost next to nothing and of
// one of residuals.
func BenchmarkTables(b *testing.B) {
	m, _ := residual(b)
	for _, c := range append(tableCases, newCase("residual", m, profile.MappingNearest)) {
		o := tabled(profile.V4)
		o.Grid = 33
		white := c.white()
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := profile.Build(c.m, white, tone.Channels{}, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
