package fit

import (
	"math"

	"example.org/primaries/colorimetry"
)

// gamutTolerance is the largest residual, as a share of the white, at which a
// colour counts as reached.
const gamutTolerance = 1e-9

// Invert returns the signal at which m shows target, absolute in cd/m², and
// whether it can. In gamut the residual is at most 1e-9 of the white in each of
// X, Y and Z. Out of gamut the signal is the one whose XYZ, each component over
// the white's, lies nearest to the target by least squares; mapping that keeps
// hue is the business of gamut mapping, not of an inverse. Where a curve is
// flat the lowest signal is returned.
//
// A Separable model is inverted in closed form. Others are solved by Newton
// steps that are damped where they do not help and stay in the cube, begun at
// several places; a target that is not finite gives black and false.
func Invert(m Model, target colorimetry.XYZ) (colorimetry.RGB, bool) {
	if !target.Finite() {
		return colorimetry.RGB{}, false
	}
	if s, ok := m.(Separable); ok {
		return invertSeparable(s, target)
	}
	return invertNewton(m, target)
}

// residual returns XYZ − target over the white.
func residual(got, target, white colorimetry.XYZ) [3]float64 {
	return [3]float64{(got.X - target.X) / white.X, (got.Y - target.Y) / white.Y, (got.Z - target.Z) / white.Z}
}

func reached(r [3]float64) bool {
	return math.Abs(r[0]) <= gamutTolerance && math.Abs(r[1]) <= gamutTolerance && math.Abs(r[2]) <= gamutTolerance
}

// invertSeparable finds the light of each channel, then its signal.
func invertSeparable(m Separable, target colorimetry.XYZ) (colorimetry.RGB, bool) {
	white := m.White()
	a := colorimetry.Diagonal(1/white.X, 1/white.Y, 1/white.Z).Mul(m.Primaries())
	d := target.Sub(m.Black())
	light := boxed(a, [3]float64{d.X / white.X, d.Y / white.Y, d.Z / white.Z})
	rgb := colorimetry.RGB{
		R: m.Curve(0).Signal(light[0]),
		G: m.Curve(1).Signal(light[1]),
		B: m.Curve(2).Signal(light[2]),
	}
	return rgb, reached(residual(m.XYZ(rgb), target, white))
}

// boxed returns the x in the unit cube at which a·x lies nearest to b. It tries
// every way of fixing components at 0 or 1 (27 small systems) and keeps the
// best feasible one, which is the answer since the problem is convex.
func boxed(a colorimetry.Matrix, b [3]float64) [3]float64 {
	var best [3]float64
	least := math.Inf(1)
	for code := range 27 {
		var x [3]float64
		var open []int
		for c, rest := 0, code; c < 3; c, rest = c+1, rest/3 {
			switch rest % 3 {
			case 0:
				open = append(open, c)
			case 1:
				x[c] = 0
			case 2:
				x[c] = 1
			}
		}
		if !solveOpen(a, b, &x, open) {
			continue
		}
		feasible := true
		for c := range x {
			if !(x[c] >= -1e-12 && x[c] <= 1+1e-12) {
				feasible = false
			}
			x[c] = math.Min(math.Max(x[c], 0), 1)
		}
		if !feasible {
			continue
		}
		var e float64
		for r := range 3 {
			v := a[r][0]*x[0] + a[r][1]*x[1] + a[r][2]*x[2] - b[r]
			e += v * v
		}
		if e < least {
			best, least = x, e
		}
	}
	return best
}

// solveOpen sets the open components of x to their least-squares value with
// the others as they are, and reports whether there is one.
func solveOpen(a colorimetry.Matrix, b [3]float64, x *[3]float64, open []int) bool {
	if len(open) == 0 {
		return true
	}
	r := b
	for c := range 3 {
		if !contains(open, c) {
			for i := range 3 {
				r[i] -= a[i][c] * x[c]
			}
		}
	}
	if len(open) == 3 {
		inv, err := a.Inverse()
		if err != nil {
			return false
		}
		v := inv.Apply(colorimetry.XYZ{X: r[0], Y: r[1], Z: r[2]})
		*x = [3]float64{v.X, v.Y, v.Z}
		return true
	}
	col := func(c int) [3]float64 { return [3]float64{a[0][c], a[1][c], a[2][c]} }
	u := col(open[0])
	if len(open) == 1 {
		x[open[0]] = dot(u, r) / dot(u, u)
		return dot(u, u) > 0
	}
	v := col(open[1])
	uu, uv, vv := dot(u, u), dot(u, v), dot(v, v)
	det := uu*vv - uv*uv
	x[open[0]] = (dot(u, r)*vv - dot(v, r)*uv) / det
	x[open[1]] = (dot(v, r)*uu - dot(u, r)*uv) / det
	return det > 0
}

func contains(list []int, v int) bool {
	for _, w := range list {
		if w == v {
			return true
		}
	}
	return false
}

// invertNewton solves any model from several starts and returns the best.
func invertNewton(m Model, target colorimetry.XYZ) (colorimetry.RGB, bool) {
	white := m.XYZ(colorimetry.Gray(1))
	// The grey of the same luminance comes first: bisection, since Y rises.
	lo, hi := 0.0, 1.0
	for range 40 {
		mid := (lo + hi) / 2
		if m.XYZ(colorimetry.Gray(mid)).Y < target.Y {
			lo = mid
		} else {
			hi = mid
		}
	}
	starts := []colorimetry.RGB{colorimetry.Gray(lo), colorimetry.Gray(0.5)}
	for code := range 8 {
		v := [2]float64{0.2, 0.8}
		starts = append(starts, colorimetry.RGB{R: v[code&1], G: v[code>>1&1], B: v[code>>2&1]})
	}
	var best colorimetry.RGB
	least := math.Inf(1)
	for _, s := range starts {
		rgb, r := descend(m, target, white, s)
		if e := dot(r, r); e < least {
			best, least = rgb, e
		}
		if reached(r) {
			return rgb, true
		}
	}
	return best, false
}

// descend takes damped Newton steps within the cube from s until they no
// longer help.
func descend(m Model, target, white colorimetry.XYZ, s colorimetry.RGB) (colorimetry.RGB, [3]float64) {
	r := residual(m.XYZ(s), target, white)
	damping := 1e-6
	for range 100 {
		if reached(r) && dot(r, r) < gamutTolerance*gamutTolerance/100 {
			break
		}
		j := colorimetry.Diagonal(1/white.X, 1/white.Y, 1/white.Z).Mul(m.Jacobian(s))
		next, ok := cubeStep(j, r, s, damping)
		if !ok {
			damping *= 10
			if damping > 1e8 {
				break
			}
			continue
		}
		q := residual(m.XYZ(next), target, white)
		if dot(q, q) < dot(r, r) {
			s, r = next, q
			damping = math.Max(damping/10, 1e-15)
			continue
		}
		if damping *= 10; damping > 1e8 {
			break
		}
	}
	return s, r
}

// cubeStep returns s plus the damped least-squares step; components that the
// step would carry out of the cube are put on its face and the rest solved
// again.
func cubeStep(j colorimetry.Matrix, r [3]float64, s colorimetry.RGB, damping float64) (colorimetry.RGB, bool) {
	at := [3]float64{s.R, s.G, s.B}
	var fixed [3]bool
	var step [3]float64
	for range 4 {
		// Normal equations of the open components, damped.
		var a colorimetry.Matrix
		var b [3]float64
		for x := range 3 {
			if fixed[x] {
				a[x][x], b[x] = 1, step[x]
				continue
			}
			for i := range 3 {
				b[x] -= j[i][x] * r[i]
			}
			for y := range 3 {
				var v float64
				for i := range 3 {
					v += j[i][x] * j[i][y]
				}
				if fixed[y] {
					b[x] -= v * step[y]
					continue
				}
				a[x][y] = v
			}
			a[x][x] = a[x][x]*(1+damping) + 1e-300
		}
		inv, err := a.Inverse()
		if err != nil {
			return s, false
		}
		v := inv.Apply(colorimetry.XYZ{X: b[0], Y: b[1], Z: b[2]})
		step = [3]float64{v.X, v.Y, v.Z}
		out := false
		for x := range 3 {
			if fixed[x] {
				continue
			}
			switch {
			case at[x]+step[x] < 0:
				fixed[x], step[x], out = true, -at[x], true
			case at[x]+step[x] > 1:
				fixed[x], step[x], out = true, 1-at[x], true
			}
		}
		if !out {
			break
		}
	}
	return colorimetry.RGB{R: at[0] + step[0], G: at[1] + step[1], B: at[2] + step[2]}.Clamp(), true
}
