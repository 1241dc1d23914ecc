package aim_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/fit/aim"
)

// display returns an additive display of these primaries' chromaticities, white
// and luminance.
func display(t *testing.T, name string, p [3][2]float64, white colorimetry.Chromaticity, cdM2, black float64) aim.Display {
	t.Helper()
	var m colorimetry.Matrix
	for c := range 3 {
		v := colorimetry.Chromaticity{X: p[c][0], Y: p[c][1]}.XYZ(1)
		m[0][c], m[1][c], m[2][c] = v.X, v.Y, v.Z
	}
	inv, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	k := inv.ToLinear(white.XYZ(cdM2))
	for r := range 3 {
		m[r][0], m[r][1], m[r][2] = m[r][0]*k.R, m[r][1]*k.G, m[r][2]*k.B
	}
	return aim.Display{Name: name, Primaries: m, Black: white.XYZ(black)}
}

var (
	bt709 = [3][2]float64{{0.64, 0.33}, {0.30, 0.60}, {0.15, 0.06}}  // ITU-R BT.709-6
	p3    = [3][2]float64{{0.68, 0.32}, {0.265, 0.69}, {0.15, 0.06}} // SMPTE RP 431-2, open article
	adobe = [3][2]float64{{0.64, 0.33}, {0.21, 0.71}, {0.15, 0.06}}  // ISO 12640-4's display gamut, from memory
)

func TestShareTwo(t *testing.T) {
	d65 := mustWhite(t, "D65").At
	two := []aim.Display{display(t, "left", bt709, d65, 220, 0.2), display(t, "right", p3, d65, 160, 0.05)}
	s, err := (aim.Aim{White: mustWhite(t, "D65")}).Share(two)
	if err != nil {
		t.Fatal(err)
	}
	if !s.OK || math.Abs(s.Aim.Luminance-160) > 0.15 || s.Aim.White.At != d65 {
		t.Errorf("%+v: %q", s.Aim, s.Sentences)
	}
	if s.HighestBlack != 0.2 || math.Abs(s.Displays[0].Luminance-160.0/220.2) > 2e-3 || s.Displays[1].Luminance < 0.99 {
		t.Errorf("black %g, shares %g and %g", s.HighestBlack, s.Displays[0].Luminance, s.Displays[1].Luminance)
	}
	if !strings.Contains(strings.Join(s.Sentences, " "), "right sets it") {
		t.Errorf("%q", s.Sentences)
	}
	// The overlap by gamut's own sum over triangles, not by clipping.
	overlap := gamut.Overlap(s.Gamut, s.Gamut)
	if want := gamut.Overlap(uvTriangle(bt709), uvTriangle(p3)); math.Abs(overlap/want-1) > 1e-9 {
		t.Errorf("in common %g, not %g", overlap, want)
	}
	if !(s.Displays[0].Gamut > 0.97 && s.Displays[0].Gamut <= 1+1e-12 && s.Displays[1].Gamut < 0.8) {
		t.Errorf("shares of the gamuts %g and %g", s.Displays[0].Gamut, s.Displays[1].Gamut)
	}
	for _, d := range s.Displays {
		if !d.Reached.OK {
			t.Errorf("%s: %s", d.Name, d.Reached.Sentence)
		}
	}
	s, err = (aim.Aim{White: mustWhite(t, "D65"), Luminance: 200}).Share(two)
	if err != nil || s.OK || s.Aim.Luminance > 161 || !strings.Contains(strings.Join(s.Sentences, " "), "right gives") {
		t.Errorf("200 cd/m²: %+v, %v", s, err)
	}
}

func uvTriangle(p [3][2]float64) gamut.Polygon {
	var c []colorimetry.Chromaticity
	for _, xy := range p {
		c = append(c, colorimetry.Chromaticity{X: xy[0], Y: xy[1]})
	}
	return gamut.UV(c...)
}

// Ten displays whose own whites differ: none has to go farther than the radius
// of the smallest circle, found here by trying all pairs and triples; all can
// have what comes out, and with a little more light one cannot.
func TestShareRoom(t *testing.T) {
	var room []aim.Display
	var own []colorimetry.UV
	for i := range 10 {
		k := 5900 + 140*float64(i)
		w, err := aim.OnLocus(k, 0.006*math.Sin(3*float64(i)), aim.PlanckianLocus)
		if err != nil {
			t.Fatal(err)
		}
		d := display(t, fmt.Sprint("desk ", i+1), [][3][2]float64{bt709, p3, adobe}[i%3], w.At, 250+15*float64((i*7)%10), 0.1+0.02*float64(i))
		room, own = append(room, d), append(own, w.At.UV())
	}
	s, err := (aim.Aim{}).Share(room)
	if err != nil {
		t.Fatal(err)
	}
	if !s.OK || len(s.Displays) != 10 {
		t.Fatalf("%q", s.Sentences)
	}
	var farthest float64
	for i, d := range s.Displays {
		farthest = math.Max(farthest, d.WhiteShift)
		if !d.Reached.OK {
			t.Errorf("%s: %s", d.Name, d.Reached.Sentence)
		}
		if d.Name != room[i].Name {
			t.Errorf("%s stands where %s was", d.Name, room[i].Name)
		}
	}
	if want := smallestCircle(own); math.Abs(farthest-want) > 1.5e-4 { // four decimals of x and y
		t.Errorf("the farthest goes %.5f in u'v', the smallest circle has %.5f", farthest, want)
	}
	more := s.Aim
	more.Luminance += 0.3
	if again, err := more.Share(room); err != nil || again.OK {
		t.Errorf("%g cd/m² can be had, too (%v)", more.Luminance, err)
	}
	// The common primaries: each display has them.
	for _, p := range s.Primaries {
		for i, d := range room {
			var tri gamut.Polygon
			for c := range 3 {
				uv := d.Primaries.Column(c).UV()
				tri = append(tri, gamut.Point{X: uv.U, Y: uv.V})
			}
			if in := (colorimetry.UV{U: p.U + 1e-7*(s.Primaries[0].U+s.Primaries[1].U+s.Primaries[2].U-3*p.U), V: p.V + 1e-7*(s.Primaries[0].V+s.Primaries[1].V+s.Primaries[2].V-3*p.V)}); !tri.Contains(gamut.Point{X: in.U, Y: in.V}) {
				t.Errorf("display %d has no %v", i, p)
			}
		}
	}
}

// smallestCircle returns the radius of the smallest circle around points: the
// smallest among those through two or three of them that holds all.
func smallestCircle(p []colorimetry.UV) float64 {
	best := math.Inf(1)
	try := func(c colorimetry.UV) {
		var r float64
		for _, q := range p {
			r = math.Max(r, c.Distance(q))
		}
		best = math.Min(best, r)
	}
	for i, a := range p {
		for j, b := range p[:i] {
			try(colorimetry.UV{U: (a.U + b.U) / 2, V: (a.V + b.V) / 2})
			for _, c := range p[:j] {
				bu, bv, cu, cv := b.U-a.U, b.V-a.V, c.U-a.U, c.V-a.V
				d := 2 * (bu*cv - bv*cu)
				try(colorimetry.UV{
					U: a.U + (cv*(bu*bu+bv*bv)-bv*(cu*cu+cv*cv))/d,
					V: a.V + (bu*(cu*cu+cv*cv)-cu*(bu*bu+bv*bv))/d,
				})
			}
		}
	}
	return best
}

func TestShareMovesWhite(t *testing.T) {
	d65 := mustWhite(t, "D65").At
	two := []aim.Display{display(t, "", bt709, d65, 220, 0.2), display(t, "", p3, d65, 160, 0.05)}
	want := aim.XY(0.22, 0.65)
	s, err := (aim.Aim{White: want}).Share(two)
	if err != nil {
		t.Fatal(err)
	}
	if s.OK || s.Aim.White == want || !strings.Contains(s.Sentences[0], "display 1") {
		t.Errorf("%+v: %q", s.Aim, s.Sentences)
	}
	// No corner of a fine grid that both can have is nearer.
	got := s.Aim.White.At.UV().Distance(want.At.UV())
	for x := 0.16; x < 0.6; x += 0.002 {
		for y := 0.07; y < 0.65; y += 0.002 {
			if d := aim.XY(x, y).At.UV().Distance(want.At.UV()); d < got-5e-4 {
				both := true
				for _, m := range two {
					r, err := aim.Reach(aim.Aim{White: aim.XY(x, y)}, m.Primaries, m.Black)
					both = both && err == nil && r.OK
				}
				if both {
					t.Fatalf("%.4f,%.4f is nearer: %g, not %g", x, y, d, got)
				}
			}
		}
	}
	// The prints' light goes down with the dimmest.
	s, err = aim.Aim{White: mustWhite(t, "D50"), Luminance: 541, Print: aim.Print{Reflectance: 0.85, Lux: 2000}}.Share(two)
	if err != nil || s.OK || !strings.Contains(strings.Join(s.Sentences, " "), "dim the light on the prints to ") {
		t.Errorf("prints: %q (%v)", s.Sentences, err)
	}
}

func TestShareRefuses(t *testing.T) {
	d65 := mustWhite(t, "D65").At
	one := display(t, "one", bt709, d65, 200, 0.1)
	apart := display(t, "apart", [3][2]float64{{0.68, 0.32}, {0.45, 0.54}, {0.60, 0.30}}, colorimetry.Chromaticity{X: 0.57, Y: 0.39}, 100, 0.1)
	other := display(t, "other", [3][2]float64{{0.20, 0.20}, {0.1, 0.6}, {0.15, 0.06}}, colorimetry.Chromaticity{X: 0.16, Y: 0.25}, 100, 0.1)
	for name, c := range map[string][]aim.Display{
		"none": nil, "too many": make([]aim.Display, 101), "no primaries": {one, {Name: "dead"}}, "nothing in common": {apart, other},
	} {
		if s, err := (aim.Aim{}).Share(c); err == nil || !strings.HasPrefix(err.Error(), "aim: ") {
			t.Errorf("%s: %+v, %v", name, s, err)
		}
	}
	if _, err := (aim.Aim{Tone: aim.GSDF{}}).Share([]aim.Display{one}); !errors.Is(err, aim.ErrAmbient) {
		t.Errorf("gsdf: %v", err)
	}
	s, err := (aim.Aim{}).Share([]aim.Display{one})
	if err != nil || !s.OK || s.Displays[0].WhiteShift > 1e-4 || s.Displays[0].Gamut < 1-1e-9 {
		t.Errorf("one alone: %+v, %v", s, err)
	}
}
