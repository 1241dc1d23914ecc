package measure

import (
	"slices"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
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

// ChannelReference is the Channel of readings of the reference of a pair.
const ChannelReference = "reference"

// Flags of a Reading.
const (
	// FlagRetried marks a reading in which the instrument had passing trouble, or
	// which was taken again since the screen said that it was spoiled.
	FlagRetried = "retried"
	// FlagScattered marks a reading whose repeats lie further apart than those
	// of its fellows.
	FlagScattered = "scattered"
	// FlagTooDark marks a reading below the instrument's lowest trustworthy
	// luminance.
	FlagTooDark = "below the instrument's range"
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
	// Systematic is the covariance of XYZ, in (cd/m²)², that comes from the
	// error of the instrument correction: common to all readings that it
	// corrects, so that averages do not make it smaller. It is not part of
	// Covariance, and zero where the correction states no error.
	Systematic colorimetry.Matrix `json:"systematic,omitzero"`
	// Spectrum is the mean spectral radiance of the repeats in W/(sr m² nm);
	// the zero Spectrum where the instrument gives none. The journal keeps it to
	// single precision. An instrument correction does not touch it.
	Spectrum spectrum.Spectrum `json:"-"`
	Time     time.Time         `json:"time"` // when the last repeat ended
	Flags    []string          `json:"flags,omitempty"`
	// Curves is the digest of the correction curves in force, "none" without.
	Curves string `json:"curves"`
}

// Noise states the noise of one integration: standard deviations.
type Noise struct {
	Chromaticity float64 `json:"chromaticity_xy"` // in x and in y, luminance of the display's white
	Luminance    float64 `json:"luminance_share"` // share of Y
	FloorCdM2    float64 `json:"floor_cd_m2"`     // additive, in each of X, Y and Z
}

// newReading returns the uncorrected reading that two journal lines tell of.
func newReading(p patchRecord, r readingRecord) Reading {
	out := Reading{
		Index: p.Index, Stage: p.Stage, Patch: p.Patch, Channel: p.Channel, Curves: p.Curves,
		Raw: r.Raw, XYZ: r.Raw, Repeats: slices.Clone(r.Repeats), Time: r.Time,
	}
	if r.Spectrum != nil {
		out.Spectrum, _ = r.Spectrum.spectrum() // was checked when it was taken or decoded
	}
	return out
}

// mean returns the mean of repeats, of which there is at least one.
func mean(repeats []colorimetry.XYZ) colorimetry.XYZ {
	var sum colorimetry.XYZ
	for _, r := range repeats {
		sum = sum.Add(r)
	}
	n := float64(len(repeats))
	return colorimetry.XYZ{X: sum.X / n, Y: sum.Y / n, Z: sum.Z / n}
}
