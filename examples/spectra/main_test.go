package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
)

// table writes spectra, 380 to 780 nm at 5 nm, as a file for the program.
func table(t *testing.T, spectra map[string]spectrum.Spectrum) string {
	t.Helper()
	var b bytes.Buffer
	var names []string
	for n := range spectra {
		names = append(names, n)
	}
	fmt.Fprintf(&b, "wavelength_nm,%s\n", strings.Join(names, ","))
	for nm := 380.0; nm <= 780; nm += 5 {
		fmt.Fprintf(&b, "%g", nm)
		for _, n := range names {
			fmt.Fprintf(&b, ",%v", spectra[n].At(nm))
		}
		b.WriteByte('\n')
	}
	path := filepath.Join(t.TempDir(), "spectra.csv")
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func call(args ...string) (rows []map[string]string, stderr string, status int) {
	out, stderr, status := clitest.Call(run, "", args...)
	all, _ := csv.NewReader(strings.NewReader(out)).ReadAll()
	for i, r := range all {
		if i == 0 {
			continue
		}
		m := map[string]string{}
		for k, v := range r {
			m[all[0][k]] = v
		}
		rows = append(rows, m)
	}
	return rows, stderr, status
}

func number(t *testing.T, row map[string]string, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(row[column], 64)
	if err != nil {
		t.Fatalf("column %s holds %q", column, row[column])
	}
	return v
}

// The lamp LED-B3 of CIE 015:2018: x, y and temperature as printed there
// (0.3756, 0.3723; 4103 K); Ra, R9 and Rf as colorimetry/rendering's
// cross-check has them.
func TestLamp(t *testing.T) {
	lamp, err := spectrum.Illuminant("LED-B3")
	if err != nil {
		t.Fatal(err)
	}
	rows, stderr, status := call(table(t, map[string]spectrum.Spectrum{"lamp": lamp}))
	if status != 0 || stderr != "" || len(rows) != 1 {
		t.Fatalf("status %d, %d rows, %s", status, len(rows), stderr)
	}
	for column, want := range map[string][2]float64{
		"x": {0.3756, 2e-4}, "y": {0.3723, 2e-4}, "cct": {4103, 1}, "ra": {84.835, 0.01}, "r9": {23.78, 0.03}, "rf": {85.32, 0.01},
		"u": {4 * 0.3756 / (-2*0.3756 + 12*0.3723 + 3), 2e-4}, "v": {9 * 0.3723 / (-2*0.3756 + 12*0.3723 + 3), 2e-4},
	} {
		if got := number(t, rows[0], column); math.Abs(got-want[0]) > want[1] {
			t.Errorf("%s is %g, want %g", column, got, want[0])
		}
	}
}

// A perfect diffuser looks like its lamp; a line has its own wavelength.
func TestSurfaceAndLine(t *testing.T) {
	even, err := spectrum.New([]float64{380, 780}, []float64{1, 1})
	if err != nil {
		t.Fatal(err)
	}
	rows, stderr, status := call("-illuminant", "D65", table(t, map[string]spectrum.Spectrum{"diffuser": even}))
	if status != 0 || math.Abs(number(t, rows[0], "Y")-1) > 1e-9 || rows[0]["ra"] != "" || rows[0]["dominant_nm"] != "" {
		t.Errorf("status %d, %v, %s", status, rows, stderr)
	}
	line, err := spectrum.New([]float64{380, 525, 530, 535, 780}, []float64{0, 0, 1, 0, 0})
	if err != nil {
		t.Fatal(err)
	}
	rows, stderr, status = call(table(t, map[string]spectrum.Spectrum{"line": line}))
	if status != 0 || math.Abs(number(t, rows[0], "dominant_nm")-530) > 0.5 || number(t, rows[0], "purity") < 0.98 || rows[0]["ra"] != "" {
		t.Errorf("status %d, %v", status, rows)
	}
	if !strings.Contains(stderr, "line: ") {
		t.Errorf("nothing says why a line has no index: %q", stderr)
	}
}

func TestBadUse(t *testing.T) {
	empty := filepath.Join(t.TempDir(), "empty.csv")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for name, args := range map[string][]string{
		"no file": {}, "two files": {"a", "b"}, "missing": {"missing.csv"}, "empty": {empty},
		"illuminant": {"-illuminant", "D99", empty}, "observer": {"-observer", "me", empty},
	} {
		if _, stderr, status := call(args...); status != cli.BadInput || strings.Count(stderr, "\n") > 0 || stderr == "" {
			t.Errorf("%s: status %d, %q", name, status, stderr)
		}
	}
}

// Standard error says what is wrong with values, and sums keep to the table's
// own 5 nm: FL2 has x, y of 0.3721, 0.3751 (CIE 015:2018, table of fluorescent
// lamps; the figures are from memory).
func TestValues(t *testing.T) {
	fl2, err := spectrum.Illuminant("FL2")
	if err != nil {
		t.Fatal(err)
	}
	flat := func(v float64) map[string]spectrum.Spectrum {
		s, err := spectrum.New([]float64{380, 780}, []float64{v, v})
		if err != nil {
			t.Fatal(err)
		}
		return map[string]spectrum.Spectrum{"s": s}
	}
	rows, _, _ := call(table(t, map[string]spectrum.Spectrum{"FL2": fl2}))
	if x, y := number(t, rows[0], "x"), number(t, rows[0], "y"); math.Abs(x-0.3721) > 5e-5 || math.Abs(y-0.3751) > 5e-5 {
		t.Errorf("FL2 has x, y %.5f, %.5f", x, y)
	}
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{table(t, flat(0))}, "s: the spectrum is dark"},
		{[]string{table(t, flat(-1))}, "s: all values are 0 or below"},
		{[]string{"-illuminant", "D65", table(t, flat(80))}, "divide percent by 100"},
	} {
		rows, stderr, status := call(c.args...)
		if status != 0 || len(rows) != 1 || !strings.Contains(stderr, c.says) {
			t.Errorf("%s: status %d, %d rows, %q", c.says, status, len(rows), stderr)
		}
	}
}
