package appearance

import (
	"errors"
	"math"

	"example.org/primaries/colorimetry"
)

// Model is CIECAM02 or CAM16 in one viewing situation. It does not change once
// it is made; the zero value is of no use.
type Model struct {
	name    string
	viewing Viewing
	degree  float64

	// in takes relative XYZ to adapted cone responses times F_L/100 (of the
	// models' scale, on which white has Y = 100), out the same back.
	in, out colorimetry.Matrix

	aw     float64 // achromatic response of the white over N_bb
	root   float64 // J/100 is (A/A_w)^(2·root): root = c·z/2
	chroma float64 // (1.64 − 0.29ⁿ)^0.73
	induce float64 // 50000/13 · N_c · N_cb
	bright float64 // Q/√(J/100): 4/c · (A_w + 4) · F_L^¼
	flRoot float64 // F_L^¼
	satur  float64 // c/(A_w + 4)
}

// cat02 is the sharpened cone response matrix of CIECAM02.
//
// Source: CIE 159:2004.
func cat02() colorimetry.Matrix {
	return colorimetry.Matrix{{0.7328, 0.4296, -0.1624}, {-0.7036, 1.6975, 0.0061}, {0.0030, 0.0136, 0.9834}}
}

// hpe is the cone response matrix of Hunt, Pointer and Estevez, for a white of
// equal energy.
//
// Source: CIE 159:2004.
func hpe() colorimetry.Matrix {
	return colorimetry.Matrix{{0.38971, 0.68898, -0.07868}, {-0.22981, 1.18340, 0.04641}, {0, 0, 1}}
}

// cat16 is the cone response matrix of CAM16.
//
// Source: Li et al. (2017).
func cat16() colorimetry.Matrix {
	return colorimetry.Matrix{{0.401288, 0.650173, -0.051461}, {-0.250268, 1.204414, 0.045854}, {-0.002079, 0.048952, 0.953127}}
}

// NewCIECAM02 returns the model of CIE 159:2004. The error names the field of v
// that it cannot work with. Of colours far out in the blue the model makes
// cone responses that carry no appearance (ok = false in Appearance); CAM16
// was made to mend that.
//
// Source: CIE 159:2004, A colour appearance model for colour management
// systems: CIECAM02.
func NewCIECAM02(v Viewing) (*Model, error) {
	v, err := v.withDefaults()
	if err != nil {
		return nil, err
	}
	adapt, err := adaptation(cat02(), v)
	if err != nil {
		return nil, err
	}
	inv, err := cat02().Inverse()
	if err != nil {
		return nil, err
	}
	return newModel("CIECAM02", v, hpe().Mul(inv).Mul(adapt))
}

// NewCAM16 returns the model of Li et al. (2017). The error names the field of
// v that it cannot work with.
//
// CIE 248:2022 (CIECAM16), from memory, continues the compression of cone responses in
// straight lines far below black and far above white; this is the model
// without that.
//
// Source: C. Li, Z. Li, Z. Wang, Y. Xu, M. R. Luo, G. Cui, M. Melgosa, M. H.
// Brill, M. Pointer, Color Res. Appl. 42(6) 703-718 (2017),
// doi:10.1002/col.22131.
func NewCAM16(v Viewing) (*Model, error) {
	v, err := v.withDefaults()
	if err != nil {
		return nil, err
	}
	adapt, err := adaptation(cat16(), v)
	if err != nil {
		return nil, err
	}
	return newModel("CAM16", v, adapt)
}

// adaptation returns the matrix from XYZ to cone responses that are adapted to
// the degree D.
func adaptation(cones colorimetry.Matrix, v Viewing) (colorimetry.Matrix, error) {
	w, d := cones.Apply(v.White), v.degree()
	if !(w.X > 0 && w.Y > 0 && w.Z > 0) {
		return colorimetry.Matrix{}, errors.New("appearance: White excites one kind of cone not at all; give the white of a real light")
	}
	gain := func(response float64) float64 { return d*v.White.Y/response + 1 - d }
	return colorimetry.Diagonal(gain(w.X), gain(w.Y), gain(w.Z)).Mul(cones), nil
}

func newModel(name string, v Viewing, adapted colorimetry.Matrix) (*Model, error) {
	// CIE 159:2004; the same in Li et al. (2017).
	k := 1 / (5*v.AdaptingCdM2 + 1)
	k4 := k * k * k * k
	fl := k4*v.AdaptingCdM2 + 0.1*(1-k4)*(1-k4)*math.Cbrt(5*v.AdaptingCdM2)
	n := v.Background / v.White.Y
	nbb := 0.725 * math.Pow(n, -0.2)
	c := v.Surround.C

	m := &Model{name: name, viewing: v, degree: v.degree(), in: adapted.Scale(fl), flRoot: math.Sqrt(math.Sqrt(fl))}
	var err error
	if m.out, err = m.in.Inverse(); err != nil {
		return nil, errors.New("appearance: White cannot be adapted to; give the white of a real light")
	}
	m.aw = m.cones(v.White).achromatic()
	aw := m.aw * nbb
	if !(aw > 0) {
		return nil, errors.New("appearance: White has no achromatic response; give the white of a real light")
	}
	m.root = c * (1.48 + math.Sqrt(n)) / 2
	m.chroma = math.Pow(1.64-math.Pow(0.29, n), 0.73)
	m.induce = 50000.0 / 13 * v.Surround.Nc * nbb
	m.bright = 4 / c * (aw + 4) * m.flRoot
	m.satur = c / (aw + 4)
	return m, nil
}

// Name returns "CIECAM02" or "CAM16".
func (m *Model) Name() string { return m.name }

// Viewing returns the situation that the model was made for, its defaults
// filled in.
func (m *Model) Viewing() Viewing { return m.viewing }

// Degree returns D, the degree of adaptation to the white, 0 to 1.
func (m *Model) Degree() float64 { return m.degree }

// response is the three compressed cone responses, without the constant 0.1
// that the models add to each; where it does not cancel it is written out.
type response struct{ r, g, b float64 }

func (m *Model) cones(c colorimetry.XYZ) response {
	v := m.in.Apply(c)
	return response{compress(v.X), compress(v.Y), compress(v.Z)}
}

// achromatic returns A/N_bb, which is 0 for black.
func (p response) achromatic() float64 { return 2*p.r + p.g + p.b/20 }

// compress is the models' cone compression of v = F_L·R/100.
func compress(v float64) float64 {
	p := pow(math.Abs(v), 0.42)
	return math.Copysign(400*p/(p+27.13), v)
}

// expand undoes compress; NaN where no response is so high.
func expand(p float64) float64 {
	a := math.Abs(p)
	if !(a < 400) {
		return math.NaN()
	}
	return math.Copysign(pow(27.13*a/(400-a), 1/0.42), p)
}

// pow is x to the power y for x >= 0. It is twice as fast as math.Pow and good
// to some units of the last place over the exponents that colours make.
func pow(x, y float64) float64 { return math.Exp(y * math.Log(x)) }
