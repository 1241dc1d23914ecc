package icc

import (
	"math"

	"example.org/primaries/colorimetry"
)

// vec holds a colour on its way through stages, in as many places as it has
// channels.
type vec [maxChannels]float64

// op is what a stage does.
type op uint8

const (
	opCurves op = iota
	opInverseCurves
	opMatrix
	opTable
	opClamp // to [0, 1], NaN to 0
	opBound // to what float32 holds, NaN to 0
	opLabToXYZ
	opXYZToLab
	opSolve
)

// stage is one step of an evaluation. A struct with cases rather than an
// interface, so that a colour stays on the stack.
type stage struct {
	op      op
	in, out int
	curves  []channel
	matrix  []float64 // out rows of in numbers, then out offsets
	table   *lattice
	solver  *solver
}

// run sends v through stages.
func run(stages []stage, v *vec) {
	for i := range stages {
		stages[i].apply(v)
	}
}

func (s *stage) apply(v *vec) {
	switch s.op {
	case opCurves:
		for i := range s.curves {
			v[i] = s.curves[i].at(v[i])
		}
	case opInverseCurves:
		for i := range s.curves {
			v[i] = s.curves[i].inverse(v[i])
		}
	case opMatrix:
		s.multiply(v)
	case opTable:
		s.table.at(v)
	case opClamp:
		for i := range v[:s.in] {
			v[i] = clamp(v[i])
		}
	case opBound:
		for i, x := range v[:s.in] {
			v[i] = bound(x)
		}
	case opLabToXYZ:
		c := colorimetry.Lab{L: within(v[0], farLab), A: within(v[1], farLab), B: within(v[2], farLab)}.XYZ(colorimetry.D50())
		v[0], v[1], v[2] = c.X, c.Y, c.Z
	case opXYZToLab:
		c := labOf(v)
		v[0], v[1], v[2] = c.L, c.A, c.B
	case opSolve:
		s.solver.solve(v)
	}
}

func (s *stage) multiply(v *vec) {
	var out vec
	offsets := s.matrix[s.in*s.out:]
	for i := range s.out {
		sum := offsets[i]
		for j, m := range s.matrix[i*s.in : (i+1)*s.in] {
			sum += m * v[j]
		}
		out[i] = sum
	}
	*v = out
}

// What enters the formulas of CIELAB is limited far beyond all colours, since
// package colorimetry answers NaN where results lose their meaning: for XYZ
// beyond 1e9 times the white, and where a cube root is beyond 1000.
const (
	farXYZ = 8e8
	farLab = 5e4
)

// labOf returns the L*a*b* of XYZ in v.
func labOf(v *vec) colorimetry.Lab {
	return colorimetry.XYZ{X: within(v[0], farXYZ), Y: within(v[1], farXYZ), Z: within(v[2], farXYZ)}.Lab(colorimetry.D50())
}

// within limits v to most on both sides of 0; NaN becomes 0.
func within(v, most float64) float64 {
	if v != v {
		return 0
	}
	return math.Max(-most, math.Min(v, most))
}

// bound limits v to what float32 holds; NaN becomes 0.
func bound(v float64) float64 { return within(v, math.MaxFloat32) }

// affine returns the stage of a 3 × 3 matrix with an offset.
func affine(m colorimetry.Matrix, o [3]float64) stage {
	return stage{op: opMatrix, in: 3, out: 3, matrix: []float64{
		m[0][0], m[0][1], m[0][2], m[1][0], m[1][1], m[1][2], m[2][0], m[2][1], m[2][2], o[0], o[1], o[2],
	}}
}

// encoding is how a table holds colours of the connection space.
type encoding uint8

const (
	modern encoding = iota // L* 100 and a* 127 are 1
	legacy                 // of lut16: 0xFF00 is L* 100, 0x8000 is a* 0
	plain                  // of multiprocess elements: as they are
)

// maxXYZ is the largest tristimulus value of the connection space, which
// tables hold as 1. Source: ICC.1:2022, 6.3.4.2.
const maxXYZ = 1 + 32767.0/32768

// labScale returns what L* and a* are multiplied by after 128 was added to a*.
func (e encoding) labScale() (l, ab float64) {
	if e == legacy {
		return 65280.0 / 65535 / 100, 256.0 / 65535
	}
	return 1.0 / 100, 1.0 / 255
}

// encode returns what leads from a space's own units to those of a table. A
// device's are the same in both.
func (e encoding) encode(space Signature) []stage {
	switch {
	case e == plain:
		return nil
	case space == SpaceXYZ:
		return []stage{affine(colorimetry.Diagonal(1/maxXYZ, 1/maxXYZ, 1/maxXYZ), [3]float64{})}
	case space == SpaceLab:
		l, ab := e.labScale()
		return []stage{affine(colorimetry.Diagonal(l, ab, ab), [3]float64{0, 128 * ab, 128 * ab})}
	}
	return nil
}

// decode is the inverse of encode.
func (e encoding) decode(space Signature) []stage {
	switch {
	case e == plain:
		return nil
	case space == SpaceXYZ:
		return []stage{affine(colorimetry.Diagonal(maxXYZ, maxXYZ, maxXYZ), [3]float64{})}
	case space == SpaceLab:
		l, ab := e.labScale()
		return []stage{affine(colorimetry.Diagonal(1/l, 1/ab, 1/ab), [3]float64{0, -128, -128})}
	}
	return nil
}
