package report

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify"
)

// uncorrected is the standard uncertainty assumed of a filter instrument that
// was not corrected for the display: 0.004 in x and y, the class of uncorrected
// colorimeters in published comparisons (NIST saw more than 0.010 on some
// colours; Ohno and Brown, from an excerpt). Of its luminance its certificate may
// say something, and of a spectral instrument it says all that is known.
const uncorrected = 0.004

// instrument is what the instrument itself leaves open in all readings alike:
// what their Systematic says, and what is known beyond it.
type instrument struct {
	matrix *mismatch.MatrixCovariance // that Systematic comes from; nil unknown
	causes verify.Causes
	beyond measure.Noise
	paired bool   // by pairs of readings with a reference
	known  string // what of it matrix and beyond hold, "" nothing
}

func instrumentOf(run *characterise.Result) (instrument, error) {
	var i instrument
	info, white := run.Instrument, run.ProofWhite.XYZ
	certified := info.CertificateUV > 0 || info.CertificateLuminance > 0
	switch c := run.Correction; {
	case c == nil && run.Adjusted && !info.Spectral:
		i.beyond = measure.Noise{Chromaticity: uncorrected, Luminance: info.CertificateLuminance}
		i.known = fmt.Sprintf("%.3f in x and y, assumed of a colorimeter that is not corrected for the display", uncorrected)
		if info.CertificateLuminance > 0 {
			i.known += ", and of luminance what its certificate states"
		}
	case c == nil && run.Adjusted && certified:
		i.beyond = ofWhite(white, math.Sqrt2*info.CertificateUV, info.CertificateLuminance)
		i.known = "what its certificate states"
	case c == nil: // of readings that somebody brought only they can say
	case c.Covariance != (mismatch.MatrixCovariance{}):
		i.matrix, i.paired = &c.Covariance, paired(c.Kind)
		i.known = "what its correction is said to leave"
		if i.paired {
			i.known = "that of the paired readings with the reference instrument, and of the reference what its certificate stated to the run"
		}
	case c.UncertaintyUV > 0 || c.UncertaintyY > 0: // it knows its white alone
		i.beyond = ofWhite(white, c.UncertaintyUV, c.UncertaintyY)
		i.known = "what its correction is said to leave in the white"
	}
	var err error
	i.causes, err = verify.CausesOf(i.matrix)
	return i, err
}

// paired reports whether a kind of correction rests on readings of a reference.
func paired(kind string) bool {
	switch kind {
	case mismatch.KindFourColour, mismatch.KindLeastSquares, mismatch.KindWeighted, mismatch.KindSpectra:
		return true
	}
	return false
}

// ofWhite returns what makes an uncertainty of uv, as a distance in u'v', in a
// white, x and y having the same, and of share in its luminance.
func ofWhite(white colorimetry.XYZ, uv, share float64) measure.Noise {
	unit := measure.Reading{XYZ: white, Covariance: measure.Noise{Chromaticity: 1}.Covariance(white, 1)}.SpreadUV()
	if !(unit > 0) {
		return measure.Noise{Luminance: share}
	}
	return measure.Noise{Chromaticity: uv / unit, Luminance: share}
}

// systematic returns the covariance of a reading's XYZ, (cd/m²)², that no
// average lessens.
func (i instrument) systematic(r measure.Reading) colorimetry.Matrix {
	if i.beyond == (measure.Noise{}) || !(r.XYZ.X > 0 && r.XYZ.Y > 0 && r.XYZ.Z > 0) {
		return r.Systematic
	}
	return r.Systematic.Add(i.beyond.Covariance(r.XYZ, 1))
}

// uncertain fills in what is uncertain of white, luminance, black and contrast.
// Noise and the instrument's own error are independent and add in quadrature.
//
// Source: JCGM 100:2008 (GUM), 5.1.2 and 5.2.2: the law of propagation of
// uncertainty, to first order.
func (r *Report) uncertain(run *characterise.Result, i instrument) error {
	white := run.ProofWhite
	r.White.RepeatUV, r.LuminanceSpreadCdM2 = Spread(white)
	white.Covariance = i.systematic(white)
	r.White.SystematicUV, r.LuminanceSystematicCdM2 = Spread(white)
	r.White.SpreadUV = math.Hypot(r.White.RepeatUV, r.White.SystematicUV)

	black, n := meanBlack(run.Chart)
	if n == 0 || !(black.XYZ.Y > 0) || !(r.BlackCdM2 > 0) || r.blackLost() {
		return nil
	}
	_, luminance := Spread(measure.Reading{Covariance: i.systematic(black)})
	r.BlackSystematicCdM2 = luminance * r.BlackCdM2 / black.XYZ.Y
	w, err := i.causes.Of(white)
	if err != nil {
		return err
	}
	k, err := i.causes.Of(black)
	if err != nil {
		return err
	}
	// A share of luminance that is known beyond Systematic is one of both.
	common := verify.RatioSpread(w, white.XYZ.Y, k, black.XYZ.Y)
	noise := math.Hypot(r.LuminanceSpreadCdM2/r.LuminanceCdM2, r.BlackSpreadCdM2/r.BlackCdM2)
	r.ContrastSpreadShare = math.Hypot(noise, common)
	return nil
}

// meanBlack returns the mean of the n readings of no signal. Systematic is that
// of the first: it is the same error in all.
func meanBlack(set []measure.Reading) (black measure.Reading, n int) {
	for _, r := range set {
		if r.Patch.Signal != (colorimetry.RGB{}) || r.Channel != "" {
			continue
		}
		if n == 0 {
			black = r
			black.XYZ, black.Raw = colorimetry.XYZ{}, colorimetry.XYZ{}
		}
		black.XYZ, black.Raw = black.XYZ.Add(r.XYZ), black.Raw.Add(r.Raw)
		n++
	}
	if n > 0 {
		black.XYZ, black.Raw = black.XYZ.Scale(1/float64(n)), black.Raw.Scale(1/float64(n))
	}
	return black, n
}

// luminanceUncertainty returns the standard uncertainty of the white's luminance
// in cd/m², noise and instrument together, 0 where neither is known.
func (r *Report) luminanceUncertainty() float64 {
	return math.Hypot(r.LuminanceSpreadCdM2, r.LuminanceSystematicCdM2)
}

// blackUncertainty is that of the black.
func (r *Report) blackUncertainty() float64 {
	return math.Hypot(r.BlackSpreadCdM2, r.BlackSystematicCdM2)
}

// instrumentRules reports whether the white is less sure by the instrument's own
// error than by noise, so that more averages would decide little.
func (r *Report) instrumentRules() bool {
	return r.White.SystematicUV > r.White.RepeatUV || r.LuminanceSystematicCdM2 > r.LuminanceSpreadCdM2
}
