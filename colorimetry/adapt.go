package colorimetry

// D50 returns the white of the ICC profile connection space, Y = 1.
//
// Source: ICC.1:2022, 7.2.16, which prints 0.9642, 1, 0.8249.
func D50() XYZ { return XYZ{0.9642, 1, 0.8249} }

// D65 returns the chromaticity that the RGB standards print for D65, with
// Y = 1.
//
// Source: ITU-R BT.709-6, item 1.4, x = 0.3127, y = 0.3290.
func D65() XYZ { return Chromaticity{0.3127, 0.3290}.XYZ(1) }

// bradford is the cone response matrix of the linear Bradford transform.
//
// Source: ICC.1:2022, annex E.
func bradford() Matrix {
	return Matrix{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}
}

// Bradford returns the linear Bradford adaptation from one white to another:
// the matrix that takes from to to. Only the ratios of the whites matter when
// both have the same Y. The error is ErrSingular where from has no response
// in one cone class.
//
// Source: ICC.1:2022, annex E.
func Bradford(from, to XYZ) (Matrix, error) {
	b := bradford()
	inv, err := b.Inverse()
	if err != nil {
		return Matrix{}, err
	}
	f, t := b.Apply(from), b.Apply(to)
	if f.X == 0 || f.Y == 0 || f.Z == 0 {
		return Matrix{}, ErrSingular
	}
	return inv.Mul(Diagonal(t.X/f.X, t.Y/f.Y, t.Z/f.Z)).Mul(b), nil
}
