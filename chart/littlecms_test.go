//go:build !js

package chart_test

import (
	"bytes"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
)

// TestLittleCMS hands CGATS.17 files to Little CMS's transicc and reads those
// it writes: it is another reader and writer of the format (Debian package
// liblcms2-utils), which counts RGB to 255 and XYZ to 100.
func TestLittleCMS(t *testing.T) {
	program, err := exec.LookPath("transicc")
	if err != nil {
		t.Skip("transicc (Debian's liblcms2-utils) is not installed")
	}
	set := chart.Number(chart.Union(chart.Ramps(9), chart.Lattice(4)), "a patch ")
	toXYZ := adaptedSRGB(t)
	table := chart.Table{
		Originator: "a test", Scale: chart.ScaleRelative, HasXYZ: true,
		Keywords: []chart.Keyword{{Name: "CURVES_DIGEST", Value: "none"}},
	}
	for _, p := range set {
		table.Rows = append(table.Rows, chart.Row{ID: p.ID, Signal: p.Signal, XYZ: toXYZ(p.Signal).Scale(100)})
	}
	var b bytes.Buffer
	if err := chart.WriteCGATS(&b, table, chart.WriteOptions{SignalMax: 255}); err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	in := filepath.Join(dir, "in.txt")
	if err := os.WriteFile(in, b.Bytes(), 0o666); err != nil {
		t.Fatal(err)
	}
	// Signals through sRGB and back; XYZ to sRGB signals. -n is not given: it
	// would turn the files into pipes. -c0 evaluates without tables.
	for _, c := range []struct{ from, intent string }{{"*sRGB", "-t1"}, {"*XYZ", "-t1"}} {
		out := filepath.Join(dir, "out.txt")
		if msg, err := exec.Command(program, "-v0", "-s", "-c0", "-i"+c.from, "-o*sRGB", c.intent, in, out).CombinedOutput(); err != nil {
			t.Fatalf("transicc: %v\n%s", err, msg)
		}
		file, err := os.Open(out)
		if err != nil {
			t.Fatal(err)
		}
		got, err := chart.ReadCGATS(file, chart.ReadOptions{SignalMax: 255, PatchesOnly: true})
		file.Close()
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Rows) != len(table.Rows) {
			t.Fatalf("%d rows, want %d", len(got.Rows), len(table.Rows))
		}
		worst := 0.0
		for i, r := range got.Rows {
			if r.ID != table.Rows[i].ID {
				t.Errorf("row %d is called %q, want %q", i, r.ID, table.Rows[i].ID)
			}
			s := table.Rows[i].Signal
			worst = math.Max(worst, math.Max(math.Abs(r.Signal.R-s.R), math.Max(math.Abs(r.Signal.G-s.G), math.Abs(r.Signal.B-s.B))))
		}
		t.Logf("from %s: largest difference %.3g of full signal", c.from, worst)
		// transicc prints four digits and its built-in profile has 16-bit
		// colorants; a quarter of an 8-bit code allows for both.
		if worst > 0.25/255 {
			t.Errorf("from %s: signals differ by up to %g", c.from, worst)
		}
	}
}

// adaptedSRGB returns sRGB adapted to D50, Y = 1 for white.
func adaptedSRGB(t *testing.T) func(colorimetry.RGB) colorimetry.XYZ {
	t.Helper()
	space := rgb.SRGB()
	m, err := space.Matrix()
	if err != nil {
		t.Fatal(err)
	}
	adapt, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	return func(s colorimetry.RGB) colorimetry.XYZ { return adapt.Mul(m).FromLinear(space.Linear(s)) }
}
