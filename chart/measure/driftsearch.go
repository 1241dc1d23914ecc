package measure

import (
	"math"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/mat"
)

// driftPart is what is supposed of a part of the drift: its standard deviation
// and its time scale, the place in the list of scales.
type driftPart struct {
	sigma float64
	scale int
}

var (
	// driftScales are the times over which gains may change, as shares of the
	// run; the shortest is about a knot, the longest makes a straight line.
	driftScales = []float64{0.06, 0.12, 0.25, 0.5, 1, 2, 4}
	// driftSigmas are the sizes considered.
	driftSigmas = []float64{0.0005, 0.001, 0.002, 0.004, 0.008, 0.016, 0.032, 0.064, 0.128}
)

// driftSearch looks for the likeliest sizes. The anchors' offsets, of which
// nothing is known beforehand, are eliminated first.
type driftSearch struct {
	knots int
	info  *mat.SymDense // about the gains
	right []float64
	roots []*mat.TriDense // of the correlation of knots, by scale
	parts [2]driftPart    // shared, different
}

func newDriftSearch(f *driftFit, full *mat.SymDense, right []float64) *driftSearch {
	n, k := f.size(), f.knots
	s := &driftSearch{knots: k, info: mat.NewSymDense(n, nil), right: append([]float64(nil), right[:n]...)}
	for i := range n {
		for j := i; j < n; j++ {
			s.info.SetSym(i, j, full.At(i, j))
		}
	}
	for a := range f.groups() {
		s.eliminate(full, right, n+3*a)
	}
	for _, scale := range driftScales {
		s.roots = append(s.roots, maternRoot(k, scale))
	}
	return s
}

// eliminate takes out the offset whose unknowns begin at o.
func (s *driftSearch) eliminate(full *mat.SymDense, right []float64, o int) {
	var own colorimetry.Matrix
	for i := range 3 {
		for j := range 3 {
			own[i][j] = full.At(o+i, o+j)
		}
	}
	inverse, err := own.Inverse()
	if err != nil {
		return
	}
	n := len(s.right)
	cross := make([]colorimetry.XYZ, n)
	for i := range cross {
		cross[i] = colour([3]float64{full.At(i, o), full.At(i, o+1), full.At(i, o+2)})
	}
	b := inverse.Apply(colour([3]float64{right[o], right[o+1], right[o+2]}))
	for i, c := range cross {
		if c == (colorimetry.XYZ{}) {
			continue
		}
		s.right[i] -= c.X*b.X + c.Y*b.Y + c.Z*b.Z
		w := inverse.Apply(c)
		for j := i; j < n; j++ {
			d := cross[j]
			s.info.SetSym(i, j, s.info.At(i, j)-w.X*d.X-w.Y*d.Y-w.Z*d.Z)
		}
	}
}

// maternRoot returns the lower root of the correlation of k equally spaced
// points from 0 to 1. The diagonal is raised as far above rounding as it takes.
func maternRoot(k int, scale float64) *mat.TriDense {
	c := mat.NewSymDense(k, nil)
	for i := range k {
		for j := i; j < k; j++ {
			d := math.Sqrt(5) * float64(j-i) / float64(k-1) / scale
			c.SetSym(i, j, (1+d+d*d/3)*math.Exp(-d))
		}
	}
	var chol mat.Cholesky
	for raised := 1 + 1e-8; ; raised += raised - 1 {
		for i := range k {
			c.SetSym(i, i, raised)
		}
		if chol.Factorize(c) {
			break
		}
	}
	root := mat.NewTriDense(k, mat.Lower, nil)
	chol.LTo(root)
	return root
}

// search looks for the likeliest parts, one after the other, twice. A part that
// hardly helps is none.
func (s *driftSearch) search() {
	for range 2 {
		before := s.parts
		for i := range s.parts {
			s.parts[i] = driftPart{}
			best, top := driftPart{}, s.likelihoods(i, nil)[0]+driftGainLog
			for scale := range driftScales {
				s.parts[i] = driftPart{1, scale}
				for k, l := range s.likelihoods(i, driftSigmas) {
					if l > top {
						best, top = driftPart{driftSigmas[k], scale}, l
					}
				}
			}
			s.parts[i] = best
		}
		if s.parts == before {
			return
		}
	}
}

// part returns which part a turned function belongs to.
func part(function int) int { return min(function, 1) }

// active returns the functions that are not 0.
func (s *driftSearch) active() (list []int) {
	for j := range 3 {
		if s.parts[part(j)].sigma > 0 {
			list = append(list, j)
		}
	}
	return list
}

// spread returns the matrix that makes the gains of independent standard
// deviates: its rows are the unknowns, three a knot.
func (s *driftSearch) spread(active []int) *mat.Dense {
	k := s.knots
	l := mat.NewDense(3*k, k*len(active), nil)
	for a, j := range active {
		p := s.parts[part(j)]
		root := s.roots[p.scale]
		for i := range k {
			for m := 0; m <= i; m++ {
				l.Set(3*i+j, a*k+m, p.sigma*root.At(i, m))
			}
		}
	}
	return l
}

// whitened returns the information of the data about the deviates, the right
// side, and the matrix that makes the gains of them.
func (s *driftSearch) whitened(active []int) (info *mat.Dense, right *mat.VecDense, l *mat.Dense) {
	l = s.spread(active)
	var half mat.Dense
	half.Mul(s.info, l)
	info, right = &mat.Dense{}, &mat.VecDense{}
	info.Mul(l.T(), &half)
	right.MulVec(l.T(), mat.NewVecDense(len(s.right), s.right))
	return info, right, l
}

// likelihoods returns the logarithm of the likelihood against that of no drift,
// with the size of part i multiplied by each of sizes; by 1 where there are
// none.
func (s *driftSearch) likelihoods(i int, sizes []float64) []float64 {
	if sizes == nil {
		sizes = []float64{1}
	}
	out := make([]float64, len(sizes))
	active := s.active()
	if len(active) == 0 {
		return out
	}
	info, right, _ := s.whitened(active)
	n := right.Len()
	sym, scaled, z := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil), mat.NewVecDense(n, nil)
	var chol mat.Cholesky
	for k, size := range sizes {
		if k > 2 && out[k-1] < out[k-2] && out[k-2] < out[k-3] {
			// It rises to its one top and falls: the rest is lower still.
			out[k] = out[k-1]
			continue
		}
		by := func(row int) float64 {
			if part(active[row/s.knots]) == i {
				return size
			}
			return 1
		}
		for row := range n {
			scaled.SetVec(row, by(row)*right.AtVec(row))
			for col := row; col < n; col++ {
				sym.SetSym(row, col, by(row)*by(col)*info.At(row, col))
			}
			sym.SetSym(row, row, sym.At(row, row)+1)
		}
		out[k] = math.Inf(-1)
		if chol.Factorize(sym) && chol.SolveVecTo(z, scaled) == nil {
			out[k] = (mat.Dot(scaled, z) - chol.LogDet()) / 2
		}
	}
	return out
}

// posterior returns the likeliest gains and offsets and their covariance.
func (s *driftSearch) posterior(full *mat.SymDense, right []float64) ([]float64, *mat.SymDense) {
	n, total := 3*s.knots, len(right)
	active := s.active()
	deviates := s.knots * len(active)
	// The unknowns, of deviates and offsets.
	expand := mat.NewDense(total, deviates+total-n, nil)
	if deviates > 0 {
		expand.Slice(0, n, 0, deviates).(*mat.Dense).Copy(s.spread(active))
	}
	for i := range total - n {
		expand.Set(n+i, deviates+i, 1)
	}
	var half, info mat.Dense
	half.Mul(full, expand)
	info.Mul(expand.T(), &half)
	size, _ := info.Dims()
	sym := mat.NewSymDense(size, nil)
	for i := range size {
		for j := i; j < size; j++ {
			sym.SetSym(i, j, info.At(i, j))
		}
		if i < deviates {
			sym.SetSym(i, i, info.At(i, i)+1)
		}
	}
	cov := mat.NewSymDense(total, nil)
	mean := mat.NewVecDense(total, nil)
	var chol mat.Cholesky
	if !chol.Factorize(sym) {
		return mean.RawVector().Data, cov
	}
	var inverse mat.SymDense
	if chol.InverseTo(&inverse) != nil {
		return mean.RawVector().Data, cov
	}
	var left, product mat.Dense
	left.Mul(expand, &inverse)
	product.Mul(&left, expand.T())
	for i := range total {
		for j := i; j < total; j++ {
			cov.SetSym(i, j, product.At(i, j))
		}
	}
	var short mat.VecDense
	short.MulVec(expand.T(), mat.NewVecDense(total, right))
	var z mat.VecDense
	if chol.SolveVecTo(&z, &short) == nil {
		mean.MulVec(expand, &z)
	}
	return mean.RawVector().Data, cov
}
