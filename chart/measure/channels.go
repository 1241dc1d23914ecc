package measure

import "example.org/primaries/colorimetry"

// leastPrimary is the lowest signal of a pure channel that still shows what
// light the channel makes.
const leastPrimary = 0.5

// channelLights returns the matrix whose columns are the light of red, green
// and blue at full signal, roughly: from the brightest readings of each pure
// channel less black. Where readings hold none, they are the primaries of BT.709
// at the luminance of the brightest reading, which are near enough to tell
// channels apart.
func channelLights(readings []Reading) colorimetry.Matrix {
	var best [3]Reading
	var level [3]float64
	var black colorimetry.XYZ
	brightest := 0.0
	for _, r := range readings {
		s := r.Patch.Signal
		brightest = max(brightest, r.XYZ.Y)
		if s == (colorimetry.RGB{}) {
			black = r.XYZ
		}
		for c, v := range [3]float64{s.R, s.G, s.B} {
			if s.R+s.G+s.B == v && v >= leastPrimary && v > level[c] {
				best[c], level[c] = r, v
			}
		}
	}
	m := colorimetry.Columns(best[0].XYZ.Sub(black), best[1].XYZ.Sub(black), best[2].XYZ.Sub(black))
	if _, err := m.Inverse(); level[0]*level[1]*level[2] > 0 && err == nil {
		return m
	}
	// ITU-R BT.709-6: primaries and D65.
	return colorimetry.Matrix{
		{0.4124, 0.3576, 0.1805},
		{0.2126, 0.7152, 0.0722},
		{0.0193, 0.1192, 0.9505},
	}.Scale(max(brightest, 1))
}

// vector and back: colours as arrays for the code that counts components.
func vector(c colorimetry.XYZ) [3]float64 { return [3]float64{c.X, c.Y, c.Z} }

func colour(v [3]float64) colorimetry.XYZ { return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]} }
