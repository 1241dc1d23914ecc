package controls

import (
	"context"
	"math"
)

// weakest returns, of the amounts whose logarithms are v, the channel that
// sets the luminance at the aim's white, and the logarithm of that luminance.
func (g *guide) weakest(v [3]float64) (int, float64) {
	which, least := 0, math.Inf(1)
	for c := range 3 {
		// A channel of no use to the white sets no limit.
		if g.need[c] > 0 {
			if l := v[c] - math.Log(g.need[c]); l < least {
				which, least = c, l
			}
		}
	}
	return which, least
}

// left returns the luminance in cd/m² that is left at the aim's white at a
// setting, and the relative standard uncertainty of it.
func (g *guide) left(s setting) (y, sd float64) {
	c, l := g.weakest(g.response.at(s))
	w := [3]float64{}
	w[c] = 1
	return math.Exp(l), math.Sqrt(g.response.combined([]setting{s}, [][3]float64{w}))
}

// nearBrightness brings brightness near the luminance: to where no other step
// is expected nearer, or within nearEnough. It leaves the proof for later,
// since the gains come between.
func (g *guide) nearBrightness(ctx context.Context) error {
	if !g.wantsBrightness() {
		return nil
	}
	for {
		y, _ := g.left(g.now)
		best := g.bestBrightness()
		if math.Abs(math.Log(y/g.want.Luminance)) <= nearEnough || best == g.now[brightness] {
			return nil
		}
		if err := g.move(ctx, brightness, g.firstHalf(brightness, best), g.options.Averages); err != nil {
			return err
		}
	}
}

// nearEnough is the share of luminance that brightness is brought within
// before the gains are set.
const nearEnough = 0.02

// setBrightness brings brightness to the step nearest to the luminance.
func (g *guide) setBrightness(ctx context.Context) error {
	if !g.wantsBrightness() {
		return nil
	}
	for {
		done, err := g.brightnessStep(ctx)
		if done || err != nil {
			return err
		}
	}
}

func (g *guide) wantsBrightness() bool {
	return g.names[brightness] != "" && g.want.Luminance > 0
}

// brightnessStep takes one reading towards the luminance, or reports that
// nothing is left to do.
func (g *guide) brightnessStep(ctx context.Context) (done bool, err error) {
	y, sd := g.left(g.now)
	miss := math.Log(y / g.want.Luminance)
	if math.Abs(miss) <= g.options.LuminanceEnough {
		if 2*sd <= g.options.LuminanceEnough {
			return true, nil
		}
		more, err := g.again(ctx, g.now)
		return !more, err
	}
	best := g.bestBrightness()
	if best == g.now[brightness] {
		return g.proveBrightness(ctx, miss)
	}
	there := g.now
	there[brightness] = best
	if g.taken[there] > 0 {
		// Both were read: go back only where that is sure.
		if lead, sd := g.lead(there, g.now); lead <= 2*sd {
			return g.tellApart(ctx, there, lead, sd)
		}
	}
	return false, g.move(ctx, brightness, best, g.options.Averages)
}

// tellApart reads the present setting or s, which is expected to lead, again,
// whichever was read less. It reports true where the lead is sure not to be
// worth it, or Options.MostAverages are taken of both. Then it goes over to s,
// once, where that is the likelier.
func (g *guide) tellApart(ctx context.Context, s setting, lead, sd float64) (done bool, err error) {
	if math.Abs(lead)+2*sd <= notWorth {
		return true, nil
	}
	which, other := g.now, s
	if g.taken[s] < g.taken[g.now] {
		which, other = s, g.now
	}
	for _, one := range [2]setting{which, other} {
		if more, err := g.again(ctx, one); err != nil || more {
			return false, err
		}
	}
	if lead > sd && !g.over {
		g.over = true
		return false, g.move(ctx, brightness, s[brightness], g.options.Averages)
	}
	g.note("Brightness %d and %d cannot be told apart by this instrument: either is as near to the aim.", g.zero[brightness]+g.now[brightness], g.zero[brightness]+s[brightness])
	return true, nil
}

// notWorth is the share of luminance, about half of what a reading scatters,
// below which it does not matter which of two steps is nearer.
const notWorth = 0.003

// lead returns by how much setting a is expected to be nearer to the luminance
// than b, as a share of it, and the standard uncertainty of that: of two steps
// on either side of the aim the misses' sum decides.
func (g *guide) lead(a, b setting) (lead, sd float64) {
	ya, _ := g.left(a)
	yb, _ := g.left(b)
	lead = math.Abs(math.Log(yb/g.want.Luminance)) - math.Abs(math.Log(ya/g.want.Luminance))
	c, _ := g.weakest(g.response.at(a))
	var w [3]float64
	w[c] = 1
	return lead, math.Sqrt(g.response.combined([]setting{a, b}, [][3]float64{w, w}))
}

// bestBrightness returns the step that is expected to be nearest.
func (g *guide) bestBrightness() int {
	best, least := g.now[brightness], math.Inf(1)
	for b := g.low[brightness]; b <= g.top[brightness]; b++ {
		s := g.now
		s[brightness] = b
		y, _ := g.left(s)
		if miss := math.Abs(math.Log(y / g.want.Luminance)); miss < least {
			best, least = b, miss
		}
	}
	return best
}

// proveBrightness looks at the neighbour on the other side of the aim, of
// which the present step is expected to be the nearer, and reads one of the
// two where that is not sure, or where that neighbour was never read. It
// reports true when nothing is left to do.
func (g *guide) proveBrightness(ctx context.Context, miss float64) (done bool, err error) {
	next := g.now
	next[brightness]++
	end := "highest"
	if miss > 0 {
		next[brightness] -= 2
		end = "lowest"
	}
	if next[brightness] > g.top[brightness] || next[brightness] < g.low[brightness] {
		g.note("Brightness is at its %s step and the aim lies beyond it.", end)
		return true, nil
	}
	lead, sd := g.lead(g.now, next)
	switch {
	case !g.readAt(brightness, next[brightness]):
		return false, g.move(ctx, brightness, next[brightness], g.options.Averages)
	case lead > 2*sd:
		return true, nil
	}
	return g.tellApart(ctx, next, -lead, sd)
}
