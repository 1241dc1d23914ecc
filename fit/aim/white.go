package aim

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
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
}

// Native returns the display's own white, the zero value.
func Native() White { return White{} }

// IsNative reports whether w is the display's own white.
func (w White) IsNative() bool { return w.At == colorimetry.Chromaticity{} }

// String returns the words that ParseWhite reads as w.
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
// outside that range.
//
// D65 is Daylight(6504), not 6500: the second radiation constant was revised
// after the illuminant was defined (CIE 15:2018, 4.1.2).
func Daylight(kelvin float64) (White, error) {
	c, err := spectrum.Daylight(kelvin)
	if err != nil {
		return White{}, fmt.Errorf("aim: %w", err)
	}
	return White{Name: strconv.FormatFloat(kelvin, 'f', -1, 64) + " K", At: c}, nil
}

// Illuminant returns the white of a CIE standard or daylight illuminant: D50,
// D55, D65 or D75, for the 1931 observer.
//
// Source: CIE 15:2018, table of chromaticity coordinates, to the digits
// printed there; D50 and D65 as the RGB and ICC standards print them too.
func Illuminant(name string) (White, error) {
	var c colorimetry.Chromaticity
	switch strings.ToUpper(name) {
	case "D50":
		c = colorimetry.Chromaticity{X: 0.3457, Y: 0.3585}
	case "D55":
		c = colorimetry.Chromaticity{X: 0.33243, Y: 0.34744}
	case "D65":
		c = colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}
	case "D75":
		c = colorimetry.Chromaticity{X: 0.29903, Y: 0.31488}
	default:
		return White{}, fmt.Errorf("aim: illuminant %q is not known; there are D50, D55, D65 and D75", name)
	}
	return White{Name: strings.ToUpper(name), At: c}, nil
}

// ParseWhite reads a white: an illuminant ("D50", "D55", "D65", "D75"), a
// correlated colour temperature on the daylight locus ("6500" or "6500 K"), a
// chromaticity ("0.3127,0.3290") or "native".
func ParseWhite(s string) (White, error) {
	t := strings.TrimSpace(s)
	if strings.EqualFold(t, "native") {
		return White{}, nil
	}
	if len(t) == 3 && (t[0] == 'D' || t[0] == 'd') {
		return Illuminant(t)
	}
	if x, y, ok := strings.Cut(t, ","); ok {
		return parseXY(s, x, y)
	}
	k, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimRight(t, "kK")), 64)
	if err != nil || math.IsNaN(k) || math.IsInf(k, 0) {
		return White{}, fmt.Errorf(`aim: white %q is not understood; give D50, D55, D65 or D75, a colour temperature such as 6500, a chromaticity such as 0.3127,0.3290, or native`, s)
	}
	return Daylight(k)
}

func parseXY(s, xs, ys string) (White, error) {
	x, err1 := strconv.ParseFloat(strings.TrimSpace(xs), 64)
	y, err2 := strconv.ParseFloat(strings.TrimSpace(ys), 64)
	if err1 != nil || err2 != nil {
		return White{}, fmt.Errorf("aim: white %q is not two numbers; give x,y such as 0.3127,0.3290", s)
	}
	if !(x > 0 && y > 0 && x+y < 1) {
		return White{}, fmt.Errorf("aim: white %q is no chromaticity; x and y are above 0 and together below 1", s)
	}
	return XY(x, y), nil
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
// peak that SMPTE ST 2084 can code.
const maxLuminance = 10000

// ParseBlack reads the luminance of a black in cd/m², at least 0 and below
// 1000, or "native", which is 0.
func ParseBlack(s string) (float64, error) {
	t := strings.TrimSpace(s)
	if strings.EqualFold(t, "native") {
		return 0, nil
	}
	v, err := strconv.ParseFloat(t, 64)
	if err != nil || !(v >= 0 && v < maxLuminance/10) {
		return 0, fmt.Errorf(`aim: black %q is not understood; give cd/m² such as 0.3, or native`, s)
	}
	return v, nil
}
