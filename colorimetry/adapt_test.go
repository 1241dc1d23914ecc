package colorimetry_test

import (
	"errors"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/internal/worked"
)

var cells = [3][3]string{{"m11", "m12", "m13"}, {"m21", "m22", "m23"}, {"m31", "m32", "m33"}}

// testBradford compares the adaptation of every row with its matrix.
func testBradford(t *testing.T, file string, rows int, tol float64) {
	t.Helper()
	table := worked.Read(t, file)
	if len(table) != rows {
		t.Fatalf("%d rows, want %d", len(table), rows)
	}
	for _, row := range table {
		m, err := colorimetry.Bradford(xyzOf(t, row, "Xs", "Ys", "Zs"), xyzOf(t, row, "Xd", "Yd", "Zd"))
		if err != nil {
			t.Fatal(err)
		}
		for i := range cells {
			for j, name := range cells[i] {
				limit := tol
				if row["max_abs_dev_from_recomputation"] != "" {
					limit = row.Num(t, "max_abs_dev_from_recomputation") * 1.02 // itself rounded to two digits
				}
				if want := row.Num(t, name); !near(m[i][j], want, limit) {
					t.Errorf("%s to %s, %s: got %.9f, want %.9f", row["from"], row["to"], name, m[i][j], want)
				}
			}
		}
	}
}

// Published to seven decimals; each row says how far exact arithmetic stands
// from the print (5e-8 at most for the rows that name their whites exactly).
func TestBradfordPublished(t *testing.T) { testBradford(t, "bradford_published.csv", 17, 0) }

func TestBradfordComputed(t *testing.T) { testBradford(t, "bradford_computed.csv", 10, 1e-10) }

func TestBradfordColours(t *testing.T) {
	matrices := map[string]colorimetry.Matrix{}
	for _, row := range worked.Read(t, "bradford_computed.csv") {
		m, err := colorimetry.Bradford(xyzOf(t, row, "Xs", "Ys", "Zs"), xyzOf(t, row, "Xd", "Yd", "Zd"))
		if err != nil {
			t.Fatal(err)
		}
		matrices[row["from"]+row["to"]] = m
	}
	for i, row := range worked.Read(t, "bradford_colours.csv") {
		m, ok := matrices[row["from"]+row["to"]]
		if !ok {
			t.Fatalf("row %d: no matrix from %s to %s", i+1, row["from"], row["to"])
		}
		d := m.Apply(xyzOf(t, row, "X", "Y", "Z")).Sub(xyzOf(t, row, "X_adapted", "Y_adapted", "Z_adapted"))
		if !near(d.X, 0, 1e-9) || !near(d.Y, 0, 1e-9) || !near(d.Z, 0, 1e-9) {
			t.Errorf("row %d: off by %v", i+1, d)
		}
	}
}

func TestBradfordProperties(t *testing.T) {
	there, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	back, err := colorimetry.Bradford(colorimetry.D50(), colorimetry.D65())
	if err != nil {
		t.Fatal(err)
	}
	if d := there.Apply(colorimetry.D65()).Sub(colorimetry.D50()); !near(d.X, 0, 1e-15) || !near(d.Y, 0, 1e-15) || !near(d.Z, 0, 1e-15) {
		t.Errorf("the white misses the new white by %v", d)
	}
	round := back.Mul(there)
	for i := range 3 {
		for j := range 3 {
			if !near(round[i][j], colorimetry.Identity()[i][j], 1e-14) {
				t.Errorf("there and back is %v", round)
			}
		}
	}
	if _, err := colorimetry.Bradford(colorimetry.XYZ{}, colorimetry.D50()); !errors.Is(err, colorimetry.ErrSingular) {
		t.Errorf("a black source white gives %v, want ErrSingular", err)
	}
}
