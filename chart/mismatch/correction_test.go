package mismatch

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"example.org/primaries/colorimetry"
)

// table reads a CSV of testdata, which begins with its source as a comment.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, rec := range all[1:] {
		row := map[string]string{}
		for i, h := range all[0] {
			row[h] = rec[i]
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatalf("%s holds no rows", name)
	}
	return rows
}

func num(t *testing.T, row map[string]string, key string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[key], 64)
	if err != nil {
		t.Fatalf("column %s: %v", key, err)
	}
	return v
}

func xyzOf(t *testing.T, row map[string]string, suffix string) colorimetry.XYZ {
	return colorimetry.XYZ{X: num(t, row, "X"+suffix), Y: num(t, row, "Y"+suffix), Z: num(t, row, "Z"+suffix)}
}

func matrixOf(t *testing.T, row map[string]string) colorimetry.Matrix {
	var m colorimetry.Matrix
	for i := range 3 {
		for j := range 3 {
			m[i][j] = num(t, row, "m"+strconv.Itoa(i+1)+strconv.Itoa(j+1))
		}
	}
	return m
}

// fourOf builds readings of red, green, blue and white with the chromaticities
// of a row. The luminances of the primaries are arbitrary on purpose: the
// method must not depend on them.
func fourOf(t *testing.T, row map[string]string, suffix, white string, y [3]float64) [4]colorimetry.XYZ {
	var out [4]colorimetry.XYZ
	for i, c := range []string{"R", "G", "B", "W"} {
		lum := num(t, row, white)
		if i < 3 {
			lum = y[i]
		}
		out[i] = colorimetry.Chromaticity{X: num(t, row, "x"+c+suffix), Y: num(t, row, "y"+c+suffix)}.XYZ(lum)
	}
	return out
}

// Ohno and Hardis (1997), worked by a program of its own: the table prints 12
// digits and holds to 1e-10.
func TestFourColourWorked(t *testing.T) {
	type key struct{ name, y string }
	corrections := map[key]Correction{}
	for _, row := range table(t, "fourcolour_matrix.csv") {
		ref := fourOf(t, row, "_ref", "Y_ref_white", [3]float64{21, 70, 9})
		meas := fourOf(t, row, "_tgt", "Y_target_white", [3]float64{30, 50, 3})
		c, err := FourColour(ref, meas)
		if err != nil {
			t.Fatalf("%s: %v", row["case"], err)
		}
		want := matrixOf(t, row)
		for i := range 3 {
			for j := range 3 {
				if d := math.Abs(c.Matrix[i][j] - want[i][j]); !(d <= 1e-10) {
					t.Errorf("%s, white %s: m%d%d = %.12g, want %.12g", row["case"], row["Y_ref_white"], i+1, j+1, c.Matrix[i][j], want[i][j])
				}
			}
		}
		if c.LargestUV > 1e-12 || math.Abs(c.Apply(meas[3]).Y-ref[3].Y) > 1e-10 {
			t.Errorf("%s: %g of u'v' is left, white %v for %v", row["case"], c.LargestUV, c.Apply(meas[3]), ref[3])
		}
		corrections[key{row["case"], row["Y_ref_white"]}] = c
	}
	for i, row := range table(t, "fourcolour_apply.csv") {
		c, ok := corrections[key{row["case"], row["Y_ref_white"]}]
		if !ok {
			t.Fatalf("row %d: no correction for %s", i, row["case"])
		}
		got, want := c.Apply(xyzOf(t, row, "_target")), xyzOf(t, row, "_corrected")
		// 12 printed digits of numbers up to 470: 5e-10, and as much again for
		// the 12 digits of the input.
		d := got.Sub(want)
		if !(math.Abs(d.X) <= 1e-9 && math.Abs(d.Y) <= 1e-9 && math.Abs(d.Z) <= 1e-9) {
			t.Errorf("row %d (%s): %v, want %v", i, row["case"], got, want)
		}
	}
}

// Least squares on tristimulus values, worked by normal equations and by QR
// outside this library: holds to 1e-9; the residual prints 8 digits.
func TestLeastSquaresWorked(t *testing.T) {
	ref, meas := map[string][]colorimetry.XYZ{}, map[string][]colorimetry.XYZ{}
	rows := table(t, "least_squares_matrix.csv")
	for _, row := range rows {
		n := row["case"]
		ref[n] = append(ref[n], xyzOf(t, row, "_ref"))
		meas[n] = append(meas[n], xyzOf(t, row, "_tgt"))
	}
	for _, row := range rows {
		if row["patch"] != "0" {
			continue
		}
		c, err := LeastSquares(ref[row["case"]], meas[row["case"]])
		if err != nil {
			t.Fatal(err)
		}
		want := matrixOf(t, row)
		for i := range 3 {
			for j := range 3 {
				if d := math.Abs(c.Matrix[i][j] - want[i][j]); !(d <= 1e-9) {
					t.Errorf("%s: m%d%d = %.12g, want %.12g", row["case"], i+1, j+1, c.Matrix[i][j], want[i][j])
				}
			}
		}
		if r := num(t, row, "rms_residual"); math.Abs(c.Residual-r) > 1e-8 {
			t.Errorf("%s: residual %.9g, want %.9g", row["case"], c.Residual, r)
		}
	}
}

func TestFourColourRefuses(t *testing.T) {
	good := [4]colorimetry.XYZ{{X: 40, Y: 20, Z: 2}, {X: 30, Y: 60, Z: 10}, {X: 18, Y: 8, Z: 90}, {X: 88, Y: 88, Z: 102}}
	if _, err := FourColour(good, good); err != nil {
		t.Fatal(err)
	}
	bad := map[string]func(c *[4]colorimetry.XYZ){
		"dark red":      func(c *[4]colorimetry.XYZ) { c[0] = colorimetry.XYZ{} },
		"same red":      func(c *[4]colorimetry.XYZ) { c[0] = c[1] },
		"not a number":  func(c *[4]colorimetry.XYZ) { c[2].Z = math.NaN() },
		"infinite":      func(c *[4]colorimetry.XYZ) { c[3].X = math.Inf(1) },
		"white is red":  func(c *[4]colorimetry.XYZ) { c[3] = c[0] },
		"negative blue": func(c *[4]colorimetry.XYZ) { c[2] = c[2].Scale(-1) },
	}
	for name, spoil := range bad {
		c := good
		spoil(&c)
		if _, err := FourColour(good, c); !errors.Is(err, ErrDegenerate) {
			t.Errorf("%s as the instrument: %v", name, err)
		}
		if _, err := FourColour(c, good); name != "white is red" && !errors.Is(err, ErrDegenerate) {
			t.Errorf("%s as the reference: %v", name, err)
		}
	}
	if _, err := LeastSquares(good[:2], good[:2]); err == nil {
		t.Error("two pairs were enough")
	}
	same := []colorimetry.XYZ{good[0], good[0], good[0], good[0]}
	if _, err := LeastSquares(same, same); !errors.Is(err, ErrDegenerate) {
		t.Errorf("one light four times: %v", err)
	}
}
