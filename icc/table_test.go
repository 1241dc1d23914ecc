package icc

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// row is a line of a table in testdata, by column name.
type row struct {
	t *testing.T
	m map[string]string
}

func (r row) num(name string) float64 {
	r.t.Helper()
	v, err := strconv.ParseFloat(r.m[name], 64)
	if err != nil {
		r.t.Fatalf("column %s: %v", name, err)
	}
	return v
}

func (r row) nums(names ...string) []float64 {
	out := make([]float64, len(names))
	for i, n := range names {
		out[i] = r.num(n)
	}
	return out
}

func readTable(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c := csv.NewReader(f)
	c.Comment = '#'
	all, err := c.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	for _, line := range all[1:] {
		m := map[string]string{}
		for i, v := range line {
			m[all[0][i]] = v
		}
		rows = append(rows, row{t, m})
	}
	if len(rows) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return rows
}

// debianProfile returns a profile of Debian's package icc-profiles-free.
func debianProfile(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("/usr/share/color/icc", name))
	if os.IsNotExist(err) {
		t.Skipf("%s of Debian's package icc-profiles-free is not installed", name)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b
}
