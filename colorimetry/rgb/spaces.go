package rgb

import (
	"fmt"
	"strings"
	"unicode"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// SRGB returns the encoding of IEC 61966-2-1:1999.
func SRGB() Space { return withWhiteD65("sRGB", bt709Primaries(), tone.SRGB{}) }

// BT709 returns the encoding of ITU-R BT.709-6 (2015), items 1.3 and 1.4, as a
// display without light in its black shows it by BT.1886. The camera's curve
// is tone.BT709.
func BT709() Space { return withWhiteD65("BT.709", bt709Primaries(), tone.BT1886{}) }

// BT2020 returns the encoding of ITU-R BT.2020-2 (2015), table 3, as a display
// without light in its black shows it by BT.1886.
func BT2020() Space {
	return withWhiteD65("BT.2020", bt2020Primaries(), tone.BT1886{})
}

// BT601Lines525 returns the encoding of ITU-R BT.601-7 (2011) for systems of
// 525 lines, whose primaries are those of SMPTE RP 145, as a display without
// light in its black shows it by BT.1886. The camera's curve is tone.BT709.
func BT601Lines525() Space {
	return withWhiteD65("BT.601 525 lines", [3]colorimetry.Chromaticity{{X: 0.630, Y: 0.340}, {X: 0.310, Y: 0.595}, {X: 0.155, Y: 0.070}}, tone.BT1886{})
}

// BT601Lines625 returns the encoding of ITU-R BT.601-7 (2011) for systems of
// 625 lines, as a display without light in its black shows it by BT.1886. The
// camera's curve is tone.BT709.
func BT601Lines625() Space {
	return withWhiteD65("BT.601 625 lines", [3]colorimetry.Chromaticity{{X: 0.640, Y: 0.330}, {X: 0.290, Y: 0.600}, {X: 0.150, Y: 0.060}}, tone.BT1886{})
}

// BT2100PQ returns the encoding of ITU-R BT.2100-2 (2018) with the perceptual
// quantiser. Linear light 1, and so Y = 1, is 10,000 cd/m²; put another
// tone.PQ in Curve for a display that ends below.
func BT2100PQ() Space { return withWhiteD65("BT.2100 PQ", bt2020Primaries(), tone.PQ{}) }

// BT2100HLG returns the encoding of ITU-R BT.2100-2 (2018) with hybrid
// log-gamma. Linear light is the scene's, 1 being its peak; what a display of
// some luminance makes of the signal is tone.HLG's Display.
func BT2100HLG() Space { return withWhiteD65("BT.2100 HLG", bt2020Primaries(), tone.HLGCamera{}) }

// P3DCI returns the encoding of the theatre: the primaries and white of SMPTE
// RP 431-2:2011 with the power of 2.6 of SMPTE ST 428-1.
func P3DCI() Space {
	s := P3D65()
	s.Name, s.White = "P3-DCI", colorimetry.Chromaticity{X: 0.314, Y: 0.351}
	return s
}

// P3D65 returns the primaries and the power of 2.6 of the theatre with the
// white D65.
//
// Source: SMPTE EG 432-1:2010 for the white (from memory), RP 431-2 for the
// rest.
func P3D65() Space {
	return withWhiteD65("P3-D65", p3Primaries(), tone.Power{Gamma: 2.6})
}

// ROMM returns ROMM RGB, ISO 22028-2:2013. Its white is D50 as x, y of four
// digits; green and blue lie outside the colours that can be seen.
func ROMM() Space {
	return Space{
		Name: "ROMM RGB", R: colorimetry.Chromaticity{X: 0.7347, Y: 0.2653}, G: colorimetry.Chromaticity{X: 0.1596, Y: 0.8404},
		B: colorimetry.Chromaticity{X: 0.0366, Y: 0.0001}, White: colorimetry.Chromaticity{X: 0.3457, Y: 0.3585}, Curve: tone.ROMM{},
	}
}

// ACES2065 returns ACES2065-1, linear scene light in the primaries AP0, which
// enclose every colour that can be seen. Signals are not limited to 0 to 1.
//
// Source: SMPTE ST 2065-1:2021.
func ACES2065() Space {
	return Space{
		Name: "ACES2065-1", R: colorimetry.Chromaticity{X: 0.7347, Y: 0.2653}, G: colorimetry.Chromaticity{X: 0, Y: 1},
		B: colorimetry.Chromaticity{X: 0.0001, Y: -0.0770}, White: acesWhite(), Curve: tone.Linear{},
	}
}

// ACEScg returns ACEScg, linear scene light in the primaries AP1. Signals are
// not limited to 0 to 1.
//
// Source: Academy S-2014-004.
func ACEScg() Space {
	return Space{
		Name: "ACEScg", R: colorimetry.Chromaticity{X: 0.713, Y: 0.293}, G: colorimetry.Chromaticity{X: 0.165, Y: 0.830},
		B: colorimetry.Chromaticity{X: 0.128, Y: 0.044}, White: acesWhite(), Curve: tone.Linear{},
	}
}

func acesWhite() colorimetry.Chromaticity { return colorimetry.Chromaticity{X: 0.32168, Y: 0.33767} }

// Spaces returns every encoding of this package, by name.
func Spaces() []Space {
	return []Space{
		ACES2065(), ACEScg(), AdobeRGB(), BT601Lines525(), BT601Lines625(), BT709(), BT2020(), BT2100HLG(), BT2100PQ(),
		DisplayP3(), P3D65(), P3DCI(), ROMM(), SRGB(),
	}
}

// Find returns the encoding of a name, as Spaces has them; letter case and
// everything but letters and digits do not matter ("bt2100-pq"). The error
// lists the names.
func Find(name string) (Space, error) {
	var names []string
	for _, s := range Spaces() {
		if plain(s.Name) == plain(name) {
			return s, nil
		}
		names = append(names, s.Name)
	}
	return Space{}, fmt.Errorf("rgb: no encoding is called %.40q; there are %s", name, strings.Join(names, ", "))
}

// plain keeps the letters and digits of a name.
func plain(name string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, name)
}

// DisplayP3 returns the primaries of SMPTE RP 431-2 with the white and the
// curve of sRGB.
//
// Source: the registration of Display P3 in the ICC's registry of
// three-component encodings; CSS Color Module Level 4, "display-p3".
func DisplayP3() Space {
	return withWhiteD65("Display P3", p3Primaries(), tone.SRGB{})
}

// AdobeRGB returns the encoding that IEC 61966-2-5:2007 calls opRGB, with the
// exponent 563/256 of the specification "Adobe RGB (1998) Color Image
// Encoding" (2005-05), 4.3.4.
func AdobeRGB() Space {
	return withWhiteD65("Adobe RGB (1998)", [3]colorimetry.Chromaticity{{X: 0.64, Y: 0.33}, {X: 0.21, Y: 0.71}, {X: 0.15, Y: 0.06}}, tone.Power{Gamma: 563.0 / 256.0})
}

// bt709Primaries returns those of ITU-R BT.709-6, item 1.3.
func bt709Primaries() [3]colorimetry.Chromaticity {
	return [3]colorimetry.Chromaticity{{X: 0.64, Y: 0.33}, {X: 0.30, Y: 0.60}, {X: 0.15, Y: 0.06}}
}

// bt2020Primaries returns those of ITU-R BT.2020-2, table 3.
func bt2020Primaries() [3]colorimetry.Chromaticity {
	return [3]colorimetry.Chromaticity{{X: 0.708, Y: 0.292}, {X: 0.170, Y: 0.797}, {X: 0.131, Y: 0.046}}
}

// p3Primaries returns those of SMPTE RP 431-2:2011.
func p3Primaries() [3]colorimetry.Chromaticity {
	return [3]colorimetry.Chromaticity{{X: 0.680, Y: 0.320}, {X: 0.265, Y: 0.690}, {X: 0.150, Y: 0.060}}
}

func withWhiteD65(name string, p [3]colorimetry.Chromaticity, c tone.Curve) Space {
	return Space{Name: name, R: p[0], G: p[1], B: p[2], White: colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}, Curve: c}
}
