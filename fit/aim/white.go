package aim

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
)

// ErrNative is returned where a chromaticity is wanted of a white that is the
// display's own and not measured yet.
var ErrNative = errors.New("aim: the white is the display's own; measure it and use Resolved")

// White is the chromaticity that an aim asks for. The zero value is the
// display's own white. A White is comparable with ==.
type White struct {
	// Name is how the white was asked for, as ParseWhite reads it: "D65",
	// "5000 K", "0.3127,0.3290"; "" is native. A white that was measured is
	// named to four decimals and keeps its exact chromaticity in At.
	Name string
	// At is its chromaticity; the zero value is native.
	At colorimetry.Chromaticity
	// By and When say who matched a white by eye and when, the time as
	// RFC 3339; ByEye fills them in. Both are empty for all other whites.
	By, When string
}

// Native returns the display's own white, the zero value.
func Native() White { return White{} }

// IsNative reports whether w is the display's own white.
func (w White) IsNative() bool { return w.At == colorimetry.Chromaticity{} }

// String returns the words that ParseWhite reads as w. Those of a white matched
// by eye leave out who and when, which ParseWhite wants added: names of people
// do not belong in file names.
func (w White) String() string {
	switch {
	case w.IsNative():
		return "native"
	case w.Name != "":
		return w.Name
	}
	return formatXY(w.At)
}

func formatXY(c colorimetry.Chromaticity) string {
	return strconv.FormatFloat(c.X, 'f', -1, 64) + "," + strconv.FormatFloat(c.Y, 'f', -1, 64)
}

// XYZ returns the white of luminance y in cd/m²; NaN in all three where w is
// native.
func (w White) XYZ(y float64) colorimetry.XYZ {
	if w.IsNative() {
		return colorimetry.XYZ{X: math.NaN(), Y: math.NaN(), Z: math.NaN()}
	}
	return w.At.XYZ(y)
}

// XY returns the white of chromaticity c.
func XY(x, y float64) White {
	c := colorimetry.Chromaticity{X: x, Y: y}
	return White{Name: formatXY(c), At: c}
}

// Daylight returns the white of the CIE daylight locus at a correlated colour
// temperature in kelvin, 4000 to 25000. The error is spectrum.Daylight's
// outside that range. [OnLocus] has black bodies, and whites beside a locus.
//
// D65 is Daylight(6504), not 6500: the second radiation constant was revised
// after the illuminant was defined (CIE 15:2018, 4.1.2).
func Daylight(kelvin float64) (White, error) { return OnLocus(kelvin, 0, DaylightLocus) }

// Illuminant returns the white of an illuminant of the CIE: A, C, D50, D55, D65,
// D75 or E, for the 1931 observer.
//
// Source: CIE 15:2018, table of chromaticity coordinates, to the digits
// printed there; D50 and D65 as the RGB and ICC standards print them too; E is
// equal energy.
func Illuminant(name string) (White, error) {
	var c colorimetry.Chromaticity
	switch strings.ToUpper(name) {
	case "A":
		c = colorimetry.Chromaticity{X: 0.44758, Y: 0.40745}
	case "C":
		c = colorimetry.Chromaticity{X: 0.31006, Y: 0.31616}
	case "D50":
		c = colorimetry.Chromaticity{X: 0.3457, Y: 0.3585}
	case "D55":
		c = colorimetry.Chromaticity{X: 0.33243, Y: 0.34744}
	case "D65":
		c = colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	case "D75":
		c = colorimetry.Chromaticity{X: 0.29903, Y: 0.31488}
	case "E":
		c = colorimetry.Chromaticity{X: 1.0 / 3, Y: 1.0 / 3}
	default:
		return White{}, fmt.Errorf("aim: illuminant %q is not known; there are A, C, D50, D55, D65, D75 and E", name)
	}
	return White{Name: strings.ToUpper(name), At: c}, nil
}

// ParseWhite reads a white:
//
//	D65                             an illuminant: A, C, D50, D55, D65, D75, E
//	6500, 6500 K                    daylight of this colour temperature
//	5000 K planckian                a black body
//	5000 K planckian duv 0.002      beside a locus, see OnLocus
//	0.3127,0.3290                   a chromaticity
//	paper 0.3470,0.3575             that of paper, as measured in its light
//	0.3101,0.3162 by eye of Ada, 2026-03-01T10:00:00Z    matched by eye
//	native                          the display's own
func ParseWhite(s string) (White, error) {
	if len(s) > maxWords {
		return White{}, fmt.Errorf("aim: white of %d bytes; at most %d are read", len(s), maxWords)
	}
	t := strings.TrimSpace(s)
	if strings.EqualFold(t, "native") {
		return White{}, nil
	}
	if xy, rest, ok := strings.Cut(t, byEye); ok {
		return parseByEye(s, xy, rest)
	}
	if xy, ok := strings.CutPrefix(t, paperPrefix); ok {
		c, err := parseXY(s, xy)
		return White{Name: paperPrefix + formatXY(c), At: c}, err
	}
	if len(t) == 3 && (t[0] == 'D' || t[0] == 'd') || len(t) == 1 && !(t[0] >= '0' && t[0] <= '9') {
		return Illuminant(t)
	}
	if strings.Contains(t, ",") {
		c, err := parseXY(s, t)
		if err != nil {
			return White{}, err
		}
		return XY(c.X, c.Y), nil
	}
	return parseLocus(t)
}

// maxWords bounds a white in words, in bytes: a name of 100 characters fits.
const maxWords = 1024

func parseXY(s, xy string) (colorimetry.Chromaticity, error) {
	xs, ys, _ := strings.Cut(xy, ",")
	x, ok1 := finite(strings.TrimSpace(xs))
	y, ok2 := finite(strings.TrimSpace(ys))
	if !ok1 || !ok2 {
		return colorimetry.Chromaticity{}, fmt.Errorf("aim: white %q is not two numbers; give x,y such as 0.3127,0.3290", s)
	}
	if !(x > 0 && y > 0 && x+y < 1) {
		return colorimetry.Chromaticity{}, fmt.Errorf("aim: white %q is no chromaticity; x and y are above 0 and together below 1", s)
	}
	return colorimetry.Chromaticity{X: x, Y: y}, nil
}

// ParseLuminance reads a luminance in cd/m², above 0 and at most 10000, or
// "native", which is 0.
func ParseLuminance(s string) (float64, error) {
	t := strings.TrimSpace(s)
	if strings.EqualFold(t, "native") {
		return 0, nil
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil || !(v > 0 && v <= maxLuminance) {
		return 0, fmt.Errorf(`aim: luminance %q is not understood; give cd/m² above 0 and at most %d, or native`, s, maxLuminance)
	}
	return v, nil
}

// maxLuminance bounds what a file or an option may ask for, in cd/m²: the
// peak that SMPTE ST 2084 can code. A black, or ambient light, stays below a
// tenth of it.
const (
	maxLuminance = 10000
	maxBlack     = maxLuminance / 10
)

// ParseBlack reads the luminance of a black in cd/m², at least 0 and below
// 1000, or "native", which is 0.
func ParseBlack(s string) (float64, error) {
	t := strings.TrimSpace(s)
	if strings.EqualFold(t, "native") {
		return 0, nil
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil || !(v >= 0 && v < maxBlack) {
		return 0, fmt.Errorf(`aim: black %q is not understood; give cd/m² such as 0.3, or native`, s)
	}
	return v, nil
}
