package aim

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// Locus is a line of whites by temperature.
type Locus int

const (
	// DaylightLocus is the CIE's line of phases of daylight, 4000 K to
	// 25,000 K.
	DaylightLocus Locus = iota
	// PlanckianLocus is the line of black bodies, 1000 K to 100,000 K.
	PlanckianLocus
)

// String returns "daylight" or "planckian".
func (l Locus) String() string {
	switch l {
	case DaylightLocus:
		return "daylight"
	case PlanckianLocus:
		return "planckian"
	}
	return fmt.Sprintf("locus %d", int(l))
}

// OnLocus returns the white of a correlated colour temperature in kelvin on
// the locus, and from there duv to the side in the CIE 1960 diagram, square to
// the Planckian locus: positive towards green, ±0.05 at most. On the Planckian
// locus duv is what is called Duv. Daylight itself has a Duv of about 0.003;
// there duv counts from daylight, so that 0 is daylight.
//
// The error is spectrum's where the temperature lies outside the locus, or
// where no light has such a white.
//
// Source: CIE 015:2018; ANSI C78.377-2015 (Duv) for the definitions.
func OnLocus(kelvin, duv float64, locus Locus) (White, error) {
	w := White{Name: strconv.FormatFloat(kelvin, 'f', -1, 64) + " K"}
	var err error
	switch {
	case locus == PlanckianLocus:
		w.Name += " planckian"
		w.At, err = spectrum.FromCCT(kelvin, duv)
	case locus != DaylightLocus:
		return White{}, fmt.Errorf("aim: %v is not known; there are daylight and planckian", locus)
	case duv == 0:
		w.At, err = spectrum.Daylight(kelvin)
	default:
		w.At, err = besideDaylight(kelvin, duv)
	}
	if err != nil {
		return White{}, fmt.Errorf("aim: %w", err)
	}
	if duv != 0 {
		w.Name += " duv " + strconv.FormatFloat(duv, 'f', -1, 64)
	}
	return w, nil
}

// besideDaylight goes from daylight along its isotherm.
func besideDaylight(kelvin, duv float64) (c colorimetry.Chromaticity, err error) {
	if c, err = spectrum.Daylight(kelvin); err != nil {
		return c, err
	}
	t, d, err := spectrum.CCT(c)
	if err != nil {
		return c, err
	}
	return spectrum.FromCCT(t, d+duv)
}

// parseLocus reads "5000", "5000 K", "5000 K planckian duv -0.002" and the
// like.
func parseLocus(s string) (White, error) {
	bad := fmt.Errorf(`aim: white %q is not understood; give A, C, E, D50, D55, D65 or D75, a colour temperature such as 6500 or "5000 K planckian duv 0.002", a chromaticity such as 0.3127,0.3290, paper and its chromaticity, or native`, s)
	w := strings.Fields(strings.ToLower(s))
	if len(w) == 0 {
		return White{}, bad
	}
	kelvin, ok := finite(strings.TrimRight(w[0], "k"))
	if w = w[1:]; len(w) > 0 && w[0] == "k" {
		w = w[1:]
	}
	locus, duv := DaylightLocus, 0.0
	if len(w) > 0 && (w[0] == "daylight" || w[0] == "planckian") {
		if w[0] == "planckian" {
			locus = PlanckianLocus
		}
		w = w[1:]
	}
	if len(w) == 2 && w[0] == "duv" && ok {
		duv, ok = finite(w[1])
		w = nil
	}
	if !ok || len(w) > 0 {
		return White{}, bad
	}
	return OnLocus(kelvin, duv, locus)
}

func finite(s string) (float64, bool) {
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil && !math.IsNaN(v) && !math.IsInf(v, 0)
}

// byEye ends the name of a white that was matched by eye.
const byEye = " by eye"

// maxName bounds the name of a person in characters.
const maxName = 100

// ByEye returns a white that somebody matched by eye, for instance to the paper
// or to the display beside, because readings that agree need not look alike
// where spectra differ. Who and when are kept with it: eyes differ too, and
// another observer, or the same in ten years, may want another white.
//
// It is an error if at is no chromaticity of a light, if who is empty or longer
// than 100 characters or holds one that does not print, or if when is the zero
// time.
func ByEye(at colorimetry.Chromaticity, who string, when time.Time) (White, error) {
	if when.IsZero() {
		return White{}, fmt.Errorf("aim: a white matched by eye needs the time of the match")
	}
	return matched(at, who, when.UTC().Format(time.RFC3339))
}

func matched(at colorimetry.Chromaticity, who, when string) (White, error) {
	w := White{Name: formatXY4(at) + byEye, At: at, By: strings.TrimSpace(who), When: when}
	return w, w.check()
}

// check holds a white against what its fields may be.
func (w White) check() error {
	if w.IsNative() {
		if w != (White{}) {
			return fmt.Errorf("aim: the white %q has no chromaticity", w.Name)
		}
		return nil
	}
	if !(w.At.X > 0 && w.At.Y > 0 && w.At.X+w.At.Y < 1) {
		return fmt.Errorf("aim: the white %g,%g is no chromaticity; x and y are above 0 and together below 1", w.At.X, w.At.Y)
	}
	if !strings.HasSuffix(w.Name, byEye) {
		if w.By != "" || w.When != "" {
			return fmt.Errorf("aim: the white %q was matched by nobody, yet names who and when", w.Name)
		}
		return nil
	}
	if w.By == "" || w.When == "" {
		return fmt.Errorf(`aim: the white %q was matched by eye; say who and when, as in "0.3101,0.3162 by eye of Ada, 2026-03-01T10:00:00Z"`, w.Name)
	}
	if !utf8.ValidString(w.By) || utf8.RuneCountInString(w.By) > maxName || strings.IndexFunc(w.By, func(r rune) bool { return !unicode.IsPrint(r) }) >= 0 || strings.TrimSpace(w.By) != w.By {
		return fmt.Errorf("aim: the name of who matched the white has more than %d characters, or some that do not print", maxName)
	}
	if _, err := time.Parse(time.RFC3339, w.When); err != nil {
		return fmt.Errorf("aim: the white was matched at %q; write the time as 2026-03-01T10:00:00Z", w.When)
	}
	return nil
}

// parseByEye reads "0.3101,0.3162 by eye of Ada, 2026-03-01T10:00:00Z".
func parseByEye(s, xy, rest string) (White, error) {
	who, ok := strings.CutPrefix(rest, " of ")
	at := strings.LastIndex(who, ",")
	if !ok || at < 0 {
		return White{}, fmt.Errorf(`aim: white %q was matched by eye; say who and when, as in "0.3101,0.3162 by eye of Ada, 2026-03-01T10:00:00Z"`, s)
	}
	c, err := parseXY(s, xy)
	if err != nil {
		return White{}, err
	}
	return matched(c, who[:at], strings.TrimSpace(who[at+1:]))
}
