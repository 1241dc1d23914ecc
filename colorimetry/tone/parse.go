package tone

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

const (
	maxParseBytes = 4 << 20 // 65536 points of two full numbers take under 3 MB
	maxNesting    = 4       // a black policy on a curve is one; nobody needs more
	maxGamma      = 10      // beyond it 8-bit signals are all black
)

// Parse returns the curve that s names; Curve.String writes what Parse reads.
// Letter case and extra spaces do not matter:
//
//	2.2                a power law, also written "power 2.2"; 0.1 to 10
//	bt1886             BT.1886 without light in the black
//	bt1886 100 0.05    BT.1886, white and black in cd/m²
//	bt2020             the camera curve in full; "bt2020 10" and "bt2020 12" as rounded
//	bt709              the camera curve
//	gsdf 400 0.4 0.1   DICOM's function: white, black and ambient light in cd/m²
//	hlg                hybrid log-gamma on a display of 1,000 cd/m²
//	hlg 600 0.01       the same, white and black in cd/m²; a system gamma may follow
//	hlg-camera         its camera curve
//	icc 0 2.2          an ICC parametric curve: form 0 to 4, then g a b c d e f
//	lift 0.001 srgb    the curve named last, lifted to a relative black
//	linear
//	lstar              CIE lightness
//	points 0,0 0.5,0.2 1,1    a sampled curve: signal,light pairs
//	pq                 the perceptual quantiser, relative to 10,000 cd/m²
//	pq 1000            the same on a display that clips at 1,000 cd/m²
//	romm               ROMM RGB
//	srgb
//	stretch 0.001 2.2  the curve named last, its range scaled to begin at a black
func Parse(s string) (Curve, error) {
	if len(s) > maxParseBytes {
		return nil, fmt.Errorf("tone: curve text has %d bytes; at most %d are read", len(s), maxParseBytes)
	}
	return parseWords(strings.Fields(strings.ToLower(s)), 0)
}

func parseWords(w []string, depth int) (Curve, error) {
	if len(w) == 0 {
		return nil, fmt.Errorf(`tone: curve is empty; write for instance "power 2.2" or "srgb"`)
	}
	args := w[1:]
	if c, ok := plain(w[0]); ok {
		if err := noArguments(w); err != nil {
			return nil, err
		}
		return c, nil
	}
	switch w[0] {
	case "bt1886":
		return parseBT1886(args)
	case "bt2020":
		return parseBT2020(args)
	case "gsdf":
		return parseGSDF(args)
	case "hlg":
		return parseHLG(args)
	case "icc":
		return parseParametric(args)
	case "pq":
		return parsePQ(args)
	case "power":
		return parsePower(args)
	case "points":
		return parsePoints(args)
	case "lift", "stretch":
		return parseBlack(w, depth)
	}
	if _, err := strconv.ParseFloat(w[0], 64); err == nil {
		return parsePower(w)
	}
	return nil, fmt.Errorf("tone: no curve is called %.40q; there are bt1886, bt2020, bt709, gsdf, hlg, hlg-camera, icc, lift, linear, lstar, points, power, pq, romm, srgb and stretch", w[0])
}

// plain returns the curves that are a name without numbers.
func plain(name string) (Curve, bool) {
	switch name {
	case "bt709":
		return BT709{}, true
	case "hlg-camera":
		return HLGCamera{}, true
	case "linear":
		return Linear{}, true
	case "lstar", "l*":
		return LStar{}, true
	case "romm":
		return ROMM{}, true
	case "srgb":
		return SRGB{}, true
	}
	return nil, false
}

func noArguments(w []string) error {
	if len(w) > 1 {
		return fmt.Errorf("tone: %s takes no number, but %.40q follows it", w[0], w[1])
	}
	return nil
}

func parsePower(args []string) (Curve, error) {
	if len(args) != 1 {
		return nil, fmt.Errorf(`tone: power takes one number, as in "power 2.2"`)
	}
	g, err := parseNumber("power", args[0], 0.1, maxGamma)
	if err != nil {
		return nil, err
	}
	return Power{g}, nil
}

func parseBlack(w []string, depth int) (Curve, error) {
	if depth >= maxNesting {
		return nil, fmt.Errorf("tone: more than %d black policies on one curve", maxNesting)
	}
	if len(w) < 3 {
		return nil, fmt.Errorf(`tone: %s takes a relative black and a curve, as in "%s 0.001 srgb"`, w[0], w[0])
	}
	black, err := parseNumber("the black of "+w[0], w[1], 0, 0.999)
	if err != nil {
		return nil, err
	}
	base, err := parseWords(w[2:], depth+1)
	if err != nil {
		return nil, err
	}
	if w[0] == "lift" {
		return Lift(base, black), nil
	}
	return Stretch(base, black), nil
}

func parsePoints(args []string) (Curve, error) {
	if len(args) > maxPoints {
		return nil, fmt.Errorf("tone: points lists %d pairs; at most %d are possible", len(args), maxPoints)
	}
	signal, light := make([]float64, len(args)), make([]float64, len(args))
	for i, a := range args {
		x, y, ok := strings.Cut(a, ",")
		if !ok {
			return nil, fmt.Errorf("tone: point %d is %.40q; write signal,light without a space", i+1, a)
		}
		var err error
		what := fmt.Sprintf("point %d:", i+1)
		if signal[i], err = parseNumber(what, x, 0, 1); err != nil {
			return nil, err
		}
		if light[i], err = parseNumber(what, y, math.Inf(-1), math.Inf(1)); err != nil {
			return nil, err
		}
	}
	c, err := NewSampled(signal, light)
	if err != nil {
		return nil, err
	}
	return c, nil
}

func parseNumber(what, s string, lo, hi float64) (float64, error) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v >= lo && v <= hi) {
		return 0, fmt.Errorf("tone: %s is %.40q; give a number from %g to %g", what, s, lo, hi)
	}
	return v, nil
}

// number writes v in the fewest digits that read back as v.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
