package appearance_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
)

// same reports whether b is a within 1e-9 of a's largest component, or 1e-12.
func same(a, b colorimetry.XYZ) bool {
	tol := 1e-12 + 1e-9*math.Max(math.Abs(a.X), math.Max(math.Abs(a.Y), math.Abs(a.Z)))
	return near(b.X, a.X, tol) && near(b.Y, a.Y, tol) && near(b.Z, a.Z, tol)
}

// colour makes a colour of any two numbers in [0, 1] that lies in the triangle
// of the BT.2020 primaries, which all but fills the spectrum locus, with a
// luminance up to peak.
func colour(r, g, b, peak float64) (colorimetry.XYZ, bool) {
	for _, v := range []float64{r, g, b} {
		if !(v >= 0 && v <= 1) {
			return colorimetry.XYZ{}, false
		}
	}
	// ITU-R BT.2020-2 and the white D65, as in colorimetry/rgb's table.
	m := colorimetry.Matrix{{0.6369580483, 0.1446169036, 0.1688809752}, {0.2627002120, 0.6779980715, 0.0593017165}, {0, 0.0280726930, 1.0609850577}}
	return m.FromLinear(colorimetry.RGB{R: r, G: g, B: b}).Scale(peak), true
}

func notInfinite(t *testing.T, what string, v ...float64) {
	t.Helper()
	for _, x := range v {
		if math.IsInf(x, 0) {
			t.Fatalf("%s is infinite: %v", what, v)
		}
	}
}

// There and back by every way, for the colours of BT.2020 up to ten times the
// white. CAM16 has an appearance for each of them.
func FuzzModel(f *testing.F) {
	f.Add(0.2, 0.3, 0.4, 1.0, 20.0, 0.2, uint8(0), uint8(0))
	f.Add(1.0, 1.0, 1.0, 1.0, 318.31, 0.2, uint8(1), uint8(1))
	f.Add(0.0, 0.0, 1.0, 1.0, 4.0, 0.1, uint8(2), uint8(2))
	f.Add(1e-6, 0.0, 0.0, 10.0, 1000.0, 0.6, uint8(5), uint8(3))
	f.Add(0.0, 0.0, 0.0, 1.0, 20.0, 0.2, uint8(6), uint8(0))
	f.Add(1e-5, 1e-5, 1e-5, 1.0, 0.1, 0.2, uint8(7), uint8(0))
	f.Fuzz(modelRoundTrip)
}

func modelRoundTrip(t *testing.T, r, g, b, peak, la, yb float64, which, uniform uint8) {
	surrounds := []appearance.Surround{appearance.Average(), appearance.Dim(), appearance.Dark()}
	uniforms := []appearance.Uniform{appearance.UCS(), appearance.LCD(), appearance.SCD()}
	c, ok := colour(r, g, b, peak)
	if !ok || !(peak >= 0 && peak <= 10) || !(la >= 0.01 && la <= 1e4) || !(yb >= 0.01 && yb <= 1) {
		return
	}
	v := appearance.Viewing{White: colorimetry.D65(), AdaptingCdM2: la, Background: yb, Surround: surrounds[which%3]}
	m, err := appearance.NewCAM16(v)
	if which%2 == 1 {
		m, err = appearance.NewCIECAM02(v)
	}
	if err != nil {
		t.Fatal(err)
	}
	a, ok := m.Appearance(c)
	j, ok2 := m.Jab(c, uniforms[uniform%3])
	if ok != ok2 || !ok && m.Name() == "CAM16" {
		t.Fatalf("%s: %v has appearance: %v and %v", m.Name(), c, ok, ok2)
	}
	if !ok {
		return // CIECAM02 and some saturated blues
	}
	notInfinite(t, "appearance", a.J, a.Q, a.C, a.M, a.S, a.Hue, a.Quadrature, j.J, j.A, j.B)
	for _, by := range allWays {
		if back, ok := m.XYZ(a, by); !ok || !same(c, back) {
			t.Fatalf("%s, way %d: %v looks like %+v and comes back as %v, %v", m.Name(), by, c, a, back, ok)
		}
	}
	if back, ok := m.FromJab(j, uniforms[uniform%3]); !ok || !same(c, back) {
		t.Fatalf("%s: %v is %+v and comes back as %v, %v", m.Name(), c, j, back, ok)
	}
}

// Anything at all: no infinity, no panic, NaN where ok is false.
func FuzzAnything(f *testing.F) {
	f.Add(0.2, 0.3, 0.4)
	f.Add(-1.0, 2.0, 1e300)
	f.Add(math.NaN(), math.Inf(1), math.Copysign(0, -1))
	f.Add(100.0, 1e9, 720.0)
	f.Add(-5.0, 0.1, 2.0)
	var models []*appearance.Model
	for _, make := range []func(appearance.Viewing) (*appearance.Model, error){appearance.NewCIECAM02, appearance.NewCAM16} {
		m, err := make(appearance.Viewing{White: colorimetry.D50(), AdaptingCdM2: 100})
		if err != nil {
			f.Fatal(err)
		}
		models = append(models, m)
	}
	f.Fuzz(func(t *testing.T, x, y, z float64) {
		// checked fails where a value is infinite, or not NaN although it is
		// said not to exist.
		checked := func(what string, ok bool, v ...float64) {
			t.Helper()
			notInfinite(t, what, v...)
			for _, x := range v {
				if ok && math.IsNaN(x) || !ok && !math.IsNaN(x) {
					t.Fatalf("%s of %g, %g, %g: ok = %v and %v", what, x, y, z, ok, v)
				}
			}
		}
		c := colorimetry.XYZ{X: x, Y: y, Z: z}
		for _, m := range models {
			a, ok := m.Appearance(c)
			checked("appearance", ok, a.J, a.Q, a.C, a.M, a.S, a.Hue, a.Quadrature)
			j, ok := m.Jab(c, appearance.UCS())
			checked("J'a'b'", ok, j.J, j.A, j.B)
			for _, by := range allWays {
				v, ok := m.XYZ(appearance.Appearance{J: x, Q: x, C: y, M: y, S: y, Hue: z}, by)
				checked("colour", ok, v.X, v.Y, v.Z)
			}
			v, ok := m.FromJab(appearance.Jab{J: x, A: y, B: z}, appearance.UCS())
			checked("colour of J'a'b'", ok, v.X, v.Y, v.Z)
		}
		j, ok := appearance.FromXYZJzazbz(c)
		checked("Jzazbz", ok, j.J, j.A, j.B)
		v, ok := appearance.Jzazbz{J: x, A: y, B: z}.XYZ()
		checked("colour of Jzazbz", ok, v.X, v.Y, v.Z)
		for _, f := range []appearance.ICtCpForm{appearance.ICtCpPQ, appearance.ICtCpHLG, appearance.ICtCpHLGFirst} {
			p, ok := f.FromXYZ(c)
			checked("ICtCp", ok, p.I, p.T, p.P)
			v, ok := f.XYZ(appearance.ICtCp{I: x, T: y, P: z})
			checked("colour of ICtCp", ok, v.X, v.Y, v.Z)
			w, ok := f.RGB(appearance.ICtCp{I: x, T: y, P: z})
			checked("RGB of ICtCp", ok, w.R, w.G, w.B)
		}
	})
}

// Jzazbz and ICtCp of the colours of BT.2020 from 0 to 10,000 cd/m², Oklab of
// any colour up to a hundred times the white.
func FuzzSpaces(f *testing.F) {
	f.Add(0.2, 0.3, 0.4, 100.0)
	f.Add(1.0, 1.0, 1.0, 10000.0)
	f.Add(1e-9, 0.0, 1e-7, 1000.0)
	f.Add(0.0, 0.0, 0.0, 1.0)
	f.Add(0.0, 0.0, 1.0, 10000.0)
	f.Fuzz(spacesRoundTrip)
}

func spacesRoundTrip(t *testing.T, r, g, b, peak float64) {
	c, ok := colour(r, g, b, peak)
	if !ok || !(peak >= 0 && peak <= 10000) {
		return
	}
	j, ok := appearance.FromXYZJzazbz(c)
	if back, ok2 := j.XYZ(); !ok || !ok2 || !same(c, back) {
		t.Errorf("%v is %+v and comes back as %v, %v", c, j, back, ok2)
	}
	if back := j.Jzczhz().Jzazbz(); !near(back.A, j.A, 1e-12) || !near(back.B, j.B, 1e-12) {
		t.Errorf("%+v comes back from the cylinder as %+v", j, back)
	}
	p, ok := appearance.ICtCpPQ.FromXYZ(c)
	if back, ok2 := appearance.ICtCpPQ.XYZ(p); !ok || !ok2 || !same(c, back) {
		t.Errorf("%v is PQ %+v and comes back as %v, %v", c, p, back, ok2)
	}
	for _, f := range []appearance.ICtCpForm{appearance.ICtCpHLG, appearance.ICtCpHLGFirst} {
		scene := c.Scale(1e-4)
		p, ok := f.FromXYZ(scene)
		if back, ok2 := f.XYZ(p); !ok || !ok2 || !same(scene, back) {
			t.Errorf("%v is HLG %+v and comes back as %v, %v", scene, p, back, ok2)
		}
	}
	for _, f := range []*appearance.OklabForm{appearance.OklabFirst(), appearance.OklabCSS()} {
		relative := c.Scale(0.01)
		o := f.Oklab(relative)
		if back := f.XYZ(o); !same(relative, back) {
			t.Errorf("%v is %+v and comes back as %v", relative, o, back)
		}
		if back := f.XYZ(o.Oklch().Oklab()); !same(relative, back) {
			t.Errorf("%v comes back from the cylinder as %v", relative, back)
		}
	}
}

// The same on 20,000 colours that fill the domain, dark ones and pure ones as
// often as others; a fuzzer's floats are seldom in range.
func TestRoundTrips(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 16))
	amount := func() float64 {
		switch r.IntN(4) {
		case 0:
			return 0
		case 1:
			return math.Pow(10, -9*r.Float64())
		}
		return r.Float64()
	}
	for range 20000 {
		a, b, c := amount(), amount(), amount()
		la, yb := math.Pow(10, -2+6*r.Float64()), math.Pow(10, -2*r.Float64())
		modelRoundTrip(t, a, b, c, 10*r.Float64(), la, yb, uint8(r.IntN(6)), uint8(r.IntN(3)))
		spacesRoundTrip(t, a, b, c, math.Pow(10, 4*r.Float64()))
		if t.Failed() {
			return
		}
	}
}
