package aim

import (
	"fmt"
	"math"
	"strings"

	"example.org/primaries/colorimetry"
)

// Reached is what a display can do towards an aim.
type Reached struct {
	// OK says whether white, luminance and black can be had together.
	OK bool
	// Nearest is the aim itself where OK, otherwise the nearest that can be
	// had: its white moved into the primaries' triangle by the shortest way in
	// u'v', its luminance lowered to what the display gives at that white, its
	// black raised to the display's own. Native fields are filled in.
	Nearest Aim
	// MaxLuminance is the highest luminance in cd/m² at the white of Nearest.
	MaxLuminance float64
	// Sentence says what is out of reach and what can be had instead; where
	// OK, what the aim comes to.
	Sentence string
}

// luminanceSlack is the share of the luminance by which an aim may exceed the
// display and still count as within reach: a fifth of the usual reading noise
// of 0.5 %, so that a display's own white is always within its own reach.
const luminanceSlack = 0.001

// Reach tells whether a display can have a. The columns of primaries are the
// light in cd/m² that each channel at full signal adds to the black; black is
// the display's own, in cd/m².
//
// The error is colorimetry.ErrSingular where the primaries do not span the
// colours.
func Reach(a Aim, primaries colorimetry.Matrix, black colorimetry.XYZ) (Reached, error) {
	inv, err := primaries.Inverse()
	if err != nil {
		return Reached{}, fmt.Errorf("aim: primaries: %w", err)
	}
	native := primaries.FromLinear(colorimetry.Gray(1)).Add(black)
	near := a
	var lacks []string
	if a.White.IsNative() {
		near.White = fromMeasured(native.Chromaticity())
	}
	most, ok := greatest(inv, black, near.White.At)
	if !ok {
		near.White = nearestWhite(inv, black, near.White.At)
		most, _ = greatest(inv, black, near.White.At)
		lacks = append(lacks, fmt.Sprintf("the white %s lies outside the display's primaries; the nearest that can be had is %s", describe(a.White), formatXY4(near.White.At)))
	}
	switch {
	case a.Luminance == 0:
		near.Luminance = most
	case a.Luminance > most*(1+luminanceSlack):
		near.Luminance = roundDown(most)
		lacks = append(lacks, fmt.Sprintf("at the white %s the display gives %.4g cd/m², not %.4g", describe(near.White), near.Luminance, a.Luminance))
	case a.Luminance <= black.Y:
		near.Luminance = most
		lacks = append(lacks, fmt.Sprintf("a white of %.4g cd/m² is no brighter than the display's black, %.4g", a.Luminance, black.Y))
	}
	if a.BlackCdM2 > 0 && a.BlackCdM2 < black.Y {
		near.BlackCdM2 = 0
		lacks = append(lacks, fmt.Sprintf("the display's black is %.4g cd/m², above the %.4g asked for", black.Y, a.BlackCdM2))
	}
	if near.BlackCdM2 >= near.Luminance {
		near.BlackCdM2 = 0
		lacks = append(lacks, fmt.Sprintf("a black of %.4g cd/m² is no darker than the white", a.BlackCdM2))
	}
	return Reached{OK: len(lacks) == 0, Nearest: near, MaxLuminance: most, Sentence: sentence(near, lacks)}, nil
}

// sentence words the outcome.
func sentence(near Aim, lacks []string) string {
	has := fmt.Sprintf("white %s at %.4g cd/m²", describe(near.White), near.Luminance)
	if len(lacks) == 0 {
		return "The display can have the aim: " + has + "."
	}
	return "Out of reach: " + strings.Join(lacks, "; ") + ". The nearest aim that can be had: " + has + "."
}

func describe(w White) string {
	if w.Name == "" || strings.Contains(w.Name, ",") {
		return formatXY4(w.At)
	}
	return fmt.Sprintf("%s (%s)", w.Name, formatXY4(w.At))
}

func formatXY4(c colorimetry.Chromaticity) string { return fmt.Sprintf("%.4f,%.4f", c.X, c.Y) }

// fromMeasured names a measured chromaticity to the four decimals that an
// instrument is good for, and keeps it whole.
func fromMeasured(c colorimetry.Chromaticity) White { return White{Name: formatXY4(c), At: c} }

// roundDown keeps an aim that is named in four digits within reach.
func roundDown(y float64) float64 {
	step := 0.1
	if y < 10 {
		step = 0.001
	}
	return math.Floor(y/step) * step
}

// greatest returns the highest luminance of a white of chromaticity at, and
// whether there is one above the black: inv leads from light above the black
// to the channels' amounts, each of which must stay in 0 to 1.
func greatest(inv colorimetry.Matrix, black colorimetry.XYZ, at colorimetry.Chromaticity) (float64, bool) {
	t, k := inv.ToLinear(at.XYZ(1)), inv.ToLinear(black)
	lo, hi := math.Max(black.Y, 0), math.Inf(1)
	for _, c := range [3][2]float64{{t.R, k.R}, {t.G, k.G}, {t.B, k.B}} {
		if !(c[0] > 0) {
			return 0, false
		}
		lo, hi = math.Max(lo, c[1]/c[0]), math.Min(hi, (1+c[1])/c[0])
	}
	return hi, hi > lo
}

// nearestWhite moves at to the edge of the primaries' triangle by the shortest
// way in u'v', and from there as far towards the display's own white as it
// takes for the colour, rounded to four decimals, to be had.
func nearestWhite(inv colorimetry.Matrix, black colorimetry.XYZ, at colorimetry.Chromaticity) White {
	primaries, err := inv.Inverse()
	if err != nil {
		return White{}
	}
	edge := nearestInTriangle(at.UV(), primaries.Column(0).UV(), primaries.Column(1).UV(), primaries.Column(2).UV())
	own := primaries.FromLinear(colorimetry.Gray(1)).Add(black).UV()
	const steps = 2000
	for i := range steps {
		f := float64(i) / steps
		uv := colorimetry.UV{U: edge.U + f*(own.U-edge.U), V: edge.V + f*(own.V-edge.V)}
		c := uv.Chromaticity()
		c = colorimetry.Chromaticity{X: math.Round(c.X*1e4) / 1e4, Y: math.Round(c.Y*1e4) / 1e4}
		if _, ok := greatest(inv, black, c); ok {
			return XY(c.X, c.Y)
		}
	}
	return fromMeasured(own.Chromaticity())
}

// nearestInTriangle returns the point of the triangle a, b, c nearest to p,
// which lies outside it.
func nearestInTriangle(p, a, b, c colorimetry.UV) colorimetry.UV {
	best, least := a, math.Inf(1)
	for _, e := range [3][2]colorimetry.UV{{a, b}, {b, c}, {c, a}} {
		dx, dy := e[1].U-e[0].U, e[1].V-e[0].V
		f := ((p.U-e[0].U)*dx + (p.V-e[0].V)*dy) / (dx*dx + dy*dy)
		f = math.Min(math.Max(f, 0), 1)
		q := colorimetry.UV{U: e[0].U + f*dx, V: e[0].V + f*dy}
		if d := p.Distance(q); d < least {
			best, least = q, d
		}
	}
	return best
}

// Resolved returns a with its native fields filled in from the display's
// white as measured, absolute in cd/m².
func (a Aim) Resolved(white colorimetry.XYZ) Aim {
	if a.White.IsNative() {
		a.White = fromMeasured(white.Chromaticity())
	}
	if a.Luminance == 0 {
		a.Luminance = white.Y
	}
	return a
}
