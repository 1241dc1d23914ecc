package fit

import "math"

// Knots of the correction that the additive model adds to a power curve lie at
// equal steps of u, where d = u^knotPower: dense in the dark, where a small
// change of signal is a large change of light.
const (
	knotPower = 1.6
	intervals = 36
	free      = intervals + 1 // coefficients of one channel's spline
	// perChannel counts the power curve's two parameters too.
	perChannel = free + 2
)

// warp returns u of signal d.
func warp(d float64) float64 { return math.Pow(math.Min(math.Max(d, 0), 1), 1/knotPower) }

// unwarp returns the signal d of u.
func unwarp(u float64) float64 { return math.Pow(u, knotPower) }

// basis is the non-zero cubic B-splines at one place, already with the two
// outer coefficients expressed by their neighbours so that the spline is 0 at
// both ends. index counts the free coefficients. Two places are left for what
// the power curve adds.
type basis struct {
	n     int
	index [6]int
	value [6]float64
}

// basisAt returns the basis at u in [0, 1].
func basisAt(u float64) basis {
	p := u * intervals
	k := min(int(p), intervals-1)
	f := p - float64(k)
	g := 1 - f
	full := [4]float64{
		g * g * g / 6,
		(3*f*f*f - 6*f*f + 4) / 6,
		(3*g*g*g - 6*g*g + 4) / 6,
		f * f * f / 6,
	}
	// Coefficient j of the full basis (0 to intervals+2) is free coefficient
	// j−1. The value at an end is (c₀ + 4c₁ + c₂)/6; it is 0 where
	// c₀ = −4c₁ − c₂, and likewise at the other end.
	var b basis
	for m, v := range full {
		switch j := k + m - 1; {
		case v == 0:
		case j < 0:
			b.add(0, -4*v)
			b.add(1, -v)
		case j >= free:
			b.add(free-1, -4*v)
			b.add(free-2, -v)
		default:
			b.add(j, v)
		}
	}
	return b
}

// add adds v to the value of coefficient j.
func (b *basis) add(j int, v float64) {
	for m := range b.n {
		if b.index[m] == j {
			b.value[m] += v
			return
		}
	}
	b.index[b.n], b.value[b.n] = j, v
	b.n++
}

// roughness returns the second differences of the spline's coefficients, one
// row for each knot, by free coefficient, counted from first.
func roughness(first int) []row {
	rows := make([]row, 0, free)
	for k := range free {
		r := row{}
		add := func(j int, v float64) {
			if j >= 0 && j < free {
				r.index, r.coef = append(r.index, first+j), append(r.coef, v)
			}
		}
		switch k {
		case 0, free - 1: // −4c₁ − c₂ − 2c₁ + c₂
			add(k, -6)
		default:
			add(k-1, 1)
			add(k, -2)
			add(k+1, 1)
		}
		rows = append(rows, r)
	}
	return rows
}
