package measure

import (
	"math"

	"example.org/primaries/colorimetry"
)

// drift returns what was found.
func (f *driftFit) drift() Drift {
	d := Drift{Anchors: len(f.anchors), To: f.o.To, NoiseFactor: f.factor[0], lights: f.lights, inverse: f.inverse, from: f.from, span: f.span}
	moves := false
	for _, p := range f.points {
		if f.kind(p) == 1 {
			continue
		}
		if p.out {
			d.Outliers = append(d.Outliers, f.readings[p.index].Index)
		} else {
			d.Repeats++
		}
	}
	for _, v := range f.mean[:f.size()] {
		moves = moves || v != 0
	}
	if !moves {
		return d
	}
	f.contrast(&d)
	d.Unlike = f.unlikeness(d)
	base := d.correctBase(f)
	for _, r := range f.readings {
		now := d.At(r.Time).Apply(base)
		// A first anchor that gives no light has neither.
		if change := now.Y/base.Y - 1; base.Y > 0 && math.Abs(change) > math.Abs(d.Luminance) {
			d.Luminance = change
		}
		if far := now.UV().Distance(base.UV()); far > d.UV && !math.IsInf(far, 0) {
			d.UV = far
		}
	}
	return d
}

// correctBase returns the first anchor's colour at d.To.
func (d Drift) correctBase(f *driftFit) colorimetry.XYZ {
	for _, p := range f.points {
		if p.anchor == 0 && !p.out {
			xyz, _ := d.correct(f.readings[p.index])
			return xyz
		}
	}
	return f.bases[0]
}

// contrast fills in the gains against those at d.To, with the covariance of
// every pair of knots.
func (f *driftFit) contrast(d *Drift) {
	k := f.knots
	to, w := knotAt(f.place(d.To), k)
	at := func(i int) [3]float64 {
		return vector(turn.Apply(colour([3]float64{f.mean[3*i], f.mean[3*i+1], f.mean[3*i+2]})))
	}
	block := func(i, j int) (m colorimetry.Matrix) {
		for a := range 3 {
			for b := range 3 {
				m[a][b] = f.cov.At(3*i+a, 3*j+b)
			}
		}
		return m
	}
	// Covariance of knot i with the state at d.To, and of that with itself.
	with := func(i int) colorimetry.Matrix {
		return block(i, to).Scale(1 - w).Add(block(i, to+1).Scale(w))
	}
	self := with(to).Scale(1 - w).Add(with(to + 1).Scale(w))
	a, b := at(to), at(to+1)
	var start [3]float64
	for c := range start {
		start[c] = 1 + (1-w)*a[c] + w*b[c]
	}
	d.gains, d.cov = make([][3]float64, k), make([]colorimetry.Matrix, k*k)
	back := colorimetry.Diagonal(1/start[0], 1/start[1], 1/start[2])
	for i := range k {
		for c, v := range at(i) {
			d.gains[i][c] = (1+v)/start[c] - 1
		}
		for j := range k {
			m := block(i, j).Add(with(i).Scale(-1)).Add(with(j).Transpose().Scale(-1)).Add(self)
			m = back.Mul(turn).Mul(m).Mul(turn.Transpose()).Mul(back)
			d.cov[i*k+j] = m
		}
	}
}

// unlikeness returns how differently anchors drift: the standard deviation,
// beyond noise, of the factors by which each drifts more than gains say.
//
// Source: DerSimonian and Laird, Control. Clin. Trials 7, 177-188 (1986), for
// the variance between groups (from memory).
func (f *driftFit) unlikeness(d Drift) float64 {
	n := len(f.anchors)
	top, bottom := make([]float64, n), make([]float64, n)
	middle := make([][3]float64, n)
	count := make([]float64, n)
	for pass := range 2 {
		for _, p := range f.points {
			inverse, err := f.noiseOf(p).Inverse()
			if p.out || err != nil || f.kind(p) == 1 {
				continue
			}
			g, _ := d.gain(f.readings[p.index].Time)
			if pass == 0 {
				for c := range g {
					middle[p.anchor][c] += g[c]
				}
				count[p.anchor]++
				continue
			}
			for c := range g {
				g[c] -= middle[p.anchor][c] / count[p.anchor]
			}
			e, _ := f.predicted(p)
			rest := p.xyz.Sub(f.bases[p.anchor]).Sub(e)
			moved := f.effect[p.anchor].Mul(turn.Transpose()).Apply(colour(g))
			weighted := inverse.Apply(moved)
			top[p.anchor] += weighted.X*rest.X + weighted.Y*rest.Y + weighted.Z*rest.Z
			bottom[p.anchor] += distance2(moved, inverse)
		}
	}
	var q, sum, squares, anchors float64
	for a := range top {
		if bottom[a] > 0 {
			q += top[a] * top[a] / bottom[a]
			sum, squares, anchors = sum+bottom[a], squares+bottom[a]*bottom[a], anchors+1
		}
	}
	if anchors < 2 {
		return 0
	}
	return math.Sqrt(math.Max(0, (q-(anchors-1))/(sum-squares/sum)))
}
