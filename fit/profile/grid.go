package profile

import (
	"math"

	"example.org/primaries/colorimetry"
)

// gridSteps are the steps along each edge of the grid on which a model is kept:
// those of the finest table, and multiples of those of coarser ones.
const gridSteps = 32

// grid is a model on a fine grid: the levels of light by the channels' places,
// cubic between nodes. What a colour of the model costs is paid once a node.
type grid struct {
	frame *frame
	nodes [][3]float64
}

func newGrid(f *frame) *grid {
	const n = gridSteps + 1
	g := &grid{f, make([][3]float64, n*n*n)}
	var signal [3][n]float64
	for c := range 3 {
		for i := range n {
			signal[c][i] = f.signal(c, float64(i)/gridSteps)
		}
	}
	for i := range g.nodes {
		s := [3]float64{signal[0][i/(n*n)], signal[1][i/n%n], signal[2][i%n]}
		g.nodes[i] = levels(f.light(f.show(s)))
	}
	return g
}

// node returns the levels at a node.
func (g *grid) node(r, gr, b int) [3]float64 {
	const n = gridSteps + 1
	return g.nodes[(r*n+gr)*n+b]
}

// signals returns the signals at places, which are limited to 0 and 1.
func (g *grid) signals(v [3]float64) [3]float64 {
	return [3]float64{g.frame.signal(0, clamp(v[0])), g.frame.signal(1, clamp(v[1])), g.frame.signal(2, clamp(v[2]))}
}

// clamp limits v to [0, 1].
func clamp(v float64) float64 { return math.Min(math.Max(v, 0), 1) }

// cubic holds the weights of four neighbouring nodes, the first of which is at,
// and their derivatives by the place.
type cubic struct {
	at       int
	weight   [4]float64
	gradient [4]float64
}

// newCubic returns the weights of the polynomial through four nodes.
func newCubic(v float64) cubic {
	p := v * gridSteps
	i := min(max(int(p)-1, 0), gridSteps-3)
	x := p - float64(i)
	a, b, c, d := x, x-1, x-2, x-3
	return cubic{i,
		[4]float64{-b * c * d / 6, a * c * d / 2, -a * b * d / 2, a * b * c / 6},
		[4]float64{
			-gridSteps * (c*d + b*d + b*c) / 6, gridSteps * (c*d + a*d + a*c) / 2,
			-gridSteps * (b*d + a*d + a*b) / 2, gridSteps * (b*c + a*c + a*b) / 6,
		}}
}

// at returns the levels at places and their derivatives by them. Beyond 0 and 1
// they go on along lines.
func (g *grid) at(v [3]float64) (y [3]float64, j colorimetry.Matrix) {
	const n = gridSteps + 1
	var w [3]cubic
	for c := range 3 {
		w[c] = newCubic(clamp(v[c]))
	}
	for a := range 4 {
		for b := range 4 {
			row := g.nodes[((w[0].at+a)*n+w[1].at+b)*n+w[2].at:]
			var sum, slope [3]float64
			for c := range 4 {
				for k := range 3 {
					sum[k] += w[2].weight[c] * row[c][k]
					slope[k] += w[2].gradient[c] * row[c][k]
				}
			}
			ab, da, db := w[0].weight[a]*w[1].weight[b], w[0].gradient[a]*w[1].weight[b], w[0].weight[a]*w[1].gradient[b]
			for k := range 3 {
				y[k] += ab * sum[k]
				j[k][0] += da * sum[k]
				j[k][1] += db * sum[k]
				j[k][2] += ab * slope[k]
			}
		}
	}
	for c := range 3 {
		if d := v[c] - clamp(v[c]); d != 0 {
			for k := range 3 {
				y[k] += d * j[k][c]
			}
		}
	}
	return y, j
}

const (
	// found is the largest difference in levels at which places count as
	// found.
	found = 1e-9
	// lowReach is how far below 0 places are looked for, a twelfth of full
	// light, and highReach how far beyond 1.
	lowReach, highReach = 2.1, 0.6
)

// find returns the places at which the levels are y, by Newton's steps from
// start, and whether there are such within reach of the cube. What channels do
// to each other is mild beside what they do alone, so that a level's own place
// is near enough to start from.
func (g *grid) find(y, start [3]float64) (v [3]float64, ok bool) {
	v = start
	for c := range 3 {
		v[c] = math.Min(math.Max(v[c], -lowReach), 1+highReach)
	}
	held := 0
	for range 30 {
		got, j := g.at(v)
		r := colorimetry.XYZ{X: y[0] - got[0], Y: y[1] - got[1], Z: y[2] - got[2]}
		if math.Max(math.Abs(r.X), math.Max(math.Abs(r.Y), math.Abs(r.Z))) < found {
			return v, true
		}
		inv, err := j.Inverse()
		if err != nil {
			return v, false
		}
		step := inv.Apply(r)
		beyond := false
		for c, d := range [3]float64{step.X, step.Y, step.Z} {
			v[c] += math.Min(math.Max(d, -0.3), 0.3)
			if !(v[c] >= -lowReach && v[c] <= 1+highReach) {
				v[c], beyond = math.Min(math.Max(v[c], -lowReach), 1+highReach), true
			}
		}
		if beyond {
			if held++; held > 3 {
				return v, false
			}
		}
	}
	return v, false
}

// refine improves places that find found, with the model itself: what the grid
// loses against it there is taken away, as often as it pays.
func (g *grid) refine(y, v [3]float64) [3]float64 {
	for range 3 {
		at := [3]float64{clamp(v[0]), clamp(v[1]), clamp(v[2])}
		kept, _ := g.at(at)
		shown := levels(g.frame.light(g.frame.show(g.signals(at))))
		var goal [3]float64
		var off float64
		for k := range 3 {
			goal[k] = y[k] - (shown[k] - kept[k])
		}
		next, ok := g.find(goal, v)
		if !ok {
			return v
		}
		for k := range 3 {
			off = math.Max(off, math.Abs(next[k]-v[k]))
		}
		v = next
		// The next step would be less by what grid and model differ in slope.
		if off < 1e-4 {
			break
		}
	}
	return v
}

// closest returns the places in the cube at which the levels are nearest to y,
// by damped steps from start that stay in the cube.
func (g *grid) closest(y, start [3]float64) [3]float64 {
	v := [3]float64{clamp(start[0]), clamp(start[1]), clamp(start[2])}
	got, j := g.at(v)
	r := minus(y, got)
	damping := 1e-6
	for range 20 {
		next := inCube(j, r, v, damping)
		got, slope := g.at(next)
		q := minus(y, got)
		gain := dot(r, r) - dot(q, q)
		if gain <= 0 {
			if damping *= 30; damping > 1e4 {
				break
			}
			continue
		}
		v, r, j = next, q, slope
		if damping = damping / 10; gain < 1e-14 {
			break
		}
	}
	return v
}

func minus(a, b [3]float64) [3]float64 {
	return [3]float64{a[0] - b[0], a[1] - b[1], a[2] - b[2]}
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// inCube returns v after a damped step towards a residual of 0. A channel that
// would leave the cube stays at its face and the others' step is sought again.
func inCube(j colorimetry.Matrix, r, v [3]float64, damping float64) [3]float64 {
	var fixed [3]bool
	next := v
	for range 3 {
		var a colorimetry.Matrix
		var b [3]float64
		for x := range 3 {
			for y := range 3 {
				a[x][y] = j[0][x]*j[0][y] + j[1][x]*j[1][y] + j[2][x]*j[2][y]
			}
			b[x] = j[0][x]*r[0] + j[1][x]*r[1] + j[2][x]*r[2]
			a[x][x] += damping * (a[x][x] + 1e-9)
		}
		for x := range 3 {
			if !fixed[x] {
				continue
			}
			for y := range 3 {
				b[y] -= a[y][x] * (next[x] - v[x])
				a[x][y], a[y][x] = 0, 0
			}
		}
		for x := range 3 {
			if fixed[x] {
				a[x][x], b[x] = 1, next[x]-v[x]
			}
		}
		inv, err := a.Inverse()
		if err != nil {
			return next
		}
		step := inv.Apply(colorimetry.XYZ{X: b[0], Y: b[1], Z: b[2]})
		inside := true
		for x, d := range [3]float64{step.X, step.Y, step.Z} {
			if fixed[x] {
				continue
			}
			next[x] = v[x] + d
			if c := clamp(next[x]); c != next[x] {
				next[x], fixed[x], inside = c, true, false
			}
		}
		if inside {
			break
		}
	}
	return next
}
