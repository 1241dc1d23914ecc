package curves

import (
	"math"
	"slices"

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

// solve returns the curves under which the estimate follows the wish: each
// grey of the path, or each entry where the curves have fewer, at the codes
// chosen for it, and straight lines between.
func (e *estimate) solve(w wish, entries int) (tone.Channels, error) {
	chosen := e.codes(w, min(entries, int(e.top)+1))
	var out [3][]float64
	for c := range 3 {
		t := make(table, len(chosen))
		for i, k := range chosen {
			t[i] = float64(k[c]) / e.top
		}
		out[c] = make([]float64, entries)
		for i := range entries {
			out[c][i] = t.at(float64(i) / float64(entries-1))
		}
		slices.Sort(out[c]) // straight lines may be off by a last bit
	}
	return tone.NewChannels(out[0], out[1], out[2])
}
