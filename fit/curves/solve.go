package curves

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
)

// reachable returns the highest luminance in cd/m² at a white chromaticity:
// the channel that runs out first sets it.
func (e *estimate) reachable(at colorimetry.Chromaticity) float64 {
	per, black := e.space.inverse.ToLinear(at.XYZ(1)), e.space.inverse.ToLinear(e.space.black)
	y := math.Inf(1)
	for c, v := range [3][2]float64{{per.R, black.R}, {per.G, black.G}, {per.B, black.B}} {
		if v[0] > 0 {
			y = math.Min(y, (e.light[c][lightGrid]+v[1])/v[0])
		}
	}
	return y
}

// resolve fills in what the aim leaves to the display and lowers a luminance
// that the display does not have at the aim's white.
func (e *estimate) resolve(want aim.Aim) (aim.Aim, float64) {
	a := want.Resolved(e.xyz(colorimetry.Gray(1)))
	most := e.reachable(a.White.At)
	if want.Luminance == 0 || a.Luminance > most {
		a.Luminance = most
	}
	return a, most
}

// wish returns what is wanted of the greys under an aim that resolve returned.
func (e *estimate) wish(a aim.Aim) wish {
	v := e.space.covariance(e.model.Covariance(colorimetry.RGB{}))
	var noise [3]float64
	for c := range 3 {
		noise[c] = math.Sqrt(math.Max(v[c][c], 0))
	}
	return newWish(a, e.space, e.black(), noise)
}

// black returns the display's black, none where it cannot be told from none.
func (e *estimate) black() colorimetry.XYZ {
	k := e.space.black
	if k.Y <= 2*math.Sqrt(math.Max(e.model.Covariance(colorimetry.RGB{})[1][1], 0)) {
		return colorimetry.XYZ{}
	}
	return k
}

// solve returns the curves under which the estimate follows the wish.
func (e *estimate) solve(w wish, entries, bits int) (tone.Channels, error) {
	var out [3][]float64
	for c := range 3 {
		out[c] = make([]float64, entries)
	}
	for i := range entries {
		a := w.at(float64(i) / float64(entries-1))
		for c := range 3 {
			v := e.device(c, a[c])
			if i > 0 {
				v = math.Max(v, out[c][i-1])
			}
			out[c][i] = v
		}
	}
	white := e.roundWhite(w, colorimetry.RGB{R: out[0][entries-1], G: out[1][entries-1], B: out[2][entries-1]}, bits)
	for c, v := range [3]float64{white.R, white.G, white.B} {
		out[c][entries-1] = v
		// Rounding the white down may leave its neighbours above it.
		for i := entries - 2; i >= 0 && out[c][i] > v; i-- {
			out[c][i] = v
		}
	}
	return tone.NewChannels(out[0], out[1], out[2])
}

// roundWhite returns the codes of the path near the white's device signal
// whose colour is nearest to the white in u'v', luminance counting as little
// as the eye and the limits let it: 1 % of it for 0.002 in u'v'.
func (e *estimate) roundWhite(w wish, at colorimetry.RGB, bits int) colorimetry.RGB {
	top := float64(uint(1)<<uint(bits)) - 1
	want := w.white.UV()
	best, least := at.Quantise(bits), math.Inf(1)
	for _, r := range neighbours(at.R, top) {
		for _, g := range neighbours(at.G, top) {
			for _, b := range neighbours(at.B, top) {
				d := colorimetry.RGB{R: r, G: g, B: b}
				c := e.exact(d)
				if miss := math.Hypot(c.UV().Distance(want), 0.2*(c.Y/w.white.Y-1)); miss < least {
					best, least = d, miss
				}
			}
		}
	}
	return best
}

// neighbours returns the codes below and above v.
func neighbours(v, top float64) [2]float64 {
	lo := math.Floor(v * top)
	return [2]float64{lo / top, math.Min(lo+1, top) / top}
}
