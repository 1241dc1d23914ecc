package curves

import (
	"math"
	"slices"

	"example.org/primaries/colorimetry"
)

// triple is a code of the path for each channel.
type triple [3]int

// choice is a triple that a grey may have, and how far off it is.
type choice struct {
	codes triple
	cost  float64
}

// usualLightWeight says how a miss of luminance counts against one of colour
// where codes are chosen: 1 % of the one as 0.0007 in u'v' of the other. To the
// eye it counts as 0.0003 at white and 0.0005 at a lightness of 20 (CIE 1976
// L*u*v*: 13·L* times the distance against the change of L*).
const usualLightWeight = 0.07

// codes returns the codes of the path that n greys at even distances become.
//
// The channels are rounded together: of the codes next to what each channel
// should have, those are taken that give the colour nearest to the wish by the
// estimate, of all sequences in which no channel ever falls the one with the
// least sum of squares (dynamic programming: Bellman, Dynamic Programming,
// 1957, from memory).
func (e *estimate) codes(w wish, n int) []triple {
	steps := make([][]choice, n)
	from := make([][]int, n) // the best way into each choice
	var least triple
	for i := range n {
		steps[i] = e.choices(w, float64(i)/float64(n-1), least)
		// The nearest codes alone are a sequence that never falls.
		least = steps[i][0].codes
		if i == 0 {
			continue
		}
		from[i] = make([]int, len(steps[i]))
		for j := range steps[i] {
			best := math.Inf(1)
			for k, p := range steps[i-1] {
				if p.cost < best && !p.codes.above(steps[i][j].codes) {
					best, from[i][j] = p.cost, k
				}
			}
			// A choice that no way leads to comes to +Inf.
			steps[i][j].cost += best
		}
	}
	at := 0
	for j, c := range steps[n-1] {
		if c.cost < steps[n-1][at].cost {
			at = j
		}
	}
	out := make([]triple, n)
	for i := n - 1; i >= 0; i-- {
		out[i] = steps[i][at].codes
		if i > 0 {
			at = from[i][at]
		}
	}
	return out
}

// above reports whether a channel of t lies above that of u.
func (t triple) above(u triple) bool { return t[0] > u[0] || t[1] > u[1] || t[2] > u[2] }

// choices lists the codes next to those that a grey signal should have. The
// first are the nearest one of each channel, but none below least, and are
// taken where all are equal.
func (e *estimate) choices(w wish, signal float64, least triple) []choice {
	a := w.at(signal)
	var codes [3][]int
	var light, risk [3][]float64
	want := w.space.xyz(a)
	for c := range 3 {
		near := max(int(math.Round(e.device(c, a[c])*e.top)), least[c])
		for _, k := range [3]int{near, near - 1, near + 1} {
			if k < 0 || k > int(e.top) || k != near && a[c] <= 0 {
				continue
			}
			codes[c] = append(codes[c], k)
			light[c] = append(light[c], e.code(c, k))
			risk[c] = append(risk[c], e.risk(c, k, a, want))
		}
	}
	visible := math.Cbrt(math.Max(want.Y/w.white.Y, 0))
	out := make([]choice, 0, 27)
	for i, r := range codes[0] {
		for j, g := range codes[1] {
			for k, b := range codes[2] {
				miss := e.off(e.space.xyz([3]float64{light[0][i], light[1][j], light[2][k]}), want)
				out = append(out, choice{triple{r, g, b}, visible * visible * (miss*miss + risk[0][i] + risk[1][j] + risk[2][k])})
			}
		}
	}
	return out
}

// risk returns the mean square by which a code that was not read by itself may
// be further off where every code's light is uneven; 0 where that can still be
// found out.
func (e *estimate) risk(c, code int, a [3]float64, want colorimetry.XYZ) float64 {
	device := float64(code) / e.top
	if !e.last || e.hyper.grain == 0 || e.codeRead(c, device) {
		return 0
	}
	a[c] += e.hyper.grain * e.place(c, device).step
	miss := e.off(e.space.xyz(a), want)
	return miss * miss
}

// codeRead reports whether a reading of a code of channel c is in.
func (e *estimate) codeRead(c int, device float64) bool {
	return slices.ContainsFunc(e.seen, func(o observation) bool { return math.Abs(o.at[c].device-device)*e.top < 0.5 })
}

// off returns how far a colour is off the one wanted: the distance in u'v' and
// the share of luminance, weighted and added as squares. It is 0 where nothing
// is wanted.
func (e *estimate) off(c, want colorimetry.XYZ) float64 {
	if !(want.Y > 0) {
		return 0
	}
	return math.Hypot(c.UV().Distance(want.UV()), e.lightWeight*(c.Y/want.Y-1))
}

// code returns the estimate's amount of channel c at a code of the path, with
// the grain of that code where it was read itself.
func (e *estimate) code(c, code int) float64 {
	device := float64(code) / e.top
	a := e.amount(c, device)
	if e.hyper.grain == 0 {
		return a
	}
	step := e.place(c, device).step
	for i, o := range e.seen[:len(e.weight)/3] {
		if math.Abs(o.at[c].device-device)*e.top < 0.5 {
			a += e.hyper.grain * e.hyper.grain * step * o.at[c].step * e.weight[3*i+c]
		}
	}
	return math.Max(a, 0)
}
