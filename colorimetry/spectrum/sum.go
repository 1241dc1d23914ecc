package spectrum

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Summation says how a sum over wavelength is taken. Its zero value is that of
// CIE 015:2018.
//
// Sums run over the wavelengths that the observer and the light both have.
// Observer and illuminant are taken along straight lines, the sample as
// Between and Beyond say.
type Summation struct {
	// StepNM is the distance of the wavelengths summed, from a multiple of it
	// on. 0 is 1 nm, the standard's own; but for an illuminant tabulated at 5 nm,
	// as lamps with lines are, Observer.White, Observer.Reflection and
	// Observer.Weights sum at 5 nm, as the standard does for these.
	StepNM float64
	// FromNM and ToNM narrow the range, whose first wavelength is then FromNM; 0
	// and 0 leave it. CIE 015:2018 lets 380 and 780 suffice.
	FromNM, ToNM float64
	Between      Interpolation
	Beyond       Extrapolation // what the sample is outside its range
}

// grid is the wavelengths of a sum.
type grid struct {
	from, step float64
	n          int
}

func (g grid) at(i int) float64 { return g.from + float64(i)*g.step }
func (g grid) last() float64    { return g.at(g.n - 1) }

// over returns the wavelengths of a sum over lo to hi nm; step is that to be
// taken where how says none.
func (how Summation) over(lo, hi, step float64) (grid, error) {
	if how.StepNM != 0 {
		step = how.StepNM
	}
	start := math.Inf(1)
	if how.FromNM != 0 || how.ToNM != 0 {
		if err := checkRange(how.FromNM, how.ToNM, step); err != nil {
			return grid{}, err
		}
		if start = how.FromNM; start < lo {
			start += step * math.Ceil((lo-start)/step-1e-9)
		}
		hi = math.Min(hi, how.ToNM)
	}
	if !(step > 0) {
		return grid{}, fmt.Errorf("spectrum: a step of %g nm; it must be above 0", step)
	}
	if math.IsInf(start, 1) {
		start = step * math.Ceil(lo/step-1e-9)
	}
	count := math.Floor((hi-start)/step + 1e-9)
	switch {
	case !(count >= 1):
		return grid{}, fmt.Errorf("spectrum: observer and light have no two wavelengths in common at steps of %g nm", step)
	case count >= maxSamples:
		return grid{}, fmt.Errorf("spectrum: a sum over %g to %g nm at %g nm takes more than %d steps", start, hi, step, maxSamples)
	}
	return grid{start, step, int(count) + 1}, nil
}

// ownStep returns 5 where light is tabulated at each 5 nm, else 1.
func ownStep(light Spectrum) float64 {
	if step, equal := light.step(); equal && math.Abs(step-5) < 1e-6 && math.Mod(light.nm[0], 5) == 0 {
		return 5
	}
	return 1
}

// reaches says why s doesn't serve as the sample of a sum over g.
func (s Spectrum) reaches(g grid, how Summation) error {
	if err := s.suits(how.Between, how.Beyond); err != nil {
		return err
	}
	lo, hi := s.Range()
	if s.Len() == 0 || hi < g.from || lo > g.last() {
		return fmt.Errorf("spectrum: the sample's %g to %g nm don't meet the %g to %g nm of the sum", lo, hi, g.from, g.last())
	}
	if how.Beyond == Refuse && (lo > g.from || hi < g.last()) {
		return fmt.Errorf("spectrum: the sample reaches from %g to %g nm, the sum from %g to %g nm; narrow the sum, or choose a rule for what is beyond", lo, hi, g.from, g.last())
	}
	return nil
}

// common returns the range that observer and light both have.
func (o Observer) common(light Spectrum) (lo, hi float64) {
	lo, hi = o.Range()
	a, b := light.Range()
	return math.Max(lo, a), math.Min(hi, b)
}

// functions is the observer's three functions being walked.
type functions struct{ x, y, z cursor }

func (o Observer) walk() functions {
	return functions{o.XBar.walk(Linear, Nothing), o.YBar.walk(Linear, Nothing), o.ZBar.walk(Linear, Nothing)}
}

// at returns the three functions at w, times k.
func (f *functions) at(w, k float64) colorimetry.XYZ {
	return colorimetry.XYZ{X: k * f.x.at(w), Y: k * f.y.at(w), Z: k * f.z.at(w)}
}

// Reflection returns the relative tristimulus values of a surface seen under
// an illuminant; the perfect diffuser has Y = 1. The standard's own scale is
// 100 times that.
//
// A reflectance that was not measured far enough goes on as how.Beyond says.
// It is an error if it doesn't meet the sum's range at all, if it can't be
// interpolated as asked (see [Spectrum.Resample]), if how makes no sum, or if
// the illuminant gives the observer no light. To weigh many surfaces under one
// illuminant, take [Observer.Weights].
//
// Source: CIE 015:2018, 7.1 and the clauses after it on missing data.
func (o Observer) Reflection(reflectance, illuminant Spectrum, how Summation) (colorimetry.XYZ, error) {
	lo, hi := o.common(illuminant)
	g, err := how.over(lo, hi, ownStep(illuminant))
	if err != nil {
		return colorimetry.XYZ{}, err
	}
	if err := reflectance.reaches(g, how); err != nil {
		return colorimetry.XYZ{}, err
	}
	light, surface, f := illuminant.walk(Linear, Nothing), reflectance.walk(how.Between, how.Beyond.or(Nearest)), o.walk()
	var sum colorimetry.XYZ
	var white float64
	for i := range g.n {
		w := g.at(i)
		c := f.at(w, light.at(w))
		white += c.Y
		sum = sum.Add(c.Scale(surface.at(w)))
	}
	return normalise(sum, white)
}

// White returns the relative tristimulus values of the perfect diffuser under
// an illuminant, Y = 1: the white point. Errors and source as in
// [Observer.Reflection]. CIE 015:2018 prints the whites that result at 5 nm from
// 380 to 780 nm.
func (o Observer) White(illuminant Spectrum, how Summation) (colorimetry.XYZ, error) {
	lo, hi := o.common(illuminant)
	g, err := how.over(lo, hi, ownStep(illuminant))
	if err != nil {
		return colorimetry.XYZ{}, err
	}
	light, f := illuminant.walk(Linear, Nothing), o.walk()
	var sum colorimetry.XYZ
	for i := range g.n {
		w := g.at(i)
		sum = sum.Add(f.at(w, light.at(w)))
	}
	return normalise(sum, sum.Y)
}

// normalise returns sum on the scale where the white's Y is 1.
func normalise(sum colorimetry.XYZ, whiteY float64) (colorimetry.XYZ, error) {
	c := colorimetry.XYZ{X: sum.X / whiteY, Y: sum.Y / whiteY, Z: sum.Z / whiteY}
	switch {
	case !(whiteY > 0) || math.IsInf(whiteY, 0):
		return colorimetry.XYZ{}, fmt.Errorf("spectrum: the illuminant's Y sums to %g; it must be above 0 and finite", whiteY)
	case !c.Finite():
		return colorimetry.XYZ{}, fmt.Errorf("spectrum: the sample's values are no numbers, or too large for one: it sums to %g, %g, %g", sum.X, sum.Y, sum.Z)
	}
	return c, nil
}

// EmissionWith is [Observer.Emission] with the sum taken as how says: the
// absolute tristimulus values in cd/m² of light whose spectral radiance s is
// in W/(sr·m²·nm). Outside its range light is 0, unless how.Beyond says
// otherwise. The sum runs over the observer's range.
//
// Spectra measured at 4 or 5 nm come out best when summed at their own step:
// on the primaries of [PanelSources] but for the one with narrow lines within
// 0.0001 in x and y, where straight lines to 1 nm are off by up to 0.0013.
//
// It is an error if s doesn't meet the sum's range, if it can't be
// interpolated as asked, if how makes no sum, or if the result overflows.
//
// Source: CIE 015:2018, 7.1.
func (o Observer) EmissionWith(s Spectrum, how Summation) (colorimetry.XYZ, error) {
	lo, hi := o.Range()
	g, err := how.over(lo, hi, 1)
	if err != nil {
		return colorimetry.XYZ{}, err
	}
	if err := s.reaches(g, how); err != nil {
		return colorimetry.XYZ{}, err
	}
	light, f := s.walk(how.Between, how.Beyond.or(Nothing)), o.walk()
	var sum colorimetry.XYZ
	for i := range g.n {
		w := g.at(i)
		sum = sum.Add(f.at(w, light.at(w)))
	}
	if sum = sum.Scale(maxEfficacy * g.step); !sum.Finite() {
		return colorimetry.XYZ{}, fmt.Errorf("spectrum: the light is too strong to sum")
	}
	return sum, nil
}
