package report_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify"
	"example.org/primaries/verify/report"
)

// ranThrough returns what a run found whose readings went through a correction with
// that error, as measure.Session leaves it in them.
func ranThrough(t testing.TB, c *mismatch.MatrixCovariance) *characterise.Result {
	t.Helper()
	run := ran(t, aim.Aim{White: aim.XY(0.3127, 0.3290), Luminance: 100})
	run.Adjusted = true
	run.Correction = &mismatch.Correction{Matrix: colorimetry.Identity(), Covariance: *c}
	run.ProofWhite.Raw = run.ProofWhite.XYZ
	run.ProofWhite.Systematic = c.Of(run.ProofWhite.Raw)
	for i := range run.Chart {
		run.Chart[i].Raw = run.Chart[i].XYZ
		run.Chart[i].Systematic = c.Of(run.Chart[i].Raw)
	}
	for i := range run.Proof {
		run.Proof[i].Raw = run.Proof[i].XYZ
		run.Proof[i].Systematic = c.Of(run.Proof[i].Raw)
	}
	return run
}

// TestSystematicOfWhite holds the uncertainties against the law of propagation
// worked by hand: an error s of the gain of Y and one of Z, independent.
//
// u' = 4X/D and v' = 9Y/D with D = X + 15Y + 3Z (CIE 15:2004, 8.2.1), so that
// ∂u'/∂Y = −60X/D², ∂u'/∂Z = −12X/D², ∂v'/∂Y = 9/D − 135Y/D², ∂v'/∂Z = −27Y/D².
//
// Source of the law: JCGM 100:2008 (GUM), 5.1.2, equation (10).
func TestSystematicOfWhite(t *testing.T) {
	const gainY, gainZ = 0.01, 0.02
	var c mismatch.MatrixCovariance
	c[4][4], c[8][8] = gainY*gainY, gainZ*gainZ // elements (Y, Y) and (Z, Z)
	run := ranThrough(t, &c)
	w := run.ProofWhite.XYZ
	d := w.X + 15*w.Y + 3*w.Z
	dy, dz := gainY*w.Y, gainZ*w.Z
	u := math.Hypot(60*w.X/(d*d)*dy, 12*w.X/(d*d)*dz)
	v := math.Hypot((9/d-135*w.Y/(d*d))*dy, 27*w.Y/(d*d)*dz)
	wantUV := math.Sqrt((u*u + v*v) / 2)

	near := func(name string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) <= 1e-9*want) {
			t.Errorf("%s is %.8g, want %.8g", name, got, want)
		}
	}
	r := fromRun(t, run)
	repeat, luminance := report.Spread(run.ProofWhite)
	near("systematic u'v'", r.White.SystematicUV, wantUV)
	near("u'v'", r.White.SpreadUV, math.Hypot(wantUV, repeat))
	near("that of noise", r.White.RepeatUV, repeat)
	near("systematic luminance", r.LuminanceSystematicCdM2, dy)
	near("luminance by noise", r.LuminanceSpreadCdM2, luminance)
	near("systematic black", r.BlackSystematicCdM2, gainY*r.BlackCdM2)
	// One gain of Y is the same share of white and of black: of contrast noise
	// alone is left.
	near("contrast", r.ContrastSpreadShare, math.Hypot(luminance/r.LuminanceCdM2, r.BlackSpreadCdM2/r.BlackCdM2))

	// Sixteen times the averages: less noise, the same error of the correction.
	run.ProofWhite.Covariance = run.ProofWhite.Covariance.Scale(1.0 / 16)
	more := fromRun(t, run)
	near("u'v' of noise over sixteen averages", more.White.RepeatUV, repeat/4)
	near("systematic u'v' over sixteen averages", more.White.SystematicUV, wantUV)

	// Nothing that was read has changed for it.
	run.Correction.Covariance = mismatch.MatrixCovariance{}
	run.ProofWhite.Systematic = colorimetry.Matrix{}
	for i := range run.Proof {
		run.Proof[i].Systematic = colorimetry.Matrix{}
	}
	bare := fromRun(t, run)
	if bare.White.X != r.White.X || bare.White.DeltaUV != r.White.DeltaUV || bare.ProfileAccuracy.Absolute.DeltaE2000 != r.ProfileAccuracy.Absolute.DeltaE2000 || bare.ProfileAccuracy.Relative.DeltaE2000 != r.ProfileAccuracy.Relative.DeltaE2000 {
		t.Error("figures themselves changed with the uncertainty of the correction")
	}
	// Gains cancel against the white in relative figures; in absolute ones they
	// are most of what is uncertain.
	if a, b := more.ProfileAccuracy.Absolute.NoiseFloor.Mean, bare.ProfileAccuracy.Absolute.NoiseFloor.Mean; a < 1.5*b || !r.ProfileAccuracy.Absolute.Systematic {
		t.Errorf("absolute floor %.3f with the correction's error, %.3f without", a, b)
	}
	if a, b := more.ProfileAccuracy.Relative.NoiseFloor.Mean, bare.ProfileAccuracy.Relative.NoiseFloor.Mean; math.Abs(a-b) > 0.05*b {
		t.Errorf("relative floor %.3f with gains, %.3f without", a, b)
	}
}

// TestContrastKeepsWhatDoesNotCancel: X as read leaks into Y; the share that it
// makes is another for a bluish black than for the white.
//
// Source: JCGM 100:2008 (GUM), 5.2.2, equation (13): for f = W/K with one cause
// δ, δf/f = δ·(X_W/Y_W − X_K/Y_K).
func TestContrastKeepsWhatDoesNotCancel(t *testing.T) {
	const leak = 0.2
	var c mismatch.MatrixCovariance
	c[3][3] = leak * leak // element (Y, X)
	run := ranThrough(t, &c)
	r := fromRun(t, run)
	var k colorimetry.XYZ
	n := 0.0
	for _, m := range run.Chart {
		if m.Patch.Signal == (colorimetry.RGB{}) {
			k, n = k.Add(m.XYZ), n+1
		}
	}
	k = k.Scale(1 / n)
	w := run.ProofWhite.XYZ
	noise := math.Hypot(r.LuminanceSpreadCdM2/w.Y, r.BlackSpreadCdM2/r.BlackCdM2)
	want := math.Hypot(noise, leak*(w.X/w.Y-k.X/k.Y))
	if math.Abs(r.ContrastSpreadShare-want) > 1e-9*want || want < 1.0001*noise {
		t.Errorf("contrast is uncertain by %.6g of it, want %.6g, of which noise %.6g", r.ContrastSpreadShare, want, noise)
	}
}

// TestVerdictWithinTheCorrection: a white and a luminance that miss or keep their
// limits by less than the instrument leaves open are undecided, and more averages
// are not what is advised.
func TestVerdictWithinTheCorrection(t *testing.T) {
	var c mismatch.MatrixCovariance
	run := ranThrough(t, &c)
	off := run.ProofWhite.XYZ.Y - 100
	limits := verify.Limits{Name: "test", Limits: []verify.Limit{
		{Name: "white", Figure: "white.delta_uv", Value: 0.003, Source: "test", Sure: "test"},
		{Name: "luminance", Figure: "luminance_off_cd_m2", Value: math.Abs(off) + 0.8, Source: "test", Sure: "test"},
	}}
	judge := func(run *characterise.Result) *report.Report {
		r, err := report.FromRun(run, report.Options{Limits: limits})
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	for _, v := range judge(run).Verdicts {
		if v.State != verify.Passed {
			t.Fatalf("without an error of the correction %s is %s: %s", v.Limit.Name, v.State, v.Reason)
		}
	}
	c[4][4], c[8][8] = 0.02*0.02, 0.02*0.02
	run = ranThrough(t, &c)
	r := judge(run)
	for _, v := range r.Verdicts {
		if v.State != verify.Undecided {
			t.Errorf("%s is %s: %s", v.Limit.Name, v.State, v.Reason)
		}
	}
	if next := strings.Join(r.Next, "\n"); !strings.Contains(next, "more averages leave it there") || strings.Contains(next, "run again with more averages") {
		t.Errorf("what is advised: %s", next)
	}
	_, page := elements(t, html(t, r))
	says(t, "the page", page, "of which the instrument", "averages do not lessen it", "noise with the instrument's own error")
}

// TestCorrectionThatKnowsItsWhiteAlone: without a covariance the uncertainty that
// the correction states for white stands for all readings, and an instrument
// that nothing corrects has that of its class.
func TestCorrectionThatKnowsItsWhiteAlone(t *testing.T) {
	run := ran(t, aim.Aim{White: aim.XY(0.3127, 0.3290), Luminance: 100})
	run.Adjusted = true
	run.Correction = &mismatch.Correction{Matrix: colorimetry.Identity(), UncertaintyUV: 0.003, UncertaintyY: 0.02}
	r := fromRun(t, run)
	if got, want := r.White.SystematicUV, 0.003/math.Sqrt2; math.Abs(got-want) > 1e-9 {
		t.Errorf("%.6f in u'v', want %.6f", got, want)
	}
	if got, want := r.LuminanceSystematicCdM2, 0.02*r.LuminanceCdM2; math.Abs(got-want) > 1e-9 {
		t.Errorf("%.4f cd/m², want %.4f", got, want)
	}
	if a := r.ProfileAccuracy; !a.Absolute.Systematic || a.Relative.Systematic {
		t.Errorf("it counts in absolute figures: %v, in relative ones: %v", a.Absolute.Systematic, a.Relative.Systematic)
	}
	// 0.004 in x and y is about 0.0027 in u' and v' at a white: by the derivatives
	// of u' = 4x/(−2x+12y+3) and v' = 9y/(−2x+12y+3) at D65.
	run.Correction = nil
	x, y := r.White.X, r.White.Y
	d := -2*x + 12*y + 3
	ux, uy, vx, vy := (4+8*x/d)/d, -48*x/(d*d), 18*y/(d*d), (9-108*y/d)/d
	want := 0.004 * math.Sqrt((ux*ux+uy*uy+vx*vx+vy*vy)/2)
	if r = fromRun(t, run); math.Abs(r.White.SystematicUV-want) > 1e-9 {
		t.Errorf("uncorrected: %.6f in u'v', want %.6f", r.White.SystematicUV, want)
	}
	_, page := elements(t, html(t, r))
	says(t, "the page", page, "cd/m², noise alone")
	says(t, "the last screen", text(t, r), "(noise) cd/m²")
	run.Instrument.Spectral = true
	run.Instrument.CertificateUV, run.Instrument.CertificateLuminance = 0.0007, 0.01
	if r = fromRun(t, run); math.Abs(r.White.SystematicUV-0.0007) > 1e-9 || math.Abs(r.LuminanceSystematicCdM2-0.01*r.LuminanceCdM2) > 1e-9 {
		t.Errorf("by its certificate: %.6f in u'v', %.4f cd/m²", r.White.SystematicUV, r.LuminanceSystematicCdM2)
	}
	run.Instrument.CertificateUV, run.Instrument.CertificateLuminance = 0, 0
	if r = fromRun(t, run); r.White.SystematicUV != 0 {
		t.Errorf("a spectral instrument: %.6f", r.White.SystematicUV)
	}
}
