package gamutmap_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/fit/internal/gamutmap"
)

// A display of sRGB's primaries (IEC 61966-2-1) with a black of a thousandth
// stands for saturated colours beyond it.
func TestStand(t *testing.T) {
	show := func(s rgb.Space) func(colorimetry.RGB) colorimetry.XYZ {
		m, err := s.Matrix()
		if err != nil {
			t.Fatal(err)
		}
		return func(c colorimetry.RGB) colorimetry.XYZ { return m.FromLinear(s.Linear(c)) }
	}
	srgb, wide := show(rgb.SRGB()), show(rgb.BT2020())
	white := srgb(colorimetry.Gray(1))
	black := white.Scale(1e-3)
	colour := func(v [3]float64) colorimetry.XYZ {
		return black.Add(srgb(colorimetry.RGB{R: v[0], G: v[1], B: v[2]}).Scale(1 - 1e-3))
	}
	g, err := gamutmap.New(colour, black, white, 32)
	if err != nil {
		t.Fatal(err)
	}
	byHue := func(p gamut.Coordinates) gamut.Coordinates {
		q, _ := g.Hues.Nearest(p)
		return g.Pale(p, q)
	}
	for _, s := range []colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, {R: 1, G: 1}, {G: 1, B: 1}, {R: 1, B: 1}} {
		c := wide(s)
		got, ok := g.Stand(c, byHue)
		p, _ := g.Space.Coordinates(c)
		q, inside := g.Space.Coordinates(got)
		if turn := math.Abs(math.Remainder(math.Atan2(p.B, p.A)-math.Atan2(q.B, q.A), 2*math.Pi)); !ok || !inside || turn > 0.01 {
			t.Errorf("%v: its hue turns by %.4f (%v)", s, turn, ok)
		}
		if math.Hypot(q.A, q.B) > math.Hypot(p.A, p.B) {
			t.Errorf("%v: more chroma than it had", s)
		}
	}
	// Darker than black comes to black the nearer it is to none, and is no colour
	// where tristimulus values are negative.
	if got, ok := g.Stand(colorimetry.XYZ{X: -1, Y: -1, Z: -1}, byHue); !ok || got.Sub(black).Y > 1e-6 || got.Y < 0 {
		t.Errorf("no light stands as %v (%v)", got, ok)
	}
	// A grey brighter than white comes to white, whichever hue its last bits have.
	for _, turn := range []float64{0, 1, 2, 3} {
		p, _ := g.Space.Coordinates(white.Scale(1.2))
		p.A, p.B = p.A+1e-6*math.Cos(turn), p.B+1e-6*math.Sin(turn)
		q := byHue(p)
		if w, _ := g.Space.Coordinates(white); math.Hypot(q.A-w.A, q.B-w.B) > 1e-3 || math.Abs(q.L-w.L) > 0.01 {
			t.Errorf("a bright grey comes to %+v, white is %+v", q, w)
		}
	}
}
