package fit_test

import (
	"fmt"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// What all readings have in common weighs none of them: not even a large error
// of the instrument correction, other for each colour, moves a model.
func TestSystematicWeighsNothing(t *testing.T) {
	t.Parallel()
	r := truth(smooth.xyz).readings(chart.Default(48, chart.Options{}), 4, 3)
	plain := additive(t, r)
	for i := range r {
		r[i].Systematic = colorimetry.Diagonal(0.1*r[i].XYZ.X, 0, 40*r[i].Patch.Signal.B)
	}
	m := additive(t, r)
	for _, p := range chart.Lattice(4) {
		if a, b := plain.XYZ(p.Signal), m.XYZ(p.Signal); a != b || plain.Covariance(p.Signal) != m.Covariance(p.Signal) {
			t.Errorf("%v: %v with the systematic error, %v without", p.Signal, b, a)
		}
	}
}

// A reading far from the model is named as people count, by its patch where it
// has a name.
func TestOutlierIsNamed(t *testing.T) {
	t.Parallel()
	r := truth(smooth.xyz).readings(chart.Default(48, chart.Options{}), 4, 3)
	r[30].XYZ = r[30].XYZ.Scale(1.3)
	for _, id := range []string{"", "c031"} {
		r[30].Patch.ID = id
		_, ev, err := fit.Best(r, fit.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if len(ev.Outliers) == 0 || ev.Outliers[0] != 30 {
			t.Fatalf("outliers %v, want 30 first", ev.Outliers)
		}
		s := r[30].Patch.Signal
		want := fmt.Sprintf("number 31 of the %d readings given, signal %.3g, %.3g, %.3g", len(r), s.R, s.G, s.B)
		if id != "" {
			want = "patch c031 (" + want + ")"
		}
		if said := strings.Join(ev.Warnings, " "); !strings.Contains(said, "the first is "+want+".") || strings.Contains(said, "from 0") {
			t.Errorf("the warnings do not say %q: %q", want, said)
		}
	}
}
