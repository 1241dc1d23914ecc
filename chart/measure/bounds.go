package measure

import (
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// MaxLight bounds each component of what an instrument may report, in cd/m²:
// the sun's disc has 1.6e9 (from memory). It is far above any display, and keeps
// everything that is made of readings finite.
const MaxLight = 1e10

// checkLight says why c is no light that an instrument can have seen.
func checkLight(c colorimetry.XYZ) error {
	for _, v := range vector(c) {
		if !(math.Abs(v) <= MaxLight) {
			return fmt.Errorf("%s, which is no light: check that it is connected and calibrated, and reports cd/m²", colourText(c))
		}
	}
	return nil
}

// check says what keeps a sample from being one.
func (s Sample) check() error {
	if err := checkLight(s.XYZ); err != nil {
		return fmt.Errorf("it returned %w", err)
	}
	if s.Duration < 0 {
		return fmt.Errorf("it says that it took %v; see that its program measures time forwards", s.Duration)
	}
	return nil
}

// finite returns an error where a drift holds what is no number.
func (d Drift) finite() error {
	sum := d.Luminance + d.UV + d.NoiseFactor + d.Unlike
	for _, g := range d.gains {
		sum += g[0] + g[1] + g[2]
		for _, v := range g {
			if v <= -1 { // a channel that gives no light at all cannot be brought back
				return errWildDrift
			}
		}
	}
	bad := math.IsNaN(sum) || math.IsInf(sum, 0) || len(d.gains) > 0 && !(finite(d.lights) && finite(d.inverse))
	for _, m := range d.cov {
		bad = bad || !finite(m)
	}
	if bad {
		return errWildDrift
	}
	return nil
}

var errWildDrift = errors.New("measure: drift: the readings are too far apart for a drift to be made of them; leave out those that cannot be right, or read again")

// signalText and colourText write signals and colours as people do.
func signalText(c colorimetry.RGB) string { return fmt.Sprintf("(%.6g, %.6g, %.6g)", c.R, c.G, c.B) }

func colourText(c colorimetry.XYZ) string { return fmt.Sprintf("(%.4g, %.4g, %.4g)", c.X, c.Y, c.Z) }
