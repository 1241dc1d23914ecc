package measure

import (
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// Stages of a run, as readings and progress name them.
const (
	StageWarmUp     = "warm-up"
	StagePairs      = "pairs"
	StageAsFound    = "as found"
	StageControls   = "controls"
	StageCurves     = "curves"
	StageCharts     = "charts"
	StageProof      = "proof"
	StageWithCurves = "with curves"
)

// Reading is one measured patch: the mean of its repeats.
type Reading struct {
	Index   int         `json:"index"` // position in the run, from 0
	Stage   string      `json:"stage"`
	Patch   chart.Patch `json:"patch"`
	Channel string      `json:"channel,omitempty"` // "" the instrument, "reference" the reference of a pair
	// Raw is the mean of the repeats as the instrument reported them, absolute
	// in cd/m²; XYZ is Raw after the instrument correction in force.
	Raw colorimetry.XYZ `json:"raw"`
	XYZ colorimetry.XYZ `json:"xyz"`
	// Repeats holds every integration, in order.
	Repeats []colorimetry.XYZ `json:"repeats"`
	// Covariance is the covariance of the mean XYZ, in (cd/m²)²: the
	// instrument's stated noise, or the scatter of the repeats where that is
	// larger.
	Covariance colorimetry.Matrix `json:"covariance"`
	Time       time.Time          `json:"time"` // when the last repeat ended
	Flags      []string           `json:"flags,omitempty"`
	// Curves is the digest of the correction curves in force, "none" without.
	Curves string `json:"curves"`
}

// Noise states the noise of one integration: standard deviations.
type Noise struct {
	Chromaticity float64 `json:"chromaticity_xy"` // in x and in y, luminance of the display's white
	Luminance    float64 `json:"luminance_share"` // share of Y
	FloorCdM2    float64 `json:"floor_cd_m2"`     // additive, in each of X, Y and Z
}
