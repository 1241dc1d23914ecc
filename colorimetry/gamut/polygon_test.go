package gamut_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/spectrum"
)

func xy(x, y float64) colorimetry.Chromaticity { return colorimetry.Chromaticity{X: x, Y: y} }

// triangles are the primaries that the tables name: of the standards, and for
// NTSC 1953 those of 47 CFR 73.682.
var triangles = map[string][]colorimetry.Chromaticity{
	"sRGB/BT.709":      {xy(0.64, 0.33), xy(0.30, 0.60), xy(0.15, 0.06)},
	"Adobe RGB (1998)": {xy(0.64, 0.33), xy(0.21, 0.71), xy(0.15, 0.06)},
	"P3":               {xy(0.68, 0.32), xy(0.265, 0.69), xy(0.15, 0.06)},
	"BT.2020":          {xy(0.708, 0.292), xy(0.170, 0.797), xy(0.131, 0.046)},
	"NTSC 1953":        {xy(0.67, 0.33), xy(0.21, 0.71), xy(0.14, 0.08)},
	"SMPTE 170M":       {xy(0.63, 0.34), xy(0.31, 0.595), xy(0.155, 0.07)},
	"EBU 3213":         {xy(0.64, 0.33), xy(0.29, 0.60), xy(0.15, 0.06)},
	"ROMM RGB":         {xy(0.7347, 0.2653), xy(0.1596, 0.8404), xy(0.0366, 0.0001)},
}

func named(t testing.TB, name string) []colorimetry.Chromaticity {
	t.Helper()
	c, ok := triangles[name]
	if !ok {
		t.Fatalf("the table names %q", name)
	}
	return c
}

func near(t testing.TB, what string, got, want, limit float64) {
	t.Helper()
	if !(math.Abs(got-want) <= limit) {
		t.Errorf("%s: got %.12g, want %.12g", what, got, want)
	}
}

// Eight gamuts, each against each; the table has ten digits.
func TestAreaAndCoverage(t *testing.T) {
	for _, row := range worked.Read(t, "area_coverage.csv") {
		a, b := named(t, row["gamut"]), named(t, row["reference"])
		what := row["gamut"] + " of " + row["reference"]
		for _, d := range []struct {
			name string
			p, q gamut.Polygon
		}{{"xy", gamut.XY(a...), gamut.XY(b...)}, {"uv76", gamut.UV(a...), gamut.UV(b...)}} {
			near(t, what+", area", d.p.Area(), row.Num(t, "area_"+d.name), 1e-9)
			near(t, what+", reference", d.q.Area(), row.Num(t, "ref_area_"+d.name), 1e-9)
			near(t, what+", ratio", 100*gamut.AreaRatio(d.p, d.q), row.Num(t, "area_ratio_"+d.name+"_pct"), 1e-7)
			near(t, what+", coverage", 100*gamut.Coverage(d.p, d.q), row.Num(t, "coverage_"+d.name+"_pct"), 1e-7)
		}
	}
}

func TestPublishedCoverage(t *testing.T) {
	for _, row := range worked.Read(t, "published.csv") {
		got := 100 * gamut.Coverage(gamut.UV(named(t, row["gamut"])...), gamut.UV(named(t, row["reference"])...))
		near(t, row["reference"], got, row.Num(t, "coverage_pct_published"), 0.005)
		near(t, row["reference"]+", computed", got, row.Num(t, "coverage_pct_computed"), 5e-5)
	}
}

// The printed 53.6 and 75.8 % in x, y are no triangle over the locus's area, as
// the table says, and are left out.
func TestShareOfLocus(t *testing.T) {
	locus, err := spectrum.CIE1931().SpectralLocus(380, 700, 1)
	if err != nil {
		t.Fatal(err)
	}
	inXY, inUV := gamut.XY(locus...), gamut.UV(locus...)
	for _, row := range worked.Read(t, "locus.csv") {
		c := named(t, row["gamut"])
		near(t, row["gamut"]+" in x, y", 100*gamut.AreaRatio(gamut.XY(c...), inXY), row.Num(t, "pct_of_locus_xy_computed"), 5e-5)
		near(t, row["gamut"]+" in u', v'", 100*gamut.AreaRatio(gamut.UV(c...), inUV), row.Num(t, "pct_of_locus_uv76_computed"), 5e-5)
		if row["pct_of_locus_uv76_published"] != "" {
			near(t, row["gamut"]+", printed", 100*gamut.AreaRatio(gamut.UV(c...), inUV), row.Num(t, "pct_of_locus_uv76_published"), 0.05)
		}
		// All of it but ROMM's kind is within the locus.
		near(t, row["gamut"]+" inside", gamut.Overlap(gamut.XY(c...), inXY), gamut.XY(c...).Area(), 2e-4)
	}
}

func corners(t testing.TB, s string) (p gamut.Polygon) {
	t.Helper()
	var v []float64
	for _, f := range strings.Fields(s) {
		x, err := strconv.ParseFloat(f, 64)
		if err != nil {
			t.Fatal(err)
		}
		v = append(v, x)
	}
	for i := 0; i < len(v); i += 2 {
		p = append(p, gamut.Point{X: v[i], Y: v[i+1]})
	}
	return p
}

func reversed(p gamut.Polygon) gamut.Polygon {
	var out gamut.Polygon
	for i := range p {
		out = append(out, p[len(p)-1-i])
	}
	return out
}

// 600 random pairs of outlines, most not convex, against a general geometry
// library.
func TestOutlines(t *testing.T) {
	for _, row := range worked.Read(t, "crosscheck_outlines.csv") {
		p, q := corners(t, row["p"]), corners(t, row["q"])
		want := row.Num(t, "overlap")
		near(t, "area", p.Area(), row.Num(t, "area_p"), 1e-12)
		near(t, "area", reversed(q).Area(), row.Num(t, "area_q"), 1e-12)
		near(t, "overlap", gamut.Overlap(p, q), want, 1e-12)
		near(t, "overlap, turned round", gamut.Overlap(reversed(q), p), want, 1e-12)
		near(t, "coverage", gamut.Coverage(p, q), want/row.Num(t, "area_q"), 1e-11)
		hull := gamut.Hull(append(append([]gamut.Point{}, p...), q...)...)
		near(t, "hull", hull.Area(), row.Num(t, "hull"), 1e-12)
		for _, c := range append(p, q...) {
			if !hull.Contains(c) {
				t.Errorf("the hull of %v leaves out %v", row, c)
			}
		}
		clipped, err := p.Clip(hull)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "clipped by the hull", clipped.Area(), p.Area(), 1e-12)
		if clipped, err = p.Clip(gamut.Hull(q...)); err != nil {
			t.Fatal(err)
		}
		near(t, "clipped", clipped.Area(), gamut.Overlap(p, gamut.Hull(q...)), 1e-12)
	}
}

func TestContains(t *testing.T) {
	p := gamut.XY(triangles["sRGB/BT.709"]...)
	for _, c := range []struct {
		q    gamut.Point
		want bool
	}{
		{gamut.Point{X: 0.3127, Y: 0.3290}, true},
		{gamut.Point{X: 0.64, Y: 0.33}, true},  // a corner
		{gamut.Point{X: 0.225, Y: 0.33}, true}, // a side's middle
		{gamut.Point{X: 0.2249, Y: 0.33}, false},
		{gamut.Point{X: 0.65, Y: 0.33}, false},
		{gamut.Point{X: 0, Y: 0.33}, false},
		{gamut.Point{X: math.NaN(), Y: 0.33}, false},
	} {
		if p.Contains(c.q) != c.want || reversed(p).Contains(c.q) != c.want {
			t.Errorf("%v: not %t", c.q, c.want)
		}
	}
}

func TestOddOutlines(t *testing.T) {
	p := gamut.XY(triangles["P3"]...)
	var none gamut.Polygon
	flat := gamut.Polygon{{X: 0, Y: 0}, {X: 1, Y: 1}, {X: 2, Y: 2}}
	if none.Area() != 0 || none.Contains(gamut.Point{}) || gamut.Overlap(p, none) != 0 || gamut.Overlap(flat, p) != 0 {
		t.Error("nothing has something")
	}
	if v := gamut.Coverage(p, flat); !math.IsNaN(v) {
		t.Errorf("coverage of nothing: %g", v)
	}
	if v := gamut.AreaRatio(p, none); !math.IsNaN(v) {
		t.Errorf("ratio to nothing: %g", v)
	}
	arrow := gamut.Polygon{{X: 0, Y: 0}, {X: 2, Y: 0}, {X: 1, Y: 0.5}, {X: 2, Y: 2}}
	for _, w := range []gamut.Polygon{none, arrow, {{X: math.NaN()}, {X: 1}, {Y: 1}}} {
		if _, err := p.Clip(w); err == nil {
			t.Errorf("%v is taken for convex", w)
		}
	}
	if h := gamut.Hull(gamut.Point{X: 1, Y: 1}, gamut.Point{X: 1, Y: 1}, gamut.Point{X: math.NaN()}); len(h) != 1 {
		t.Errorf("hull of one point: %v", h)
	}
	if h := gamut.Hull(flat...); len(h) != 2 {
		t.Errorf("hull of a line: %v", h)
	}
}

// Overlap is at most either area, the same both ways, and all of an outline
// with itself.
func FuzzOverlap(f *testing.F) {
	f.Add(0.64, 0.33, 0.3, 0.6, 0.15, 0.06, 0.68, 0.32, 0.265, 0.69, 0.15, 0.06)
	f.Add(0.0, 0.0, 1.0, 0.0, 0.0, 1.0, 1.0, 1.0, 0.0, 1.0, 1.0, 0.0)
	f.Add(0.0, 0.0, 0.5, 0.5, 1.0, 1.0, 0.0, 0.0, 1.0, 0.0, 0.5, 1.0)
	f.Fuzz(func(t *testing.T, a, b, c, d, e, g, h, i, j, k, l, m float64) {
		for _, v := range []float64{a, b, c, d, e, g, h, i, j, k, l, m} {
			if !(math.Abs(v) <= 1) || v != 0 && math.Abs(v) < 1e-100 {
				return
			}
		}
		p := gamut.Polygon{{X: a, Y: b}, {X: c, Y: d}, {X: e, Y: g}}
		q := gamut.Polygon{{X: h, Y: i}, {X: j, Y: k}, {X: l, Y: m}}
		o := gamut.Overlap(p, q)
		if !(o >= 0 && o <= math.Min(p.Area(), q.Area())+1e-12) {
			t.Fatalf("overlap %g of %g and %g", o, p.Area(), q.Area())
		}
		if r := gamut.Overlap(q, p); math.Abs(r-o) > 1e-12 {
			t.Fatalf("overlap %g, the other way %g", o, r)
		}
		if r := gamut.Overlap(p, p); math.Abs(r-p.Area()) > 1e-12 {
			t.Fatalf("overlap with itself %g, area %g", r, p.Area())
		}
	})
}
