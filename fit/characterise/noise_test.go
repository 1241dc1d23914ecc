package characterise_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/fit/characterise"
)

// A table that a run wrote has the noise of its readings, in both forms, so that
// what is made of it says how sure it is; the profile's own text stays without.
func TestTableStatesItsNoise(t *testing.T) {
	t.Parallel()
	s, _ := small(t, simulate.SmoothLCD, 12)
	r := run(t, s)
	state := r.InState()
	for name, write := range map[string]func(*bytes.Buffer) error{
		"csv": func(b *bytes.Buffer) error {
			return chart.WriteCSV(b, characterise.Table(r, state), chart.WriteOptions{})
		},
		"cgats": func(b *bytes.Buffer) error {
			return chart.WriteCGATS(b, characterise.Table(r, state), chart.WriteOptions{})
		},
	} {
		var file bytes.Buffer
		if err := write(&file); err != nil {
			t.Fatal(err)
		}
		read, err := characterise.ReadTable(bytes.NewReader(file.Bytes()), name, 0, false)
		if err != nil || !read.NoiseStated {
			t.Fatalf("%s: %v, noise stated: %t", name, err, read.NoiseStated)
		}
		alone := 0
		for _, got := range read.Readings {
			at := slices.IndexFunc(state, func(m measure.Reading) bool { return m.Patch.Signal == got.Patch.Signal })
			if slices.ContainsFunc(state[at+1:], func(m measure.Reading) bool { return m.Patch.Signal == got.Patch.Signal }) {
				continue // a mean of several
			}
			alone++
			want := state[at]
			for i := range 3 {
				for k := range 3 {
					if math.Abs(got.Covariance[i][k]-want.Covariance[i][k]) > 1e-8*math.Sqrt(want.Covariance[i][i]*want.Covariance[k][k]) {
						t.Fatalf("%s: %s has the covariance %v, and had %v", name, want.Patch.ID, got.Covariance, want.Covariance)
					}
				}
			}
			if len(got.Repeats) != len(want.Repeats) {
				t.Fatalf("%s: %s is the mean of %d, and was of %d", name, want.Patch.ID, len(got.Repeats), len(want.Repeats))
			}
		}
		if alone < 40 {
			t.Errorf("%s: only %d signals were read once", name, alone)
		}
		in := characterise.Brought{Readings: read.Readings, NoiseStated: true, Stated: read.Curves, InForce: r.InForce, Screen: r.Screen}
		brought, err := characterise.FromReadings(context.Background(), in)
		if err != nil {
			t.Fatal(err)
		}
		if slices.ContainsFunc(brought.Warnings, func(w string) bool { return strings.Contains(w, "state no noise") }) {
			t.Errorf("%s: warnings %q", name, brought.Warnings)
		}
	}
	if bytes.Contains(r.Profile.Bytes, []byte("COV_XX")) {
		t.Error("the profile's table has columns of noise")
	}
}

// What a table states of its noise is a stranger's word: what cannot be is bad
// input that names its line, and a table of anybody's states none.
func TestNoiseThatCannotBe(t *testing.T) {
	t.Parallel()
	const head = "R,G,B,X,Y,Z,AVERAGES,COV_XX,COV_YY,COV_ZZ,COV_XY,COV_XZ,COV_YZ\n0,0,0,0.1,0.1,0.1,4,1e-6,1e-6,1e-6,0,0,0\n1,1,1,95,100,108,"
	for row, says := range map[string]string{
		"0,1,1,1,0,0,0":          `AVERAGES is "0"`,
		"1001,1,1,1,0,0,0":       `AVERAGES is "1001"`,
		"many,1,1,1,0,0,0":       "AVERAGES",
		"4,1,0,1,0,0,0":          `COV_YY is "0"`,
		"4,1,NaN,1,0,0,0":        "COV_YY",
		"4,1,1,1,0,Inf,0":        "COV_XZ",
		"4,1,1,1,2,0,0":          "larger than their own allow",
		"4,1,1,1,-0.9,-0.9,-0.9": "variance below 0",
		"4,1,1,1e13,0,0,0":       "COV_ZZ",
	} {
		_, err := characterise.ReadTable(strings.NewReader(head+row+"\n"), "a.csv", 0, false)
		var bad *chart.InputError
		if !errors.As(err, &bad) || bad.Line != 3 || !strings.Contains(bad.Problem, says) {
			t.Errorf("%s: %v, want line 3 and %q", row, err, says)
		}
	}
	good := head + "16,1,1,1,0.9,0.9,0.9\n"
	for text, want := range map[string]bool{good: true, "R,G,B,X,Y,Z,AVERAGES\n0,0,0,0,0,0,4\n1,1,1,95,100,108,4\n": false} {
		read, err := characterise.ReadTable(strings.NewReader(text), "a.csv", 0, false)
		if err != nil || read.NoiseStated != want {
			t.Errorf("%q: %v, noise stated: %t", text, err, read.NoiseStated)
		}
	}
	// A relative table states its noise on its own scale.
	relative, err := characterise.ReadTable(strings.NewReader(strings.ReplaceAll(good, "95,100,108", "190,200,216")), "a.csv", 0, true)
	if err != nil || !relative.NoiseStated {
		t.Fatalf("relative: %v, noise stated: %t", err, relative.NoiseStated)
	}
	if got := relative.Readings[1]; math.Abs(got.Covariance[1][1]-0.25) > 1e-12 || math.Abs(got.Repeats[15].Y-100) > 1e-9 {
		t.Errorf("of a white of 200 with a variance of 1: %+v", got)
	}
	// Repeats that scatter by more than they state are as sure as they scatter.
	read, err := characterise.ReadTable(strings.NewReader(head+"4,1e-4,1e-4,1e-4,0,0,0\n1,1,1,95,100.4,108,4,1e-4,1e-4,1e-4,0,0,0\n"), "a.csv", 0, false)
	if err != nil {
		t.Fatal(err)
	}
	// Each is 0.2 from the mean: by hand, 2·0.04/1e-4 times the 1e-4/2 of the mean.
	if got := read.Readings[1].Covariance[1][1]; math.Abs(got-0.04) > 1e-9 {
		t.Errorf("the mean's variance is %g, want 0.04", got)
	}
}
