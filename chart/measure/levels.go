package measure

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// LostLevels returns, for the red, green and blue channel, how many of the
// signal's own codes (inBits a channel) come out of the curves on the same code
// of the path after them (outBits) as another: what a picture can no longer
// tell apart. Without curves, and a path at least as deep as the signal, it is
// zero. Depths run from 1 to 16 bits.
func LostLevels(curves tone.Channels, inBits, outBits int) [3]int {
	codes := 1 << inBits
	top := float64(int(1)<<outBits - 1)
	var lost [3]int
	last := [3]float64{-1, -1, -1}
	for i := range codes {
		s := curves.Apply(colorimetry.Gray(float64(i) / float64(codes-1)))
		for c, v := range [3]float64{s.R, s.G, s.B} {
			out := math.Round(v * top)
			if out == last[c] {
				lost[c]++
			}
			last[c] = out
		}
	}
	return lost
}
