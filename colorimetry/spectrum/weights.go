package spectrum

import (
	"fmt"
	"slices"

	"example.org/primaries/colorimetry"
)

// Weights turns reflectances at equally spaced wavelengths into relative
// tristimulus values under one illuminant: a multiplication and an addition a
// wavelength. It is immutable and safe for concurrent use; the zero value
// weighs nothing. [Observer.Weights] and [Observer.ASTMWeights] make it.
type Weights struct {
	grid  grid
	table []colorimetry.XYZ // white Y = 1
	how   Summation
}

// Weights returns the weights by which how sums: the products of illuminant
// and observer at the wavelengths of the sum, scaled to Y = 1 for the perfect
// diffuser. Reflectances are then expected at these wavelengths; how.Between
// and how.Beyond serve [Weights.Reflection]. Errors as in [Observer.White].
//
// Source: CIE 015:2018, 7.1.
func (o Observer) Weights(illuminant Spectrum, how Summation) (Weights, error) {
	lo, hi := o.common(illuminant)
	g, err := how.over(lo, hi, ownStep(illuminant))
	if err != nil {
		return Weights{}, err
	}
	return newWeights(g, o.products(illuminant, g), how)
}

// products returns illuminant times observer at each wavelength of g.
func (o Observer) products(illuminant Spectrum, g grid) []colorimetry.XYZ {
	light, f := illuminant.walk(Linear, Nothing), o.walk()
	out := make([]colorimetry.XYZ, g.n)
	for i := range out {
		w := g.at(i)
		out[i] = f.at(w, light.at(w))
	}
	return out
}

// newWeights scales table to a white of Y = 1.
func newWeights(g grid, table []colorimetry.XYZ, how Summation) (Weights, error) {
	var sum float64
	for _, c := range table {
		sum += c.Y
	}
	for i, c := range table {
		var err error
		if table[i], err = normalise(c, sum); err != nil {
			return Weights{}, err
		}
	}
	return Weights{g, table, how}, nil
}

// Len returns the number of wavelengths.
func (w Weights) Len() int { return len(w.table) }

// Wavelengths returns the wavelengths in nm at which reflectances are
// expected.
func (w Weights) Wavelengths() []float64 {
	out := make([]float64, len(w.table))
	for i := range out {
		out[i] = w.grid.at(i)
	}
	return out
}

// Table returns the weights, one a wavelength. Printed tables are 100 times
// these.
func (w Weights) Table() []colorimetry.XYZ { return slices.Clone(w.table) }

// White returns the perfect diffuser's tristimulus values, Y = 1.
func (w Weights) White() colorimetry.XYZ {
	var sum colorimetry.XYZ
	for _, c := range w.table {
		sum = sum.Add(c)
	}
	return sum
}

// XYZ returns the relative tristimulus values, white Y = 1, of a surface whose
// reflectances at w's wavelengths are given. It panics if their number is not
// [Weights.Len]. NaN in gives NaN out.
func (w Weights) XYZ(reflectances []float64) colorimetry.XYZ {
	if len(reflectances) != len(w.table) {
		panic(fmt.Sprintf("spectrum: %d reflectances for %d weights", len(reflectances), len(w.table)))
	}
	var x, y, z float64
	for i, r := range reflectances {
		c := &w.table[i]
		x += r * c.X
		y += r * c.Y
		z += r * c.Z
	}
	return colorimetry.XYZ{X: x, Y: y, Z: z}
}

// Reflection returns the relative tristimulus values, white Y = 1, of a surface
// whose samples need not be at w's wavelengths. Where they end too early, the
// weights beyond go to the last sample, as ASTM E308 says, unless the
// Summation given to [Observer.Weights] has another rule. Errors as in
// [Observer.Reflection].
func (w Weights) Reflection(reflectance Spectrum) (colorimetry.XYZ, error) {
	if err := reflectance.reaches(w.grid, w.how); err != nil {
		return colorimetry.XYZ{}, err
	}
	surface := reflectance.walk(w.how.Between, w.how.Beyond.or(Nearest))
	var sum colorimetry.XYZ
	for i, c := range w.table {
		sum = sum.Add(c.Scale(surface.at(w.grid.at(i))))
	}
	return sum, nil
}
