package icc

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"example.org/primaries/colorimetry"
)

// transicc runs triples through two profiles by Little CMS's command line
// converter, in floating point and without optimisation (-c0), which prints
// four decimals: 5e-5 of L*, a*, b* and 2e-7 of a device signal.
func transicc(t *testing.T, from, to string, intent Intent, in [][3]float64) [][3]float64 {
	t.Helper()
	path, err := exec.LookPath("transicc")
	if err != nil {
		t.Skip("transicc of Debian's package liblcms2-utils is not installed")
	}
	var text bytes.Buffer
	for _, v := range in {
		fmt.Fprintf(&text, "%.10f %.10f %.10f\n", v[0], v[1], v[2])
	}
	cmd := exec.Command(path, "-n", "-c0", fmt.Sprintf("-t%d", intent), "-i"+from, "-o"+to)
	cmd.Stdin = &text
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("transicc: %v\n%s%s", err, out, stderr.Bytes())
	}
	results := make([][3]float64, len(in))
	r := bytes.NewReader(out)
	for i := range results {
		v := &results[i]
		if _, err := fmt.Fscan(r, &v[0], &v[1], &v[2]); err != nil {
			t.Fatalf("transicc, result %d: %v\n%.300s%s", i, err, out, stderr.Bytes())
		}
	}
	return results
}

// Little CMS inverts a sampled curve by a table of 4096 entries over light. In
// the first of its intervals a power curve is far from straight: with an
// exponent g the light comes back wrong by up to (t − t^g)/4095, which for the
// 2.3 of these tests is 7.2e-5, and by CIELAB's slope at black up to 0.2 ΔE*ab.
// Colours with a channel in there are held to that, all others to the limit.
const (
	firstInterval   = 1.0 / 4095
	inFirstInterval = 0.2
	sampledLimit    = 0.05
	parametricLimit = 0.01
	colours         = 1000
)

// Little CMS and this package agree about every kind of profile that is
// written here, on 1,000 colours each and in both directions. The limits are
// the project's: 0.01 ΔE*ab, and 0.05 where curves are sampled, which Little CMS
// evaluates with 16-bit signals.
func TestLittleCMS(t *testing.T) {
	cases := []struct {
		name       string
		version    Version
		parametric bool
		limit      float64
	}{
		{"v2 sampled", V2, false, sampledLimit},
		{"v2 sampled from a formula", V2, true, sampledLimit},
		{"v4 sampled", V4, false, sampledLimit},
		{"v4 parametric", V4, true, parametricLimit},
	}
	for _, c := range cases {
		for _, intent := range []Intent{Perceptual, Relative, Saturation, Absolute} {
			t.Run(fmt.Sprint(c.name, ", ", intent), func(t *testing.T) {
				p, b := mustMatrix(t, testSpec(t, c.version, c.parametric))
				file := filepath.Join(t.TempDir(), "test.icc")
				if err := os.WriteFile(file, b, 0o666); err != nil {
					t.Fatal(err)
				}
				e, err := NewEvaluator(p, intent)
				if err != nil {
					t.Fatal(err)
				}
				compare(t, e, file, intent, c.limit)
			})
		}
	}
}

// testSignals returns greys, dark colours, faces and corners of the cube, and
// random signals.
func testSignals(seed uint64) []colorimetry.RGB {
	rnd := rand.New(rand.NewPCG(3, seed))
	signals := make([]colorimetry.RGB, colours)
	for i := range signals {
		c := colorimetry.RGB{R: rnd.Float64(), G: rnd.Float64(), B: rnd.Float64()}
		switch {
		case i%5 == 0:
			c = colorimetry.Gray(float64(i) / (colours - 5))
		case i%5 == 1:
			c = colorimetry.RGB{R: c.R * 0.1, G: c.G * 0.1, B: c.B * 0.1}
		case i < 100 && i%5 == 2:
			c.R, c.G = float64(i&1), float64(i>>1&1)
		case i < 200 && i%5 == 2:
			c = colorimetry.RGB{R: float64(i & 1), G: float64(i >> 1 & 1), B: float64(i >> 2 & 1)}
		}
		signals[i] = c
	}
	return signals
}

// compare holds e against Little CMS: the colours of 1,000 signals, and the
// colours of the signals that Little CMS finds for those colours.
func compare(t *testing.T, e *Evaluator, file string, intent Intent, limit float64) {
	t.Helper()
	lab := func(c colorimetry.RGB) colorimetry.Lab { return e.ToPCS(c).Lab(colorimetry.D50()) }
	signals := testSignals(uint64(intent))
	device, labs := make([][3]float64, len(signals)), make([][3]float64, len(signals))
	for i, c := range signals {
		l := lab(c)
		device[i] = [3]float64{255 * c.R, 255 * c.G, 255 * c.B}
		labs[i] = [3]float64{l.L, l.A, l.B}
	}
	there := 0.0
	for i, v := range transicc(t, file, "*Lab", intent, device) {
		there = max(there, deltaE(colorimetry.Lab{L: v[0], A: v[1], B: v[2]}, lab(signals[i])))
	}
	back, dark, darks := 0.0, 0.0, 0
	curves := e.to.stages[1].curves
	for i, v := range transicc(t, "*Lab", file, intent, labs) {
		theirs := lab(colorimetry.RGB{R: v[0] / 255, G: v[1] / 255, B: v[2] / 255})
		d := deltaE(theirs, lab(e.FromPCS(e.ToPCS(signals[i]))))
		c := signals[i]
		if lowest := min(curves[0].at(c.R), curves[1].at(c.G), curves[2].at(c.B)); limit == sampledLimit && lowest < firstInterval {
			dark = max(dark, d)
			darks++
		} else {
			back = max(back, d)
		}
	}
	t.Logf("worst ΔE*ab of %d to the connection space %.4f, back %.4f, back with a channel in the first interval (%d) %.4f", len(signals), there, back, darks, dark)
	if there > limit || back > limit || dark > inFirstInterval || darks > colours*2/5 {
		t.Errorf("want at most %g, and %g in the first interval", limit, inFirstInterval)
	}
}
