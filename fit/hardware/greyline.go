package hardware

import (
	"example.org/primaries/fit/internal/level"
	"math"
	"sort"
)

// greyline is the way of the wanted greys through a display: for each channel the
// places that a grey of some level needs. The curves after the table follow it,
// so that greys go through the curves alone and the table is the identity along
// its diagonal. Beyond white, a channel goes on as its light does; below black,
// along a line.
type greyline struct {
	places [3][]float64 // by level, equally spaced from 0 to 1; they never fall
	full   [3]float64   // light of the channels at white
	raised int          // places that fell and were raised
}

// lineSteps are the steps of level between its places.
const lineSteps = 1024

// fall is by how much places must fall to be worth telling: a tenth of a code of
// 12 bits.
const fall = 2.5e-5

// newGreyline follows the greys of a target; stand returns the places that stand
// for those of a grey of some light.
func newGreyline(d *display, t *target, stand func(light float64, places [3]float64) [3]float64) *greyline {
	g := &greyline{}
	for c := range g.places {
		g.places[c] = make([]float64, lineSteps+1)
	}
	s := search{display: d}
	for i := range lineSteps + 1 {
		l := level.Tables.Light(float64(i) / lineSteps)
		if i == lineSteps {
			l = 1
		}
		v, _ := s.find(d.levels(t.colour([3]float64{l, l, l})))
		v = stand(l, v)
		for c := range v {
			if i > 0 && v[c] < g.places[c][i-1] {
				if v[c] < g.places[c][i-1]-fall {
					g.raised++
				}
				v[c] = g.places[c][i-1]
			}
			g.places[c][i] = v[c]
		}
	}
	for c := range g.full {
		g.full[c] = level.Tables.Light(g.places[c][lineSteps])
	}
	return g
}

// place returns the place of a channel for a level.
func (g *greyline) place(c int, at float64) float64 {
	switch {
	case at <= 0:
		return g.places[c][0] + at
	case at >= 1:
		return level.Tables.Of(g.full[c] * level.Tables.Light(at))
	}
	p := at * lineSteps
	i := min(int(p), lineSteps-1)
	t := g.places[c]
	return t[i] + (p-float64(i))*(t[i+1]-t[i])
}

// level is the inverse of place, the highest level where places do not rise.
func (g *greyline) level(c int, place float64) float64 {
	t := g.places[c]
	switch {
	case place < t[0]:
		return place - t[0]
	case place >= t[lineSteps]:
		return level.Tables.Of(level.Tables.Light(place) / g.full[c])
	}
	i := sort.Search(len(t), func(i int) bool { return t[i] > place }) // t[i−1] ≤ place < t[i]
	return (float64(i-1) + (place-t[i-1])/(t[i]-t[i-1])) / lineSteps
}

// top returns the highest level of any of the places, at least 1.
func (g *greyline) top(places [][3]float64) float64 {
	top := 1.0
	for _, v := range places {
		for c := range v {
			top = math.Max(top, g.level(c, v[c]))
		}
	}
	return top
}
