package measure

import (
	"context"
	"math"
	"reflect"
	"testing"
	"time"

	"example.org/primaries/colorimetry"
)

func readTo(t *testing.T, s *Session, v float64, p Precision) Reading {
	t.Helper()
	ask := grey(v)
	ask.Precision = p
	r, err := s.Read(context.Background(), ask)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Of noise n = 0.5 % of Y with a floor of 0.005 cd/m², k integrations leave
// √((0.005·Y)² + 0.005²)/(Y·√k): the count follows from the luminance.
func TestPrecisionByDarkness(t *testing.T) {
	s := newRig().open(t)
	want := Precision{Luminance: 0.003, Most: 40}
	for _, v := range []float64{1, 0.5, 0.2, 0.12, 0.08, 0.05} {
		r := readTo(t, s, v, want)
		one := math.Hypot(0.005, 0.005/r.XYZ.Y)
		need := min(max(int(math.Ceil(math.Pow(one/0.003, 2))), 2), 40)
		// The scatter seen so far may enlarge the noise by a few per cent.
		if n := len(r.Repeats); n < need || n > need+need/3+1 {
			t.Errorf("%.3f cd/m²: %d integrations, the noise asks for %d", r.XYZ.Y, n, need)
		}
		if r.SpreadShare() > 0.003 && len(r.Repeats) < 40 {
			t.Errorf("%.3f cd/m²: %g after %d integrations", r.XYZ.Y, r.SpreadShare(), len(r.Repeats))
		}
	}
	if r := readTo(t, s, 0.5, Precision{UV: 0.0003}); r.SpreadUV() > 0.0003 || len(r.Repeats) < 3 {
		t.Errorf("chromaticity: %g after %d integrations", r.SpreadUV(), len(r.Repeats))
	}
	if r := readTo(t, s, 1, Precision{Luminance: 1e-6}); len(r.Repeats) != defaultMost {
		t.Errorf("what cannot be reached takes %d integrations", len(r.Repeats))
	}
	if r := readTo(t, s, 1, Precision{Luminance: 1, Least: 1}); len(r.Repeats) != 1 {
		t.Errorf("what is reached at once takes %d integrations", len(r.Repeats))
	}
	for _, p := range []Precision{{Luminance: -1}, {Least: 3}, {Luminance: 1, Least: 3, Most: 2}, {Luminance: 1, Most: 1001}, {UV: math.NaN()}, {UV: math.Inf(1)}} {
		ask := grey(1)
		ask.Precision = p
		if _, err := s.Read(context.Background(), ask); err == nil {
			t.Errorf("%+v is taken", p)
		}
	}
	both := grey(1)
	both.Averages, both.Precision = 3, Precision{Luminance: 1}
	if _, err := s.Read(context.Background(), both); err == nil {
		t.Error("a number and a precision are taken at once")
	}
}

// Stopping by what was read must not make readings look better than they are:
// their squared distances from the truth, in units of what they state, have the
// mean 3 of a chi-square with three degrees of freedom.
func TestPrecisionIsHonest(t *testing.T) {
	s := newRig().open(t)
	truth := newFakeDisplay()
	sum, n := 0.0, 600
	for range n {
		r := readTo(t, s, 0.18, Precision{Luminance: 0.004, UV: 0.0006})
		truth.signal, truth.clock.now = colorimetry.Gray(0.18), r.Time.Add(-time.Duration(len(r.Repeats))*500*time.Millisecond)
		inverse, err := r.Covariance.Inverse()
		if err != nil {
			t.Fatal(err)
		}
		sum += distance2(r.XYZ.Sub(truth.truth()), inverse)
	}
	// The standard deviation of the mean of 600 is √(6/600) = 0.1.
	if got := sum / float64(n); math.Abs(got-3) > 0.35 {
		t.Errorf("mean squared distance %.2f, want 3", got)
	}
}

// Cut anywhere, the run takes the same integrations again.
func TestPrecisionReplays(t *testing.T) {
	run := func(lines [][]byte) (*rig, []Reading) {
		r := newRig()
		s, err := Open(context.Background(), r.resume(lines))
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range []float64{0.1, 1, 0.3, 0.07} {
			readTo(t, s, v, Precision{Luminance: 0.004, Most: 30})
		}
		return r, s.Readings()
	}
	r, want := run(nil)
	lines := r.journal.Lines()
	for cut := range lines {
		if _, got := run(lines[:cut]); !reflect.DeepEqual(got, want) {
			t.Fatalf("cut after %d lines: other readings", cut)
		}
	}
	s, err := Open(context.Background(), newRig().resume(lines))
	if err != nil {
		t.Fatal(err)
	}
	ask := grey(0.1)
	ask.Precision = Precision{Luminance: 0.005, Most: 30}
	if _, err := s.Read(context.Background(), ask); err == nil {
		t.Error("another precision takes the journal's reading")
	}
}

// A request may give the display another time to settle, but never one that
// breaks the flash limit.
func TestSettleOfARequest(t *testing.T) {
	r := newRig()
	s := r.open(t)
	readings(t, s, 1)
	for _, c := range []struct{ ask, want time.Duration }{{5 * time.Second, 5 * time.Second}, {time.Millisecond, Dwell}} {
		ask := grey(0.5)
		ask.Settle = c.ask
		before := r.display.clock.now
		if _, err := s.Read(context.Background(), ask); err != nil {
			t.Fatal(err)
		}
		if got := r.display.clock.now.Sub(before) - time.Second; got != c.want {
			t.Errorf("%v asked for, %v given", c.ask, got)
		}
	}
	ask := grey(0.5)
	ask.Settle = -time.Second
	if _, err := s.Read(context.Background(), ask); err == nil {
		t.Error("a negative time is taken")
	}
}
