package controls

import (
	"context"
	"math"

	"example.org/primaries/colorimetry"
)

// color returns the white of amounts whose logarithms are v, cd/m².
func (g *guide) color(v [3]float64) colorimetry.XYZ {
	return g.primaries.FromLinear(colorimetry.RGB{R: math.Exp(v[0]), G: math.Exp(v[1]), B: math.Exp(v[2])})
}

// off returns the expected distance of the white at a setting from the aim in
// u'v', and its standard uncertainty.
func (g *guide) off(s setting) (uv, sd float64) {
	v := g.response.at(s)
	want := g.want.White.At.UV()
	p := g.color(v).UV()
	uv = p.Distance(want)
	// The root of the two variances' sum bounds the uncertainty of a distance
	// in any direction.
	const h = 1e-4
	var du, dv [3]float64
	for c := range 3 {
		q := v
		q[c] += h
		m := g.color(q).UV()
		du[c], dv[c] = (m.U-p.U)/h, (m.V-p.V)/h
	}
	one := []setting{s}
	return uv, math.Sqrt(g.response.combined(one, [][3]float64{du}) + g.response.combined(one, [][3]float64{dv}))
}

// place returns the expected white at a setting in the u'v' diagram, and its
// standard uncertainty.
func (g *guide) place(s setting) (colorimetry.UV, float64) {
	_, sd := g.off(s)
	return g.color(g.response.at(s)).UV(), sd
}

// nothingLeft is the gain in u'v' that is not worth a move: less than what a
// curve's rounding on a 10-bit path leaves of a white.
const nothingLeft = 0.0002

// setGains brings the gains to the steps nearest to the white.
func (g *guide) setGains(ctx context.Context) error {
	if g.want.White.IsNative() || g.names[firstGain]+g.names[firstGain+1]+g.names[firstGain+2] == "" {
		return nil
	}
	// The channel that is weakest now stays the measure of the others: were it
	// chosen anew after each reading, noise would make first one and then
	// another the weakest, and all three would go down together.
	weak, _ := g.weakest(g.response.at(g.now))
	for {
		uv, sd := g.off(g.now)
		best := g.bestGains(weak)
		then, _ := g.off(best)
		worth := uv - then
		switch {
		case uv <= g.options.WhiteEnough && 2*sd <= g.options.WhiteEnough, worth <= nothingLeft && 2*sd <= g.options.WhiteEnough:
			return nil
		case best == g.now || worth <= math.Max(sd/2, nothingLeft):
			more, err := g.again(ctx, g.now)
			if err != nil {
				return err
			}
			if more {
				continue
			}
			if worth <= math.Max(sd/2, nothingLeft) {
				g.note("The gains beside those in force cannot be told from them by this instrument: nothing is left to gain.")
				return nil
			}
		}
		i, to := g.nextMove(best)
		if err := g.move(ctx, i, to, g.options.Averages); err != nil {
			return err
		}
	}
}

// bestGains returns the setting that is expected to be nearest to the white:
// the others come down, or up again, to the weak channel, which moves only
// where another one is at the end of its range: up where that is still too
// strong, down where that is still too weak.
func (g *guide) bestGains(weak int) setting {
	best := g.now
	level := g.response.at(best)[weak] - math.Log(g.need[weak])
	for c := range 3 {
		if c != weak {
			best[firstGain+c] = g.nearestGain(best, c, level)
		}
	}
	if rest := g.rest(best, weak, level); math.Abs(rest) > nothingLeft {
		best[firstGain+weak] = g.nearestGain(best, weak, level+rest)
	}
	// Steps are coarse: one step of a channel beside may do better together.
	for improved := true; improved; {
		improved = false
		uv, _ := g.off(best)
		for i := firstGain; i < len(best); i++ {
			for _, d := range [2]int{-1, 1} {
				s := best
				s[i] += d
				if g.names[i] == "" || s[i] < g.low[i] || s[i] > g.top[i] || i == firstGain+weak {
					continue
				}
				if w, _ := g.off(s); w < uv-1e-9 {
					best, uv, improved = s, w, true
				}
			}
		}
	}
	return best
}

// rest returns by how much, in the logarithm, a channel other than weak stays
// off the level at the end of its range: the largest such figure, of its sign.
func (g *guide) rest(s setting, weak int, level float64) float64 {
	v := g.response.at(s)
	var most float64
	for c := range 3 {
		i := firstGain + c
		if c == weak || g.need[c] <= 0 || g.names[i] == "" {
			continue
		}
		off := v[c] - math.Log(g.need[c]) - level
		stuck := off > 0 && s[i] == g.low[i] || off < 0 && s[i] == g.top[i]
		if stuck && math.Abs(off) > math.Abs(most) {
			most = off
		}
	}
	return most
}

// nearestGain returns the step of channel c's gain at which its logarithm is
// expected nearest to level above what the white needs.
func (g *guide) nearestGain(s setting, c int, level float64) int {
	i := firstGain + c
	if g.names[i] == "" || g.need[c] <= 0 {
		return s[i]
	}
	best, least := s[i], math.Inf(1)
	for k := g.low[i]; k <= g.top[i]; k++ {
		s[i] = k
		miss := math.Abs(g.response.at(s)[c] - math.Log(g.need[c]) - level)
		if miss < least {
			best, least = k, miss
		}
	}
	return best
}

// nextMove returns the one move towards best that brings most.
func (g *guide) nextMove(best setting) (control, to int) {
	from, want := g.response.at(g.now), g.response.at(best)
	most := -1.0
	for c := range 3 {
		i := firstGain + c
		if d := math.Abs(want[c] - from[c]); best[i] != g.now[i] && d > most {
			control, to, most = i, best[i], d
		}
	}
	return control, g.firstHalf(control, to)
}

// firstHalf returns to, or, for a control that was not moved yet, half the way
// there: nobody knows yet how large its steps are.
func (g *guide) firstHalf(control, to int) int {
	if way := to - g.now[control]; !g.moved(control) && (way > 2 || way < -2) {
		return g.now[control] + way/2
	}
	return to
}

// moved reports whether readings at more than one step of control i are in.
func (g *guide) moved(i int) bool {
	for s := range g.taken {
		if s[i] != g.now[i] {
			return true
		}
	}
	return false
}
