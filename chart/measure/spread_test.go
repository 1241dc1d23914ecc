package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/colorimetry"
)

// The spreads are held against a simulation that disturbs x, y and Y directly
// and never sees a covariance.
func TestSpreads(t *testing.T) {
	n := Noise{Chromaticity: 0.001, Luminance: 0.005}
	at := colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	r := Reading{XYZ: at.XYZ(100)}
	r.Covariance = n.Covariance(r.XYZ, 4)

	rng := rand.New(rand.NewPCG(1, 2))
	var uv2, y2 float64
	const trials = 20000
	for range trials {
		c := colorimetry.Chromaticity{X: at.X + 0.0005*rng.NormFloat64(), Y: at.Y + 0.0005*rng.NormFloat64()}
		d := c.UV().Distance(at.UV())
		uv2 += d * d
		y := 0.0025 * rng.NormFloat64()
		y2 += y * y
	}
	// 20,000 trials leave about 1 % in a standard deviation.
	if got, want := r.SpreadUV(), math.Sqrt(uv2/trials); math.Abs(got/want-1) > 0.03 {
		t.Errorf("spread in u'v' %.6f, by simulation %.6f", got, want)
	}
	if got, want := r.SpreadShare(), math.Sqrt(y2/trials); math.Abs(got/want-1) > 0.03 {
		t.Errorf("spread of luminance %.6f, by simulation %.6f", got, want)
	}
	if (Reading{}).SpreadUV() != 0 || (Reading{}).SpreadShare() != 0 {
		t.Error("darkness has a spread")
	}
}
