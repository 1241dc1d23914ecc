package measure

import (
	"context"
	"math"
	"testing"
	"time"

	"example.org/primaries/colorimetry"
)

// sluggish is a display whose light follows a step as an exponential, slower
// downwards, seen through integrations of a second.
type sluggish struct {
	*fakeDisplay
	up, down time.Duration
	from     colorimetry.XYZ
	at       time.Time
}

// Show steps to another signal.
func (d *sluggish) Show(ctx context.Context, s colorimetry.RGB) error {
	d.from, d.at = d.light(d.clock.now), d.clock.now
	return d.fakeDisplay.Show(ctx, s)
}

func (d *sluggish) light(at time.Time) colorimetry.XYZ {
	to := additive(d.signal)
	decay := d.up
	if d.from.Y > to.Y {
		decay = d.down
	}
	left := math.Exp(-at.Sub(d.at).Seconds() / decay.Seconds())
	return to.Add(d.from.Sub(to).Scale(left))
}

func (d *sluggish) Instrument() InstrumentInfo {
	return InstrumentInfo{Name: "looks", Noise: usualNoise}
}

func (d *sluggish) Measure(_ context.Context, want Request) (Sample, error) {
	var sum colorimetry.XYZ
	for range 20 {
		d.clock.now = d.clock.now.Add(50 * time.Millisecond)
		sum = sum.Add(d.light(d.clock.now))
	}
	return Sample{XYZ: noisy(newRand(want), sum.Scale(1.0/20), usualNoise), Duration: time.Second}, nil
}

func openSluggish(t *testing.T, up, down time.Duration) (*sluggish, *Session) {
	t.Helper()
	d := &sluggish{fakeDisplay: newFakeDisplay(), up: up, down: down}
	s, err := Open(context.Background(), Setup{Screen: d, Instrument: d, Clock: d.clock, Start: d.start})
	if err != nil {
		t.Fatal(err)
	}
	return d, s
}

// A step of A cd/m² has died away to L after τ·ln(A/L). Of an integration of a
// second that begins then the mean is lower by about τ/(1 s).
func TestMeasureSettling(t *testing.T) {
	for _, c := range []struct{ up, down time.Duration }{{60, 60}, {200, 400}, {300, 600}} {
		d, s := openSluggish(t, c.up*time.Millisecond, c.down*time.Millisecond)
		m, err := MeasureSettling(context.Background(), s, SettlingOptions{})
		if err != nil {
			t.Fatal(err)
		}
		want := func(decay time.Duration, from, to float64) float64 {
			a, b := additive(colorimetry.Gray(from)).Y, additive(colorimetry.Gray(to)).Y
			tau := float64(decay)
			mean := tau / 1000 // of the integration
			return math.Max(tau*math.Log(mean*math.Abs(a-b)/math.Max(0.001*b, 0.0001*100)), 350)
		}
		t.Logf("decay %d ms up, %d ms down: %+v in %v; %.0f %.0f %.0f %.0f expected", c.up, c.down, m, s.Now().Sub(d.start).Round(time.Second),
			want(c.up, 0.5, 1), want(c.up, 0, 1), want(c.down, 1, 0.5), want(c.down, 1, 0))
		for _, g := range []struct {
			got  int
			want float64
		}{{m.UpHalfMS, want(c.up, 0.5, 1)}, {m.UpFullMS, want(c.up, 0, 1)}, {m.DownHalfMS, want(c.down, 1, 0.5)}, {m.DownFullMS, want(c.down, 1, 0)}} {
			if math.Abs(float64(g.got)-g.want) > 0.25*g.want+150 {
				t.Errorf("decay %v, %v: %d ms, about %.0f expected", c.up, c.down, g.got, g.want)
			}
		}
		// Readings through it are not off by more than noise and limits say.
		s.SetSettling(m)
		for _, v := range []float64{1, 0, 1, 0.5, 0, 0.5, 1, 0.8, 0.1} {
			r, err := s.Read(context.Background(), grey(v))
			if err != nil {
				t.Fatal(err)
			}
			truth := additive(colorimetry.Gray(v)).Y
			if off := math.Abs(r.XYZ.Y - truth); off > 0.003*truth+0.03+4*deviation(r) {
				t.Errorf("decay %v, %v: grey %.1f reads %.3f, %.3f is true", c.up, c.down, v, r.XYZ.Y, truth)
			}
		}
	}
	_, s := openSluggish(t, time.Millisecond, time.Millisecond)
	for _, o := range []SettlingOptions{{Share: -1}, {Black: 2}, {Times: 101}, {Longest: time.Millisecond}, {Longest: time.Hour}, {Share: math.NaN()}} {
		if _, err := MeasureSettling(context.Background(), s, o); err == nil {
			t.Errorf("%+v is taken", o)
		}
	}
}

// What is measured is waited for, by the step; the flash limit stays.
func TestSetSettling(t *testing.T) {
	r := newRig()
	s := r.open(t)
	readings(t, s, 17) // up to white
	s.SetSettling(Settling{UpHalfMS: 400, UpFullMS: 800, DownHalfMS: 1000, DownFullMS: 3000})
	half := s.settleTime(colorimetry.Gray(math.Pow(0.1842, 1/2.2))) // L* 50
	if down := s.settleTime(colorimetry.RGB{}); down != 3*time.Second || (half-time.Second).Abs() > 10*time.Millisecond {
		t.Errorf("down by half %v, to black %v", half, down)
	}
	if same := s.settleTime(colorimetry.Gray(1)); same != Dwell {
		t.Errorf("no step needs %v", same)
	}
	s.SetSettling(Settling{})
	if got := s.settleTime(colorimetry.Gray(1)); got != defaultSettle {
		t.Errorf("taken back: %v", got)
	}
}
