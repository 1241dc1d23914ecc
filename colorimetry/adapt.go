package colorimetry

import (
	"fmt"
	"math"
	"strings"
)

// Adaptation is a chromatic adaptation transform: the three responses in which
// the von Kries rule scales a colour when the eye moves from one white to
// another. It is a value, comparable with == and safe for concurrent use; the
// zero value adapts nothing and gives errors.
//
// Use [BradfordAdaptation] where colours meet ICC profiles, [CAT16] or [CAT02]
// where they meet an appearance model; [HPE] and [XYZScaling] serve to
// reproduce older work.
type Adaptation struct {
	name         string
	sharpen, inv Matrix
}

// NewAdaptation returns the adaptation whose responses are sharpen·XYZ, under a
// name for people. The error wraps ErrSingular where sharpen has no inverse.
func NewAdaptation(name string, sharpen Matrix) (Adaptation, error) {
	inv, err := sharpen.Inverse()
	if err != nil {
		return Adaptation{}, fmt.Errorf("%w: the responses of adaptation %q are not independent", err, name)
	}
	return Adaptation{name, sharpen, inv}, nil
}

// fixed is NewAdaptation for matrices that are known to have an inverse.
func fixed(name string, sharpen Matrix) Adaptation {
	inv, _ := sharpen.Inverse()
	return Adaptation{name, sharpen, inv}
}

// BradfordAdaptation returns the linear Bradford transform, that of ICC
// profiles.
//
// Source: ICC.1:2022, annex E.
func BradfordAdaptation() Adaptation { return fixed("bradford", bradford()) }

// CAT02 returns the transform of CIECAM02.
//
// Source: CIE 159:2004.
func CAT02() Adaptation {
	return fixed("cat02", Matrix{{0.7328, 0.4296, -0.1624}, {-0.7036, 1.6975, 0.0061}, {0.0030, 0.0136, 0.9834}})
}

// CAT16 returns the transform of CAM16. Unlike CAT02's, its responses are
// those in which CAM16 compresses, too.
//
// Source: Li, Li, Wang, Xu, Luo, Cui, Melgosa, Brill, Pointer, Color Res.
// Appl. 42(6) 703-718 (2017), doi:10.1002/col.22131.
func CAT16() Adaptation {
	return fixed("cat16", Matrix{{0.401288, 0.650173, -0.051461}, {-0.250268, 1.204414, 0.045854}, {-0.002079, 0.048952, 0.953127}})
}

// HPE returns the von Kries transform in the cone responses of Hunt, Pointer
// and Estevez, here scaled to be equal under D65; another scaling of the
// responses adapts alike.
//
// Source: the responses that the published tables of von Kries adaptation
// use; first in Hunt and Pointer, Color Res. Appl. 10(3) 165-179 (1985), cited
// from memory.
func HPE() Adaptation {
	return fixed("hpe", Matrix{{0.40024, 0.70760, -0.08081}, {-0.22630, 1.16532, 0.04570}, {0, 0, 0.91822}})
}

// XYZScaling returns the adaptation that scales X, Y and Z themselves, as
// CIELAB does inside its formula. It is known to adapt poorly and serves to
// reproduce what others did.
//
// Source: ISO/CIE 11664-4:2019 divides by the white so.
func XYZScaling() Adaptation { return fixed("xyz", Identity()) }

// ParseAdaptation returns the adaptation named bradford, cat02, cat16, hpe or
// xyz, in any letter case. "von kries" is hpe and "xyz scaling" is xyz.
func ParseAdaptation(name string) (Adaptation, error) {
	switch strings.ToLower(strings.TrimSpace(name)) {
	case "bradford":
		return BradfordAdaptation(), nil
	case "cat02":
		return CAT02(), nil
	case "cat16":
		return CAT16(), nil
	case "hpe", "von kries":
		return HPE(), nil
	case "xyz", "xyz scaling":
		return XYZScaling(), nil
	}
	return Adaptation{}, fmt.Errorf("colorimetry: no adaptation is called %.40q; there are bradford, cat02, cat16, hpe and xyz", name)
}

// String returns the name, as ParseAdaptation reads it.
func (a Adaptation) String() string { return a.name }

// Sharpen returns the matrix from XYZ to the adaptation's responses.
func (a Adaptation) Sharpen() Matrix { return a.sharpen }

// Complete returns the matrix that takes a colour seen under the white from,
// the eye being adapted to it, to the colour that looks alike under the white
// to. It takes from exactly to to, luminance included. Both whites are on the
// scale of the colours. The error wraps ErrSingular where from has no response
// in one of the three, or a white is not finite or has a Y of 0 or less.
func (a Adaptation) Complete(from, to XYZ) (Matrix, error) { return a.Partial(from, to, 1) }

// Partial returns the one-step transform with degree of adaptation d, 0 to 1:
// 1 is complete adaptation, 0 scales luminance only. The eye stays between
// from and full adaptation to it, while to is taken as the white it is fully
// adapted to. [DegreeOfAdaptation] gives d. Errors are those of Complete, and
// one for a d outside [0, 1].
//
// Each response is multiplied by d·(to's/from's) + (1−d)·(to.Y/from.Y): the
// rule of CIE 159:2004, where to is the equal-energy white.
//
// Source: CIE 159:2004; Li, Luo, Rigg, Hunt, Color Res. Appl. 27(1) 49-58
// (2002), doi:10.1002/col.10005, for any second white.
func (a Adaptation) Partial(from, to XYZ, d float64) (Matrix, error) {
	f, t, err := a.whites(from, to)
	if err != nil {
		return Matrix{}, err
	}
	if err := degree(d); err != nil {
		return Matrix{}, err
	}
	if f.X == 0 || f.Y == 0 || f.Z == 0 {
		return Matrix{}, fmt.Errorf("%w: the white adapted from has no response in one class of %s", ErrSingular, a.name)
	}
	rest := (1 - d) * (to.Y / from.Y)
	return a.scaled(d*(t.X/f.X)+rest, d*(t.Y/f.Y)+rest, d*(t.Z/f.Z)+rest)
}

// TwoStep returns the transform by way of the equal-energy white: from the
// field of white from, adapted to by degree dFrom, to the field of white to,
// adapted to by degree dTo. Both degrees run from 0 to 1; both at 1 make
// Complete. Unlike Partial it may be turned round: TwoStep(to, from, dTo,
// dFrom) is its inverse. Errors are those of Partial, for either white.
//
// Source: Zhai and Luo, Opt. Express 26(6) 7724-7737 (2018),
// doi:10.1364/OE.26.007724; the same form in Li et al. (2017), see [CAT16].
func (a Adaptation) TwoStep(from, to XYZ, dFrom, dTo float64) (Matrix, error) {
	return a.TwoStepVia(from, to, XYZ{1, 1, 1}, dFrom, dTo)
}

// TwoStepVia is TwoStep by way of another white than that of equal energy: the
// one that is held to look most neutral. Only its ratios matter.
func (a Adaptation) TwoStepVia(from, to, via XYZ, dFrom, dTo float64) (Matrix, error) {
	there, err := a.Partial(from, via, dFrom)
	if err != nil {
		return Matrix{}, err
	}
	here, err := a.Partial(to, via, dTo)
	if err != nil {
		return Matrix{}, err
	}
	back, err := here.Inverse()
	if err != nil {
		return Matrix{}, err
	}
	return back.Mul(there), nil
}

// whites returns the responses to two whites.
func (a Adaptation) whites(from, to XYZ) (f, t XYZ, err error) {
	if a.inv == (Matrix{}) {
		return f, t, fmt.Errorf("%w: the zero Adaptation is none; BradfordAdaptation is the usual one", ErrSingular)
	}
	for _, w := range [...]XYZ{from, to} {
		if !w.Finite() || !(w.Y > 0) {
			return f, t, fmt.Errorf("%w: a white is %v; it must be finite and have a luminance above 0", ErrSingular, w)
		}
	}
	return a.sharpen.Apply(from), a.sharpen.Apply(to), nil
}

// scaled returns the matrix that multiplies the three responses.
func (a Adaptation) scaled(x, y, z float64) (Matrix, error) {
	if s := x + y + z; s-s != 0 || a.inv == (Matrix{}) {
		return Matrix{}, fmt.Errorf("%w: adaptation %q does not join these whites", ErrSingular, a.name)
	}
	return a.inv.Mul(Diagonal(x, y, z)).Mul(a.sharpen), nil
}

func degree(d float64) error {
	if !(d >= 0 && d <= 1) {
		return fmt.Errorf("colorimetry: the degree of adaptation is %g; it runs from 0 to 1", d)
	}
	return nil
}

// DegreeOfAdaptation returns the degree to which the eye adapts to a field of
// luminance adaptingCdM2 (a fifth of its white's, for common scenes), 0 to 1.
// The factor is 1 for an average surround, 0.9 for a dim and 0.8 for a dark
// one. A luminance below 0, and NaN, give NaN.
//
// Source: CIE 159:2004.
func DegreeOfAdaptation(factor, adaptingCdM2 float64) float64 {
	if !(adaptingCdM2 >= 0) {
		return math.NaN()
	}
	return math.Min(math.Max(factor*(1-math.Exp((-adaptingCdM2-42)/92)/3.6), 0), 1)
}

// bradford is the cone response matrix of the linear Bradford transform.
func bradford() Matrix {
	return Matrix{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}
}

// Bradford returns the linear Bradford adaptation from one white to another:
// the matrix that takes from to to. It is BradfordAdaptation's Complete. The
// error is Complete's.
//
// Source: ICC.1:2022, annex E.
func Bradford(from, to XYZ) (Matrix, error) { return BradfordAdaptation().Complete(from, to) }
