package transform_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// oddCurves are curves of shapes that devices seldom have.
func oddCurves() map[string]icc.Curve {
	return map[string]icc.Curve{
		"identity":              icc.SampledCurve{},
		"power of one entry":    icc.SampledCurve{461}, // 1.8
		"two samples":           icc.SampledCurve{0, 65535},
		"two samples inside":    icc.SampledCurve{9000, 50000},
		"three samples":         icc.SampledCurve{0, 1000, 65535},
		"five samples":          sampled(5, func(x float64) float64 { return x * x }),
		"256 samples":           sampled(256, func(x float64) float64 { return math.Pow(x, 2.4) }),
		"1024 samples":          sampled(1024, func(x float64) float64 { return math.Pow(x, 0.5) }),
		"4096 samples":          sampled(4096, func(x float64) float64 { return math.Pow(x, 2.2) }),
		"falling":               sampled(64, func(x float64) float64 { return 1 - x*x }),
		"falling to the dark":   sampled(4096, func(x float64) float64 { return math.Pow(1-x, 2.4) }),
		"constant":              icc.SampledCurve{30000, 30000},
		"flat at both ends":     sampled(101, func(x float64) float64 { return (x - 0.25) * 2 }),
		"turning":               sampled(33, func(x float64) float64 { return 0.5 + 0.4*math.Sin(7*x) }),
		"power 0.1":             icc.ParametricCurve{G: 0.1},
		"power 10":              icc.ParametricCurve{G: 10},
		"power 1":               icc.ParametricCurve{G: 1},
		"formula with an end":   icc.ParametricCurve{Function: 1, G: 2, A: 1.2, B: -0.2},
		"formula with a foot":   icc.ParametricCurve{Function: 2, G: 2, A: 0.9, B: 0.1, C: 0.05},
		"formula in five parts": icc.ParametricCurve{Function: 4, G: 2.4, A: 0.9, B: 0.1, C: 0.1, D: 0.1, E: 0.01, F: 0.02},
	}
}

// curved returns a profile of curves alone, to L*a*b* or from there, between
// which there is nothing but the curves.
func curved(to, from icc.Curve) *icc.Profile {
	p := bare(icc.V4, icc.ClassDisplay, icc.SpaceRGB, icc.SpaceLab)
	setAll(p, icc.LutAToB{B: []icc.Curve{to, to, to}}, icc.LutBToA{B: []icc.Curve{from, from, from}})
	return p
}

// oddInputs are values of one channel: even steps, the dark, and the edges of
// samples.
func oddInputs() []float64 {
	var in []float64
	for i := range 1001 {
		in = append(in, float64(i)/3000)
	}
	for x := 1.0; x > 1e-30; x *= 0.7 {
		in = append(in, x, 1-x)
	}
	for _, n := range []int{1, 4, 32, 255, 1023} {
		for i := range n + 1 {
			x := float64(i) / float64(n)
			in = append(in, math.Nextafter(x, 0), x, math.Nextafter(x, 1))
		}
	}
	for i, x := range in {
		in[i] = min(max(x, 0), 1)
	}
	return in
}

// Curves of odd shapes, before a matrix, as they are in tables, and on the way to a
// device, where the chain inverts them.
func TestOddCurves(t *testing.T) {
	for name, curve := range oddCurves() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			line := icc.ParametricCurve{G: 1}
			before, behind := withCurves(srgb(), curve, curve, curve), withCurves(srgb(), line, line, line)
			oddCurve(t, "before a matrix", before, behind)
			oddCurve(t, "behind a matrix", behind, before)
			oddCurve(t, "in tables", curved(curve, line), curved(line, curve))
		})
	}
}

func oddCurve(t *testing.T, what string, profiles ...*icc.Profile) {
	t.Helper()
	tr, err := transform.New(relative, profiles...)
	if err != nil {
		t.Fatalf("%s: %v", what, err)
	}
	var in [][]float64
	for i, x := range oddInputs() {
		in = append(in, [][]float64{{x, x, x}, {x, 0.5, 0.12}, {0.9, x, 1 - x}}[i%3])
	}
	oddly[float32](t, what, tr, transform.Plain32F, in, 5e-5)
	if testing.Short() {
		return
	}
	oddly[uint16](t, what, tr, transform.Plain16, in, 12)
	oddly[uint8](t, what, tr, transform.Plain8, in, 1)
}

// Before curves a kernel may take a value for one that is so far away: a float32
// of light is seldom nearer than curveNear, and lines that stand for a curve cut its
// corners by up to curveWidth of the value.
const (
	curveNear  = 1e-6
	curveWidth = 1.0 / 65536
)

// nearly replaces v by what it becomes on the chain, if all values before curves
// are changed a little towards one side.
func nearly(chain *icc.Chain, v []float64, side float64) {
	for _, step := range chain.Steps() {
		if step.Kind == icc.StepCurves {
			for c := range v[:step.Inputs] {
				v[c] += side * (curveNear + curveWidth*math.Abs(v[c]))
			}
		}
		step.Eval(v, v)
	}
}

// oddly holds a way against its chain, which a few colours may miss where a curve
// jumps or has a corner.
func oddly[S transform.Sample](t *testing.T, what string, tr *transform.Transform, l transform.Layout, in [][]float64, far float64) {
	t.Helper()
	k := must(tr.Between(l, l))
	from, to := unitsOf(l.Depth, tr.From()), unitsOf(l.Depth, tr.To())
	n, m := tr.Channels()
	var src []S
	for _, c := range in {
		for i := range n {
			src = append(src, from[i].sample(c[i], S(0)).(S))
		}
	}
	dst := row[S](t, k, m, src, len(in))
	if far += 1e-7; l.Depth <= transform.Depth16 {
		far += 0.501 // rounding
	}
	missed := 0
	start, want := make([]float64, 16), make([]float64, 16)
	for p := range in {
		for c := range n {
			start[c] = from[c].value(float64(src[p*n+c]))
		}
		tr.Chain().Eval(want, start)
		if misses(dst[p*m:(p+1)*m], want, want, to, far) == 0 {
			continue
		}
		missed++
		lo, hi := append([]float64(nil), start...), append([]float64(nil), start...)
		nearly(tr.Chain(), lo, -1)
		nearly(tr.Chain(), hi, 1)
		for c := range m {
			lo[c], hi[c] = min(lo[c], want[c], hi[c]), max(lo[c], want[c], hi[c])
		}
		if misses(dst[p*m:(p+1)*m], lo, hi, to, far) > 0 {
			t.Errorf("%s, %v: %v becomes %v, by the chain %v to %v", what, l.Depth, src[p*n:(p+1)*n], dst[p*m:(p+1)*m], lo[:m], hi[:m])
			return
		}
	}
	if missed > len(in)/10 {
		t.Errorf("%s, %v: %d of %d colours miss the chain's", what, l.Depth, missed, len(in))
	}
}

// misses counts the channels whose samples are not between values.
func misses[S transform.Sample](got []S, lo, hi []float64, to [16]unitOf, far float64) (n int) {
	for c, g := range got {
		scale := to[c].top / to[c].span
		if a, b := (lo[c]-to[c].start)*scale, (hi[c]-to[c].start)*scale; !(float64(g) >= a-far && float64(g) <= b+far) {
			n++
		}
	}
	return n
}

// inkSpace is a colour space of n channels.
func inkSpace(n int) icc.Signature {
	switch n {
	case 1:
		return icc.SpaceGray
	case 3:
		return icc.SpaceRGB
	case 4:
		return icc.SpaceCMYK
	}
	return icc.Signature("0123456789ABCDEF"[n])<<24 | 0x434c52 // nCLR
}

// Tables of 1 to 15 channels, read either way, in links to 1 to 15 channels.
func TestTablesOfAllChannels(t *testing.T) {
	for n := 1; n <= 15; n++ {
		t.Run(fmt.Sprint(n, " channels"), func(t *testing.T) {
			t.Parallel()
			points := []int{0, 33, 17, 9, 6, 5, 4, 3, 3, 2, 2, 2, 2, 2, 2, 2}[n]
			grid := even(n, points)
			grid[0]++
			m := 16 - n
			p := bare(icc.V4, icc.ClassLink, inkSpace(n), inkSpace(m))
			table := tableOf(grid, m, smooth(m))
			p.Set(icc.TagAToB0, icc.LutAToB{A: bent(n, 32), Table: &table, B: bent(m, 32)})
			count := 300
			if n > 8 {
				count = 20
			}
			for _, how := range []icc.Interpolation{icc.Tetrahedral, icc.Multilinear} {
				tr, err := transform.New(transform.Options{Interpolation: how}, p)
				if err != nil {
					t.Fatal(err)
				}
				in := colours(inkSpace(n), count, 5)
				oddly[float32](t, "table", tr, transform.Plain32F, in, 5e-4)
				oddly[uint16](t, "table", tr, transform.Plain16, in, 100)
				oddly[uint8](t, "table", tr, transform.Plain8, in, 2)
			}
		})
	}
}

// Tables with few points and with as many as ICC.1 allows, in one channel or
// several, whose entries leap from node to node.
func TestOddGrids(t *testing.T) {
	for _, grid := range [][]int{{1}, {2}, {255}, {2, 2}, {255, 3}, {2, 2, 2}, {255, 2, 3}, {2, 255, 2}, {2, 3, 255}, {1, 2, 3}, {3, 1, 1}, {17, 33, 5}, {2, 2, 2, 2}, {255, 2, 2, 3}, {1, 3, 3, 3}, {3, 3, 3, 1}} {
		t.Run(fmt.Sprint(grid), func(t *testing.T) {
			t.Parallel()
			n := len(grid)
			seed := uint64(1)
			leaps := func(out, in []float64) {
				for i := range 3 {
					seed = seed*6364136223846793005 + 1442695040888963407
					out[i] = float64(seed>>11) / (1 << 53)
				}
			}
			table := tableOf(grid, 3, leaps)
			p := bare(icc.V4, icc.ClassLink, inkSpace(n), icc.SpaceRGB)
			p.Set(icc.TagAToB0, icc.LutAToB{A: straight(n), Table: &table, B: straight(3)})
			for _, how := range []icc.Interpolation{icc.Tetrahedral, icc.Multilinear} {
				tr, err := transform.New(transform.Options{Interpolation: how}, p)
				if err != nil {
					t.Fatal(err)
				}
				in := colours(inkSpace(n), 2000, 6)
				oddly[float32](t, "table", tr, transform.Plain32F, in, 5e-4)
				oddly[uint16](t, "table", tr, transform.Plain16, in, 100)
				oddly[uint8](t, "table", tr, transform.Plain8, in, 2)
			}
		})
	}
}

// Curves of a display that fall somewhere, as curves of noisy readings do, or jump
// down where the parts of a formula meet: what undoes them leaps, which no kernel may
// take for the end of the curve. All greys and many colours, against the chain.
func TestFallingCurves(t *testing.T) {
	dip := sampled(256, func(x float64) float64 { return math.Pow(x, 2.2) })
	dip[128], dip[129] = dip[129], dip[128]
	top := sampled(256, func(x float64) float64 { return math.Pow(x, 2.2) })
	top[253], top[254] = top[254], top[253]
	rnd := rand.New(rand.NewPCG(5, 6))
	noisy := sampled(1024, func(x float64) float64 { return math.Pow(x, 2.2) + 0.001*rnd.NormFloat64()*x })
	spike := sampled(1286, func(x float64) float64 { return x })
	spike[700] += 600
	for name, curve := range map[string]icc.Curve{
		"dip": dip, "dip at the top": top, "noise": noisy, "spike": spike,
		"formula": icc.ParametricCurve{Function: 3, G: 2.4, A: 1 / 1.055, B: 0.055 / 1.055, C: 1.05 / 12.92, D: 0.04045},
	} {
		t.Run(name, func(t *testing.T) {
			to := withCurves(p3(), curve, curve, curve)
			chain := must(icc.JoinLinks(
				icc.Link{Profile: srgb(), Options: icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}},
				icc.Link{Profile: to, Options: icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}}))
			in := colours(icc.SpaceRGB, 3000, 4)
			for code := range 256 {
				v := float64(code) / 255
				in = append(in, []float64{v, v, v})
			}
			for _, from := range []transform.Depth{transform.Depth8, transform.Depth16} {
				k := kernelOf(t, relative, transform.Layout{Depth: from}, transform.Plain8, srgb(), to)
				got := figure{}
				if from == transform.Depth8 {
					got = apart[uint8, uint8](t, k, chain, in)
				} else {
					got = apart[uint8, uint16](t, k, chain, in)
				}
				t.Logf("%v: mean %.3g, at most %.3g", from, got.mean, got.max)
				// The spike's leap is of 2.2 codes, and lies where greys do: the last bit of
				// their light decides on its side.
				limit := figure{0.002, 1}
				if name == "spike" {
					limit.max = 3
				}
				if got.mean > limit.mean || got.max > limit.max {
					t.Errorf("%v goes by %s and is %g codes off in the mean, up to %g", from, transform.Way(k), got.mean, got.max)
				}
			}
		})
	}
}

// Sampled curves as most profiles of displays have them, of whole numbers that repeat
// in the dark, where what undoes them leaps: in 16 bits and floats, against the chain.
func TestSampledDisplays(t *testing.T) {
	for _, entries := range []int{16, 256, 1024, 4096, 65536} {
		c := sampled(entries, func(x float64) float64 { return math.Pow(x, 2.2) })
		to := withCurves(p3(), c, c, c)
		chain := must(icc.JoinLinks(
			icc.Link{Profile: srgb(), Options: icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}},
			icc.Link{Profile: to, Options: icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}}))
		in := noiseColours(accuracyColours() / 4)
		ints := apart[uint16, uint16](t, kernelOf(t, relative, transform.Plain16, transform.Plain16, srgb(), to), chain, in)
		floats := apart[float32, float32](t, kernelOf(t, relative, transform.Plain32F, transform.Plain32F, srgb(), to), chain, in)
		t.Logf("%d entries: 16 bits mean %.2g, at most %.2g; floats %.2g and %.2g", entries, ints.mean, ints.max, floats.mean, floats.max)
		// On which side of a leap light is its last bit decides. Few entries leap in the
		// dark only; of 65536 many do, by as much as one step of 16 bits of light is.
		leap, mean := 0.0, 0.05
		if entries == 65536 {
			leap, mean = 2e-4, 0.2
		}
		if ints.mean > mean || ints.max > 1+65535*leap || floats.mean > 5e-6 || floats.max > 1e-5+leap {
			t.Errorf("%d entries: 16 bits mean %g, at most %g; floats %g and %g", entries, ints.mean, ints.max, floats.mean, floats.max)
		}
	}
}
