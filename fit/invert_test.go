package fit_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// plain hides that a model is separable, so that the general solver is tried.
type plain struct{ fit.Model }

func TestInvertInGamut(t *testing.T) {
	for _, c := range named {
		m := additive(t, c.d.readings(175, 4, 0))
		white := m.White()
		for _, way := range []fit.Model{m, plain{m}} {
			worst := 0.0
			for _, s := range unseen() {
				target := m.XYZ(s)
				got, ok := fit.Invert(way, target)
				d := m.XYZ(got).Sub(target)
				e := math.Max(math.Abs(d.X)/white.X, math.Max(math.Abs(d.Y)/white.Y, math.Abs(d.Z)/white.Z))
				worst = math.Max(worst, e)
				if !ok || e > 1e-9 {
					t.Fatalf("%s, %T: %v came back as %v with residual %g, in gamut %v", c.name, way, s, got, e, ok)
				}
			}
			t.Logf("%s, %T: worst residual %.1e of white", c.name, way, worst)
		}
	}
}

// Out of gamut the answer is nearer, in XYZ over the white's, than any of many
// random signals.
func TestInvertOutOfGamut(t *testing.T) {
	m := additive(t, crystal.readings(175, 4, 0))
	white := m.White()
	rng := rand.New(rand.NewPCG(4, 4))
	miss := func(s colorimetry.RGB, target colorimetry.XYZ) float64 {
		d := m.XYZ(s).Sub(target)
		return math.Sqrt(d.X*d.X/white.X/white.X + d.Y*d.Y/white.Y/white.Y + d.Z*d.Z/white.Z/white.Z)
	}
	targets := []colorimetry.XYZ{white.Scale(1.2), {}, {X: 5, Y: 60, Z: 2}, {X: 80, Y: 5, Z: 1}, {X: 10, Y: 1, Z: 150}, {X: -1, Y: -1, Z: -1}, {X: 1e6, Y: 1, Z: 1}}
	for _, target := range targets {
		for _, way := range []fit.Model{m, plain{m}} {
			got, ok := fit.Invert(way, target)
			if ok {
				t.Errorf("%T: %v is said to be in gamut", way, target)
			}
			if got != got.Clamp() {
				t.Errorf("%T: %v is no signal", way, got)
			}
			least := miss(got, target)
			for range 20000 {
				s := colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()}
				// Half of the tries lie on the surface of the gamut.
				switch rng.IntN(6) {
				case 0:
					s.R = math.Round(s.R)
				case 1:
					s.G = math.Round(s.G)
				case 2:
					s.B = math.Round(s.B)
				}
				if v := miss(s, target); v < least*(1-1e-6) {
					t.Fatalf("%T: for %v, %v is nearer (%g) than %v (%g)", way, target, s, v, got, least)
				}
			}
		}
	}
	for _, bad := range []colorimetry.XYZ{{X: math.NaN()}, {Y: math.Inf(1)}} {
		if _, ok := fit.Invert(m, bad); ok {
			t.Errorf("%v is said to be in gamut", bad)
		}
	}
}

// On the neutral axis the signal rises with the light.
func TestInvertRisesOnNeutrals(t *testing.T) {
	m := additive(t, smooth.readings(175, 4, 0))
	k, w := m.Black(), m.White()
	var last colorimetry.RGB
	for i := range 1001 {
		f := float64(i) / 1000
		s, ok := fit.Invert(m, k.Add(w.Sub(k).Scale(f)))
		if !ok || s.R < last.R || s.G < last.G || s.B < last.B {
			t.Fatalf("at %g of the way to white: %v after %v, in gamut %v", f, s, last, ok)
		}
		last = s
	}
}
