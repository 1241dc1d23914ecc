package fit

import "math"

// A kernel says how much two signals have to do with each other: what a model
// leaves over is taken for a random function whose values at u and v have the
// covariance
//
//	one·Σ k_c + two·Σ k_c·k_d + three·k_r·k_g·k_b,  k_c = matern((u_c−v_c)/length_c):
//
// functions of one channel, of pairs of channels and of all three, as far as the
// readings ask for each. Panels disturb their channels mostly in pairs, and a
// sum that knows it needs fewer readings than a function of three variables.
//
// Sources: Duvenaud, Nickisch and Rasmussen, Adv. Neural Inf. Process. Syst. 24
// (2011) 226-234 (sums by order of interaction); Rasmussen and Williams,
// Gaussian Processes for Machine Learning, MIT Press (2006), eq. 4.17 (the
// Matérn function of order 5/2) and 5.9 (the likelihood's derivative).
type kernel struct {
	length [3]float64 // in units of the inputs, which run from 0 to 1
	order  [3]float64 // variance of the functions of one, two and three channels
}

// matern returns the Matérn function of order 5/2 at the distance r in lengths,
// and minus its derivative over r.
func matern(r float64) (k, fall float64) {
	s := math.Sqrt(5) * r
	e := math.Exp(-s)
	return (1 + s + s*s/3) * e, 5.0 / 3 * (1 + s) * e
}

// sums returns the sums of the products of one, two and three of k.
func sums(k [3]float64) [3]float64 {
	return [3]float64{k[0] + k[1] + k[2], k[0]*k[1] + k[0]*k[2] + k[1]*k[2], k[0] * k[1] * k[2]}
}

// by returns the derivative of the kernel by the factor of channel c.
func (k *kernel) by(f [3]float64, c int) float64 {
	d, e := f[(c+1)%3], f[(c+2)%3]
	return k.order[0] + k.order[1]*(d+e) + k.order[2]*d*e
}

// at returns the covariance of the values at u and v.
func (k *kernel) at(u, v [3]float64) float64 {
	var f [3]float64
	for c := range f {
		f[c], _ = matern(math.Abs(u[c]-v[c]) / k.length[c])
	}
	return dot(k.order, sums(f))
}

// slope is at with its derivatives by u.
func (k *kernel) slope(u, v [3]float64) (float64, [3]float64) {
	var f, fall, by [3]float64
	for c := range f {
		f[c], fall[c] = matern(math.Abs(u[c]-v[c]) / k.length[c])
	}
	for c := range by {
		by[c] = -k.by(f, c) * fall[c] * (u[c] - v[c]) / (k.length[c] * k.length[c])
	}
	return dot(k.order, sums(f)), by
}

// self returns the variance at any place.
func (k *kernel) self() float64 { return 3*k.order[0] + 3*k.order[1] + k.order[2] }
