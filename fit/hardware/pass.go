package hardware

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// patches lists what is read in a pass: white and black, greys whose levels are
// even in a power of the signal that puts more of them in the dark, in the first
// pass the other six corners of the source, and points of a sequence that fills
// its cube. Each pass takes other greys and points, so that it proves the table,
// and what is learned has no holes.
func (o LoopOptions) patches(pass int) []measure.ReadRequest {
	var list []measure.ReadRequest
	add := func(name string, s colorimetry.RGB, averages int) {
		q := measure.ReadRequest{Stage: Stage, Patch: chart.Patch{ID: fmt.Sprintf("table-%d-%s", pass+1, name), Signal: o.In.round(s, o.PathBits)}, Averages: averages}
		if len(list) == 0 {
			q.Settle = afterLoading
		}
		list = append(list, q)
	}
	add("white", colorimetry.Gray(1), o.WhiteAverages)
	add("black", colorimetry.Gray(0), o.WhiteAverages)
	// The golden section's multiples never fall on each other.
	shift := math.Mod(0.5+float64(pass)*0.6180339887498949, 1)
	greys := o.Patches / 5
	for i := range greys {
		at := darkest + (1-darkest)*math.Pow((float64(i)+shift)/float64(greys), 1.4)
		add(fmt.Sprintf("gray-%02d", i+1), colorimetry.Gray(at), o.averages(at))
	}
	if pass == 0 {
		for k := 1; k < 7; k++ {
			add(fmt.Sprintf("corner-%d", k), colorimetry.RGB{R: float64(k & 1), G: float64(k >> 1 & 1), B: float64(k >> 2)}, o.Averages)
		}
	}
	for i, p := range chart.Sobol(o.Patches-len(list), chart.Options{Seed: uint64(pass) + 1}) {
		add(fmt.Sprintf("colour-%03d", i+1), p.Signal, o.averages(p.Signal.Max()))
	}
	return list
}

const (
	// darkest is the lowest grey that is read beside black: below it most displays
	// have less light than a reading has noise.
	darkest = 0.04
	// afterLoading is how long the display settles on a table: boxes may go dark
	// for a moment (common practice, no source).
	afterLoading = 3 * time.Second
)

// averages is the number of integrations at a signal: up to six times the usual
// below a third, where additive noise outgrows the part that follows the light.
func (o LoopOptions) averages(signal float64) int {
	return int(math.Ceil(float64(o.Averages) * math.Min(math.Max(0.3/math.Max(signal, 1e-3), 1), 6)))
}

// Pass is one pass of the loop: the table that was in force, and what was read
// through it, as read. All differences are CIEDE2000 of absolute colours, the
// wanted white being their white.
type Pass struct {
	Table string `json:"table"` // its digest
	// InReach has the differences from what is wanted of colours that the model
	// can show, greys included, Greys those of greys alone, and Beyond those of
	// other colours.
	InReach Figures `json:"in_reach"`
	Greys   Figures `json:"greys"`
	Beyond  Figures `json:"beyond"`
	// MeanError is the standard error of the mean of InReach, from its scatter.
	MeanError float64 `json:"mean_error"`
	// Noise has the differences that the readings' noise alone would make of a
	// table without error, for the colours of InReach, and Loss is the mean that
	// the table's own size and rounding cost, by the model.
	Noise Figures `json:"noise"`
	Loss  float64 `json:"loss"`
	// White is the difference of the white.
	White float64 `json:"white"`
	// Change is the largest change of a device signal from the table before, 0 to
	// 1; 0 in the first pass.
	Change float64 `json:"change"`
	// Settled says that noise and loss explain the differences.
	Settled bool `json:"settled"`
}

// enough is how far above what noise and loss explain the mean may lie.
const enough = 1.1

// judge sums up the readings through a table.
func (m made) judge(readings []measure.Reading) Pass {
	p := Pass{Table: m.table.Digest()}
	var in, greys, out, noise []float64
	for _, r := range readings {
		s := r.Patch.Signal
		want := m.builder.target.wanted(s)
		e := m.builder.target.delta(want, r.XYZ)
		if s == colorimetry.Gray(1) {
			p.White = e
		}
		if !m.builder.reaches(want) {
			out = append(out, e)
			continue
		}
		in = append(in, e)
		if s.R == s.G && s.G == s.B {
			greys = append(greys, e)
		}
		noise = append(noise, m.builder.target.noise(want, r)...)
	}
	p.InReach, p.Greys, p.Beyond, p.Noise = figures(in), figures(greys), figures(out), figures(noise)
	p.Noise.Count = len(in)
	for _, e := range in {
		p.MeanError += (e - p.InReach.Mean) * (e - p.InReach.Mean)
	}
	p.MeanError = math.Sqrt(p.MeanError) / math.Max(1, float64(len(in)))
	d := m.diagnostics
	if n := d.Chromatic.Count + d.Greys.Count; n > 0 {
		p.Loss = (d.Chromatic.Mean*float64(d.Chromatic.Count) + d.Greys.Mean*float64(d.Greys.Count)) / float64(n)
	}
	p.Settled = p.InReach.Mean <= enough*math.Hypot(p.Noise.Mean, p.Loss)
	return p
}

// draws is how often noise is drawn for a reading.
const draws = 64

// noise returns differences from a wanted colour that a reading's noise alone
// would make. The draws follow from the reading's place in its run.
func (t *target) noise(want colorimetry.XYZ, r measure.Reading) []float64 {
	root := cholesky(r.Covariance)
	rng := rand.New(rand.NewPCG(uint64(r.Index), 19))
	out := make([]float64, draws)
	for i := range out {
		e := root.Apply(colorimetry.XYZ{X: rng.NormFloat64(), Y: rng.NormFloat64(), Z: rng.NormFloat64()})
		out[i] = t.delta(want, want.Add(e))
	}
	return out
}

// cholesky returns the lower triangle whose product with its transpose is m; what
// rounding made negative counts as 0.
func cholesky(m colorimetry.Matrix) colorimetry.Matrix {
	var l colorimetry.Matrix
	for i := range 3 {
		for j := range i + 1 {
			v := m[i][j]
			for k := range j {
				v -= l[i][k] * l[j][k]
			}
			switch {
			case i == j:
				l[i][i] = math.Sqrt(math.Max(v, 0))
			case l[j][j] > 0:
				l[i][j] = v / l[j][j]
			}
		}
	}
	return l
}

// largestChange returns the largest difference of a device signal between two
// tables.
func largestChange(a, b Table) float64 {
	var change float64
	const steps = 16
	for i := range (steps + 1) * (steps + 1) * (steps + 1) {
		s := colorimetry.RGB{R: float64(i/((steps+1)*(steps+1))) / steps, G: float64(i/(steps+1)%(steps+1)) / steps, B: float64(i%(steps+1)) / steps}
		p, q := a.Apply(s), b.Apply(s)
		change = max(change, math.Abs(p.R-q.R), math.Abs(p.G-q.G), math.Abs(p.B-q.B))
	}
	return change
}

// best returns the pass whose table is kept: of those whose mean lies no more
// than one standard error above the smallest, the latest.
func best(passes []Pass) int {
	least := slices.MinFunc(passes, func(a, b Pass) int {
		return cmp.Compare(a.InReach.Mean, b.InReach.Mean)
	})
	for i := len(passes) - 1; i > 0; i-- {
		if passes[i].InReach.Mean <= least.InReach.Mean+least.MeanError {
			return i
		}
	}
	return 0
}
