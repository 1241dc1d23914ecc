package gamut_test

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/rgb"
)

var white = colorimetry.XYZ{X: 0.95047, Y: 1, Z: 1.08883}

// additive returns a display of these primaries whose light goes with the cube
// of its signal, and its matrix.
func additive(t testing.TB, c []colorimetry.Chromaticity, white colorimetry.XYZ) (func(colorimetry.RGB) colorimetry.XYZ, colorimetry.Matrix) {
	t.Helper()
	m, err := rgb.PrimariesMatrix(c[0], c[1], c[2], white)
	if err != nil {
		t.Fatal(err)
	}
	return through(m), m
}

func through(m colorimetry.Matrix) func(colorimetry.RGB) colorimetry.XYZ {
	return func(s colorimetry.RGB) colorimetry.XYZ {
		return m.FromLinear(colorimetry.RGB{R: s.R * s.R * s.R, G: s.G * s.G * s.G, B: s.B * s.B * s.B})
	}
}

// solid returns the solid of a named gamut in a space.
func solid(t testing.TB, name string, s gamut.Space, o gamut.Options) *gamut.Solid {
	t.Helper()
	short := map[string]string{"sRGB": "sRGB/BT.709", "Adobe RGB": "Adobe RGB (1998)"}
	if long, ok := short[name]; ok {
		name = long
	}
	device, _ := additive(t, named(t, name), white)
	out, err := gamut.New(device, s, o)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func space(t testing.TB, name string) gamut.Space {
	t.Helper()
	v := appearance.Viewing{White: white, AdaptingCdM2: 64 / math.Pi / 5}
	model, err := appearance.NewCIECAM02(v)
	if name == "CAM16-UCS" {
		model, err = appearance.NewCAM16(v)
	}
	if err != nil {
		t.Fatal(err)
	}
	s := gamut.CAM16UCS(model)
	if name == "CIELAB" {
		s = gamut.CIELAB(white)
	}
	if s.Name() != name {
		t.Fatalf("%s is called %s", name, s.Name())
	}
	return s
}

// Volumes by quadrature over the signal cube in another language: no surface
// enters there. In CAM02-UCS, whose
// cone responses for deep blues turn negative, the quadrature itself moves by
// 2e-4 towards ours when its nodes are doubled, while ours moves by 3e-5 when
// its steps are.
func TestVolumes(t *testing.T) {
	for _, row := range worked.Read(t, "crosscheck_volumes.csv") {
		s := solid(t, row["gamut"], space(t, row["space"]), gamut.Options{})
		want := row.Num(t, "volume")
		t.Logf("%s in %s: %.0f, wanted %.0f", row["gamut"], row["space"], s.Volume(), want)
		limit := 3e-5
		if row["space"] == "CAM02-UCS" {
			limit = 1.5e-4
		}
		near(t, row["gamut"]+" in "+row["space"], s.Volume()/want, 1, limit)
	}
}

// Volumes in CIELAB of D50 as B. J. Lindbloom publishes them beside the
// primaries, adapted by Bradford where the white is another. They lie 0.02 to
// 0.04 % below ours, which do not change any more from 32 to 64 steps in their
// first five digits: a surface of flat triangles cuts off that much, and how
// fine theirs was is not said.
func TestPublishedVolumes(t *testing.T) {
	d50 := colorimetry.XYZ{X: 0.96422, Y: 1, Z: 0.82521}
	for _, c := range []struct {
		name      string
		primaries []colorimetry.Chromaticity
		white     colorimetry.XYZ
		want      float64
	}{
		{"Adobe RGB (1998)", triangles["Adobe RGB (1998)"], white, 1_208_631},
		{"primaries of early desktop displays", []colorimetry.Chromaticity{xy(0.625, 0.34), xy(0.28, 0.595), xy(0.155, 0.07)}, white, 798_403},
		{"0.7347 0.2653", []colorimetry.Chromaticity{xy(0.7347, 0.2653), xy(0.215, 0.775), xy(0.13, 0.035)}, d50, 2_050_725},
		{"0.6888 0.3112", []colorimetry.Chromaticity{xy(0.6888, 0.3112), xy(0.1986, 0.7551), xy(0.1265, 0.0352)}, d50, 1_717_450},
	} {
		_, m := additive(t, c.primaries, c.white)
		a, err := colorimetry.Bradford(c.white, d50)
		if err != nil {
			t.Fatal(err)
		}
		var last float64
		for _, steps := range []int{32, 64} {
			s, err := gamut.New(through(a.Mul(m)), gamut.CIELAB(d50), gamut.Options{Steps: steps})
			if err != nil {
				t.Fatal(err)
			}
			near(t, c.name, s.Volume()/c.want, 1, 5e-4)
			if last != 0 {
				near(t, c.name+", finer", s.Volume()/last, 1, 1e-5)
			}
			last = s.Volume()
		}
	}
}

// 600 random colours: whether sRGB holds them, and how far it is, found by
// minimising over the signals in another language. Distances are off by what flat
// triangles cut off.
func TestNearest(t *testing.T) {
	coarse, fine := 0.0, 0.0
	device, m := additive(t, triangles["sRGB/BT.709"], white)
	inverse, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range []struct {
		steps int
		worst *float64
	}{{32, &coarse}, {64, &fine}} {
		s, err := gamut.New(device, gamut.CIELAB(white), gamut.Options{Steps: k.steps})
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range worked.Read(t, "crosscheck_nearest.csv") {
			p := gamut.Coordinates{L: row.Num(t, "l"), A: row.Num(t, "a"), B: row.Num(t, "b")}
			want := row.Num(t, "distance")
			q, d := s.Nearest(p)
			*k.worst = math.Max(*k.worst, math.Abs(d-want))
			if inside := row["inside"] == "1"; s.Contains(p) != inside || (d == 0) != inside || inside && q != p {
				// A colour this near to the surface may be on either side of it.
				near(t, "which side", want+d, 0, 0.04)
			}
			if !s.Contains(q) {
				t.Errorf("the nearest to %v, %v, is outside", p, q)
			}
			linear := inverse.ToLinear(colorimetry.Lab(q).XYZ(white))
			if d > 0 && (linear.Min() < -0.004 || linear.Max() > 1.004) {
				t.Errorf("the nearest to %v is made by %v", p, linear)
			}
		}
	}
	t.Logf("distances are off by up to %.3f with 32 steps, %.3f with 64", coarse, fine)
	if coarse > 0.04 || fine > 0.02 {
		t.Errorf("off by %.3f and %.3f", coarse, fine)
	}
}

// The true surface, on it 20,000 random places, and how far it is from the flat
// triangles: the figure in the comment of Options.Steps.
func TestFlatness(t *testing.T) {
	device, _ := additive(t, triangles["sRGB/BT.709"], white)
	for _, c := range []struct {
		space string
		steps int
		limit float64
	}{{"CIELAB", 32, 0.3}, {"CIELAB", 64, 0.15}, {"CAM16-UCS", 32, 0.3}} {
		s := solid(t, "sRGB", space(t, c.space), gamut.Options{Steps: c.steps})
		r := rand.New(rand.NewPCG(7, 8))
		var most, sum float64
		for i := range 20000 {
			v := [3]float64{r.Float64(), r.Float64(), r.Float64()}
			v[i%3] = float64(i / 3 % 2)
			p, ok := s.Space().Coordinates(device(colorimetry.RGB{R: v[0], G: v[1], B: v[2]}))
			if !ok {
				t.Fatal(v)
			}
			_, d := s.Nearest(p)
			most, sum = math.Max(most, d), sum+d
		}
		t.Logf("%s, %d steps: within %.3f, mean %.4f", c.space, c.steps, most, sum/20000)
		if most > c.limit {
			t.Errorf("%s, %d steps: %.3f away", c.space, c.steps, most)
		}
	}
}

// 2000 random signals of the device, and of one beyond its reach, against the
// matrix: inside is where all light is from 0 to 1.
func TestHoldsItsOwn(t *testing.T) {
	for _, name := range []string{"CIELAB", "CAM16-UCS"} {
		s := solid(t, "sRGB", space(t, name), gamut.Options{Steps: 64})
		device, _ := additive(t, triangles["sRGB/BT.709"], white)
		r := rand.New(rand.NewPCG(1, 2))
		for range 2000 {
			// Half of them reach beyond the cube by up to a tenth, and keep a
			// hundredth of the signal from its surface.
			v := [3]float64{r.Float64(), r.Float64(), r.Float64()}
			outside := false
			for i, x := range v {
				if v[i] = 1.2*x - 0.1; math.Abs(v[i]) < 0.01 || math.Abs(v[i]-1) < 0.01 {
					v[i] = 0.5
				}
				outside = outside || v[i] < 0 || v[i] > 1
			}
			c := device(colorimetry.RGB{R: v[0], G: v[1], B: v[2]})
			p, ok := s.Space().Coordinates(c)
			if !ok || math.Abs(v[0])+math.Abs(v[1])+math.Abs(v[2]) < 0.3 {
				continue // near black a hundredth of the signal is no difference
			}
			if s.ContainsXYZ(c) == outside {
				_, d := s.Nearest(p)
				if d > 0.05 || !outside && d == 0 {
					t.Errorf("%s: signal %.3f, outside %t, distance %.3g", name, v, outside, d)
				}
			}
		}
	}
}

// The nearest place by the tree is that of a plain walk over all triangles.
func TestTree(t *testing.T) {
	s := solid(t, "BT.2020", space(t, "CAM16-UCS"), gamut.Options{Steps: 8})
	vertices, triangles := s.Surface()
	r := rand.New(rand.NewPCG(3, 4))
	for range 500 {
		p := gamut.Coordinates{L: 140*r.Float64() - 20, A: 160*r.Float64() - 80, B: 160*r.Float64() - 80}
		best := math.Inf(1)
		for _, c := range triangles {
			best = math.Min(best, triangleDistance(p, vertices[c[0]], vertices[c[1]], vertices[c[2]]))
		}
		if _, d := s.Nearest(p); d != 0 {
			near(t, "distance", d, best, 1e-6)
		}
	}
}

// triangleDistance finds the least distance by walking to and fro between the
// two barycentric coordinates, each of which is best on a line.
func triangleDistance(p, a, b, c gamut.Coordinates) float64 {
	sub := func(p, q gamut.Coordinates) gamut.Coordinates {
		return gamut.Coordinates{L: p.L - q.L, A: p.A - q.A, B: p.B - q.B}
	}
	dot := func(p, q gamut.Coordinates) float64 { return p.L*q.L + p.A*q.A + p.B*q.B }
	u, v, w := sub(b, a), sub(c, a), sub(p, a)
	on := func(p, q gamut.Coordinates) float64 { // distance from a segment from 0 to q
		k := math.Max(0, math.Min(1, dot(p, q)/dot(q, q)))
		d := sub(p, gamut.Coordinates{L: k * q.L, A: k * q.A, B: k * q.B})
		return math.Sqrt(dot(d, d))
	}
	best := math.Min(on(w, u), math.Min(on(w, v), on(sub(p, b), sub(c, b))))
	// Inside the triangle the distance is that from the plane.
	uu, uv, vv, wu, wv := dot(u, u), dot(u, v), dot(v, v), dot(w, u), dot(w, v)
	det := uu*vv - uv*uv
	x, y := (vv*wu-uv*wv)/det, (uu*wv-uv*wu)/det
	if x >= 0 && y >= 0 && x+y <= 1 {
		d := gamut.Coordinates{L: w.L - x*u.L - y*v.L, A: w.A - x*u.A - y*v.A, B: w.B - x*u.B - y*v.B}
		best = math.Min(best, math.Sqrt(dot(d, d)))
	}
	return best
}

func TestCovers(t *testing.T) {
	solids := map[string]*gamut.Solid{}
	for _, name := range []string{"sRGB", "Adobe RGB", "P3", "BT.2020"} {
		solids[name] = solid(t, name, gamut.CIELAB(white), gamut.Options{})
	}
	for _, row := range worked.Read(t, "crosscheck_covers.csv") {
		got := solids[row["gamut"]].Covers(solids[row["other"]])
		t.Logf("%s of %s: %.4f, wanted %.4f", row["gamut"], row["other"], got, row.Num(t, "share"))
		// The reference is good to 0.0005 itself.
		near(t, row["gamut"]+" of "+row["other"], got, row.Num(t, "share"), 0.0015)
	}
	near(t, "itself", solids["P3"].Covers(solids["P3"]), 1, 0)
}

// Every corner is on the surface, every edge belongs to two triangles that run
// along it in opposite directions, and the triangles face outwards.
func TestSurface(t *testing.T) {
	s := solid(t, "P3", gamut.CIELAB(white), gamut.Options{Steps: 16})
	vertices, triangles := s.Surface()
	edges := map[[2]int]int{}
	var volume float64
	for _, c := range triangles {
		for i := range c {
			edges[[2]int{c[i], c[(i+1)%3]}]++
		}
		a, b, d := vertices[c[0]], vertices[c[1]], vertices[c[2]]
		volume += (a.L*(b.A*d.B-b.B*d.A) + a.A*(b.B*d.L-b.L*d.B) + a.B*(b.L*d.A-b.A*d.L)) / 6
	}
	for e, n := range edges {
		if n != 1 || edges[[2]int{e[1], e[0]}] != 1 {
			t.Fatalf("edge %v is there %d times, and %d times the other way", e, n, edges[[2]int{e[1], e[0]}])
		}
	}
	near(t, "volume within the triangles", volume/s.Volume(), 1, 0.01)
	for _, v := range vertices {
		if q, d := s.Nearest(v); !s.Contains(v) || d != 0 || q != v {
			t.Fatalf("corner %v is %g away", v, d)
		}
	}
	if len(vertices) != 6*16*16+2 || len(triangles) != 12*16*16 {
		t.Errorf("%d corners, %d triangles", len(vertices), len(triangles))
	}
	vertices[0].L = 1000
	if again, _ := s.Surface(); again[0].L == 1000 {
		t.Error("the caller's changes stay")
	}
}

func TestNoSolid(t *testing.T) {
	lab := gamut.CIELAB(white)
	grey := func(s colorimetry.RGB) colorimetry.XYZ { return white.Scale((s.R + s.G + s.B) / 3) }
	device, _ := additive(t, triangles["P3"], white)
	bad := func(s colorimetry.RGB) colorimetry.XYZ { return colorimetry.XYZ{X: s.R, Y: 0.5 / s.G, Z: s.B} }
	for _, c := range []struct {
		name   string
		device func(colorimetry.RGB) colorimetry.XYZ
		space  gamut.Space
		o      gamut.Options
		says   string
	}{
		{"a grey display", grey, lab, gamut.Options{}, "enclose a volume of"},
		{"no number", bad, lab, gamut.Options{}, "signal 0, 0, 0 makes XYZ"},
		{"odd steps", device, lab, gamut.Options{Steps: 7}, "7 steps; an even number from 2 to 128"},
		{"too many", device, lab, gamut.Options{Steps: 130}, "130 steps"},
		{"negative", device, lab, gamut.Options{Steps: -2}, "-2 steps"},
		{"no white", device, gamut.CIELAB(colorimetry.XYZ{}), gamut.Options{}, "has no place in CIELAB"},
	} {
		if _, err := gamut.New(c.device, c.space, c.o); err == nil || !strings.HasPrefix(err.Error(), "gamut: ") || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

func TestNoColour(t *testing.T) {
	s := solid(t, "sRGB", space(t, "CAM16-UCS"), gamut.Options{Steps: 8})
	for _, p := range []gamut.Coordinates{{L: math.NaN()}, {A: math.Inf(1)}, {L: 50, B: math.Inf(-1)}} {
		if q, d := s.Nearest(p); s.Contains(p) || !math.IsNaN(d) || !math.IsNaN(q.L) || !math.IsNaN(q.A) || !math.IsNaN(q.B) {
			t.Errorf("%v: %v, %g", p, q, d)
		}
	}
	nan := colorimetry.XYZ{X: math.NaN(), Y: 0.5, Z: 0.5}
	if c, d, ok := s.NearestXYZ(nan); ok || s.ContainsXYZ(nan) || !math.IsNaN(c.Y) || !math.IsNaN(d) {
		t.Errorf("%v, %g, %t", c, d, ok)
	}
	in := white.Scale(0.5)
	if c, d, ok := s.NearestXYZ(in); !ok || d != 0 || c != in {
		t.Errorf("%v, %g, %t", c, d, ok)
	}
	out := white.Scale(1.5)
	c, d, ok := s.NearestXYZ(out)
	if !ok || !(d > 1) || !s.ContainsXYZ(c) {
		t.Errorf("%v, %g, %t", c, d, ok)
	}
}

// Whatever the colour: the nearest one is inside, and no further than the
// middle grey.
func FuzzNearest(f *testing.F) {
	s := solid(f, "sRGB", gamut.CIELAB(white), gamut.Options{Steps: 8})
	f.Add(50.0, 0.0, 0.0)
	f.Add(0.0, 0.0, 0.0)
	f.Add(100.0, 0.0, 0.0)
	f.Add(-20.0, 300.0, -300.0)
	f.Add(1e6, -1e6, 1e6)
	f.Fuzz(func(t *testing.T, l, a, b float64) {
		if !(math.Abs(l) <= 1e6 && math.Abs(a) <= 1e6 && math.Abs(b) <= 1e6) {
			return
		}
		p := gamut.Coordinates{L: l, A: a, B: b}
		q, d := s.Nearest(p)
		grey := math.Sqrt((l-50)*(l-50) + a*a + b*b)
		if !(d >= 0 && d <= grey+1e-9) || (d == 0) != s.Contains(p) || !s.Contains(q) {
			t.Fatalf("%v: nearest %v, %g away, grey %g, %t, %t", p, q, d, grey, s.Contains(p), s.Contains(q))
		}
	})
}

func TestAllocations(t *testing.T) {
	s := solid(t, "sRGB", space(t, "CAM16-UCS"), gamut.Options{Steps: 8})
	p, q := gamut.XY(triangles["P3"]...), gamut.XY(triangles["BT.2020"]...)
	far := gamut.Coordinates{L: 50, A: 90, B: -60}
	for name, f := range map[string]func(){
		"Contains":   func() { s.Contains(far) },
		"Nearest":    func() { s.Nearest(far) },
		"NearestXYZ": func() { s.NearestXYZ(white.Scale(1.2)) },
		"Overlap":    func() { gamut.Overlap(p, q) },
		"Polygon":    func() { p.Contains(gamut.Point{X: 0.3, Y: 0.3}) },
	} {
		if n := testing.AllocsPerRun(100, f); n != 0 {
			t.Errorf("%s: %g allocations", name, n)
		}
	}
}

// colours are 1024 random places in and around sRGB.
func colours() (p []gamut.Coordinates) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 1024 {
		p = append(p, gamut.Coordinates{L: 100 * r.Float64(), A: 200*r.Float64() - 100, B: 200*r.Float64() - 100})
	}
	return p
}

func perColour(b *testing.B, f func(gamut.Coordinates)) {
	p := colours()
	b.ReportAllocs()
	for b.Loop() {
		for _, c := range p {
			f(c)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(len(p)), "ns/colour")
}

func BenchmarkContains(b *testing.B) {
	s := solid(b, "sRGB", gamut.CIELAB(white), gamut.Options{})
	perColour(b, func(c gamut.Coordinates) { s.Contains(c) })
}

func BenchmarkNearest(b *testing.B) {
	s := solid(b, "sRGB", gamut.CIELAB(white), gamut.Options{})
	perColour(b, func(c gamut.Coordinates) { s.Nearest(c) })
}

func BenchmarkNew(b *testing.B) {
	device, _ := additive(b, triangles["sRGB/BT.709"], white)
	for b.Loop() {
		if _, err := gamut.New(device, gamut.CIELAB(white), gamut.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
