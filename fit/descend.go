package fit

import "math"

const (
	// quietGain is the decrease that no longer counts: a likelihood e^0.01 times
	// as great says nothing.
	quietGain = 0.01
	// longestStep bounds a step in any one parameter, all of which are
	// logarithms.
	longestStep = 1.5
)

// minimise goes down from x by quasi-Newton steps with the inverse curvature
// learnt on the way, until two in a row gain little or rounds are over. at
// returns the value and sets its slope where that is not nil; it may be infinite
// away from x.
//
// Source: Broyden, Fletcher, Goldfarb, Shanno: Nocedal and Wright, Numerical
// Optimization, Springer (2006), eq. 6.17, with the backtracking of algorithm
// 3.1.
func minimise(x []float64, rounds int, at func(x, slope []float64) float64) []float64 {
	n := len(x)
	x = append([]float64(nil), x...)
	g, next, slope := make([]float64, n), make([]float64, n), make([]float64, n)
	f := at(x, g)
	h := identity(n)
	quiet := 0
	for round := 0; round < rounds && quiet < 2; round++ {
		step, down := direction(h, g)
		v, scale := math.Inf(1), 1.0
		for try := 0; try < 12; try++ {
			for i := range x {
				next[i] = x[i] + scale*step[i]
			}
			if v = at(next, nil); v <= f+1e-4*scale*down {
				break
			}
			scale /= 2.5
		}
		if !(v <= f) {
			if round == 0 || quiet > 0 {
				break
			}
			h, quiet = identity(n), 1 // what was learnt misleads
			continue
		}
		at(next, slope)
		if quiet++; f-v > quietGain {
			quiet = 0
		}
		update(h, x, next, g, slope, round == 0)
		x, next, g, slope, f = next, x, slope, g, v
	}
	return x
}

func identity(n int) [][]float64 {
	h := make([][]float64, n)
	for i := range h {
		h[i] = make([]float64, n)
		h[i][i] = 1
	}
	return h
}

// direction returns the step −h·g, cut to longestStep, and its slope.
func direction(h [][]float64, g []float64) (step []float64, down float64) {
	step = make([]float64, len(g))
	most := 0.0
	for i := range h {
		for j, v := range h[i] {
			step[i] -= v * g[j]
		}
		most = math.Max(most, math.Abs(step[i]))
	}
	for i := range step {
		if most > longestStep {
			step[i] *= longestStep / most
		}
		down += step[i] * g[i]
	}
	return step, down
}

// update learns from the step from x to y, where the slope went from g to k.
func update(h [][]float64, x, y, g, k []float64, first bool) {
	n := len(x)
	var sy, yy float64
	hy := make([]float64, n)
	for i := range n {
		sy += (y[i] - x[i]) * (k[i] - g[i])
		yy += (k[i] - g[i]) * (k[i] - g[i])
	}
	if sy <= 1e-10*yy {
		return
	}
	if first {
		for i := range n {
			h[i][i] = sy / yy
		}
	}
	var yhy float64
	for i := range n {
		for j := range n {
			hy[i] += h[i][j] * (k[j] - g[j])
		}
		yhy += hy[i] * (k[i] - g[i])
	}
	for i := range n {
		for j := range n {
			si, sj := y[i]-x[i], y[j]-x[j]
			h[i][j] += (1+yhy/sy)*si*sj/sy - (hy[i]*sj+si*hy[j])/sy
		}
	}
}
