package icc

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

const (
	// maxSolved is the most channels that a search inverts; with more, many
	// device values make the same colour.
	maxSolved = 3
	// startSteps is how finely the device is looked through, per channel, for
	// places to begin.
	startSteps = 16
	// starts is how many of them are tried until one leads to the colour.
	starts = 4
	// found is the ΔE*ab at which the search ends.
	found = 1e-7
	// polishRounds bounds the looks around.
	polishRounds = 60
	// probe is the step of the numerical derivatives.
	probe = 1e-5
	// maxWork is the most work per colour, in multiplications, for which the
	// thousands of colours of a search are computed. Tables of three channels
	// between curves and matrices take about 100.
	maxWork = 1 << 14
)

// solver finds the device values whose colour, by forward, is nearest to one
// of the connection space.
type solver struct {
	forward []stage // from device to XYZ
	n       int
	device  [][maxSolved]float64
	lab     [][3]float64 // of device
}

// search returns the stages that invert the profile's tables from device to
// connection space.
func (p *Profile) search(o Options) ([]stage, error) {
	n := Channels(p.Header.Space)
	if n > maxSolved {
		return nil, fmt.Errorf("icc: the profile has no table from the connection space to %v, and with more than three channels no colour has but one set of device values: %w", p.Header.Space, ErrUnsupported)
	}
	if isPCS(p.Header.Space) {
		return nil, fmt.Errorf("icc: the profile has no table from the connection space to %v: %w", p.Header.Space, ErrUnsupported)
	}
	if o.Intent == Absolute {
		o.Intent = Relative // the media white was seen to before
	}
	forward, err := p.toPCS(o)
	if err != nil {
		return nil, err
	}
	if work(forward) > maxWork {
		return nil, fmt.Errorf("icc: the profile has no table from the connection space to %v, and the other way is too long to be searched: %w", p.Header.Space, ErrUnsupported)
	}
	s := &solver{forward: forward, n: n}
	count := 1
	for range n {
		count *= startSteps + 1
	}
	for i := range count {
		var d [maxSolved]float64
		for k, rest := 0, i; k < n; k++ {
			d[k] = float64(rest%(startSteps+1)) / startSteps
			rest /= startSteps + 1
		}
		s.device, s.lab = append(s.device, d), append(s.lab, s.at(d))
	}
	return []stage{{op: opSolve, in: 3, out: n, solver: s}}, nil
}

// work returns about how many multiplications a colour takes.
func work(stages []stage) (n int) {
	for i := range stages {
		switch s := &stages[i]; s.op {
		case opCurves:
			n += 16 * s.in
		case opTable:
			corners := 8
			if s.table.linear {
				corners = 1 << s.in
			}
			n += corners * s.out
		default:
			n += s.in * s.out
		}
	}
	return n
}

// at returns L*a*b* of device values.
func (s *solver) at(d [maxSolved]float64) [3]float64 {
	var v vec
	copy(v[:], d[:])
	run(s.forward, &v)
	c := labOf(&v)
	return [3]float64{c.L, c.A, c.B}
}

// solve replaces XYZ in v by device values.
func (s *solver) solve(v *vec) {
	c := labOf(v)
	want := [3]float64{within(c.L, 1e4), within(c.A, 1e4), within(c.B, 1e4)}
	var best [maxSolved]float64
	least := math.Inf(1)
	for _, i := range s.nearest(want) {
		d, e := s.descend(s.device[i], want)
		if e < least {
			best, least = d, e
		}
		if least < found*found {
			break
		}
	}
	if least >= found*found {
		best = s.polish(best, least, want)
	}
	*v = vec{}
	copy(v[:], best[:s.n])
}

// nearest returns the places to begin whose colours are nearest, in order.
func (s *solver) nearest(want [3]float64) [starts]int {
	var at [starts]int
	var square [starts]float64
	for i := range square {
		square[i] = math.Inf(1)
	}
	for i := range s.lab {
		q := apart(s.lab[i], want)
		k := starts - 1
		if q >= square[k] {
			continue
		}
		for ; k > 0 && square[k-1] > q; k-- {
			at[k], square[k] = at[k-1], square[k-1]
		}
		at[k], square[k] = i, q
	}
	return at
}

func apart(a, b [3]float64) float64 {
	x, y, z := a[0]-b[0], a[1]-b[1], a[2]-b[2]
	return x*x + y*y + z*z
}

// descend goes from device values d downhill by damped Gauss-Newton steps
// within the device's range, and returns where it ends and the square of what
// is left.
func (s *solver) descend(d [maxSolved]float64, want [3]float64) ([maxSolved]float64, float64) {
	now := s.at(d)
	left := apart(now, want)
	damping := 1e-6
	for range 60 {
		if left < found*found {
			break
		}
		j := s.slopes(d, now)
		next, moved := s.step(d, now, want, j, damping)
		lab := s.at(next)
		if e := apart(lab, want); e < left {
			d, now, left = next, lab, e
			damping = math.Max(damping/10, 1e-12)
		} else if damping *= 10; damping > 1e6 {
			break
		}
		if moved < 1e-13 {
			break
		}
	}
	return d, left
}

// polish looks around d for device values that are nearer, in ever smaller
// steps: slopes lead nowhere at the edges between a table's cells.
func (s *solver) polish(d [maxSolved]float64, left float64, want [3]float64) [maxSolved]float64 {
	directions := 1
	for range s.n {
		directions *= 3
	}
	for h, rounds := 0.5/startSteps, 0; h > 1e-8 && rounds < polishRounds; rounds++ {
		moved := false
		for i := range directions {
			e := d
			for k, rest := 0, i; k < s.n; k++ {
				e[k] = clamp(e[k] + h*float64(rest%3-1))
				rest /= 3
			}
			if q := apart(s.at(e), want); q < left {
				d, left, moved = e, q, true
			}
		}
		if !moved {
			h /= 2
		}
	}
	return d
}

// slopes returns the change of colour with each channel.
func (s *solver) slopes(d [maxSolved]float64, now [3]float64) (j [maxSolved][3]float64) {
	for k := range s.n {
		e, h := d, probe
		if e[k]+h > 1 {
			h = -h
		}
		e[k] += h
		c := s.at(e)
		for i := range c {
			j[k][i] = (c[i] - now[i]) / h
		}
	}
	return j
}

// step returns the next device values and how far they are. A channel at the
// end of its range that wants to go beyond stays.
func (s *solver) step(d [maxSolved]float64, now, want [3]float64, j [maxSolved][3]float64, damping float64) (next [maxSolved]float64, moved float64) {
	var m colorimetry.Matrix
	var g [maxSolved]float64
	var free [maxSolved]bool
	for a := range s.n {
		for i := range 3 {
			g[a] += j[a][i] * (want[i] - now[i])
		}
		free[a] = !(d[a] == 0 && g[a] < 0 || d[a] == 1 && g[a] > 0)
	}
	for a := range maxSolved {
		if !free[a] {
			m[a][a], g[a] = 1, 0
			continue
		}
		for b := range maxSolved {
			if free[b] {
				m[a][b] = j[a][0]*j[b][0] + j[a][1]*j[b][1] + j[a][2]*j[b][2]
			}
		}
		m[a][a] += damping * (1 + m[a][a])
	}
	inverse, err := m.Inverse()
	if err != nil {
		return d, 0
	}
	x := inverse.Apply(colorimetry.XYZ{X: g[0], Y: g[1], Z: g[2]})
	next = d
	for k, v := range [3]float64{x.X, x.Y, x.Z} {
		next[k] = clamp(d[k] + v)
		moved = math.Max(moved, math.Abs(next[k]-d[k]))
	}
	return next, moved
}
