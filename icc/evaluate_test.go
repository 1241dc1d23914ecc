package icc

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
)

func distance(a, b colorimetry.XYZ) float64 {
	return max(math.Abs(a.X-b.X), math.Abs(a.Y-b.Y), math.Abs(a.Z-b.Z))
}

func deltaE(a, b colorimetry.Lab) float64 {
	return math.Sqrt((a.L-b.L)*(a.L-b.L) + (a.A-b.A)*(a.A-b.A) + (a.B-b.B)*(a.B-b.B))
}

func debianEvaluator(t *testing.T, file string, intent Intent) *Evaluator {
	t.Helper()
	p, err := Decode(debianProfile(t, file))
	if err != nil {
		t.Fatal(err)
	}
	e, err := NewEvaluator(p, intent)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func rgbOf(r row) colorimetry.RGB {
	return colorimetry.RGB{R: r.num("R"), G: r.num("G"), B: r.num("B")}
}

// Device to connection space, against Little CMS. The limits are those of the
// tables: it evaluates sampled curves with 16-bit signals.
func TestToPCS(t *testing.T) {
	cases := []struct {
		file, table string
		limit       float64
	}{
		{"sRGB.icc", "lcms_srgb_to_xyz.csv", 2e-5},
		{"compatibleWithAdobeRGB1998.icc", "lcms_adobergb_compatible_to_xyz.csv", 1e-7},
		{"LStar-RGB.icc", "lcms_lstar_rgb_to_xyz.csv", 2e-5},
		{"CineonLog_M.icc", "lcms_cineonlog_m_to_xyz.csv", 4e-5},
	}
	for _, c := range cases {
		t.Run(c.file, func(t *testing.T) {
			e := debianEvaluator(t, c.file, Relative)
			worst := 0.0
			for _, r := range readTable(t, c.table) {
				want := colorimetry.XYZ{X: r.num("X_relcol"), Y: r.num("Y_relcol"), Z: r.num("Z_relcol")}
				worst = max(worst, distance(e.ToPCS(rgbOf(r)), want))
			}
			t.Logf("worst difference %.2g", worst)
			if worst > c.limit {
				t.Errorf("worst difference is %g, want at most %g", worst, c.limit)
			}
		})
	}
}

// Connection space to device, against Little CMS, which inverts sampled curves
// by tables with 16 bits in and out: half a step of light, through the inverse
// curve's slope at its foot (12.92 of sRGB, IEC 61966-2-1; 9.03 of L*, CIE 15),
// and half a step of signal. Inside the gamut the tables state 5e-5, which the
// darkest channels of L* exceed for this reason; the other limit holds there.
func TestFromPCS(t *testing.T) {
	cases := []struct {
		file, table   string
		inside, limit float64
	}{
		{"sRGB.icc", "lcms_lab_to_srgb.csv", 5e-5, (12.92 + 1) * 0.5 / 65535},
		{"LStar-RGB.icc", "lcms_lab_to_lstar_rgb.csv", (9.03 + 1) * 0.5 / 65535, (9.03 + 1) * 0.5 / 65535},
	}
	for _, c := range cases {
		t.Run(c.file, func(t *testing.T) {
			e := debianEvaluator(t, c.file, Relative)
			inside, worst, worstInside := 0, 0.0, 0.0
			for _, r := range readTable(t, c.table) {
				lab := colorimetry.Lab{L: r.num("L"), A: r.num("a"), B: r.num("b")}
				got := e.FromPCS(lab.XYZ(colorimetry.D50()))
				want := colorimetry.RGB{R: r.num("R_relcol"), G: r.num("G_relcol"), B: r.num("B_relcol")}
				d := max(math.Abs(got.R-want.R), math.Abs(got.G-want.G), math.Abs(got.B-want.B))
				worst = max(worst, d)
				if want.Min() > 0 && want.Max() < 1 {
					inside++
					worstInside = max(worstInside, d)
				}
			}
			t.Logf("worst difference of %d colours inside the gamut %.2g, of all, clipped, %.2g", inside, worstInside, worst)
			if worst > c.limit || worstInside > c.inside || inside < 40 {
				t.Errorf("worst differences are %g inside and %g, want %g and %g; %d colours inside", worstInside, worst, c.inside, c.limit, inside)
			}
		})
	}
}

// ICC-absolute by the standard: relative times the media white over D50.
func TestAbsoluteScalesByMediaWhite(t *testing.T) {
	evaluators := map[string]*Evaluator{}
	worst := 0.0
	for _, r := range readTable(t, "absolute_wtpt.csv") {
		file := r.m["file"]
		if evaluators[file] == nil {
			p, err := Decode(debianProfile(t, file))
			if err != nil {
				t.Fatal(err)
			}
			w, err := p.MediaWhite()
			if err != nil || distance(w, colorimetry.XYZ{X: r.num("wtpt_X"), Y: r.num("wtpt_Y"), Z: r.num("wtpt_Z")}) > 1e-12 {
				t.Fatalf("%s: media white %v, %v", file, w, err)
			}
			if evaluators[file], err = NewEvaluator(p, Absolute); err != nil {
				t.Fatal(err)
			}
		}
		want := colorimetry.XYZ{X: r.num("X_absolute"), Y: r.num("Y_absolute"), Z: r.num("Z_absolute")}
		worst = max(worst, distance(evaluators[file].ToPCS(rgbOf(r)), want))
	}
	t.Logf("worst difference %.2g", worst)
	// The relative values in the table are Little CMS's, 2e-5 from exact.
	if worst > 3e-5 {
		t.Errorf("worst difference is %g", worst)
	}
}

// In a profile whose media white is D50, absolute is relative, and the inverse
// of the adaptation leads on to the display's own white.
func TestAbsoluteWithD50(t *testing.T) {
	p, _ := mustMatrix(t, testSpec(t, V4, false))
	rel, err := NewEvaluator(p, Relative)
	if err != nil {
		t.Fatal(err)
	}
	abs, err := NewEvaluator(p, Absolute)
	if err != nil {
		t.Fatal(err)
	}
	c := colorimetry.RGB{R: 0.2, G: 0.4, B: 0.9}
	if rel.ToPCS(c) != abs.ToPCS(c) {
		t.Errorf("relative %v, absolute %v", rel.ToPCS(c), abs.ToPCS(c))
	}
	chad, err := p.Adaptation()
	if err != nil {
		t.Fatal(err)
	}
	back, err := chad.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	white := back.Apply(rel.ToPCS(colorimetry.Gray(1)))
	if d := distance(white, colorimetry.D65()); d > 3e-5 { // rounding of chad and colorants
		t.Errorf("white as measured is %v, %g from D65", white, d)
	}
}

// White is the encoded D50 exactly, and greys are neutral.
func TestGreysAreNeutral(t *testing.T) {
	for _, version := range []Version{V2, V4} {
		p, _ := mustMatrix(t, testSpec(t, version, true))
		e, err := NewEvaluator(p, Relative)
		if err != nil {
			t.Fatal(err)
		}
		if w := e.ToPCS(colorimetry.Gray(1)); distance(w, encodedD50()) > 1e-15 {
			t.Errorf("white is %v", w)
		}
		for i := range 256 {
			c := e.ToPCS(colorimetry.Gray(float64(i) / 255)).Lab(encodedD50())
			if math.Hypot(c.A, c.B) > 1e-9 {
				t.Errorf("grey %d is %v", i, c)
			}
		}
	}
}

func TestRoundTrip(t *testing.T) {
	for _, parametric := range []bool{false, true} {
		p, _ := mustMatrix(t, testSpec(t, V4, parametric))
		e, err := NewEvaluator(p, Relative)
		if err != nil {
			t.Fatal(err)
		}
		rnd := rand.New(rand.NewPCG(1, 2))
		for range 1000 {
			c := colorimetry.RGB{R: rnd.Float64(), G: rnd.Float64(), B: rnd.Float64()}
			// The comparison is made in light, since the foot of a sampled
			// power is so flat that signals there are not distinct.
			x := e.ToPCS(c)
			if d := distance(e.ToPCS(e.FromPCS(x)), x); d > 1e-9 {
				t.Errorf("%v: comes back %g away", c, d)
			}
		}
	}
}

func TestEvaluatorBounds(t *testing.T) {
	p, _ := mustMatrix(t, testSpec(t, V4, false))
	e, err := NewEvaluator(p, Relative)
	if err != nil {
		t.Fatal(err)
	}
	nan, inf := math.NaN(), math.Inf(1)
	for _, v := range []float64{nan, inf, -inf, -1, 2, 1e300} {
		if c := e.ToPCS(colorimetry.RGB{R: v, G: v, B: 0.5}); !c.Finite() {
			t.Errorf("signal %g gives %v", v, c)
		}
		if c := e.FromPCS(colorimetry.XYZ{X: v, Y: v, Z: 0.5}); c != c.Clamp() {
			t.Errorf("XYZ %g gives %v", v, c)
		}
	}
	if got := e.FromPCS(colorimetry.XYZ{X: 9, Y: 9, Z: 9}); got != colorimetry.Gray(1) {
		t.Errorf("far above white comes %v, want 1, 1, 1", got)
	}
	if n := testing.AllocsPerRun(100, func() { e.FromPCS(e.ToPCS(colorimetry.Gray(0.3))) }); n != 0 {
		t.Errorf("one colour allocates %g times", n)
	}
}

func TestEvaluatorRefuses(t *testing.T) {
	unsupported := map[string]func(*Profile){
		"grey":          func(p *Profile) { p.Header.Space = SpaceGray },
		"matrix to Lab": func(p *Profile) { p.Header.PCS = SpaceLab },
		"link":          func(p *Profile) { p.Header.Class = ClassLink },
		"named":         func(p *Profile) { p.Header.Class = ClassNamedColor },
	}
	for name, change := range unsupported {
		p, _ := mustMatrix(t, testSpec(t, V4, false))
		change(p)
		if _, err := NewEvaluator(p, Relative); !errors.Is(err, ErrUnsupported) {
			t.Errorf("%s: error is %v", name, err)
		}
	}
	broken := map[string]func(*Profile){
		"table of a type unknown": func(p *Profile) { p.Set(TagAToB0, Raw{0x61616161, make([]byte, 4)}) },
		"no curve":                func(p *Profile) { p.Remove(TagGreenCurve) },
		"curve of text":           func(p *Profile) { p.Set(TagGreenCurve, Text("x")) },
		"function 9":              func(p *Profile) { p.Set(TagGreenCurve, ParametricCurve{Function: 9}) },
		"no colorant":             func(p *Profile) { p.Remove(TagBlueColorant) },
		"empty colorant":          func(p *Profile) { p.Set(TagBlueColorant, XYZArray{}) },
		"colorant of text":        func(p *Profile) { p.Set(TagBlueColorant, Text("")) },
		"red twice":               func(p *Profile) { p.Set(TagBlueColorant, p.Value(TagRedColorant)) },
		"no white":                func(p *Profile) { p.Remove(TagMediaWhite) },
		"black white":             func(p *Profile) { p.Set(TagMediaWhite, XYZArray{{}}) },
	}
	for name, change := range broken {
		p, _ := mustMatrix(t, testSpec(t, V4, false))
		change(p)
		if _, err := NewEvaluator(p, Absolute); err == nil || errors.Is(err, ErrUnsupported) {
			t.Errorf("%s: error is %v", name, err)
		}
	}
}

func BenchmarkToPCS(b *testing.B) {
	for _, parametric := range []bool{false, true} {
		p, _ := mustMatrix(b, testSpec(b, V4, parametric))
		e, err := NewEvaluator(p, Relative)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("parametric=%v", parametric), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				e.ToPCS(colorimetry.RGB{R: 0.3, G: 0.6, B: 0.9})
			}
		})
	}
}
