package chart_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/primaries/chart"
)

// fuzzRead reads data, and holds what was read against the promises: a typed
// error, bounded and valid rows. It returns the table with every row named.
func fuzzRead(t *testing.T, read func(io.Reader, chart.ReadOptions) (chart.Table, error), data []byte) (chart.Table, error) {
	o := chart.ReadOptions{MaxRows: 50, MaxBytes: 1 << 16, PatchesOnly: fuzzPatchesOnly(data)}
	table, err := read(bytes.NewReader(data), o)
	if err != nil {
		var e *chart.InputError
		if !errors.As(err, &e) || e.Problem == "" || e.Remedy == "" {
			t.Fatalf("%T: %v", err, err)
		}
		return table, err
	}
	if len(table.Rows) == 0 || len(table.Rows) > o.MaxRows || table.Scale == chart.ScaleUnstated {
		t.Fatalf("%d rows, scale %v", len(table.Rows), table.Scale)
	}
	for i, r := range table.Rows {
		if !(r.Signal.Min() >= 0 && r.Signal.Max() <= 1) || !r.XYZ.Finite() || r.Line < 1 || len(r.Extra) != len(table.Extra) {
			t.Fatalf("row %d is %+v", i, r)
		}
		if r.ID == "" {
			table.Rows[i].ID = fmt.Sprint(i + 1)
		}
	}
	return table, nil
}

// fuzzPatchesOnly lets half of all data leave out the readings.
func fuzzPatchesOnly(data []byte) bool { return len(data)%2 == 0 }

// fuzzAgain writes and reads the table of data, which must change nothing.
func fuzzAgain(t *testing.T, f format, table chart.Table, data []byte) {
	var b bytes.Buffer
	if err := f.write(&b, table, chart.WriteOptions{}); err != nil {
		t.Fatalf("what was read cannot be written: %v", err)
	}
	again, err := f.read(bytes.NewReader(b.Bytes()), chart.ReadOptions{PatchesOnly: fuzzPatchesOnly(data)})
	if err != nil {
		t.Fatalf("what was written cannot be read: %v\n%s", err, b.String())
	}
	if diff := cmp.Diff(table, again, cmpopts.IgnoreFields(chart.Row{}, "Line"), cmpopts.EquateEmpty()); diff != "" {
		t.Fatalf("writing and reading changed:\n%s\n%s", diff, b.String())
	}
}

func fuzzTable(t *testing.T, f format, data []byte) {
	table, err := fuzzRead(t, f.read, data)
	if err != nil {
		return
	}
	chart.Order(table.Patches(), chart.OrderOptions{})
	fuzzAgain(t, f, table, data)
}

func FuzzReadCSV(f *testing.F) {
	f.Add([]byte(smallCSV))
	f.Add([]byte("# SERIAL \"1\"\"2\"\n# SIGNAL_MAX \"255\"\nnote;ID;R;G;B\n\"a;b\";1;255;0;17\n"))
	for _, c := range badInput {
		f.Add([]byte(c.text))
	}
	f.Fuzz(func(t *testing.T, data []byte) { fuzzTable(t, formats()["CSV"], data) })
}

func FuzzReadCGATS(f *testing.F) {
	f.Add([]byte(smallCGATS))
	f.Add([]byte("IT8.7/4\nXYZ_SCALE \"relative\"\nBEGIN_DATA_FORMAT\nRGB_R RGB_G RGB_B\nEND_DATA_FORMAT\nBEGIN_DATA\n1 0 .5\nEND_DATA\n"))
	for _, c := range badInput {
		f.Add([]byte(c.text))
	}
	f.Fuzz(func(t *testing.T, data []byte) { fuzzTable(t, formats()["CGATS"], data) })
}
