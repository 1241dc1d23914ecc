package aim_test

import (
	"errors"
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
)

func luminance(t *testing.T, a aim.Aim, signal, white, black float64) float64 {
	t.Helper()
	f, err := a.On(white, black)
	if err != nil {
		t.Fatalf("%v on %g and %g cd/m²: %v", a.Curve(), white, black, err)
	}
	return white * f.Light(signal)
}

// ITU-R BT.1886, annex 1: the table holds white, black and what each signal is
// to shine.
func TestStartBT1886IsTheStandard(t *testing.T) {
	s, err := aim.StartNamed("bt1886")
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range table(t, "../../colorimetry/tone/testdata/bt1886.csv") {
		if got := luminance(t, s.Aim, row[4], row[0], row[1]); math.Abs(got-row[5]) > 1e-10*row[0] {
			t.Errorf("white %g, black %g, signal %g: %.12g, not %.12g", row[0], row[1], row[4], got, row[5])
		}
	}
}

// DICOM PS3.14: on a display whose black and white, with the ambient light,
// lie on two indices of the table, equal steps of the signal are whole indices,
// and the luminances are the table's less the ambient light.
func TestGSDFIsTheTable(t *testing.T) {
	rows := table(t, "../../colorimetry/tone/testdata/gsdf.csv")
	at := func(j int) float64 { return rows[j-1][1] }
	for _, c := range []struct {
		low, high int
		ambient   float64
	}{{50, 600, 0.2}, {1, 1023, 0}, {100, 700, 0.9}} {
		a := aim.Aim{Tone: aim.GSDF{}, Ambient: aim.MeasuredAmbient(c.ambient)}
		white, black := at(c.high)-c.ambient, at(c.low)-c.ambient
		if c.low == 1 { // the printed digits may lie beyond the function's ends
			white, black = white*(1-1e-12), black*(1+1e-12)
		}
		for j := c.low; j <= c.high; j += 7 {
			signal := float64(j-c.low) / float64(c.high-c.low)
			if got := luminance(t, a, signal, white, black) + c.ambient; math.Abs(got/at(j)-1) > 1e-8 {
				t.Errorf("index %d of %+v: %.9g cd/m², the table has %.9g", j, c, got, at(j))
			}
		}
	}
}

func TestGSDFNeedsMeasuredAmbient(t *testing.T) {
	s, err := aim.StartNamed("GSDF")
	if err != nil {
		t.Fatal(err)
	}
	black := colorimetry.XYZ{X: 0.3, Y: 0.3, Z: 0.4}
	for _, ambient := range []aim.Ambient{{}, {Source: aim.AmbientEstimated, CdM2: 0.4}} {
		a := s.Aim
		a.Ambient = ambient
		if _, err := a.On(400, 0.4); !errors.Is(err, aim.ErrAmbient) {
			t.Errorf("%v: tone: %v", ambient, err)
		}
		if r, err := aim.Reach(a, srgbPrimaries(), black); !errors.Is(err, aim.ErrAmbient) || r.OK || r.Sentence != "" {
			t.Errorf("%v: reach: %+v, %v", ambient, r, err)
		}
		if c := a.TargetOf(0.5, black, colorimetry.XYZ{X: 380, Y: 400, Z: 430}); c.Finite() {
			t.Errorf("%v: target %v", ambient, c)
		}
		if a.Judgeable() == nil {
			t.Errorf("%v may be judged", ambient)
		}
		a.Tone, _ = tone.NewGSDF(400, 0.4, 0.1)
		if a.Judgeable() == nil {
			t.Errorf("%v may be judged by a curve with its own figures", ambient)
		}
	}
	a := s.Aim
	a.Ambient = aim.MeasuredAmbient(0) // a dark room is a measurement too
	if err := a.Judgeable(); err != nil || len(a.Cautions()) == 0 {
		t.Errorf("in a dark room: %v, cautions %q", err, a.Cautions())
	}
	if (aim.Aim{}).Judgeable() != nil || (aim.Aim{}).Cautions() != nil {
		t.Error("the zero aim is taken for one of diagnosis")
	}
}

// SMPTE ST 2084: PQ means luminances, whatever the display.
func TestPQIsAbsolute(t *testing.T) {
	s, err := aim.StartNamed("bt2100-pq")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, row := range table(t, "../../colorimetry/tone/testdata/pq.csv") {
		want, signal := row[1], row[2]
		for _, white := range []float64{600, 1000, 10000} {
			seen++
			if got := luminance(t, s.Aim, signal, white, 0); math.Abs(got-math.Min(want, white)) > 1e-8*white {
				t.Errorf("signal %g on %g cd/m²: %g, ST 2084 has %g", signal, white, got, want)
			}
		}
	}
	if seen < 100 {
		t.Errorf("%d levels only", seen)
	}
	// With light in the black it comes on top, and the white stays.
	if got := luminance(t, s.Aim, 0, 1000, 0.5); math.Abs(got-0.5) > 1e-12 {
		t.Errorf("black: %g", got)
	}
	if got := luminance(t, s.Aim, 1, 1000, 0.5); math.Abs(got-1000) > 1e-9 {
		t.Errorf("white: %g", got)
	}
}

// ITU-R BT.2100-2, table 5: EOTF = Lw·OETF⁻¹(max(0, (1−β)E'+β))^γ with
// β = √(3(Lb/Lw)^(1/γ)), and γ 1.2 at 1,000 cd/m².
func TestHLGIsTheStandard(t *testing.T) {
	s, err := aim.StartNamed("bt2100-hlg")
	if err != nil {
		t.Fatal(err)
	}
	const a, b, c = 0.17883277, 1 - 4*0.17883277, 0.55991073
	inverse := func(e float64) float64 {
		if e <= 0.5 {
			return e * e / 3
		}
		return (math.Exp((e-c)/a) + b) / 12
	}
	for _, d := range []struct{ white, black float64 }{{1000, 0.005}, {1000, 0}, {600, 0.1}, {2000, 1}} {
		gamma := 1.2 + 0.42*math.Log10(d.white/1000)
		beta := math.Sqrt(3 * math.Pow(d.black/d.white, 1/gamma))
		for i := range 21 {
			e := float64(i) / 20
			want := d.white * math.Pow(inverse((1-beta)*e+beta), gamma)
			if got := luminance(t, s.Aim, e, d.white, d.black); math.Abs(got-want) > 1e-6*d.white {
				t.Errorf("%+v, signal %g: %g, BT.2100 has %g", d, e, got, want)
			}
		}
	}
	if _, err := s.Aim.On(100, 60); err == nil {
		t.Error("hlg was lifted to more than it has")
	}
	stretched := s.Aim
	stretched.Black = aim.BlackStretch
	if got := luminance(t, stretched, 0, 100, 60); math.Abs(got-60) > 1e-9 {
		t.Errorf("stretched to a black of 60: %g", got)
	}
}

// What is seen under BlackLift, ambient light included, is the tone on a
// display that has the ambient light in its black.
func TestLiftInRoom(t *testing.T) {
	const white, black, room = 100, 0.1, 0.7
	bright := aim.Aim{Tone: tone.Power{Gamma: 2.4}, Black: aim.BlackLift, Ambient: aim.MeasuredAmbient(room)}
	dark := aim.Aim{Tone: tone.BT1886{WhiteCdM2: white + room, BlackCdM2: black + room}}
	for i := range 11 {
		s := float64(i) / 10
		want := (white + room) * dark.Curve().Light(s)
		if got := luminance(t, bright, s, white, black) + room; math.Abs(got-want) > 1e-10 {
			t.Errorf("signal %g: %g is seen, not %g", s, got, want)
		}
	}
	f, err := bright.On(white, black)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range []float64{0.1, 0.5, 0.9} {
		if b := f.Signal(f.Light(s)); math.Abs(b-s) > 1e-12 {
			t.Errorf("the signal of the light of %g is %g", s, b)
		}
		if d := (f.Light(s+1e-6) - f.Light(s-1e-6)) / 2e-6; math.Abs(d-f.Slope(s)) > 1e-6 {
			t.Errorf("the slope at %g is %g, not %g", s, f.Slope(s), d)
		}
	}
	// Scaling the range adds the black to all: the room adds to both sides.
	for _, ambient := range []aim.Ambient{{}, aim.MeasuredAmbient(5)} {
		a := aim.Aim{Ambient: ambient}
		want := black + (white-black)*math.Pow(0.5, 2.2)
		if got := luminance(t, a, 0.5, white, black); math.Abs(got-want) > 1e-12 {
			t.Errorf("%v: stretched to %g, not %g", ambient, got, want)
		}
	}
}

// A tone that brings a black of its own gives it up for the display's; where
// the two agree nothing changes.
func TestToneWithBlack(t *testing.T) {
	own := tone.BT1886{WhiteCdM2: 100, BlackCdM2: 0.5}
	for _, p := range []aim.Policy{aim.BlackStretch, aim.BlackLift} {
		for _, black := range []float64{0, 0.1, 0.5, 2} {
			a := aim.Aim{Tone: own, Black: p}
			if got := luminance(t, a, 0, 100, black); math.Abs(got-black) > 1e-10 {
				t.Errorf("%v: black of %g came to %g", p, black, got)
			}
			if got := luminance(t, a, 1, 100, black); math.Abs(got-100) > 1e-10 {
				t.Errorf("%v: white came to %g", p, got)
			}
			f, err := a.On(100, black)
			if err != nil {
				t.Fatal(err)
			}
			if s := f.Signal(f.Light(0.4)); math.Abs(s-0.4) > 1e-9 {
				t.Errorf("%v, black %g: signal 0.4 comes back as %g", p, black, s)
			}
			if got := f.Light(0.3); black == 0.5 && math.Abs(got-own.Light(0.3)) > 1e-12 {
				t.Errorf("%v: its own black changes it from %g to %g", p, own.Light(0.3), got)
			}
		}
	}
	flat, err := tone.NewSampled([]float64{0, 1}, []float64{1, 1})
	if err == nil {
		if _, err := (aim.Aim{Tone: flat}).On(100, 0); err == nil {
			t.Error("a flat tone was taken")
		}
	}
	for _, c := range [][2]float64{{100, 100}, {0, 0}, {math.NaN(), 0}, {math.Inf(1), 0}, {-1, 0}} {
		if _, err := (aim.Aim{}).On(c[0], c[1]); err == nil {
			t.Errorf("white %g, black %g were taken", c[0], c[1])
		}
	}
}

// White over black, seen with the ambient light: by definition
// (white + ambient)/(black + ambient).
func TestBlackRatio(t *testing.T) {
	for _, room := range []float64{0, 0.05, 0.3} {
		a := aim.Aim{BlackRatio: 300, Ambient: aim.MeasuredAmbient(room)}
		black := luminance(t, a, 0, 120, 0.01)
		if got := (120 + room) / (black + room); math.Abs(got-300) > 1e-9 {
			t.Errorf("room of %g: %g:1", room, got)
		}
		if got := a.Ambient.SeenRatio(120, black); math.Abs(got-300) > 1e-9 {
			t.Errorf("room of %g: SeenRatio has %g:1", room, got)
		}
		r := a.Resolved(colorimetry.XYZ{X: 114, Y: 120, Z: 130})
		if r.BlackRatio != 0 || math.Abs(r.BlackCdM2-black) > 1e-12 {
			t.Errorf("room of %g: resolved to a black of %g, ratio %g", room, r.BlackCdM2, r.BlackRatio)
		}
	}
	if r := (aim.Ambient{}).SeenRatio(100, 0); !math.IsInf(r, 1) {
		t.Errorf("no light in the black: %g", r)
	}
}
