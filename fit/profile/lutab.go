package profile

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/internal/level"
	"example.org/primaries/icc"
)

const (
	// mostXYZ is what 65535 means in a table's XYZ. Source: ICC.1:2022, 6.3.4.2
	// and table 12.
	mostXYZ = 1 + 32767.0/32768
	// referenceBlack is Y of the darkest colour of the perceptual intent's
	// medium in version 4. Source: ICC.1:2022, 6.3.3.
	referenceBlack = 0.0034731
	// finest is the number of entries of curves that must follow a steep one.
	finest = 4096
)

// compensation scales colours, D50 staying where it is, so that a neutral black
// comes to another: what black point compensation does to each of X, Y and Z,
// whose factors are equal where both blacks are neutral. Source: ISO 18619:2015,
// whose text was not opened, as open descriptions of it have it.
type compensation float64

// compensate returns what leads from a black of luminance from to one of
// luminance to, both over the white's. A display's own is taken to be at most
// half of the white's.
func compensate(from, to float64) compensation {
	limit := func(y float64) float64 { return math.Min(math.Max(y, 0), 0.5) }
	return compensation((1 - limit(to)) / (1 - limit(from)))
}

func (s compensation) apply(c colorimetry.XYZ) colorimetry.XYZ {
	return c.Scale(float64(s)).Add(colorimetry.D50().Scale(1 - float64(s)))
}

// encoding leads from light to a table's entries by curves and a matrix as
// version 4 has them behind a table: [0, 1] of an entry holds the light from lo
// to hi, its level linear in the entry.
type encoding struct {
	curve  [3]icc.ParametricCurve
	affine icc.Affine // to XYZ as encoded
	back   colorimetry.Matrix
}

// newEncoding returns the encoding that holds all levels of the grid. All
// numbers are as the profile will hold them.
func newEncoding(g *grid) (encoding, error) {
	var e encoding
	var lo, hi [3]float64
	for c := range 3 {
		least, most := 0.0, 1.0
		for _, y := range g.nodes {
			least, most = math.Min(least, y[c]), math.Max(most, y[c])
		}
		least -= 0.02
		most += 0.02
		lo[c], hi[c] = level.Tables.Light(least), level.Tables.Light(most)
		e.curve[c] = levelCurve(least, most)
	}
	f := g.frame
	m := f.mix.Mul(colorimetry.Diagonal(hi[0]-lo[0], hi[1]-lo[1], hi[2]-lo[2])).Scale(1 / mostXYZ)
	o := f.black.Add(f.mix.FromLinear(colorimetry.RGB{R: lo[0], G: lo[1], B: lo[2]})).Scale(1 / mostXYZ)
	e.affine = fixedAffine(m, o)
	var err error
	e.back, err = e.affine.Matrix.Inverse()
	return e, err
}

func fixedAffine(m colorimetry.Matrix, o colorimetry.XYZ) icc.Affine {
	for r := range m {
		for c := range m[r] {
			m[r][c] = fixed(m[r][c])
		}
	}
	return icc.Affine{Matrix: m, Offset: [3]float64{fixed(o.X), fixed(o.Y), fixed(o.Z)}}
}

// levelCurve returns the curve from an entry, 0 to 1 for levels from least to
// most, to light, 0 to 1 for what they stand for.
func levelCurve(least, most float64) icc.ParametricCurve {
	lo, hi := level.Tables.Light(least), level.Tables.Light(most)
	k := math.Pow(hi-lo, -1/level.Power)
	p := icc.ParametricCurve{
		Function: 4,
		G:        fixed(level.Power),
		A:        fixed((most - least) * level.Tables.Span * k),
		B:        fixed((least*level.Tables.Span + level.Tables.Dark) * k),
		D:        fixed(-least / (most - least)),
		E:        fixed((-level.Tables.Floor - lo) / (hi - lo)),
	}
	// The line below meets the power.
	p.C = fixed((math.Pow(p.A*p.D+p.B, p.G) + p.E) / p.D)
	return p
}

// entry is the inverse of a levelCurve.
func entry(p icc.ParametricCurve, light float64) float64 {
	if light <= p.C*p.D {
		return clamp(light / p.C)
	}
	return clamp((math.Pow(math.Max(light-p.E, 0), 1/p.G) - p.B) / p.A)
}

// entries returns what a table holds for a colour of the connection space.
func (e *encoding) entries(c colorimetry.XYZ) [3]uint16 {
	o := e.affine.Offset
	w := e.back.Apply(c.Scale(1 / mostXYZ).Sub(colorimetry.XYZ{X: o[0], Y: o[1], Z: o[2]}))
	return [3]uint16{word(entry(e.curve[0], w.X)), word(entry(e.curve[1], w.Y)), word(entry(e.curve[2], w.Z))}
}

// toTable returns the table from signals to the connection space with n nodes an
// edge, whose steps divide the grid's. perceptual moves the black to the
// medium's.
func toTable(g *grid, e *encoding, n int, perceptual bool) icc.LutAToB {
	f, step := g.frame, gridSteps/(n-1)
	t := &icc.CLUT{Grid: []int{n, n, n}, Outputs: 3, Words: make([]uint16, 0, 3*n*n*n)}
	for i := range n * n * n {
		y := g.node(i/(n*n)*step, i/n%n*step, i%n*step)
		w := e.entries(f.colour(y))
		t.Words = append(t.Words, w[:]...)
	}
	v := icc.LutAToB{Table: t, M: make([]icc.Curve, 3), B: []icc.Curve{straight(), straight(), straight()}}
	for c := range 3 {
		v.A = append(v.A, icc.SampledCurve(f.places[c]))
		v.M[c] = e.curve[c]
	}
	m := e.affine
	if perceptual {
		s := float64(compensate(f.black.Y, referenceBlack))
		o := colorimetry.XYZ{X: m.Offset[0], Y: m.Offset[1], Z: m.Offset[2]}.Scale(s)
		m = fixedAffine(m.Matrix.Scale(s), o.Add(colorimetry.D50().Scale((1-s)/mostXYZ)))
	}
	v.Matrix = &m
	return v
}

// straight is the curve that changes nothing.
func straight() icc.Curve { return icc.SampledCurve{} }
