package aim

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// PaperLuminance returns the luminance in cd/m² of paper of a reflectance,
// above 0 and at most 1, under an illuminance in lx, above 0 and at most
// 200,000 (full sun): reflectance·lx/π. Paper of 0.85 under 500 lx shines at
// 135 cd/m², under 2000 lx at 541.
//
// Source: Lambert's law; paper is nearly a diffuser away from its gloss.
func PaperLuminance(reflectance, lux float64) (cdM2 float64, err error) {
	if !(reflectance > 0 && reflectance <= 1) {
		return 0, fmt.Errorf("aim: a reflectance of %g; give one above 0 and at most 1, such as 0.85 for white paper", reflectance)
	}
	if !(lux > 0 && lux <= maxLux) {
		return 0, fmt.Errorf("aim: an illuminance of %g lx; give one above 0 and at most %d", lux, maxLux)
	}
	return reflectance * lux / math.Pi, nil
}

// maxLux bounds an illuminance in lx. Full sun gives about half of it; from
// memory.
const maxLux = 200000

// Print is the paper beside a display and the light on it, from which a
// luminance follows. The zero value is no paper.
//
// Give Reflectance and Lux, or PaperCdM2 where an instrument can read the
// paper where it lies, which is surer: it holds for gloss, for the angle, and
// for the light as it falls there. Lux beside PaperCdM2 makes answers in lx.
type Print struct {
	Reflectance float64 // luminous reflectance of the paper, above 0 to 1
	Lux         float64 // illuminance on the paper in lx
	PaperCdM2   float64 // luminance of the blank paper as read, cd/m²
}

func (p Print) given() bool { return p != (Print{}) }

// Luminance returns the luminance of the paper in cd/m². Figures that are
// missing or out of range are an error.
func (p Print) Luminance() (float64, error) {
	if p.PaperCdM2 == 0 {
		return PaperLuminance(p.Reflectance, p.Lux)
	}
	if !(p.PaperCdM2 > 0 && p.PaperCdM2 <= maxLuminance) {
		return 0, fmt.Errorf("aim: paper of %g cd/m²; give a reading above 0 and at most %d", p.PaperCdM2, maxLuminance)
	}
	if p.Reflectance != 0 {
		return 0, fmt.Errorf("aim: the paper has both a reading of %g cd/m² and a reflectance of %g; give one of them", p.PaperCdM2, p.Reflectance)
	}
	if !(p.Lux >= 0 && p.Lux <= maxLux) {
		return 0, fmt.Errorf("aim: an illuminance of %g lx; give one above 0 and at most %d, or none", p.Lux, maxLux)
	}
	return p.PaperCdM2, nil
}

// Lit returns the same paper in as much light as makes it shine at cd/m².
func (p Print) Lit(cdM2 float64) (Print, error) {
	now, err := p.Luminance()
	if err != nil {
		return Print{}, err
	}
	if !(cdM2 > 0 && cdM2 <= maxLuminance) {
		return Print{}, fmt.Errorf("aim: paper of %g cd/m² is wanted; above 0 and at most %d is possible", cdM2, maxLuminance)
	}
	k := cdM2 / now
	p.Lux *= k
	p.PaperCdM2 *= k
	_, err = p.Luminance()
	return p, err
}

// ForPrints returns a with the luminance of the paper beside the display, and
// with the paper kept in it, so that [Reach] can answer with the light on the
// prints where the display cannot follow.
func (a Aim) ForPrints(p Print) (Aim, error) {
	y, err := p.Luminance()
	if err != nil {
		return a, err
	}
	a.Luminance, a.Print = y, p
	return a, nil
}

// light names the light on the paper that makes it shine at cdM2: in lx, or as
// a share of what there is.
func (p Print) light(cdM2 float64) string {
	now, err := p.Luminance()
	if err != nil {
		return ""
	}
	if p.Lux > 0 {
		return fmt.Sprintf("%.3g lx", threeDigitsDown(p.Lux*cdM2/now))
	}
	return fmt.Sprintf("%.0f %% of what there is", math.Floor(100*cdM2/now))
}

// threeDigitsDown rounds down to three digits, so that paper in this light is
// no brighter than was reckoned.
func threeDigitsDown(v float64) float64 {
	step := math.Pow(10, math.Floor(math.Log10(v))-2)
	return math.Floor(v/step+1e-9) * step
}

// String returns the words that [ParsePrint] reads as p, "" for no paper.
func (p Print) String() string {
	n := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	switch {
	case !p.given():
		return ""
	case p.PaperCdM2 != 0 && p.Lux != 0:
		return "paper at " + n(p.PaperCdM2) + " cd/m² in " + n(p.Lux) + " lx"
	case p.PaperCdM2 != 0:
		return "paper at " + n(p.PaperCdM2) + " cd/m²"
	}
	return "paper " + n(p.Reflectance) + " in " + n(p.Lux) + " lx"
}

// ParsePrint reads paper and its light: "paper 0.85 in 500 lx", reflectance
// and illuminance; "paper at 130 cd/m²", as read; or "paper at 130 cd/m² in
// 480 lx", both.
func ParsePrint(s string) (Print, error) {
	bad := fmt.Errorf(`aim: paper %q is not understood; write for instance "paper 0.85 in 500 lx" or "paper at 130 cd/m²"`, s)
	w := strings.Fields(strings.ToLower(strings.NewReplacer("cd/m²", " ", "cd/m2", " ").Replace(s)))
	if len(w) < 2 || w[0] != "paper" {
		return Print{}, bad
	}
	var p Print
	to, w := &p.Reflectance, w[1:]
	if w[0] == "at" {
		to, w = &p.PaperCdM2, w[1:]
	}
	numbers := []*float64{to}
	switch {
	case len(w) == 4 && w[1] == "in" && w[3] == "lx":
		numbers, w = append(numbers, &p.Lux), []string{w[0], w[2]}
	case len(w) != 1:
		return Print{}, bad
	}
	for i, n := range numbers {
		v, err := strconv.ParseFloat(w[i], 64)
		if err != nil || !(v > 0) {
			return Print{}, bad
		}
		*n = v
	}
	if p.PaperCdM2 == 0 && p.Lux == 0 {
		return Print{}, bad
	}
	_, err := p.Luminance()
	return p, err
}

// Paper returns the white of paper as an instrument read it in its own light,
// in cd/m² or on any other scale: what eyes beside a display adapt to, which
// the light alone is not, since most papers are brightened.
func Paper(seen colorimetry.XYZ) (White, error) {
	c := seen.Chromaticity()
	if !(seen.Y > 0 && c.X > 0 && c.Y > 0 && c.X+c.Y < 1) {
		return White{}, fmt.Errorf("aim: the paper was read as %g %g %g, which is no white; read it again in its light", seen.X, seen.Y, seen.Z)
	}
	return White{Name: paperPrefix + formatXY4(c), At: c}, nil
}

const paperPrefix = "paper "

// PaperIn returns the white of paper of a spectral reflectance, 0 to 1, in a
// light, and its luminous reflectance there for [Print], both for the CIE 1931
// observer and by summation as CIE 015:2018 has it. The reflectance should
// have been measured with as much ultraviolet as the light has: brightened
// paper shines bluer with more of it.
func PaperIn(reflectance, light spectrum.Spectrum) (White, float64, error) {
	c, err := spectrum.CIE1931().Reflection(reflectance, light, spectrum.Summation{})
	if err != nil {
		return White{}, 0, fmt.Errorf("aim: paper in its light: %w", err)
	}
	w, err := Paper(c)
	return w, c.Y, err
}
