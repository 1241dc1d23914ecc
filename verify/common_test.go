package verify_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
	"example.org/primaries/verify"
)

// matrixError returns some covariance of a correction matrix's nine elements,
// with standard deviations of about size.
func matrixError(size float64) *mismatch.MatrixCovariance {
	rng := rand.New(rand.NewPCG(8, 8))
	var root [9][9]float64
	for i := range root {
		for k := range root[i] {
			root[i][k] = size / 3 * rng.NormFloat64()
		}
	}
	var c mismatch.MatrixCovariance
	for i := range c {
		for j := range c[i] {
			for k := range root {
				c[i][j] += root[i][k] * root[j][k]
			}
		}
	}
	return &c
}

// exact reads signals of a display without noise, through a correction whose
// matrix is the identity with that error.
func exact(set []colorimetry.RGB, c *mismatch.MatrixCovariance) []measure.Reading {
	var out []measure.Reading
	for _, s := range set {
		r := reading(s, display(s), colorimetry.Matrix{}, 4)
		r.Raw, r.Systematic = r.XYZ, c.Of(r.XYZ)
		out = append(out, r)
	}
	return out
}

func common(t testing.TB, c verify.Causes, r measure.Reading) verify.Common {
	t.Helper()
	out, err := c.Of(r)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestResistors: ten resistors of 1000 Ω, compared with one standard whose
// uncertainty of 100 mΩ is all there is, make 10 kΩ in series with 1 Ω, not
// 0.32 Ω.
//
// Source: JCGM 100:2008 (GUM), 5.2.2, example (from memory).
func TestResistors(t *testing.T) {
	r := measure.Reading{XYZ: colorimetry.XYZ{X: 1, Y: 1000, Z: 1}, Systematic: colorimetry.Diagonal(0, 0.1*0.1, 0)}
	var sum verify.Common
	for range 10 {
		for k, e := range common(t, verify.Causes{}, r) {
			sum[k] = sum[k].Add(e)
		}
	}
	if got := math.Sqrt(sum.Covariance()[1][1]); math.Abs(got-1) > 1e-12 {
		t.Errorf("ten of them have %.4f, want 1", got)
	}
}

// TestCommonIsTheSystematic: taken apart and put together again a systematic
// covariance is what it was, by either way.
func TestCommonIsTheSystematic(t *testing.T) {
	c := matrixError(0.01)
	known, err := verify.CausesOf(c)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range exact([]colorimetry.RGB{colorimetry.Gray(1), {R: 1}, {B: 0.3}, {}}, c) {
		for name, causes := range map[string]verify.Causes{"matrix known": known, "each alone": {}} {
			got := common(t, causes, r).Covariance()
			if d := cmp.Diff(r.Systematic, got, cmpopts.EquateApprox(1e-9, 1e-15)); d != "" {
				t.Errorf("%s, %v: %s", name, r.Patch.Signal, d)
			}
		}
	}
	if none := common(t, known, measure.Reading{Raw: colorimetry.D65()}); none != (verify.Common{}) {
		t.Errorf("a reading that was not corrected has %v", none)
	}
	c[0][0] = -1
	if _, err := verify.CausesOf(c); err == nil {
		t.Error("a negative variance is no error")
	}
}

// TestRatioSpread holds the uncertainty of a contrast against the law of
// propagation for two correlated quantities: the relative variances of both, less
// twice the relative covariance.
//
// Source: JCGM 100:2008 (GUM), 5.2.2, equation (13), for f = a/b.
func TestRatioSpread(t *testing.T) {
	c := matrixError(0.01)
	known, err := verify.CausesOf(c)
	if err != nil {
		t.Fatal(err)
	}
	set := exact([]colorimetry.RGB{colorimetry.Gray(1), {R: 0.1, B: 0.2}}, c)
	a, b := set[0], set[1]
	s := func(p, q measure.Reading) float64 { return c.Between(p.Raw, q.Raw)[1][1] / (p.XYZ.Y * q.XYZ.Y) }
	want := math.Sqrt(s(a, a) - 2*s(a, b) + s(b, b))
	if got := verify.RatioSpread(common(t, known, a), a.XYZ.Y, common(t, known, b), b.XYZ.Y); math.Abs(got-want) > 1e-9*want {
		t.Errorf("ratio: %.6g, want %.6g", got, want)
	}
	// Two lights of one colour have the same share of error: it cancels.
	dim := a
	dim.XYZ, dim.Raw = a.XYZ.Scale(0.001), a.Raw.Scale(0.001)
	dim.Systematic = c.Of(dim.Raw)
	for name, causes := range map[string]verify.Causes{"matrix known": known, "each alone": {}} {
		if got := verify.RatioSpread(common(t, causes, a), a.XYZ.Y, common(t, causes, dim), dim.XYZ.Y); got > 1e-9 {
			t.Errorf("%s: ratio of one colour %.3g, want 0", name, got)
		}
	}
}

// TestSystematicIsNotAveraged: of many patches alike an error in common leaves
// the mean as unsure as that of one, where noise makes it surer by the root of
// their number. For one patch it is no different from noise: 1.01, the table's
// figure for a white at 0.001 and 1 %.
func TestSystematicIsNotAveraged(t *testing.T) {
	white := colorimetry.Gray(1)
	shared, noisy := make([]measure.Reading, 100), make([]measure.Reading, 100)
	for i := range shared {
		shared[i] = reading(white, display(white), colorimetry.Matrix{}, 16)
		shared[i].Systematic = covariance(display(white), 0.001, 0.01)
		noisy[i] = reading(white, display(white), covariance(display(white), 0.001, 0.01), 16)
	}
	aim := func(set []measure.Reading) verify.Accuracy {
		a, err := verify.Aim(display, set, verify.Options{Trials: 4000})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	a, one, n := aim(shared), aim(shared[:1]), aim(noisy)
	// 4000 trials of a deviation of about half the mean: within 1 %; three times
	// that.
	if math.Abs(a.NoiseFloor.Mean-1.01) > 0.03 || !a.Systematic || n.Systematic {
		t.Errorf("floor %.3f, want 1.01", a.NoiseFloor.Mean)
	}
	if math.Abs(a.Spread.Mean/one.Spread.Mean-1) > 0.1 || n.Spread.Mean > 0.15*a.Spread.Mean {
		t.Errorf("spread of the mean of 100 %.4f, of one %.4f, of 100 with noise %.4f", a.Spread.Mean, one.Spread.Mean, n.Spread.Mean)
	}
}

// TestRelativeKeepsWhatDoesNotCancel: gains of X, Y and Z cancel against the
// white, since CIELAB knows their ratios to it alone; an error that depends on
// the colour does not.
func TestRelativeKeepsWhatDoesNotCancel(t *testing.T) {
	gain := func(of func(i, j int) bool) *mismatch.MatrixCovariance {
		var c mismatch.MatrixCovariance
		for e := range c {
			if of(e/3, e%3) {
				c[e][e] = 0.01 * 0.01
			}
		}
		return &c
	}
	for _, q := range []struct {
		name    string
		c       *mismatch.MatrixCovariance
		cancels bool
	}{
		{"gains", gain(func(i, j int) bool { return i == j }), true},
		{"matrix", gain(func(i, j int) bool { return i == 0 && j == 2 }), false},
	} {
		set := exact(signals(60), q.c)
		for i := range set {
			set[i].Covariance = colorimetry.Diagonal(1e-20, 1e-20, 1e-20) // stated, and next to nothing
		}
		a, err := verify.Profile(display, set, verify.Options{Correction: q.c, Trials: 100})
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: relative floor %.4f, absolute %.4f", q.name, a.Relative.NoiseFloor.Mean, a.Absolute.NoiseFloor.Mean)
		if got := a.Relative.NoiseFloor.Mean; q.cancels != (got < 1e-6) || a.Absolute.NoiseFloor.Mean < 0.1 {
			t.Errorf("%s: relative floor %.4g, absolute %.4g", q.name, got, a.Absolute.NoiseFloor.Mean)
		}
		if a.Absolute.DeltaE2000.Max > 1e-9 {
			t.Errorf("%s: the figures themselves changed: %v", q.name, a.Absolute.DeltaE2000)
		}
	}
}

// TestRelativeAgainstErringInstruments draws correction matrices and reads a
// display through each: the mean of the relative figures is the floor.
func TestRelativeAgainstErringInstruments(t *testing.T) {
	c := matrixError(0.004)
	set := exact(signals(40), c)
	for i := range set {
		set[i].Covariance = colorimetry.Diagonal(1e-20, 1e-20, 1e-20)
	}
	a, err := verify.Profile(display, set, verify.Options{Correction: c, Trials: 4000, Seed: 2})
	if err != nil {
		t.Fatal(err)
	}
	// The same matrices by the root that matrixError made the covariance from.
	rng := rand.New(rand.NewPCG(8, 8))
	var root [9][9]float64
	for i := range root {
		for k := range root[i] {
			root[i][k] = 0.004 / 3 * rng.NormFloat64()
		}
	}
	const instruments = 2000
	var mean, squares float64
	for range instruments {
		m := colorimetry.Identity()
		for k := range root {
			z := rng.NormFloat64()
			for e := range root {
				m[e/3][e%3] += root[e][k] * z
			}
		}
		read := make([]measure.Reading, len(set))
		for i, r := range set {
			r.XYZ, r.Systematic = m.Apply(r.XYZ), colorimetry.Matrix{}
			read[i] = r
		}
		got, err := verify.Profile(display, read, verify.Options{Trials: 2})
		if err != nil {
			t.Fatal(err)
		}
		e := got.Relative.DeltaE2000.Mean
		mean, squares = mean+e/instruments, squares+e*e/instruments
	}
	// Three standard errors of either mean.
	tol := 3 * math.Sqrt((squares-mean*mean)*(1.0/instruments+1.0/4000))
	t.Logf("erring instruments %.4f, floor %.4f ± %.4f", mean, a.Relative.NoiseFloor.Mean, tol)
	if math.Abs(mean-a.Relative.NoiseFloor.Mean) > tol {
		t.Errorf("erring instruments show %.4f, the floor is %.4f ± %.4f", mean, a.Relative.NoiseFloor.Mean, tol)
	}
}

// TestVerdictWithinTheSystematic: a figure that fails by less than the
// instrument correction leaves open is undecided.
func TestVerdictWithinTheSystematic(t *testing.T) {
	white := colorimetry.Gray(1)
	r := reading(white, display(white).Scale(1.05), covariance(display(white), 1e-5, 1e-4), 64)
	r.Raw = r.XYZ
	limits := verify.Limits{Limits: []verify.Limit{{Name: "aim", Figure: "a.delta_e_2000.mean", Value: 1}}}
	for want, systematic := range map[verify.State]colorimetry.Matrix{
		verify.Failed: {}, verify.Undecided: covariance(display(white), 0, 0.03),
	} {
		r.Systematic = systematic
		a, err := verify.Aim(display, []measure.Reading{r}, verify.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if v := verify.Judge(limits, a.Figures("a"))[0]; v.State != want {
			t.Errorf("%s, want %s: %s", v.State, want, v.Reason)
		}
	}
}
