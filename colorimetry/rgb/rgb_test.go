package rgb_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
)

func chromaticity(t *testing.T, row worked.Row, p string) colorimetry.Chromaticity {
	t.Helper()
	return colorimetry.Chromaticity{X: row.Num(t, "x"+p), Y: row.Num(t, "y"+p)}
}

// worst returns the largest difference between m and the matrix of a row.
func worst(t *testing.T, m colorimetry.Matrix, row worked.Row) float64 {
	t.Helper()
	cells := [3][3]string{{"m11", "m12", "m13"}, {"m21", "m22", "m23"}, {"m31", "m32", "m33"}}
	var d float64
	for i := range cells {
		for j, name := range cells[i] {
			d = math.Max(d, math.Abs(m[i][j]-row.Num(t, name)))
		}
	}
	return d
}

// Every row of testdata/matrices.csv, which names its sources: matrices as the
// standards print them, and as computed from the primaries in double precision.
func TestMatricesAgainstStandards(t *testing.T) {
	spaces := map[string]rgb.Space{
		"sRGB/BT.709": rgb.SRGB(), "BT.2020/BT.2100": rgb.BT2020(), "P3-D65 / Display P3": rgb.DisplayP3(), "Adobe RGB (1998)": rgb.AdobeRGB(),
		"DCI-P3": rgb.P3DCI(), "ROMM RGB": rgb.ROMM(),
	}
	rows := worked.Read(t, "matrices.csv")
	if len(rows) != 20 {
		t.Fatalf("%d rows, want 20", len(rows))
	}
	for _, row := range rows {
		name, source := row["space"]+" "+row["direction"], row["source"]
		s, known := spaces[row["space"]]
		if !known {
			t.Fatalf("no encoding for %q", row["space"])
		}
		if s.R != chromaticity(t, row, "R") || s.G != chromaticity(t, row, "G") || s.B != chromaticity(t, row, "B") || s.White != chromaticity(t, row, "W") {
			t.Errorf("%s: primaries and white are %v", name, s)
		}
		m, err := s.Matrix()
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(source, "D65 white 0.95047") {
			// This table uses the white's tristimulus values, not its x, y.
			m, err = rgb.PrimariesMatrix(s.R, s.G, s.B, colorimetry.XYZ{X: 0.95047, Y: 1, Z: 1.08883})
			if err != nil {
				t.Fatal(err)
			}
		}
		if row["direction"] == "XYZ_to_RGB" {
			if m, err = m.Inverse(); err != nil {
				t.Fatal(err)
			}
		}
		if got, tol := worst(t, m, row), tolerance(row); got > tol {
			t.Errorf("%s (%s): off by %.2g, more than %.2g", name, source, got, tol)
		}
	}
}

// tolerance is half a unit of the last digit that a row prints, but for three
// prints that are not the rounded results of their own primaries.
func tolerance(row worked.Row) float64 {
	source, forward := row["source"], row["direction"] == "RGB_to_XYZ"
	switch {
	case strings.HasPrefix(source, "IEC 61966-2-1") && !forward:
		return 3.8e-4 // the inverse of the rounded forward matrix
	case strings.HasPrefix(source, "ANSI/I3A") && forward:
		return 2.1e-4 // computed from a D50 white of more digits
	case strings.HasPrefix(source, "ANSI/I3A"):
		return 3.5e-4 // likewise, and inverted after rounding
	case strings.Contains(source, "4 decimals"):
		return 5e-5
	case strings.Contains(source, "5 decimals"):
		return 5.1e-6
	case strings.Contains(source, "7 decimals"):
		return 5.1e-8
	}
	return 1e-11 // twelve digits
}

func TestWhiteIsAllPrimaries(t *testing.T) {
	for _, s := range rgb.Spaces() {
		m, err := s.Matrix()
		if err != nil {
			t.Fatal(err)
		}
		d := m.FromLinear(colorimetry.Gray(1)).Sub(s.White.XYZ(1))
		if math.Abs(d.X) > 2e-15 || math.Abs(d.Y) > 2e-15 || math.Abs(d.Z) > 2e-15 {
			t.Errorf("%s: white is off by %v", s.Name, d)
		}
		c := colorimetry.RGB{R: 0.2, G: 0.9, B: 0.01}
		if b := s.Signal(s.Linear(c)); math.Abs(b.R-c.R)+math.Abs(b.G-c.G)+math.Abs(b.B-c.B) > 1e-12 {
			t.Errorf("%s: %v comes back as %v", s.Name, c, b)
		}
	}
}

// Adobe RGB (1998) Color Image Encoding (2005), 4.3.4.1: the exponent is
// 2.19921875. ITU-R BT.1886: 2.4 without light in the black.
func TestCurves(t *testing.T) {
	if got := rgb.AdobeRGB().Curve; got != (tone.Power{Gamma: 2.19921875}) {
		t.Errorf("Adobe RGB (1998) has the curve %v", got)
	}
	for _, s := range []rgb.Space{rgb.BT709(), rgb.BT2020()} {
		if got, want := s.Curve.Light(0.5), math.Pow(0.5, 2.4); math.Abs(got-want) > 1e-15 {
			t.Errorf("%s: %g at half the signal, want %g", s.Name, got, want)
		}
	}
}

func TestAbsoluteMatrix(t *testing.T) {
	s := rgb.SRGB()
	relative, err := s.Matrix()
	if err != nil {
		t.Fatal(err)
	}
	absolute, err := rgb.PrimariesMatrix(s.R, s.G, s.B, s.White.XYZ(120))
	if err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		for j := range 3 {
			if math.Abs(absolute[i][j]-120*relative[i][j]) > 1e-13 {
				t.Fatalf("at 120 cd/m² it is %v", absolute)
			}
		}
	}
}

func TestPrimariesInALine(t *testing.T) {
	s := rgb.SRGB()
	s.B = colorimetry.Chromaticity{X: (s.R.X + s.G.X) / 2, Y: (s.R.Y + s.G.Y) / 2}
	if _, err := s.Matrix(); !errors.Is(err, colorimetry.ErrSingular) || !strings.Contains(err.Error(), "sRGB") {
		t.Errorf("error %v, want ErrSingular naming the encoding", err)
	}
	s.B.X = math.NaN()
	if _, err := s.Matrix(); !errors.Is(err, colorimetry.ErrSingular) {
		t.Errorf("error %v for NaN, want ErrSingular", err)
	}
}
