package profile_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// transicc runs triples through two profiles by Little CMS, in floating point
// and without optimisation; more are further options.
func transicc(t *testing.T, from, to string, intent icc.Intent, in [][3]float64, more ...string) [][3]float64 {
	t.Helper()
	path, err := exec.LookPath("transicc")
	if err != nil {
		t.Skip("transicc of Debian's package liblcms2-utils is not installed")
	}
	var text bytes.Buffer
	for _, v := range in {
		fmt.Fprintf(&text, "%.10f %.10f %.10f\n", v[0], v[1], v[2])
	}
	cmd := exec.Command(path, append(more, "-n", "-c0", fmt.Sprintf("-t%d", intent), "-i"+from, "-o"+to)...)
	cmd.Stdin = &text
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("transicc: %v\n%s", err, out)
	}
	results := make([][3]float64, len(in))
	r := bytes.NewReader(out)
	for i := range results {
		v := &results[i]
		if _, err := fmt.Fscan(r, &v[0], &v[1], &v[2]); err != nil {
			t.Fatalf("transicc, result %d: %v", i, err)
		}
	}
	return results
}

// Little CMS reads the tables as icc's own evaluator does, and its round trips
// have the same mean within 0.02 ΔE00. It evaluates sampled curves with
// 16-bit numbers in and out, which in the dark comes to more than the 0.05 ΔE*ab
// that holds elsewhere.
func TestTablesInLittleCMS(t *testing.T) {
	t.Parallel()
	for _, c := range tableCases {
		for _, version := range []icc.Version{profile.V4, profile.V2} {
			const intent = icc.Relative
			r, e := c.profile(t, version, intent)
			file := filepath.Join(t.TempDir(), "test.icc")
			if err := os.WriteFile(file, r.Bytes, 0o666); err != nil {
				t.Fatal(err)
			}
			some := signals(1000)
			var device [][3]float64
			for _, s := range some {
				device = append(device, [3]float64{255 * s.R, 255 * s.G, 255 * s.B})
			}
			apart := func(a, b colorimetry.Lab) float64 {
				return math.Sqrt((a.L-b.L)*(a.L-b.L) + (a.A-b.A)*(a.A-b.A) + (a.B-b.B)*(a.B-b.B))
			}
			there := transicc(t, file, "*Lab", intent, device)
			back := transicc(t, "*Lab", file, intent, there)
			again := transicc(t, file, "*Lab", intent, back)
			var to, toDark, from, fromDark float64
			var ours, theirs []float64
			for i, s := range some {
				l := lab(e.ToPCS(s))
				v := colorimetry.Lab{L: there[i][0], A: there[i][1], B: there[i][2]}
				mine := lab(e.ToPCS(e.FromPCS(e.ToPCS(s))))
				w := colorimetry.Lab{L: again[i][0], A: again[i][1], B: again[i][2]}
				lit := l.L > 10
				if x := e.ToPCS(s); math.Min(x.X, math.Min(x.Y, x.Z)) <= 0 {
					// Here a table ends at 0, which Little CMS goes beyond.
					continue
				}
				if lit {
					to, from = math.Max(to, apart(l, v)), math.Max(from, apart(mine, w))
				} else {
					toDark, fromDark = math.Max(toDark, apart(l, v)), math.Max(fromDark, apart(mine, w))
				}
				ours = append(ours, difference.CIEDE2000(l, mine))
				theirs = append(theirs, difference.CIEDE2000(v, w))
			}
			t.Logf("%s, version %v: ΔE*ab to the connection space %.4f, below L* 10 %.4f; round trips apart %.4f, %.4f; round trip %.4f, here %.4f ΔE00", c.name, version, to, toDark, from, fromDark, summary(theirs), summary(ours))
			limit, tail := 0.05, 0.02
			if version == profile.V2 {
				// A step of its 16-bit XYZ is 0.12 of a* in the dark, so that
				// rounding to one leaves up to 0.06, and each of two curves rounds.
				limit, tail = 0.15, 0.07
			}
			a, b := summary(ours), summary(theirs)
			if to > limit || math.Abs(a.mean-b.mean) > 0.02 || math.Abs(a.p95-b.p95) > tail {
				t.Errorf("%s, version %v: %.4f apart to the connection space, round trips %.4f and %.4f", c.name, version, to, a, b)
			}
		}
	}
}

// Little CMS sends colours that the display cannot show where icc's own evaluator
// does: in the colorimetric intent, and in the perceptual one of version 2, where
// it compensates for no black of its own accord.
func TestMappedColoursInLittleCMS(t *testing.T) {
	t.Parallel()
	for _, version := range []icc.Version{profile.V4, profile.V2} {
		for _, intent := range []icc.Intent{icc.Relative, icc.Perceptual} {
			if version == profile.V4 && intent == icc.Perceptual {
				continue
			}
			r, e := narrowCase.profile(t, version, intent)
			file := filepath.Join(t.TempDir(), "test.icc")
			if err := os.WriteFile(file, r.Bytes, 0o666); err != nil {
				t.Fatal(err)
			}
			colour, err := bt2020(version, intent)
			if err != nil {
				t.Fatal(err)
			}
			rng := rand.New(rand.NewPCG(6, 6))
			var wide []colorimetry.XYZ
			var in [][3]float64
			for len(wide) < 500 {
				c := colour(colorimetry.RGB{R: math.Pow(rng.Float64(), 2.4), G: math.Pow(rng.Float64(), 2.4), B: math.Pow(rng.Float64(), 2.4)})
				// Lab ends at 128, of which nothing is to be proved here.
				if l := lab(c); math.Max(math.Abs(l.A), math.Abs(l.B)) < 125 {
					wide, in = append(wide, c), append(in, [3]float64{l.L, l.A, l.B})
				}
			}
			device := transicc(t, "*Lab2", file, intent, in)
			var worst, mean float64
			for i, c := range wide {
				theirs := e.ToPCS(colorimetry.RGB{R: device[i][0] / 255, G: device[i][1] / 255, B: device[i][2] / 255})
				d := difference.CIEDE2000(lab(theirs), lab(e.ToPCS(e.FromPCS(c))))
				worst, mean = math.Max(worst, d), mean+d/float64(len(wide))
			}
			t.Logf("version %v, %v: %.4f ΔE00 apart in the mean, %.3f at most", version, intent, mean, worst)
			if mean > 0.02 || worst > 0.5 {
				t.Errorf("version %v, %v: %.4f ΔE00 apart in the mean, %.3f at most", version, intent, mean, worst)
			}
		}
	}
}

// residual returns the model of residuals of 64 noisy readings of a display whose
// channels disturb each other, and the display.
func residual(t testing.TB) (fit.Model, *simulate.Display) {
	t.Helper()
	d := simulate.Invented(simulate.SaggingPanel, simulate.Options{})
	rng := rand.New(rand.NewPCG(1, 1))
	var readings []measure.Reading
	for i, p := range chart.Default(64, chart.Options{Bits: bits}) {
		r := read(d, p, 4, rng)
		r.Index = i
		readings = append(readings, r)
	}
	m, err := fit.Residual(readings, nil, fit.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m, d
}

// The whole way for a display whose channels disturb each other: 64 noisy readings,
// the model of residuals, tables, and the bytes against the noiseless truth.
func TestTablesOfResiduals(t *testing.T) {
	t.Parallel()
	m, d := residual(t)
	white := m.XYZ(colorimetry.Gray(1))
	begin := time.Now()
	r, predict := build(t, m, white, tone.Channels{}, options())
	took := time.Since(begin)
	var model, file []float64
	for _, s := range signals(1000) {
		model = append(model, difference.CIEDE2000(d.Truth(s).Lab(white), m.XYZ(s).Lab(white)))
		file = append(file, difference.CIEDE2000(d.Truth(s).Lab(white), predict(s).Lab(white)))
	}
	a, b := summary(model), summary(file)
	t.Logf("ΔE00 from the truth: model %.3f, bytes %.3f; loss mean %.3f, max %.3f; round trip mean %.3f, max %.3f; grid %.3f; %d and %d nodes in %v",
		a, b, r.Diagnostics.LossMean, r.Diagnostics.LossMax, r.Diagnostics.RoundMean, r.Diagnostics.RoundMax, r.Diagnostics.GridLoss, r.Diagnostics.NodesAToB, r.Diagnostics.NodesBToA, took)
	if b.mean > a.mean+0.03 || r.Diagnostics.NodesAToB == 0 {
		t.Errorf("the bytes miss the truth by %.3f ΔE00, the model by %.3f", b, a)
	}
	if r.Diagnostics.RoundMean > 0.03 || r.Diagnostics.RoundMax > 0.3 {
		t.Errorf("round trip mean %.3f, max %.3f", r.Diagnostics.RoundMean, r.Diagnostics.RoundMax)
	}
	for _, f := range r.Profile.Check() {
		if f.Severity > icc.Remark {
			t.Error(f)
		}
	}
}
