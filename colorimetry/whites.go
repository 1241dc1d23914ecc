package colorimetry

// D50 returns the white of the ICC profile connection space, Y = 1.
//
// Source: ICC.1:2022, 7.2.16, which prints 0.9642, 1, 0.8249.
func D50() XYZ { return XYZ{0.9642, 1, 0.8249} }

// D65 returns the chromaticity that the RGB standards print for D65, with
// Y = 1.
//
// Source: ITU-R BT.709-6, item 1.4, x = 0.3127, y = 0.3290.
func D65() XYZ { return Chromaticity{0.3127, 0.3290}.XYZ(1) }
