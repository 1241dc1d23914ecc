package measure

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// tableOf returns a table of grey, red and green ramps with white and black
// repeated, read with a multiple of the usual noise; line numbers begin at 2.
func tableOf(noise float64, seed uint64) chart.Table {
	rng := rand.New(rand.NewPCG(seed, 1))
	d := newFakeDisplay()
	t := chart.Table{HasXYZ: true, Scale: chart.ScaleAbsolute}
	add := func(s colorimetry.RGB) {
		d.signal = s
		d.clock.now = d.start.AddDate(0, 0, 1) // warmed up
		light := d.truth()
		got := light.Add(noisy(rng, light, usualNoise).Sub(light).Scale(noise))
		t.Rows = append(t.Rows, chart.Row{Signal: s, XYZ: got, Line: len(t.Rows) + 2})
	}
	for i := range 17 {
		v := float64(i) / 16
		add(colorimetry.Gray(v))
		add(colorimetry.RGB{R: v})
		add(colorimetry.RGB{G: v})
		if i%4 == 0 {
			add(colorimetry.Gray(1))
			add(colorimetry.RGB{})
		}
	}
	return t
}

// last returns the index of the last row with a signal.
func last(t chart.Table, s colorimetry.RGB) int {
	for i := len(t.Rows) - 1; i >= 0; i-- {
		if t.Rows[i].Signal == s {
			return i
		}
	}
	return -1
}

func TestFromTable(t *testing.T) {
	for seed := range uint64(20) {
		tab := tableOf(1, seed)
		got, warnings, err := FromTable(tab, TableOptions{File: "a.csv"})
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		if len(got) != 1+3*16 {
			t.Fatalf("%d readings", len(got))
		}
		for _, w := range warnings {
			if len(w.Lines) == 0 {
				t.Errorf("seed %d: honest noise makes %v", seed, w)
			}
		}
		for i, r := range got {
			if r.Index != i || r.Stage != StageTable || r.Curves != "none" || !r.XYZ.Finite() || len(r.Repeats) == 0 {
				t.Fatalf("%+v", r)
			}
			if _, err := r.Covariance.Inverse(); err != nil {
				t.Fatalf("reading %d: %v", i, err)
			}
			if r.Patch.Signal == colorimetry.Gray(1) {
				one := usualNoise.Covariance(r.XYZ, 1)[1][1]
				if len(r.Repeats) != 6 || r.Covariance[1][1] > one/3 {
					t.Errorf("six whites have the variance %g, one has %g", r.Covariance[1][1], one)
				}
			}
		}
	}
}

// What disagrees by more than the scatter allows is bad input, what disagrees by
// less is averaged and named. The scatter is the instrument's, here 0.5 % of Y,
// unless the repeats themselves show more.
func TestFromTableRepeats(t *testing.T) {
	quiet := []float64{1, 1.001, 0.999, 1, 1.0005}
	wild := []float64{1, 1.03, 0.97, 1.02, 0.99, 0.98, 1.035, 0.96, 1.01, 1.025, 0.975, 1} // median deviation 2.25 %
	for _, c := range []struct {
		name  string
		share []float64 // of the luminance of white, one a repeat
		bad   bool
		warn  string // a part of the one warning there must be; "" = none
	}{
		{"agreement", quiet, false, ""},
		{"2 % off, four times the scatter", append(quiet[:5:5], 1.02), false, "1 readings lie more than 3 times"},
		{"10 % off", append(quiet[:5:5], 1.10), true, ""},
		{"a pair 2 % apart", []float64{1, 1.02}, false, ""},
		{"a pair 10 % apart", []float64{1, 1.10}, true, ""},
		{"noisy repeats", wild, false, "repeats scatter"},
		{"8 % off among noisy repeats", append(wild, 1.08), false, "repeats scatter"},
		{"30 % off among noisy repeats", append(wild, 1.30), true, ""},
	} {
		tab := chart.Table{HasXYZ: true, Scale: chart.ScaleAbsolute}
		for i, k := range c.share {
			tab.Rows = append(tab.Rows, chart.Row{Signal: colorimetry.Gray(1), XYZ: d65(100 * k), Line: i + 2})
		}
		got, warnings, err := FromTable(tab, TableOptions{File: "a.csv"})
		if c.bad {
			var ie *chart.InputError
			if !errors.As(err, &ie) || ie.File != "a.csv" || ie.Remedy == "" || len(c.share) > 2 && ie.Line != len(tab.Rows)+1 {
				t.Errorf("%s: %v", c.name, err)
			}
			continue
		}
		if err != nil || len(got) != 1 {
			t.Errorf("%s: %d readings, %v", c.name, len(got), err)
			continue
		}
		if c.warn == "" && len(warnings) != 0 || c.warn != "" && (len(warnings) != 1 || !strings.Contains(warnings[0].String(), c.warn)) {
			t.Errorf("%s: warnings %v, want one with %q", c.name, warnings, c.warn)
		}
	}
	// The far one weighs less: the plain mean of these would be 100.333.
	tab := chart.Table{HasXYZ: true, Scale: chart.ScaleAbsolute}
	for _, k := range append(quiet[:5:5], 1.02) {
		tab.Rows = append(tab.Rows, chart.Row{Signal: colorimetry.Gray(1), XYZ: d65(100 * k)})
	}
	got, _, err := FromTable(tab, TableOptions{})
	if err != nil || got[0].XYZ.Y > 100.28 || got[0].XYZ.Y < 100 {
		t.Errorf("%v, %v", got, err)
	}
}

func TestFromTableFalls(t *testing.T) {
	g := func(i int) colorimetry.RGB { return colorimetry.Gray(float64(i) / 16) }
	setY := func(tab *chart.Table, s colorimetry.RGB, k float64) int {
		i := last(*tab, s)
		tab.Rows[i].XYZ = tab.Rows[i].XYZ.Scale(k)
		return i
	}
	lightOf := func(tab chart.Table, s colorimetry.RGB) float64 { return tab.Rows[last(tab, s)].XYZ.Y }

	small := tableOf(0.01, 1) // 15/16 pulled to 1 % below 14/16: 1.4 times the scatter of a difference
	at := setY(&small, g(15), 0.99*lightOf(small, g(14))/lightOf(small, g(15)))
	_, warnings, err := FromTable(small, TableOptions{})
	if err != nil || len(warnings) != 1 || len(warnings[0].Lines) != 1 || warnings[0].Lines[0] != small.Rows[at].Line {
		t.Errorf("a small fall: %v, %v", warnings, err)
	}
	for name, pull := range map[string]float64{"4.5 % of it, beyond the scatter": 0.955, "10 %": 0.9} {
		tab := tableOf(0.01, 1)
		at := setY(&tab, g(15), pull*lightOf(tab, g(14))/lightOf(tab, g(15)))
		_, _, err := FromTable(tab, TableOptions{File: "b.csv"})
		var ie *chart.InputError
		if !errors.As(err, &ie) || ie.Line != tab.Rows[at].Line || ie.File != "b.csv" {
			t.Errorf("%s: %v", name, err)
		}
	}
	// More than 5 % of white is too much, however noisy the instrument says it is.
	tab := tableOf(0.01, 1)
	setY(&tab, g(15), 0.9*lightOf(tab, g(14))/lightOf(tab, g(15)))
	if _, _, err := FromTable(tab, TableOptions{Noise: Noise{0.01, 0.2, 1}}); err == nil {
		t.Error("a fall of 8 % of white was taken for noise")
	}
	turned := tableOf(0.01, 1)
	for i := range turned.Rows {
		s := turned.Rows[i].Signal
		turned.Rows[i].Signal = colorimetry.RGB{R: 1 - s.R, G: 1 - s.G, B: 1 - s.B}
	}
	if _, _, err := FromTable(turned, TableOptions{}); err == nil {
		t.Error("a table that falls from black to white was taken")
	}
}

func TestFromTableRelative(t *testing.T) {
	tab := tableOf(0, 1)
	for i := range tab.Rows {
		tab.Rows[i].XYZ = tab.Rows[i].XYZ.Scale(0.37)
	}
	tab.Scale = chart.ScaleRelative
	for want, o := range map[float64]TableOptions{100: {}, 250: {WhiteCdM2: 250}} {
		got, _, err := FromTable(tab, o)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range got {
			if r.Patch.Signal == colorimetry.Gray(1) && math.Abs(r.XYZ.Y-want) > 1e-9 {
				t.Errorf("white is %g, want %g", r.XYZ.Y, want)
			}
		}
	}
}

func TestFromTableBadInput(t *testing.T) {
	for name, spoil := range map[string]func(*chart.Table){
		"no rows":     func(t *chart.Table) { t.Rows = nil },
		"no XYZ":      func(t *chart.Table) { t.HasXYZ = false },
		"NaN":         func(t *chart.Table) { t.Rows[3].XYZ.Y = math.NaN() },
		"infinite":    func(t *chart.Table) { t.Rows[3].XYZ.X = math.Inf(1) },
		"percent":     func(t *chart.Table) { t.Rows[3].Signal.R = 100 },
		"all dark":    func(t *chart.Table) { t.Rows = []chart.Row{{Line: 2}, {Line: 3}} },
		"NaN signal":  func(t *chart.Table) { t.Rows[3].Signal.G = math.NaN() },
		"dark scaled": func(t *chart.Table) { t.Scale, t.Rows = chart.ScaleRelative, []chart.Row{{Line: 2}} },
	} {
		tab := tableOf(1, 1)
		spoil(&tab)
		_, _, err := FromTable(tab, TableOptions{File: "c.csv"})
		var ie *chart.InputError
		if !errors.As(err, &ie) || ie.File != "c.csv" || ie.Problem == "" || ie.Remedy == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	if w := (Warning{"x", []int{1, 2, 3, 4, 5, 6, 7, 8}}).String(); w != "x (lines [1 2 3 4 5 6] and 2 more)" {
		t.Error(w)
	}
}
