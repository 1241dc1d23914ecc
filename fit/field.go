package fit

import (
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/internal/linear"

	"gonum.org/v1/gonum/mat"
)

// field is three processes, one a coordinate, that are seen together: the noise
// of a reading is common to its coordinates, and what one of them says of it
// says something of the others.
type field struct {
	process [3]*process
	// What was seen, and the inverse of its covariance, misfit included.
	values [][3]float64
	weight []colorimetry.Matrix

	known  *mat.SymDense // of the places' values, in units of each process's lower
	factor mat.Cholesky  // of known
	fitted [][3]float64
}

// observe takes what was seen at the spots with the covariances noise.
func (f *field) observe(spots []spot, values [][3]float64, noise []colorimetry.Matrix) error {
	f.values = values
	f.weight = make([]colorimetry.Matrix, len(noise))
	for i, v := range noise {
		for c, p := range f.process {
			v[c][c] += p.misfitAt(&spots[i])
		}
		var err error
		if f.weight[i], err = v.Inverse(); err != nil {
			return errUnsolved
		}
	}
	all := make([]int, len(values))
	for i := range all {
		all[i] = i
	}
	f.known = f.information(all)
	for j := range f.known.SymmetricDim() {
		f.known.SetSym(j, j, f.known.At(j, j)+1)
	}
	if !f.factor.Factorize(f.known) {
		return errUnsolved
	}
	x, err := f.solve(&f.factor, values, nil)
	if err != nil {
		return err
	}
	f.fitted = make([][3]float64, len(values))
	for i := range f.fitted {
		f.fitted[i] = f.seenAt(x, i)
	}
	for c, p := range f.process {
		if err := p.settle(x[c]); err != nil {
			return err
		}
	}
	return nil
}

// information returns what the spots of list say of the places' values.
func (f *field) information(list []int) *mat.SymDense {
	m := len(f.process[0].places)
	out := mat.NewSymDense(3*m, nil)
	var part [3]*mat.Dense
	for c, p := range f.process {
		part[c] = mat.NewDense(m, len(list), nil)
		for j := range m {
			from, to := p.seen.RawRowView(j), part[c].RawRowView(j)
			for k, i := range list {
				to[k] = from[i]
			}
		}
	}
	scaled := mat.NewDense(m, len(list), nil)
	block := mat.NewDense(m, m, nil)
	for c := range 3 {
		for d := c; d < 3; d++ {
			for j := range m {
				from, to := part[d].RawRowView(j), scaled.RawRowView(j)
				for k, i := range list {
					to[k] = f.weight[i][c][d] * from[k]
				}
			}
			block.Mul(part[c], scaled.T())
			for j := range m {
				row := block.RawRowView(j)
				for k, v := range row {
					if d > c || k >= j {
						out.SetSym(c*m+j, d*m+k, v)
					}
				}
			}
		}
	}
	return out
}

// solve returns what the places' values are expected to be, in units of each
// process's lower, when values were seen everywhere but at the spots of without,
// of which factor knows nothing either.
func (f *field) solve(factor *mat.Cholesky, values [][3]float64, without []int) ([3][]float64, error) {
	m, n := len(f.process[0].places), len(values)
	var weighed [3][]float64
	for c := range weighed {
		weighed[c] = make([]float64, n)
		for i, v := range values {
			weighed[c][i] = dot(f.weight[i][c], v)
		}
		for _, i := range without {
			weighed[c][i] = 0
		}
	}
	x := mat.NewVecDense(3*m, nil)
	for c, p := range f.process {
		x.SliceVec(c*m, (c+1)*m).(*mat.VecDense).MulVec(p.seen, mat.NewVecDense(n, weighed[c]))
	}
	if err := factor.SolveVecTo(x, x); linear.Unusable(err) {
		return [3][]float64{}, errUnsolved
	}
	d := x.RawVector().Data
	return [3][]float64{d[:m], d[m : 2*m], d[2*m:]}, nil
}

// seenAt returns what x says of spot i.
func (f *field) seenAt(x [3][]float64, i int) [3]float64 {
	var v [3]float64
	for c, p := range f.process {
		for j, w := range x[c] {
			v[c] += w * p.seen.At(j, i)
		}
	}
	return v
}

// held returns what is expected at the spots of list when values were seen
// everywhere else.
func (f *field) held(values [][3]float64, list []int) ([][3]float64, error) {
	rest := mat.NewSymDense(f.known.SymmetricDim(), nil)
	rest.AddSym(f.known, negative(f.information(list)))
	var factor mat.Cholesky
	if !factor.Factorize(rest) {
		return nil, errUnsolved
	}
	x, err := f.solve(&factor, values, list)
	if err != nil {
		return nil, err
	}
	out := make([][3]float64, len(list))
	for k, i := range list {
		out[k] = f.seenAt(x, i)
	}
	return out, nil
}

func negative(m *mat.SymDense) *mat.SymDense {
	m.ScaleSym(-1, m)
	return m
}

// own returns, for each spot, the covariance of the value there that what was
// seen leaves, of the places' values alone.
func (f *field) own() ([]colorimetry.Matrix, error) {
	m, n := f.process[0].seen.Dims()
	inverse := mat.NewSymDense(3*m, nil)
	if err := f.factor.InverseTo(inverse); linear.Unusable(err) {
		return nil, errUnsolved
	}
	out := make([]colorimetry.Matrix, n)
	block, solved := mat.NewDense(m, m, nil), mat.NewDense(m, n, nil)
	for c := range 3 {
		for d := c; d < 3; d++ {
			for j := range m {
				for k := range m {
					block.Set(j, k, inverse.At(c*m+j, d*m+k))
				}
			}
			solved.Mul(block, f.process[d].seen)
			for j := range m {
				a, b := f.process[c].seen.RawRowView(j), solved.RawRowView(j)
				for i := range out {
					out[i][c][d] += a[i] * b[i]
				}
			}
			for i := range out {
				out[i][d][c] = out[i][c][d]
			}
		}
	}
	return out, nil
}

// alike reports whether process c has the kernel's factors of the one before it.
func (f *field) alike(c int) bool { return c > 0 && f.process[c].length == f.process[c-1].length }

// value returns the values expected at u.
func (f *field) value(u *spot) (v [3]float64) {
	var k [features]float64
	for i := range f.process[0].places {
		for c, p := range f.process {
			if !f.alike(c) {
				k = p.factors(u, &p.places[i])
			}
			v[c] += p.alpha[i] * p.sum(&k)
		}
	}
	return v
}

// slopes is value with the derivatives of each by the levels of u, a row each.
func (f *field) slopes(u *spot) (v [3]float64, by colorimetry.Matrix) {
	var k, steep [features]float64
	for i := range f.process[0].places {
		for c, p := range f.process {
			if !f.alike(c) {
				k, steep = p.steep(u, &p.places[i])
			}
			v[c] += p.alpha[i] * p.sum(&k)
			for d, rise := range p.slope(u, &k, &steep) {
				by[c][d] += p.alpha[i] * rise
			}
		}
	}
	return v, by
}

// between returns the covariances of the values at each spot with those at each
// from the one at from on, and with themselves, without misfit; and what the
// values have to do with the places', a column for each spot.
func (f *field) between(spots []spot, from int) (with *mat.Dense, own []colorimetry.Matrix, unit [3]*mat.Dense) {
	m, n := len(f.process[0].places), len(spots)
	with, own = mat.NewDense(3*n, 3*(n-from), nil), make([]colorimetry.Matrix, n)
	for c, p := range f.process {
		unit[c] = p.units(spots)
	}
	for c, p := range f.process {
		full := mat.NewDense(3*m, n, nil)
		full.Slice(c*m, (c+1)*m, 0, n).(*mat.Dense).Copy(unit[c])
		// A factor that was found solves; a bad condition costs digits only.
		_ = f.factor.SolveTo(full, full)
		for d := range 3 {
			told := mat.DenseCopyOf(full.Slice(d*m, (d+1)*m, 0, n))
			if d == c {
				told.Sub(told, unit[c])
			}
			for i := range spots {
				own[i][d][c] = mat.Dot(unit[d].ColView(i), told.ColView(i))
				if d == c {
					own[i][c][c] += p.at(&spots[i], &spots[i])
				}
			}
			var v mat.Dense
			v.Mul(unit[d].T(), told.Slice(0, m, from, n))
			for i := range spots {
				row := with.RawRowView(3*i + d)
				for j := range n - from {
					row[3*j+c] = v.At(i, j)
					if d == c {
						row[3*j+c] += p.at(&spots[i], &spots[from+j])
					}
				}
			}
		}
	}
	return with, own, unit
}
