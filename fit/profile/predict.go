package profile

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
)

// Predictor returns the light that the profile in b promises for a signal,
// absolute in cd/m²: the bytes are decoded and evaluated, the adaptation to
// D50 is undone and the result multiplied by the luminance of the white. The
// function clamps signals to [0, 1] and may be called by many goroutines.
//
// The error is the decoder's, or says that the profile is not for RGB or
// of a kind that is not evaluated (errors.Is finds icc.ErrUnsupported), or that it does not state
// the luminance of its white.
func Predictor(b []byte) (func(colorimetry.RGB) colorimetry.XYZ, error) {
	return PredictorAt(b, 0)
}

// PredictorAt is Predictor with the luminance of the white given, in cd/m²,
// for profiles that state none; 0 takes the profile's own.
func PredictorAt(b []byte, whiteCdM2 float64) (func(colorimetry.RGB) colorimetry.XYZ, error) {
	p, err := icc.Decode(b)
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	if p.Header.Space != icc.SpaceRGB {
		return nil, fmt.Errorf("profile: it is for %v and a display's is for RGB: %w", p.Header.Space, icc.ErrUnsupported)
	}
	to, err := icc.ToPCS(p, icc.Options{Intent: icc.Absolute, PCS: icc.SpaceXYZ})
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	chad, err := p.Adaptation()
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	back, err := chad.Inverse()
	if err != nil {
		return nil, fmt.Errorf("profile: its adaptation to D50: %w", err)
	}
	luminance, ok := whiteCdM2, true
	if luminance == 0 {
		luminance, ok = p.Luminance()
	}
	if !ok || !(luminance > 0) {
		return nil, fmt.Errorf("profile: it does not state the luminance of its white (tag lumi), so that it promises no absolute colours")
	}
	back = back.Scale(luminance)
	return func(s colorimetry.RGB) colorimetry.XYZ {
		v := [3]float64{s.R, s.G, s.B}
		to.Eval(v[:], v[:])
		return back.Apply(colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]})
	}, nil
}
