package aim_test

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/fit/aim"
)

// table reads a table of another room as numbers; cells that are none are NaN.
func table(t *testing.T, path string) [][]float64 {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := make([][]float64, len(rows)-1)
	for i, row := range rows[1:] {
		for _, cell := range row {
			v, err := strconv.ParseFloat(cell, 64)
			if err != nil {
				v = math.NaN()
			}
			out[i] = append(out[i], v)
		}
	}
	return out
}

func eyeWhite(t *testing.T) aim.White {
	t.Helper()
	w, err := aim.ByEye(colorimetry.Chromaticity{X: 0.31014, Y: 0.32396}, "Ngozi Adeyemi", time.Date(2026, 3, 1, 11, 0, 0, 0, time.FixedZone("", 3600)))
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func paperWhite(t *testing.T) aim.White {
	t.Helper()
	w, err := aim.Paper(colorimetry.XYZ{X: 130.123, Y: 135.3, Z: 112.4})
	if err != nil {
		t.Fatal(err)
	}
	return w
}

// The points of cct.csv are built at exact temperature and Duv on the
// Planckian locus, those of daylight.csv are CIE 15's polynomials.
func TestOnLocus(t *testing.T) {
	seen := 0
	for _, row := range table(t, "../../colorimetry/spectrum/testdata/cct.csv") {
		w, err := aim.OnLocus(row[0], row[1], aim.PlanckianLocus)
		if err != nil {
			continue // no light is there
		}
		seen++
		if d := math.Hypot(w.At.X-row[4], w.At.Y-row[5]); d > 1e-8 {
			t.Errorf("%g K, Duv %g: %v, %g off", row[0], row[1], w.At, d)
		}
		if again := mustWhite(t, w.String()); again != w {
			t.Errorf("%q reads back as %+v, not %+v", w, again, w)
		}
	}
	if seen < 100 {
		t.Errorf("%d points only", seen)
	}
	for _, row := range table(t, "../../colorimetry/spectrum/testdata/daylight.csv") {
		w, err := aim.OnLocus(row[0], 0, aim.DaylightLocus)
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Hypot(w.At.X-row[1], w.At.Y-row[2]); d > 1e-11 {
			t.Errorf("daylight of %g K: %g off", row[0], d)
		}
		for _, duv := range []float64{-0.01, -0.002, 0.005} {
			side, err := aim.OnLocus(row[0], duv, aim.DaylightLocus)
			if err != nil {
				t.Fatal(err)
			}
			// By definition the move is along the isotherm: same temperature,
			// Duv changed by just that.
			k0, d0, _ := spectrum.CCT(w.At)
			k1, d1, _ := spectrum.CCT(side.At)
			if math.Abs(k1/k0-1) > 1e-8 || math.Abs(d1-d0-duv) > 1e-9 {
				t.Errorf("%v: %g K became %g K, Duv %g became %g", side, k0, k1, d0, d1)
			}
			if again := mustWhite(t, side.String()); again != side {
				t.Errorf("%q reads back as %+v", side, again)
			}
		}
	}
	for _, s := range []string{"5000 planckian duv", "5000 K duv x", "5000 K duv 0.06 planckian", "5000 K planckian duv 0.06", "3000 K", "3000 K duv 0.001", "500 planckian", "2000 K planckian duv 0.03", "5000 K daylight planckian", "K 5000"} {
		if w, err := aim.ParseWhite(s); err == nil {
			t.Errorf("white %q was read as %v", s, w)
		}
	}
	if _, err := aim.OnLocus(5000, 0, aim.Locus(7)); err == nil {
		t.Error("a seventh locus was taken")
	}
}

// CIE 15:2018, chromaticity coordinates of the illuminants, 1931 observer.
func TestIlluminants(t *testing.T) {
	for name, want := range map[string]colorimetry.Chromaticity{
		"A": {X: 0.44758, Y: 0.40745}, "c": {X: 0.31006, Y: 0.31616}, "E": {X: 1.0 / 3, Y: 1.0 / 3},
	} {
		w := mustWhite(t, name)
		if w.At != want || w.String() != strings.ToUpper(name) {
			t.Errorf("%s is %+v", name, w)
		}
	}
	if _, err := aim.ParseWhite("B"); err == nil {
		t.Error("B was taken")
	}
}

func TestByEye(t *testing.T) {
	w := eyeWhite(t)
	if w.By != "Ngozi Adeyemi" || w.When != "2026-03-01T10:00:00Z" || w.String() != "0.3101,0.3240 by eye" {
		t.Errorf("the match became %+v", w)
	}
	if _, err := aim.ParseWhite(w.String()); err == nil || !strings.Contains(err.Error(), "who and when") {
		t.Errorf("a match by nobody: %v", err)
	}
	got := mustWhite(t, "0.3101,0.3240 by eye of Adeyemi, Ngozi, 2026-03-01T10:00:00Z")
	if got.By != "Adeyemi, Ngozi" || got.When != w.When || got.At.Y != 0.324 {
		t.Errorf("read as %+v", got)
	}
	at, now := w.At, time.Unix(1, 0)
	for name, c := range map[string]struct {
		at   colorimetry.Chromaticity
		who  string
		when time.Time
	}{
		"nobody": {at, "  ", now}, "never": {at, "Ada", time.Time{}}, "nowhere": {colorimetry.Chromaticity{}, "Ada", now},
		"no light": {colorimetry.Chromaticity{X: 0.8, Y: 0.4}, "Ada", now}, "two lines": {at, "Ada\nBob", now}, "a book": {at, strings.Repeat("a", 101), now},
	} {
		if w, err := aim.ByEye(c.at, c.who, c.when); err == nil {
			t.Errorf("%s: %+v", name, w)
		}
	}
}

// The white of a grey paper is that of its light; that of a paper that
// reflects by the wavelength lies where the sum over it says.
func TestPaper(t *testing.T) {
	grey, err := spectrum.New([]float64{300, 830}, []float64{0.85, 0.85})
	if err != nil {
		t.Fatal(err)
	}
	w, y, err := aim.PaperIn(grey, spectrum.IlluminantD50())
	if err != nil {
		t.Fatal(err)
	}
	// CIE 15:2018: D50 for the 1931 observer.
	if math.Abs(y-0.85) > 1e-12 || math.Hypot(w.At.X-0.34567, w.At.Y-0.35851) > 2e-5 {
		t.Errorf("grey paper has %g at %+v", y, w)
	}
	cream, err := spectrum.New([]float64{300, 400, 560, 830}, []float64{0.5, 0.6, 0.85, 0.87})
	if err != nil {
		t.Fatal(err)
	}
	yellow, y, err := aim.PaperIn(cream, spectrum.IlluminantD50())
	if err != nil {
		t.Fatal(err)
	}
	if !(y > 0.8 && y < 0.85 && yellow.At.X > w.At.X && yellow.At.Y > w.At.Y) {
		t.Errorf("cream paper has %g at %+v", y, yellow)
	}
	if again := mustWhite(t, yellow.String()); math.Hypot(again.At.X-yellow.At.X, again.At.Y-yellow.At.Y) > 1e-4 || again.String()[:6] != "paper " {
		t.Errorf("%v reads back as %+v", yellow, again)
	}
	for _, c := range []colorimetry.XYZ{{}, {X: 1, Y: math.NaN(), Z: 1}, {X: 1, Y: -1, Z: 1}, {X: 0, Y: 1, Z: 1}} {
		if w, err := aim.Paper(c); err == nil {
			t.Errorf("%v is the white %v", c, w)
		}
	}
	dark, err := spectrum.New([]float64{300, 830}, []float64{0, 0})
	if err != nil {
		t.Fatal(err)
	}
	if w, _, err := aim.PaperIn(dark, spectrum.IlluminantD50()); err == nil {
		t.Errorf("black paper is the white %v", w)
	}
}
