package profile

import (
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/icc"
)

// Coding returns the codes of ITU-T H.273 for signals in an RGB encoding, of full
// range, for Options.Coding; ok is false where there are none that mean exactly
// that encoding: its primaries and white must be those of BT.709, BT.2020, P3
// with D65 or with the theatre's white, and its curve be linear, sRGB's, PQ or
// the camera's of HLG. A power curve, and what a display makes of BT.709 by
// BT.1886, have none.
//
// Source: ITU-T H.273, tables 2 to 4, by way of ICC software that is open
// source; 13 for sRGB's curve from memory.
func Coding(s rgb.Space) (codes icc.CICP, ok bool) {
	type gamut [4]colorimetry.Chromaticity
	primaries := map[gamut]uint8{}
	for code, known := range map[uint8]rgb.Space{1: rgb.SRGB(), 9: rgb.BT2020(), 11: rgb.P3DCI(), 12: rgb.P3D65()} {
		primaries[gamut{known.R, known.G, known.B, known.White}] = code
	}
	codes.Primaries, ok = primaries[gamut{s.R, s.G, s.B, s.White}]
	switch s.Curve.(type) {
	case tone.Linear:
		codes.Transfer = 8
	case tone.SRGB:
		codes.Transfer = 13
	case tone.PQ:
		codes.Transfer = 16
		ok = ok && s.Curve == tone.Curve(tone.PQ{})
	case tone.HLGCamera:
		codes.Transfer = 18
	default:
		ok = false
	}
	if !ok {
		return icc.CICP{}, false
	}
	codes.FullRange = 1
	return codes, true
}
