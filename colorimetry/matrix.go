package colorimetry

import "errors"

// Matrix is a 3×3 matrix, row by row.
type Matrix [3][3]float64

// ErrSingular is returned where a matrix has no usable inverse.
var ErrSingular = errors.New("colorimetry: matrix is singular")

// Identity returns the identity matrix.
func Identity() Matrix { return Matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}} }

// Diagonal returns the matrix with a, b, c on its diagonal.
func Diagonal(a, b, c float64) Matrix { return Matrix{{a, 0, 0}, {0, b, 0}, {0, 0, c}} }

// Columns returns the matrix whose columns are a, b and c, as when the
// tristimulus values of three primaries make an RGB to XYZ matrix.
func Columns(a, b, c XYZ) Matrix {
	return Matrix{{a.X, b.X, c.X}, {a.Y, b.Y, c.Y}, {a.Z, b.Z, c.Z}}
}

// Column returns column j (0 to 2) of m as a tristimulus value.
func (m Matrix) Column(j int) XYZ { return XYZ{m[0][j], m[1][j], m[2][j]} }

// Mul returns the product m·n.
func (m Matrix) Mul(n Matrix) Matrix {
	var p Matrix
	for i := range 3 {
		for j := range 3 {
			p[i][j] = m[i][0]*n[0][j] + m[i][1]*n[1][j] + m[i][2]*n[2][j]
		}
	}
	return p
}

// Transpose returns m with rows and columns exchanged.
func (m Matrix) Transpose() Matrix {
	return Matrix{{m[0][0], m[1][0], m[2][0]}, {m[0][1], m[1][1], m[2][1]}, {m[0][2], m[1][2], m[2][2]}}
}

// Add returns m + n.
func (m Matrix) Add(n Matrix) Matrix {
	for i := range 3 {
		for j := range 3 {
			m[i][j] += n[i][j]
		}
	}
	return m
}

// Scale returns k·m.
func (m Matrix) Scale(k float64) Matrix {
	for i := range 3 {
		for j := range 3 {
			m[i][j] *= k
		}
	}
	return m
}

// Apply returns m·c: a correction or an adaptation of a tristimulus value.
func (m Matrix) Apply(c XYZ) XYZ {
	return XYZ{
		m[0][0]*c.X + m[0][1]*c.Y + m[0][2]*c.Z,
		m[1][0]*c.X + m[1][1]*c.Y + m[1][2]*c.Z,
		m[2][0]*c.X + m[2][1]*c.Y + m[2][2]*c.Z,
	}
}

// FromLinear returns m·c for linear device amounts c: m maps RGB to XYZ.
func (m Matrix) FromLinear(c RGB) XYZ { return m.Apply(XYZ{c.R, c.G, c.B}) }

// ToLinear returns m·c as linear device amounts: m maps XYZ to RGB.
func (m Matrix) ToLinear(c XYZ) RGB {
	v := m.Apply(c)
	return RGB{v.X, v.Y, v.Z}
}

// Det returns the determinant of m.
func (m Matrix) Det() float64 {
	return m[0][0]*(m[1][1]*m[2][2]-m[1][2]*m[2][1]) -
		m[0][1]*(m[1][0]*m[2][2]-m[1][2]*m[2][0]) +
		m[0][2]*(m[1][0]*m[2][1]-m[1][1]*m[2][0])
}

// Inverse returns m⁻¹, or ErrSingular where the determinant is zero or not
// finite.
func (m Matrix) Inverse() (Matrix, error) {
	d := m.Det()
	if d == 0 || d-d != 0 {
		return Matrix{}, ErrSingular
	}
	k := 1 / d
	if k-k != 0 {
		return Matrix{}, ErrSingular
	}
	return Matrix{
		{(m[1][1]*m[2][2] - m[1][2]*m[2][1]) * k, (m[0][2]*m[2][1] - m[0][1]*m[2][2]) * k, (m[0][1]*m[1][2] - m[0][2]*m[1][1]) * k},
		{(m[1][2]*m[2][0] - m[1][0]*m[2][2]) * k, (m[0][0]*m[2][2] - m[0][2]*m[2][0]) * k, (m[0][2]*m[1][0] - m[0][0]*m[1][2]) * k},
		{(m[1][0]*m[2][1] - m[1][1]*m[2][0]) * k, (m[0][1]*m[2][0] - m[0][0]*m[2][1]) * k, (m[0][0]*m[1][1] - m[0][1]*m[1][0]) * k},
	}, nil
}
