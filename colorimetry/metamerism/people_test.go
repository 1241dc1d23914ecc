package metamerism_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/stat"

	"example.org/primaries/colorimetry/internal/worked"
	"example.org/primaries/colorimetry/metamerism"
	"example.org/primaries/colorimetry/spectrum"
)

// One copy of the categories of 2016 was seen, and no spectra of them, so that
// there is nothing to hold them against but that the first is the average and
// that all can be computed.
func TestCategories2016(t *testing.T) {
	people := metamerism.Categories2016()
	if len(people) != 10 {
		t.Fatalf("%d categories", len(people))
	}
	if p := people[0]; p.Years != 38 || p.Lens != 0 || p.Macula != 0 || p.L != 0 || p.ShiftL != 0 {
		t.Errorf("the first is %+v", p)
	}
	if p := people[4]; p.Macula != 54.7328797 || p.ShiftM != -1.122374849 {
		t.Errorf("the fifth is %+v", p)
	}
	if _, err := metamerism.Observers(people); err != nil {
		t.Error(err)
	}
	people[0].Years = 80
	if metamerism.Categories2016()[0].Years != 38 {
		t.Error("the caller's changes stay")
	}
}

// A population has the published spread: standard deviations of Asano,
// Fairchild and Blondé (2016), as scaled, and before. 10,000 people meet theirs
// within 0.7 % as one standard error; means lie within 1 % of theirs.
func TestPopulation(t *testing.T) {
	for _, c := range []struct {
		unscaled bool
		want     [8]float64
	}{
		{false, [8]float64{18.718, 36.456, 8.95, 8.95, 7.35, 2, 1.5, 1.25}},
		{true, [8]float64{19.1, 37.2, 17.9, 17.9, 14.7, 4, 3, 2.5}},
	} {
		people, err := metamerism.Population(10_000, metamerism.PopulationOptions{Seed: 1, Unscaled: c.unscaled})
		if err != nil {
			t.Fatal(err)
		}
		var v [8][]float64
		var years []float64
		for _, p := range people {
			for k, x := range [8]float64{p.Lens, p.Macula, p.L, p.M, p.S, p.ShiftL, p.ShiftM, p.ShiftS} {
				v[k] = append(v[k], x)
			}
			years = append(years, p.Years)
		}
		for k, want := range c.want {
			mean, sd := stat.MeanStdDev(v[k], nil)
			if math.Abs(mean) > 0.04*want || math.Abs(sd/want-1) > 0.03 {
				t.Errorf("quantity %d: %.3f ± %.3f, published ±%g", k, mean, sd, want)
			}
		}
		// Uniform from 20 to 70 years: mean 45, standard deviation 50/√12.
		if mean, sd := stat.MeanStdDev(years, nil); math.Abs(mean-45) > 0.6 || math.Abs(sd-14.43) > 0.3 {
			t.Errorf("ages %.2f ± %.2f", mean, sd)
		}
	}
}

// The same seed makes the same people, more of them begin with the same, and
// another seed makes others.
func TestPopulationSeed(t *testing.T) {
	draw := func(n int, seed uint64) []metamerism.Physiology {
		p, err := metamerism.Population(n, metamerism.PopulationOptions{Seed: seed, FieldDegrees: 10})
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	few, many, others := draw(5, 7), draw(50, 7), draw(5, 8)
	for i := range few {
		if few[i] != many[i] {
			t.Errorf("person %d: %+v and %+v", i+1, few[i], many[i])
		}
		if few[i] == others[i] || few[i].FieldDegrees != 10 {
			t.Errorf("person %d: %+v", i+1, few[i])
		}
	}
}

func TestImpossiblePopulations(t *testing.T) {
	for _, c := range []struct {
		n int
		o metamerism.PopulationOptions
	}{
		{0, metamerism.PopulationOptions{}},
		{10_001, metamerism.PopulationOptions{}},
		{1, metamerism.PopulationOptions{FromYears: 5, ToYears: 40}},
		{1, metamerism.PopulationOptions{FromYears: 50, ToYears: 40}},
		{1, metamerism.PopulationOptions{FromYears: math.NaN(), ToYears: 40}},
		{1, metamerism.PopulationOptions{FieldDegrees: 20}},
	} {
		if _, err := metamerism.Population(c.n, c.o); err == nil {
			t.Errorf("%d people, %+v: no error", c.n, c.o)
		}
	}
	if p, err := metamerism.Population(3, metamerism.PopulationOptions{FromYears: 25, ToYears: 25}); err != nil || p[2].Years != 25 {
		t.Errorf("%v, %v", p, err)
	}
}

// The standard deviate observer is CIE 1931 with the published functions added
// at each 5 nm, and CIE 1931 itself outside them.
func TestStandardDeviate(t *testing.T) {
	o, s := metamerism.StandardDeviate(), spectrum.CIE1931()
	own, standard := []spectrum.Spectrum{o.XBar, o.YBar, o.ZBar}, []spectrum.Spectrum{s.XBar, s.YBar, s.ZBar}
	for _, r := range worked.Read(t, "../data/deviate.csv") {
		w := r.Num(t, "wavelength_nm")
		for k, name := range []string{"x", "y", "z"} {
			if d := own[k].At(w) - standard[k].At(w); math.Abs(d-r.Num(t, name)) > 1e-12 {
				t.Errorf("%s at %g nm: %g, published %s", name, w, d, r[name])
			}
		}
	}
	for k := range own {
		for _, w := range []float64{360, 378, 790, 830} {
			if own[k].At(w) != standard[k].At(w) {
				t.Errorf("function %d at %g nm: %g, not the standard's %g", k, w, own[k].At(w), standard[k].At(w))
			}
		}
		lo, hi := own[k].Range()
		if lo != 360 || hi != 830 || own[k].Len() != 471 {
			t.Errorf("function %d: %g to %g nm, %d samples", k, lo, hi, own[k].Len())
		}
	}
}
