package hardware_test

import (
	"bytes"
	"errors"
	"strings"
	"testing"

	"example.org/primaries/fit/hardware"
	"github.com/google/go-cmp/cmp"
)

func csvOf(t testing.TB, table hardware.Table) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := hardware.WriteCSV(&b, table); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestCSVComesBack(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		got, err := hardware.ReadCSV(bytes.NewReader(csvOf(t, table)))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		want := table.Contents()
		want.Source, want.Display = "", ""
		if d := cmp.Diff(want, got.Contents()); d != "" || got.Digest() != table.Digest() {
			t.Errorf("%s comes back changed: %s", name, d)
		}
	}
}

// Every beginning of a file is refused, but for one that lacks its last newline.
func TestCSVTruncated(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		b := csvOf(t, table)
		for n := range len(b) - 1 {
			if _, err := hardware.ReadCSV(bytes.NewReader(b[:n])); err == nil {
				t.Fatalf("%s: the first %d of %d bytes make a table", name, n, len(b))
			}
		}
	}
}

func TestCSVRefuses(t *testing.T) {
	t.Parallel()
	good := string(csvOf(t, randomTable(t, 2, 10, 2, hardware.Limited, hardware.Full, 7)))
	for name, c := range map[string]struct{ old, new, says string }{
		"other head":     {"part,r", "part,q", "begins with"},
		"other part":     {"table,0,0,1", "cube,0,0,1", "line 8"},
		"fraction":       {"in,,,,64,", "in,,,,64.5,", "whole numbers"},
		"too large":      {"table,0,0,1,", "table,0,0,65537,", "65535"},
		"range":          {"in,,,,64,940", "in,,,,64,941", "no black"},
		"limited values": {"values,,,,0,1023,1023", "values,,,,64,940,1023", "whole scale"},
		"depths":         {"out,,,,0,1023,1023", "out,,,,0,4095,4095", "same depth"},
		"twice":          {"out,,,,0,1023,1023", "in,,,,64,940,1023", "second row"},
		"no values":      {"values,,,,0,1023,1023\n", "", "rows should have come"},
		"order":          {"table,0,0,1,", "table,0,1,0,", "is next"},
		"curve order":    {"before,1,1,1", "before,0,0,0", "is next"},
		"count":          {"table,0,0,1,", "table,0,0,0,1,2,3\ntable,0,0,1,", "rows should have come"},
		"after the end":  {"end,", "end,,,,15,15,15\nend,", "after the end"},
		"ragged":         {"table,0,0,1,", "table,0,0,1,1,", "wrong number of fields"},
	} {
		text := strings.Replace(good, c.old, c.new, 1)
		if text == good {
			t.Fatalf("%s changes nothing", name)
		}
		if _, err := hardware.ReadCSV(strings.NewReader(text)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: want %q, got %v", name, c.says, err)
		}
	}
	broken := failing{errors.New("full")}
	if err := hardware.WriteCSV(broken, hardware.Identity(9, 10)); !errors.Is(err, broken.err) {
		t.Errorf("the writer's error comes back as %v", err)
	}
	if err := hardware.WriteCSV(&bytes.Buffer{}, hardware.Table{}); err == nil {
		t.Error("no table was written")
	}
}

func FuzzReadCSV(f *testing.F) {
	for _, table := range tables(f) {
		f.Add(csvOf(f, table))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		table, err := hardware.ReadCSV(bytes.NewReader(b))
		if err != nil {
			if !strings.HasPrefix(err.Error(), "hardware: ") {
				t.Fatalf("error %q names no package", err)
			}
			return
		}
		used(t, table)
		again, err := hardware.ReadCSV(bytes.NewReader(csvOf(t, table)))
		if err != nil || again.Digest() != table.Digest() {
			t.Fatalf("read, written and read again: %v", err)
		}
	})
}

// The largest table fits into the bounds of both readers.
func TestLargest(t *testing.T) {
	t.Parallel()
	table := randomTable(t, 65, 16, 4096, hardware.Limited, hardware.Limited, 11)
	file := clf(t, table)
	got, err := hardware.ReadCLF(bytes.NewReader(file))
	if err != nil || got.Digest() != table.Digest() {
		t.Errorf("common LUT format of %d bytes: %v", len(file), err)
	}
	file = csvOf(t, table)
	if got, err = hardware.ReadCSV(bytes.NewReader(file)); err != nil || got.Digest() != table.Digest() {
		t.Errorf("CSV of %d bytes: %v", len(file), err)
	}
}
