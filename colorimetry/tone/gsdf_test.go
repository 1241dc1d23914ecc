package tone_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/tone"
)

// testdata/gsdf.csv names its source: all 1023 indices, twelve digits, and what
// the standard's own inverse makes of them.
func TestGSDFAgainstStandard(t *testing.T) {
	rows := worked.Read(t, "gsdf.csv")
	if len(rows) != 1023 {
		t.Fatalf("%d rows, want 1023", len(rows))
	}
	var worst float64
	for _, row := range rows {
		j, want := row.Num(t, "jnd_index_j"), row.Num(t, "L_from_equation_cd_m2")
		got, ok := tone.GSDFLuminance(j)
		if !ok || math.Abs(got-want) > 1e-11*want {
			t.Errorf("index %g: %.13g cd/m², %v; want %.13g", j, got, ok, want)
		}
		if back, ok := tone.GSDFIndex(got); !ok || math.Abs(back-j) > 1e-11*j {
			t.Errorf("index %g comes back as %.15g, %v", j, back, ok)
		}
		fitted, ok := tone.GSDFIndexFitted(got)
		if !ok || math.Abs(fitted-row.Num(t, "j_back_from_inverse_formula")) > 1e-6 {
			t.Errorf("index %g: fitted inverse %.10g, %v; want %s", j, fitted, ok, row["j_back_from_inverse_formula"])
		}
		worst = math.Max(worst, math.Abs(fitted-j))
	}
	if worst > 0.092 {
		t.Errorf("the fitted inverse is off by %g, the comment says 0.092 at most", worst)
	}
}

// testdata/gsdf_published.csv: what PS3.14 prints. Two of its six rows do not
// hold against its own equations, as their notes say: the end of table B-1
// (3993.4040, the equation gives 3993.3296) and the prose's 848.75 (the
// equation gives 847.185).
func TestGSDFPublished(t *testing.T) {
	rows := worked.Read(t, "gsdf_published.csv")
	if len(rows) != 6 {
		t.Fatalf("%d rows, want 6", len(rows))
	}
	first, _ := tone.GSDFLuminance(1)
	last, _ := tone.GSDFLuminance(1023)
	j, _ := tone.GSDFIndexFitted(12)
	low, high := 10+2000*math.Pow(10, -3), 10+2000*math.Pow(10, -0.2)
	prose, _ := tone.GSDFIndexFitted(1271.9)
	for i, k := range []struct{ got, tol float64 }{
		{first, 5e-5}, {last, 0.0745}, {j, 0.005}, {low, 0.05}, {high, 0.05}, {prose, 1.57},
	} {
		if want := rows[i].Num(t, "value"); math.Abs(k.got-want) > k.tol {
			t.Errorf("%s %s: got %.6g, want %g", rows[i]["quantity"], rows[i]["input"], k.got, want)
		}
	}
}

// Table D.2-1 of PS3.14: the film whose densities follow the function, read on
// a lamp of 2000 cd/m² with 10 cd/m² of ambient light. Three decimals are
// printed; the standard interpolates its printed table of luminances, and
// recomputation agrees within 0.0013.
func TestGSDFFilm(t *testing.T) {
	const lamp, ambient = 2000.0, 10.0
	white, black := lamp*math.Pow(10, -0.20), lamp*math.Pow(10, -3.00)
	c := gsdf(t, white, black, ambient)
	for _, row := range worked.Read(t, "gsdf_film.csv") {
		p := row.Num(t, "p_value")
		density := -math.Log10(c.Light(p/255) * white / lamp)
		if want := row.Num(t, "density_published_3dp"); math.Abs(density-want) > 0.0015 {
			t.Errorf("P-value %g: density %.4f, want %.3f", p, density, want)
		}
		// The recomputed columns start from the fitted inverse.
		if want := row.Num(t, "L_recomputed"); math.Abs(c.Light(p/255)*white+ambient-want) > 5e-4*want {
			t.Errorf("P-value %g: %.5f cd/m², want %.5f", p, c.Light(p/255)*white+ambient, want)
		}
	}
}

func TestGSDFDomain(t *testing.T) {
	for _, bad := range []float64{0.999, 1023.1, -5, math.NaN(), math.Inf(1)} {
		if v, ok := tone.GSDFLuminance(bad); ok || !math.IsNaN(v) {
			t.Errorf("index %g gives %g, %v", bad, v, ok)
		}
	}
	for _, bad := range []float64{0.0499, 3993.4, 0, -1, math.NaN(), math.Inf(1)} {
		if v, ok := tone.GSDFIndex(bad); ok || !math.IsNaN(v) {
			t.Errorf("%g cd/m² has index %g, %v", bad, v, ok)
		}
		if v, ok := tone.GSDFIndexFitted(bad); ok || !math.IsNaN(v) {
			t.Errorf("%g cd/m² has fitted index %g, %v", bad, v, ok)
		}
	}
	for _, k := range []struct {
		white, black, ambient float64
		says                  string
	}{
		{400, 0, 0, "in its black"}, {4000, 1, 0, "in its white"}, {1, 2, 0, "below white"},
		{400, -1, 2, "below 0"}, {400, 1, -0.5, "below 0"}, {math.NaN(), 1, 0, "below white"}, {400, 0.3, 3900, "in its white"},
	} {
		if _, err := tone.NewGSDF(k.white, k.black, k.ambient); err == nil || !strings.Contains(err.Error(), k.says) {
			t.Errorf("%+v: error %v", k, err)
		}
	}
	var none tone.GSDF
	if !math.IsNaN(none.Light(0.5) + none.Signal(0.5) + none.Slope(0.5) + none.Index(0.5)) {
		t.Error("the zero GSDF answers a number")
	}
}
