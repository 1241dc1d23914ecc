package tone

import (
	"fmt"
	"math"
	"strings"
)

// Parametric is a curve in one of the five forms of the ICC parametric curve
// type, from device signal X to light Y:
//
//	0  Y = X^g
//	1  Y = (aX+b)^g            from X = −b/a on, below it 0
//	2  Y = (aX+b)^g + c        from X = −b/a on, below it c
//	3  Y = (aX+b)^g            from X = d on, below it cX
//	4  Y = (aX+b)^g + e        from X = d on, below it cX + f
//
// [NewParametric] makes one that never falls between 0 and 1; the zero value is
// no curve and answers NaN. Signals below 0 count as 0, above 1 the formula
// goes on, as some profiles' curves end a little above 1 (ICC.1 clips them).
// Where Light jumps up at d, light in the gap has signal d. Where rounded
// constants would make it jump down, it is level instead.
//
// Source: ICC.1:2022, 10.18, parametricCurveType.
type Parametric struct {
	form                int
	g, a, b, c, d, e, f float64 // a power above, a line below d
	top                 float64 // the light of signal 1
}

// parameterCounts are those of forms 0 to 4, in the order g a b c d e f.
var parameterCounts = [...]int{1, 3, 4, 5, 7}

// NewParametric returns the curve of a form, 0 to 4, with its parameters in the
// order g, a, b, c, d, e, f: 1, 3, 4, 5 or 7 of them. It is an error if their
// number is another, if one is not finite, or if the curve would fall or be
// undefined between 0 and 1.
func NewParametric(form int, parameters ...float64) (Parametric, error) {
	if form < 0 || form >= len(parameterCounts) {
		return Parametric{}, fmt.Errorf("tone: there is no parametric form %d; there are 0 to 4", form)
	}
	if len(parameters) != parameterCounts[form] {
		return Parametric{}, fmt.Errorf("tone: parametric form %d takes %d numbers, not %d", form, parameterCounts[form], len(parameters))
	}
	var p [7]float64
	for i, v := range parameters {
		if v-v != 0 {
			return Parametric{}, fmt.Errorf("tone: parameter %d of the parametric curve is %g; it must be finite", i+1, v)
		}
		p[i] = v
	}
	c := Parametric{form: form, g: p[0], a: p[1], b: p[2], c: p[3], d: p[4], e: p[5], f: p[6]}
	switch form { // bring every form to that of 4
	case 0:
		c.a = 1
	case 1, 2:
		if c.a == 0 {
			return Parametric{}, fmt.Errorf("tone: parametric form %d needs an a other than 0, since it begins at −b/a", form)
		}
		c.d, c.e, c.f, c.c = -c.b/c.a, c.c, c.c, 0
	}
	if err := c.check(); err != nil {
		return Parametric{}, err
	}
	c.top = c.Light(1)
	return c, nil
}

// check says why the curve would fall or be undefined between 0 and 1.
func (c Parametric) check() error {
	if c.d > 0 && c.c < 0 {
		return fmt.Errorf("tone: the line of the parametric curve falls, its slope is %g", c.c)
	}
	from := math.Min(math.Max(c.d, 0), 1)
	low, high := c.upper(from), c.upper(1)
	switch {
	case c.g < 0.01 || c.g > 100:
		return fmt.Errorf("tone: the exponent of the parametric curve is %g; 0.01 to 100 are possible", c.g)
	case c.a < 0 || c.a*from+c.b < -1e-9:
		return fmt.Errorf("tone: the power of the parametric curve, (%g·X%+g)^%g, does not rise from X = %g on", c.a, c.b, c.g, from)
	case math.IsNaN(low) || math.IsNaN(high):
		return fmt.Errorf("tone: the power of the parametric curve, (%g·X%+g)^%g, is not finite up to X = 1", c.a, c.b, c.g)
	case c.d > 0 && c.d <= 1 && low < c.lower(c.d)-1e-4*math.Max(1, math.Abs(low)):
		// Rounded to the format's 16 binary digits, curves of the standards
		// fall by this much where line and power meet.
		return fmt.Errorf("tone: the parametric curve falls at X = %g, from %g to %g", c.d, c.lower(c.d), low)
	}
	return nil
}

func (c Parametric) lower(signal float64) float64 { return c.c*signal + c.f }

func (c Parametric) upper(signal float64) float64 { return power(c.a*signal+c.b, c.g) + c.e }

// Light returns the light of a signal.
func (c Parametric) Light(signal float64) float64 {
	signal = math.Max(signal, 0)
	if c.g == 0 {
		return math.NaN()
	}
	if signal < c.d {
		return finite(c.lower(signal))
	}
	if c.d > 0 {
		return finite(math.Max(c.upper(signal), c.lower(c.d)))
	}
	return finite(c.upper(signal))
}

// Signal returns the lowest signal that has a light, 0 where the curve begins
// above it.
func (c Parametric) Signal(light float64) float64 {
	if c.g == 0 || math.IsNaN(light) {
		return math.NaN()
	}
	if c.d > 0 && light < c.lower(c.d) {
		if c.c == 0 {
			return 0
		}
		return math.Max((light-c.f)/c.c, 0)
	}
	if c.d > 0 && c.c == 0 && light == c.f {
		return 0 // flat there
	}
	from := math.Max(c.d, 0)
	if light <= c.upper(from) || c.a == 0 {
		return from
	}
	signal := math.Max((power(light-c.e, 1/c.g)-c.b)/c.a, from)
	if light <= c.top && signal > 1 && from <= 1 {
		return 1 // rounding, where the curve is steep
	}
	return finite(signal)
}

// Slope returns the derivative of Light.
func (c Parametric) Slope(signal float64) float64 {
	switch {
	case c.g == 0 || math.IsNaN(signal):
		return math.NaN()
	case signal < 0:
		return 0
	case signal < c.d:
		return c.c
	}
	return finite(c.a * powerSlope(math.Max(c.a*signal+c.b, 0), c.g))
}

// Form returns the number of the form and its parameters in the order g, a, b,
// c, d, e, f, as NewParametric takes them.
func (c Parametric) Form() (form int, parameters []float64) {
	p := [...]float64{c.g, c.a, c.b, c.c, c.d, c.e, c.f}
	if c.form == 2 {
		p[3] = c.e
	}
	return c.form, append([]float64(nil), p[:parameterCounts[c.form]]...)
}

// String returns for instance "icc 0 2.2": the form and its parameters.
func (c Parametric) String() string {
	form, parameters := c.Form()
	var b strings.Builder
	b.WriteString("icc " + number(float64(form)))
	for _, v := range parameters {
		b.WriteString(" " + number(v))
	}
	return b.String()
}
