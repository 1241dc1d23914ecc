package fit

import (
	"math"

	"example.org/primaries/fit/internal/level"
)

// A form says which functions a process is made of, by the channels that they
// depend on.
type form struct {
	name string
	// orders has the terms of a kernel that count.
	orders [terms]bool
	// cells joins the values at levels 0, 1/3, 2/3 and 1 of each channel by
	// straight lines.
	cells bool
}

// Terms of a kernel: functions of one channel, of pairs and of all three, then
// of what a pair and all three have in common, the smallest of their levels.
const (
	ofOne = iota
	ofTwo
	ofThree
	ofPair
	ofGrey
	terms
)

// A kernel says how much two signals have to do with each other: what a model
// leaves over is taken for a random function whose values at u and v have the
// covariance
//
//	one·Σ f_c + two·Σ f_c·f_d + three·f_r·f_g·f_b + pair·Σ f_cd + grey·f_rgb,
//
// f_c = a(u_c)·a(v_c)·matern((at(u_c)−at(v_c))/length_c) and f_cd, f_rgb the same of the
// smallest level of two and of three channels: functions of one channel, of pairs
// of channels, of all three, and of what channels have in common, as far as the
// readings ask for each. Panels disturb their channels mostly in pairs, and a
// sum that knows it needs fewer readings than a function of three variables.
// The amplitude a of a level is 0 in the dark: a channel that is off disturbs
// none.
//
// Sources: Duvenaud, Nickisch and Rasmussen, Adv. Neural Inf. Process. Syst. 24
// (2011) 226-234 (sums by order of interaction); Tamura, Tsumura and Miyake, J.
// Soc. Inf. Display 11 (2003) (what channels have in common); Rasmussen and
// Williams, Gaussian Processes for Machine Learning, MIT Press (2006), eq. 4.17
// (the Matérn function of order 5/2) and 5.9 (the likelihood's derivative).
type kernel struct {
	*form
	length [lengths]float64 // in units of the levels, which run from 0 to 1
	order  [terms]float64   // variances
}

// lengths counts the lengths of a kernel: one a channel, then that of what they
// have in common.
const lengths = 4

// features counts what a kernel sees of a signal: three levels, then the
// smallest of each pair's and of all.
const features = 7

// spot is a signal as a kernel sees it.
type spot struct {
	u, a     [features]float64 // levels and their amplitudes
	at       [features]float64 // their places, from which lengths count
	by, rise [features]float64 // ∂a/∂u, ∂at/∂u
	of       [features]int     // the channel that the level belongs to
	spread   float64           // what one unit of misfit is there
}

// spotAt returns the spot of three levels.
func spotAt(u [3]float64, spread float64) spot {
	s := spot{spread: spread}
	smaller := func(a, b int) int {
		if u[b] < u[a] {
			return b
		}
		return a
	}
	s.of = [features]int{0, 1, 2, smaller(0, 1), smaller(0, 2), smaller(1, 2), smaller(smaller(0, 1), 2)}
	// Seven features, of three levels.
	var a, by, at, rise [3]float64
	for c, v := range u {
		a[c], by[c] = amplitude(v)
		at[c], rise[c] = stretch(v)
	}
	for j, c := range s.of {
		s.u[j], s.a[j], s.by[j], s.at[j], s.rise[j] = u[c], a[c], by[c], at[c], rise[c]
	}
	return s
}

// stretch returns where a level lies on the line along which functions are as smooth
// everywhere, 0 to 1, and its slope: the arcsine of the level's root, which has
// more room at both ends. Dark channels are disturbed most, and near full signal
// panels saturate and supplies give way. A little is kept off either end, where
// the arcsine has no slope. Beyond the ends it goes on along lines.
func stretch(u float64) (at, slope float64) {
	const off = 0.02
	first := math.Asin(math.Sqrt(off))
	span := math.Pi/2 - 2*first
	inside := math.Min(math.Max(u, 0), 1)
	share := off + (1-2*off)*inside
	slope = (1 - 2*off) / (2 * math.Sqrt(share*(1-share)) * span)
	return (math.Asin(math.Sqrt(share))-first)/span + (u-inside)*slope, slope
}

// amplitude returns how much a channel is thought to take part in an effect at a
// level, and its slope: the square root of its light. A step of lightness would
// be its 2/3 power; dark channels suffer more from bright neighbours than that,
// since their tones are steep where light is little.
func amplitude(u float64) (a, slope float64) {
	const power = 0.5 * level.Power
	s := math.Pow(math.Max(u, 0), power-1)
	return u * s, power * s
}

// matern returns the Matérn function of order 5/2 at the distance r in lengths,
// and minus its derivative over r.
func matern(r float64) (k, fall float64) {
	s := math.Sqrt(5) * r
	e := math.Exp(-s)
	return (1 + s + s*s/3) * e, 5.0 / 3 * (1 + s) * e
}

// cellsPerChannel is the number of straight pieces of each channel.
const cellsPerChannel = 3

// cell returns the place of level u among the pieces and how far into it.
func cell(u float64) (k int, t float64) {
	p := math.Min(math.Max(u, 0), 1) * cellsPerChannel
	k = min(int(p), cellsPerChannel-1)
	return k, p - float64(k)
}

// relation is the correlation of feature j of two spots with its derivatives by
// the logarithm of the length and by the first one's level.
func (k *kernel) relation(u, v *spot, j int) (f, byLength, byLevel float64) {
	length := k.length[lengthOf(j)]
	if !k.cells {
		d := (u.at[j] - v.at[j]) / length
		f, fall := matern(math.Abs(d))
		return f, fall * d * d, -fall * d / length * u.rise[j]
	}
	first, s := cell(u.u[j])
	second, t := cell(v.u[j])
	// Nodes that lie as far apart have the same relation.
	var m, fall [3]float64
	for d := range m {
		m[d], fall[d] = matern(math.Abs(float64(first-second+d-1)) / cellsPerChannel / length)
		r := float64(first-second+d-1) / cellsPerChannel / length
		fall[d] *= r * r
	}
	for a, x := range [2]float64{1 - s, s} {
		for b, y := range [2]float64{1 - t, t} {
			f += x * y * m[1+a-b]
			byLength += x * y * fall[1+a-b]
			byLevel += float64(2*a-1) * cellsPerChannel * y * m[1+a-b]
		}
	}
	return f, byLength, byLevel
}

// sums returns the sums of the products of one, two and three of k.
func sums(k [3]float64) [3]float64 {
	return [3]float64{k[0] + k[1] + k[2], k[0]*k[1] + k[0]*k[2] + k[1]*k[2], k[0] * k[1] * k[2]}
}

// common reports whether functions of what channels have in common count.
func (f *form) common() bool { return f.orders[ofPair] || f.orders[ofGrey] }

// by returns the derivative of the kernel by factor j.
func (k *kernel) by(f *[features]float64, j int) float64 {
	switch {
	case j == features-1:
		return k.order[ofGrey]
	case j >= 3:
		return k.order[ofPair]
	}
	d, e := f[(j+1)%3], f[(j+2)%3]
	return k.order[ofOne] + k.order[ofTwo]*(d+e) + k.order[ofThree]*d*e
}

// parts returns the derivatives of the kernel by its variances.
func parts(f *[features]float64) [terms]float64 {
	s := sums([3]float64{f[0], f[1], f[2]})
	return [terms]float64{s[0], s[1], s[2], f[3] + f[4] + f[5], f[6]}
}

// count returns how many of the features count.
func (f *form) count() int {
	if f.common() {
		return features
	}
	return 3
}

// lengthOf returns the place of the length of feature j.
func lengthOf(j int) int { return min(j, lengths-1) }

// at returns the covariance of the values at u and v.
func (k *kernel) at(u, v *spot) float64 {
	f := k.factors(u, v)
	return k.sum(&f)
}

// factors returns what the kernel is a sum of products of; they depend on its
// form and lengths alone.
func (k *kernel) factors(u, v *spot) (f [features]float64) {
	for j := range k.count() {
		m, _, _ := k.relation(u, v, j)
		f[j] = u.a[j] * v.a[j] * m
	}
	return f
}

// sum returns the kernel of its factors.
func (k *kernel) sum(f *[features]float64) float64 {
	var v float64
	for i, s := range parts(f) {
		v += k.order[i] * s
	}
	return v
}

// steep is factors with their derivatives by the levels of u.
func (k *kernel) steep(u, v *spot) (f, slopes [features]float64) {
	for j := range k.count() {
		m, _, d := k.relation(u, v, j)
		f[j] = u.a[j] * v.a[j] * m
		slopes[j] = v.a[j] * (u.by[j]*m + u.a[j]*d)
	}
	return f, slopes
}

// slope returns the derivatives of the kernel by u's levels, of what steep says.
func (k *kernel) slope(u *spot, f, slopes *[features]float64) (by [3]float64) {
	for j := range k.count() {
		by[u.of[j]] += k.by(f, j) * slopes[j]
	}
	return by
}
