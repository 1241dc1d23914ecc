package report_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/profile"
	"example.org/primaries/verify"
	"example.org/primaries/verify/history"
	"example.org/primaries/verify/report"
)

// primaries is the matrix of Display P3 with D65 white, luminance 1 (CSS Color
// Module Level 4, "lin_P3_to_XYZ").
func primaries() colorimetry.Matrix {
	return colorimetry.Matrix{
		{0.4865709486482162, 0.26566769316909306, 0.1982172852343625},
		{0.2289745640697488, 0.6917385218365064, 0.079286914093745},
		{0, 0.04511338185890264, 1.043944368900976},
	}
}

// wanted is what the aim asks for: power 2.2 from a black of 0.04 cd/m² to a
// white of 100.
func wanted(s colorimetry.RGB) colorimetry.XYZ {
	g := func(v float64) float64 { return 100 * math.Pow(v, 2.2) }
	return primaries().FromLinear(colorimetry.RGB{R: g(s.R), G: g(s.G), B: g(s.B)}).Add(colorimetry.XYZ{X: 0.038, Y: 0.04, Z: 0.044})
}

// asFound is an uncorrected display: brighter, bluish, another tone.
func asFound(s colorimetry.RGB) colorimetry.XYZ {
	g := func(v, top, power float64) float64 { return top * math.Pow(v, power) }
	return primaries().FromLinear(colorimetry.RGB{R: g(s.R, 148, 2.3), G: g(s.G, 157, 2.2), B: g(s.B, 172, 2.1)}).Add(colorimetry.XYZ{X: 0.04, Y: 0.04, Z: 0.06})
}

// corrected is the same after the curves, with a little left to be desired.
func corrected(s colorimetry.RGB) colorimetry.XYZ {
	g := func(v, top float64) float64 { return top * (math.Pow(v, 2.2) + 0.004*math.Sin(9*v)*v) }
	return primaries().FromLinear(colorimetry.RGB{R: g(s.R, 100.3), G: g(s.G, 99.9), B: g(s.B, 100.6)}).Add(colorimetry.XYZ{X: 0.04, Y: 0.04, Z: 0.06})
}

// read reads signals with the noise of a filter colorimeter, 4 averages.
func read(rng *rand.Rand, of verify.Predict, signals []colorimetry.RGB) []measure.Reading {
	var out []measure.Reading
	for i, s := range signals {
		c := of(s)
		sd := c.Scale(0.0025)
		cov := colorimetry.Diagonal(sd.X*sd.X+6e-6, sd.Y*sd.Y+6e-6, sd.Z*sd.Z+6e-6)
		r := measure.Reading{Index: i, Covariance: cov, Repeats: make([]colorimetry.XYZ, 4), Time: start().Add(time.Duration(i) * 6 * time.Second)}
		r.Patch.ID, r.Patch.Signal = fmt.Sprintf("P%03d", i+1), s
		r.XYZ = colorimetry.XYZ{
			X: c.X + math.Sqrt(cov[0][0])*rng.NormFloat64(),
			Y: c.Y + math.Sqrt(cov[1][1])*rng.NormFloat64(),
			Z: c.Z + math.Sqrt(cov[2][2])*rng.NormFloat64(),
		}
		out = append(out, r)
	}
	return out
}

func start() time.Time { return time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC) }

// patches returns greys, primaries and random colours, white first.
func patches() []colorimetry.RGB {
	set := []colorimetry.RGB{{R: 1, G: 1, B: 1}, {R: 1}, {G: 1}, {B: 1}, {R: 1, G: 1}, {G: 1, B: 1}, {R: 1, B: 1}, {R: 0.5}, {G: 0.5}, {B: 0.5}}
	for i := range 17 {
		set = append(set, colorimetry.Gray(float64(i)/16))
	}
	rng := rand.New(rand.NewPCG(4, 4))
	for len(set) < 120 {
		set = append(set, colorimetry.RGB{R: rng.Float64(), G: rng.Float64(), B: rng.Float64()})
	}
	return set
}

// sample returns a whole report of a display that is invented.
func sample(t testing.TB) *report.Report {
	t.Helper()
	rng := rand.New(rand.NewPCG(1, 1))
	before, after := read(rng, asFound, patches()), read(rng, corrected, patches())
	o := verify.Options{Seed: 1, Trials: 100}
	accuracy, err := verify.Profile(corrected, after, o)
	if err != nil {
		t.Fatal(err)
	}
	truth := func(s colorimetry.RGB) colorimetry.XYZ { return corrected(s).Scale(1.002) }
	relative, absolute, err := verify.Truth(corrected, truth, patches(), o)
	if err != nil {
		t.Fatal(err)
	}
	accuracy.True, accuracy.TrueAbsolute = &relative, &absolute
	asked := [2]verify.Accuracy{}
	for i, set := range [][]measure.Reading{before, after} {
		if asked[i], err = verify.Aim(wanted, set, o); err != nil {
			t.Fatal(err)
		}
	}
	white, true0 := after[0], 0.0006
	c := white.XYZ.Chromaticity()
	r := &report.Report{
		Version:    report.Version,
		Run:        report.Run{ID: "2026-11-25-093000-1", Start: start(), End: start().Add(time.Hour), Seed: 1, Simulated: true, Adjusted: true},
		Scenario:   "A print studio prepares a travelling exhibition of textile photographs. The scenario is invented.",
		Display:    report.Display{Name: "wide-gamut display", Mode: "native", Bits: 10},
		Instrument: report.Instrument{Name: "filter colorimeter", Serial: "17", Correction: "corrected by four paired readings", CorrectionUncertaintyUV: 0.0004},
		Aim:        report.Aim{Name: "D65-100-2.2", White: report.XY{X: 0.3127, Y: 0.3290}, WhiteName: "D65", LuminanceCdM2: 99.6, AskedCdM2: 100, Tone: "power 2.2", Black: "range scaled between black and white"},
		White:      report.White{X: c.X, Y: c.Y, DeltaUV: c.UV().Distance(colorimetry.D65().UV()), TrueDeltaUV: &true0, CCT: 6532},

		LuminanceCdM2: white.XYZ.Y, BlackCdM2: 0.041, FloorSignal: 0.03, FloorCause: "below it blue leaks more light than the aim's black allows",
		Model: report.Model{Name: "additive with free curves", Reason: "the simplest within one standard error of the best.", Candidates: []report.Candidate{{Name: "gain, offset, gamma", Mean: 0.92, P95: 2.1, Max: 3.4}, {Name: "additive with free curves", Mean: 0.31, P95: 0.8, Max: 1.1, Chosen: true}}},
		Written: &profile.Diagnostics{Black: "The colorimetric tables carry the measured black: black at 0.0410 cd/m², 0.00 ΔE00 from the model's.", Choice: "The matrix alone loses 0.56 ΔE00 in the mean and 2.92 at most: tables are needed.",
			PrimaryGains: colorimetry.RGB{R: 1.002, G: 0.999, B: 1}, PrimaryDelta: 0.04, WhiteDelta: 0.11, LossMean: 0.03, LossMax: 0.12, LossCount: 985, Entries: 1024, CurveError: 0.0004,
			NodesAToB: 17, NodesBToA: 33, GridLoss: 0.2, ClipMax: 0.05, MatrixMean: 0.56, MatrixMax: 2.92, RoundMean: 0.01, RoundMax: 0.82, RoundCount: 1240, HueMean: 0.3, HueCount: 210, GreyBend: 0.002, HueBend: 0.004},
		AimAccuracy:     verify.AimAccuracy{Before: &asked[0], After: &asked[1]},
		ProfileAccuracy: accuracy,
		Controls:        &report.Controls{Set: []report.ControlStep{{Name: measure.Brightness, From: 80, To: 47}, {Name: measure.RedGain, From: 100, To: 98}}, Sentences: []string{"brightness: 33 steps down, then read again", "red gain: 2 steps down, then read again"}},
		Curves:          &report.Curves{Digest: "0123456789abcdef", Entries: 256, Bits: 10, Passes: []report.CurvePass{{WhiteDeltaUV: 0.0102, WhiteNoiseUV: 0.0004, GreyDeltaUV: 0.0109, GreyNoiseUV: 0.0006, GreyLuminance: 0.061, GreyLuminanceNoise: 0.003}, {WhiteDeltaUV: 0.0006, WhiteNoiseUV: 0.0004, GreyDeltaUV: 0.0008, GreyNoiseUV: 0.0006, GreyLuminance: 0.005, GreyLuminanceNoise: 0.003}}},
		Checklist:       []report.Check{{State: "for you to see", Text: "Whatever changes the picture by itself is off."}, {State: "known", Text: "The path has 10 bits a channel."}},
		Stages: []report.Stage{
			{Name: measure.StageWarmUp, Readings: 31, Minutes: 24, State: verify.Passed},
			{Name: measure.StageControls, Readings: 12, Minutes: 3, State: verify.Passed, Sentence: "stopped at the step proved nearest"},
			{Name: measure.StageProof, Readings: 120, Minutes: 14, State: verify.Undecided, Sentence: "three patches were read again"},
		},
		History:  &report.Comparison{Change: &history.Change{Since: start().AddDate(0, -1, 0), SinceRun: "2026-10-25-1", Days: 31, LuminanceShare: -0.012, WhiteDeltaUV: 0.0007, BlackCdM2: 0.001, BeyondNoise: true}, Look: history.Look{Due: start().AddDate(0, 0, 30), Reason: "about a month after this one (common practice, no source)"}},
		Readings: 283,
		Profile:  "2026-11-25 wide-gamut display native D65-100-2.2.icc",
		Files:    []string{"report.json", "readings.csv"},
		Warnings: []string{"a default aim was out of reach: its luminance became that of the nearest step"},
	}
	additivity := 0.998
	r.Model.Additivity, r.Model.AdditivityError, r.Model.AdditivityX, r.Model.AdditivityZ, r.Model.AdditivityState = &additivity, 0.002, 0.997, 1.001, verify.Passed
	r.Model.Stability = []report.Stability{
		{Primary: "red", ShiftUV: 0.0012, ErrorUV: 0.0005, Signal: 0.31, Readings: 13, State: verify.Passed},
		{Primary: "green", ShiftUV: 0.0066, ErrorUV: 0.0019, Signal: 0.11, Readings: 17, State: verify.Undecided},
		{Primary: "blue", ShiftUV: 0.0264, ErrorUV: 0.0015, Signal: 0.40, Readings: 11, State: verify.Failed},
	}
	r.White.SpreadUV, r.LuminanceSpreadCdM2 = report.Spread(white)
	r.Greys = report.Greys(wanted, after, before, r.FloorSignal)
	r.Primaries = append(report.PrimariesOf(report.AsFound, before), report.PrimariesOf(report.WithCurves, after)...)
	r.WarmUp = &report.WarmUp{Stable: true, Minutes: 24, Sentence: "The trend stayed within 0.5 % and 0.0005 in u'v' over ten minutes.", Trace: report.Trace(warmUp(rng))}
	for i := range 256 {
		x := float64(i) / 255
		r.Curves.Red = append(r.Curves.Red, math.Pow(x, 1.02))
		r.Curves.Green = append(r.Curves.Green, 0.97*math.Pow(x, 0.99))
		r.Curves.Blue = append(r.Curves.Blue, 0.94*math.Pow(x, 1.04))
	}
	return r
}

func warmUp(rng *rand.Rand) []measure.Reading {
	var out []measure.Reading
	for i := range 25 {
		k := 1 - 0.03*math.Exp(-float64(i)/6)
		r := measure.Reading{Time: start().Add(time.Duration(i) * time.Minute)}
		r.XYZ = asFound(colorimetry.Gray(1)).Scale(k * (1 + 0.002*rng.NormFloat64()))
		r.XYZ.Z *= 1 + 0.01*math.Exp(-float64(i)/5)
		out = append(out, r)
	}
	return out
}
