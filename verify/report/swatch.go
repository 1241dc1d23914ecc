package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/verify"
)

// swatch is a pair of colours, asked for (or predicted) and read, for the page.
type swatch struct {
	ID, Signal        string
	WantWord          string // what the first side is called
	Want, Got         string // L*, a*, b*
	WantFill, GotFill string // #rrggbb
	DeltaE2000        string
}

// maxSwatches is how many pairs are drawn.
const maxSwatches = 8

// swatches returns the patches that missed most, the worst first.
func swatches(a verify.Accuracy, wantWord string) []swatch {
	worst := slices.Clone(a.Patches)
	slices.SortStableFunc(worst, func(x, y verify.Error) int { return cmp.Compare(y.DeltaE2000, x.DeltaE2000) })
	var out []swatch
	for _, e := range worst[:min(maxSwatches, len(worst))] {
		signal := fmt.Sprintf("%.1f, %.1f, %.1f %%", 100*e.Signal.R, 100*e.Signal.G, 100*e.Signal.B)
		s := swatch{ID: e.ID, Signal: signal, WantWord: wantWord, Want: lab(e.Want), Got: lab(e.Got), WantFill: paint(e.Want), GotFill: paint(e.Got), DeltaE2000: figure(e.DeltaE2000, 2)}
		out = append(out, s)
	}
	return out
}

func lab(c colorimetry.Lab) string {
	return figure(c.L, 1) + ", " + figure(c.A, 1) + ", " + figure(c.B, 1)
}

// paint returns the sRGB colour that a page shows for c, clipped to what sRGB
// holds; the white of c becomes the white of the page.
func paint(c colorimetry.Lab) string {
	s := rgb.SRGB()
	m, err := s.Matrix()
	if err != nil {
		return "#000000"
	}
	if m, err = m.Inverse(); err != nil {
		return "#000000"
	}
	v := s.Signal(m.ToLinear(c.XYZ(colorimetry.D65())).Clamp()).Quantise(8)
	code := func(f float64) int { return int(math.Round(f * 255)) }
	return fmt.Sprintf("#%02x%02x%02x", code(v.R), code(v.G), code(v.B))
}

// figure prints a number with its decimals and a true minus sign, "–" for one
// that is none, and no negative zero.
func figure(v float64, decimals int) string {
	if v-v != 0 {
		return "–"
	}
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	if v < 0 && strings.Trim(s, "0.") != "" {
		return "−" + s
	}
	return s
}
