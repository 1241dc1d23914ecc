package metamerism

import (
	"bytes"
	"embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"sync"

	"gonum.org/v1/gonum/interp"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

//go:embed data/*.csv
var files embed.FS

// table returns the numbers of an embedded file, NaN for an empty field. The
// files are part of the program and tested.
func table(name string) [][]float64 {
	b, err := files.ReadFile("data/" + name)
	if err != nil {
		panic(err)
	}
	r := csv.NewReader(bytes.NewReader(b))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		panic(err)
	}
	var out [][]float64
	for _, row := range rows[1:] {
		v := make([]float64, len(row))
		for i, field := range row {
			if v[i], err = strconv.ParseFloat(field, 64); err != nil && field == "" {
				v[i] = math.NaN()
			} else if err != nil {
				panic(err)
			}
		}
		out = append(out, v)
	}
	return out
}

// Physiology describes a pair of eyes with three kinds of cones. The zero value
// is the observer of CIE 170-1: 32 years old, looking at a field of 2°, with
// nothing unusual.
type Physiology struct {
	Name string // of the observer made of it
	// Years is the age, 10 to 80; 0 stands for 32. The lens yellows with it.
	// CIE 170-1 speaks of 20 to 80.
	Years float64
	// FieldDegrees is the size of the field looked at, 1 to 10; 0 stands for 2.
	FieldDegrees float64
	// Lens, Macula, L, M and S are deviations in percent of the density of the
	// lens (from that of the age), of the macular pigment and of the three
	// cones' pigments (from those of the field): −100 to 300, for the cones from
	// −99.
	Lens, Macula, L, M, S float64
	// ShiftL, ShiftM and ShiftS move the pigments' spectra towards long
	// wavelengths: −20 to 20 nm.
	ShiftL, ShiftM, ShiftS float64
}

// filled returns p with its defaults, and an error where it cannot be.
func (p Physiology) filled() (Physiology, error) {
	if p.Years == 0 {
		p.Years = 32
	}
	if p.FieldDegrees == 0 {
		p.FieldDegrees = 2
	}
	for _, c := range []struct {
		what         string
		v, low, high float64
		unit         string
	}{
		{"age", p.Years, 10, 80, "years"},
		{"field", p.FieldDegrees, 1, 10, "degrees"},
		{"lens deviation", p.Lens, -100, 300, "percent"},
		{"macula deviation", p.Macula, -100, 300, "percent"},
		{"L deviation", p.L, -99, 300, "percent"},
		{"M deviation", p.M, -99, 300, "percent"},
		{"S deviation", p.S, -99, 300, "percent"},
		{"L shift", p.ShiftL, -20, 20, "nm"},
		{"M shift", p.ShiftM, -20, 20, "nm"},
		{"S shift", p.ShiftS, -20, 20, "nm"},
	} {
		if !(c.v >= c.low && c.v <= c.high) {
			return p, fmt.Errorf("metamerism: %s of %g %s; %g to %g are possible", c.what, c.v, c.unit, c.low, c.high)
		}
	}
	return p, nil
}

// The wavelengths of the table and of what is made from it.
const (
	firstNM, lastNM, nodeNM = 390, 780, 5
	lastShortNM             = 615 // of the short-wavelength cones, which are not tabulated beyond
)

// template is the table, ready to be read between its wavelengths.
type template struct {
	absorbance              [3]curve  // log10, by wavelength: it is shifted
	macula, lensAge, lensIn []float64 // at each whole nm
}

var templates = sync.OnceValue(func() template {
	rows := table("physiology.csv")
	column := func(k int) curve {
		var x, y []float64
		for _, r := range rows {
			if !math.IsNaN(r[k]) {
				x, y = append(x, r[0]), append(y, r[k])
			}
		}
		return newCurve(x, y)
	}
	whole := func(k int) []float64 {
		c, out := column(k), wavelengths()
		for i, w := range out {
			out[i] = c.at(w)
		}
		return out
	}
	return template{[3]curve{column(1), column(2), column(3)}, whole(4), whole(5), whole(6)}
})

// curve is a cubic spline that goes on beyond its ends as its last pieces do.
type curve struct {
	spline     *interp.NotAKnotCubic
	x          []float64
	start, end [4]place
}

// place is a place of a curve.
type place struct{ x, y float64 }

func newCurve(x, y []float64) curve {
	c := curve{spline: new(interp.NotAKnotCubic), x: x}
	if err := c.spline.Fit(x, y); err != nil {
		panic(err) // the table is part of the program
	}
	n := len(x)
	for i := range 4 {
		k := float64(i) / 3
		a, b := x[0]+k*(x[1]-x[0]), x[n-2]+k*(x[n-1]-x[n-2])
		c.start[i], c.end[i] = place{a, c.spline.Predict(a)}, place{b, c.spline.Predict(b)}
	}
	return c
}

func (c *curve) at(x float64) float64 {
	switch {
	case x < c.x[0]:
		return through(c.start, x)
	case x > c.x[len(c.x)-1]:
		return through(c.end, x)
	}
	return c.spline.Predict(x)
}

// through returns the cubic through four places at x.
func through(p [4]place, x float64) float64 {
	var sum float64
	for i, a := range p {
		term := a.y
		for j, b := range p {
			if j != i {
				term *= (x - b.x) / (a.x - b.x)
			}
		}
		sum += term
	}
	return sum
}

// cones returns the three fundamentals at 390 to 780 nm in steps of 1 nm, in
// energy units, each with a sum of 100 over the table's own steps of 5 nm.
//
// Source: CIE 170-1:2006, 5.2 to 5.9, for the densities and how they change
// with age and field; Asano, Fairchild and Blondé, PLoS ONE 11(2) e0145671
// (2016), for the deviations.
func (p Physiology) cones() (out [3][]float64) {
	t := templates()
	peak := math.Exp(-p.FieldDegrees / 1.333)
	density := [3]float64{
		(0.38 + 0.54*peak) * (1 + p.L/100),
		(0.38 + 0.54*peak) * (1 + p.M/100),
		(0.30 + 0.45*peak) * (1 + p.S/100),
	}
	shift := [3]float64{p.ShiftL, p.ShiftM, p.ShiftS}
	macula := 0.485 * math.Exp(-p.FieldDegrees/6.132) * (1 + p.Macula/100)
	aged := 1 + 0.02*(p.Years-32)
	if p.Years > 60 {
		aged = 1.56 + 0.0667*(p.Years-60)
	}
	var sum [3]float64
	for k := range out {
		out[k] = make([]float64, lastNM-firstNM+1)
	}
	for i := range out[0] {
		w := float64(firstNM + i)
		lens := (t.lensAge[i]*aged + t.lensIn[i]) * (1 + p.Lens/100)
		quanta := math.Pow(10, -macula*t.macula[i]-lens) * w
		for k := range out {
			if k == 2 && w > lastShortNM {
				continue
			}
			absorbed := 1 - math.Pow(10, -density[k]*math.Pow(10, t.absorbance[k].at(w-shift[k])))
			out[k][i] = absorbed * quanta
			if i%nodeNM == 0 {
				sum[k] += out[k][i]
			}
		}
	}
	for k := range out {
		for i := range out[k] {
			out[k][i] *= 100 / sum[k]
		}
	}
	return out
}

func wavelengths() []float64 {
	nm := make([]float64, lastNM-firstNM+1)
	for i := range nm {
		nm[i] = float64(firstNM + i)
	}
	return nm
}

// Cones returns the cone fundamentals of the eyes, 390 to 780 nm at 1 nm, in
// energy units, each with its greatest value 1. The error names the field of p
// that is out of range.
//
// Source: CIE 170-1:2006; Asano, Fairchild and Blondé (2016).
func (p Physiology) Cones() (spectrum.Cones, error) {
	p, err := p.filled()
	if err != nil {
		return spectrum.Cones{}, err
	}
	var s [3]spectrum.Spectrum
	for k, values := range p.cones() {
		top := 0.0
		for _, v := range values {
			top = math.Max(top, v)
		}
		for i := range values {
			values[i] /= top
		}
		if s[k], err = spectrum.New(wavelengths(), values); err != nil {
			return spectrum.Cones{}, fmt.Errorf("metamerism: %w", err)
		}
	}
	return spectrum.Cones{L: s[0], M: s[1], S: s[2]}, nil
}

// toXYZ are the matrices that lead from fundamentals with a sum of 100 to
// functions like those of CIE 1931 and CIE 1964, for fields of 2° and 10°.
//
// Source: Asano, Fairchild and Blondé (2016), in the functions released beside
// the paper; a test finds the first again in the tables of 2020.
var toXYZ = [2]colorimetry.Matrix{
	{{0.4151, -0.2424, 0.0425}, {0.1355, 0.0833, -0.0043}, {-0.0093, 0.0125, 0.2136}},
	{{0.4499, -0.2630, 0.0460}, {0.1617, 0.0726, -0.0011}, {-0.0036, 0.0054, 0.2291}},
}

// Observer returns the colorimetric observer with these eyes, 390 to 780 nm at
// 1 nm. Its functions are linear in the cone fundamentals, so that it calls
// equal what the eyes find equal; they resemble those of CIE 1931 (for 2°) and
// CIE 1964 (for 10°), so that its numbers can be read like theirs. Between the
// two fields the matrices are blended. The error names the field of p that is
// out of range.
//
// Source: Asano, Fairchild and Blondé, PLoS ONE 11(2) e0145671 (2016).
func (p Physiology) Observer() (spectrum.Observer, error) {
	p, err := p.filled()
	if err != nil {
		return spectrum.Observer{}, err
	}
	share := math.Max(0, (p.FieldDegrees-2)/8)
	m := toXYZ[0].Scale(1 - share).Add(toXYZ[1].Scale(share))
	lms := p.cones()
	var s [3]spectrum.Spectrum
	for k := range s {
		values := make([]float64, len(lms[0]))
		for i := range values {
			values[i] = m[k][0]*lms[0][i] + m[k][1]*lms[1][i] + m[k][2]*lms[2][i]
		}
		if s[k], err = spectrum.New(wavelengths(), values); err != nil {
			return spectrum.Observer{}, fmt.Errorf("metamerism: %w", err)
		}
	}
	name := p.Name
	if name == "" {
		name = fmt.Sprintf("%g years, %g°", p.Years, p.FieldDegrees)
	}
	o, err := spectrum.NewObserver(name, s[0], s[1], s[2])
	if err != nil {
		return o, fmt.Errorf("metamerism: these eyes make no observer: %w", err)
	}
	return o, nil
}
