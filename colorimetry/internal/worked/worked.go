// Package worked reads the tables of worked examples that the tests of
// colorimetry and the rooms below it are held against.
package worked

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"
)

// Row is a row of a table, each value by its column's name.
type Row map[string]string

// Read returns the rows of the CSV file testdata/name below its header. Lines
// that begin with # carry the source. A table without rows fails the test.
func Read(t testing.TB, name string) []Row {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	var out []Row
	for _, row := range rows[1:] {
		m := Row{}
		for i, v := range row {
			m[rows[0][i]] = v
		}
		out = append(out, m)
	}
	return out
}

// Num returns the number in a column.
func (r Row) Num(t testing.TB, column string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[column], 64)
	if err != nil {
		t.Fatalf("column %s: %v", column, err)
	}
	return v
}
