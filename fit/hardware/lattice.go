package hardware

import "math"

// lattice holds three values at each of n·n·n nodes, blue running fastest.
type lattice struct {
	n      int
	values [][3]float64
}

// at returns the values at a place in the unit cube, by tetrahedra: each cell is
// cut along its diagonal from dark to light into six, and the values run straight
// between the four corners of one. Along the diagonal of the whole nothing but
// the nodes on it has a say.
//
// Source: the Academy's Common LUT Format specification, version 3, appendix A,
// tetrahedral interpolation.
func (l lattice) at(v [3]float64) [3]float64 {
	stride := [3]int{l.n * l.n, l.n, 1}
	var base int
	var f [3]float64
	for k := range v {
		p := v[k] * float64(l.n-1)
		i := min(int(p), l.n-2)
		base += i * stride[k]
		f[k] = p - float64(i)
	}
	// The axes in the order of their share, largest first.
	a, b, c := 0, 1, 2
	if f[a] < f[b] {
		a, b = b, a
	}
	if f[b] < f[c] {
		b, c = c, b
	}
	if f[a] < f[b] {
		a, b = b, a
	}
	p0 := &l.values[base]
	p1 := &l.values[base+stride[a]]
	p2 := &l.values[base+stride[a]+stride[b]]
	p3 := &l.values[base+stride[0]+stride[1]+stride[2]]
	var out [3]float64
	for k := range out {
		out[k] = (1-f[a])*p0[k] + (f[a]-f[b])*p1[k] + (f[b]-f[c])*p2[k] + f[c]*p3[k]
	}
	return out
}

// along returns a curve's value at v in [0, 1], straight between its entries; v
// itself where there is no curve.
func along(t []float64, v float64) float64 {
	if len(t) == 0 {
		return v
	}
	p := v * float64(len(t)-1)
	i := min(int(p), len(t)-2)
	f := p - float64(i)
	return (1-f)*t[i] + f*t[i+1]
}

// limit limits v to [0, 1]; NaN is 0.
func limit(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return math.Min(v, 1)
}
