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
//	bt709              the camera curve
//	lift 0.001 srgb    the curve named last, lifted to a relative black
//	lstar              CIE lightness
//	points 0,0 0.5,0.2 1,1    a sampled curve: signal,light pairs
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
	switch w[0] {
	case "srgb":
		return SRGB{}, noArguments(w)
	case "lstar", "l*":
		return LStar{}, noArguments(w)
	case "bt709":
		return BT709{}, noArguments(w)
	case "bt1886":
		return parseBT1886(args)
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
	return nil, fmt.Errorf("tone: no curve is called %.40q; there are bt1886, bt709, lift, lstar, points, power, srgb and stretch", w[0])
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

func parseBT1886(args []string) (Curve, error) {
	switch len(args) {
	case 0:
		return BT1886{}, nil
	case 2:
		white, err := parseNumber("the white of bt1886", args[0], 1e-6, 1e6)
		if err != nil {
			return nil, err
		}
		black, err := parseNumber("the black of bt1886", args[1], 0, white)
		if err != nil {
			return nil, err
		}
		if black == white {
			return nil, fmt.Errorf("tone: bt1886 needs a black below its white of %g cd/m²", white)
		}
		return BT1886{white, black}, nil
	}
	return nil, fmt.Errorf(`tone: bt1886 takes white and black in cd/m², as in "bt1886 100 0.05", or nothing`)
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
	return NewSampled(signal, light)
}

func parseNumber(what, s string, lo, hi float64) (float64, error) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || !(v >= lo && v <= hi) {
		return 0, fmt.Errorf("tone: %s %.40q is no number from %g to %g", what, s, lo, hi)
	}
	return v, nil
}

// number writes v in the fewest digits that read back as v.
func number(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
