package transform

import (
	"math"

	"example.org/primaries/icc"
)

// step is a step of the chain, folded: neighbouring matrices are one.
type step struct {
	icc.Step
	matrix []float64 // of StepMatrix: rows, then offsets
}

// fold multiplies neighbouring matrices and drops what changes nothing: limits
// before or after what keeps to them, curves that are straight, and ways to XYZ and
// back.
func fold(steps []icc.Step) []step {
	var out []step
	for i, s := range steps {
		next := step{Step: s}
		if s.Kind == icc.StepMatrix {
			next.matrix = s.Matrix()
		}
		idle := func() bool { return i+1 < len(steps) && limits(&steps[i+1]) || inUnit(out) }
		var last *step
		if len(out) > 0 {
			last = &out[len(out)-1]
		}
		switch {
		case s.Kind == icc.StepClamp && idle(), s.Kind == icc.StepCurves && s.Straight() && idle():
		case last != nil && s.Kind == icc.StepMatrix && last.Kind == icc.StepMatrix:
			last.matrix = product(next.matrix, last.matrix, last.Inputs, last.Outputs, s.Outputs)
			last.Outputs = s.Outputs
		case last != nil && s.Kind == icc.StepToLab && last.Kind == icc.StepToXYZ:
			out = out[:len(out)-1]
		default:
			out = append(out, next)
		}
	}
	return out
}

// limits reports whether a step limits what it is given to 0 to 1 by itself.
func limits(s *icc.Step) bool {
	return s.Kind == icc.StepClamp || s.Kind == icc.StepTable || s.Kind == icc.StepCurves && s.Bounded()
}

// product returns the affine map of b after a.
func product(b, a []float64, in, middle, out int) []float64 {
	m := make([]float64, out*in+out)
	for i := range out {
		for k := range middle {
			w := b[i*middle+k]
			for j := range in {
				m[i*in+j] += w * a[k*in+j]
			}
			m[out*in+i] += w * a[middle*in+k]
		}
		m[out*in+i] += b[out*middle+i]
	}
	return m
}

// planes is the most channels that a block holds.
const planes = 4

// pixelBlock holds a stretch of pixels on their way, channel by channel. A block is
// that, and in builds with vectors has room for what these take.
type pixelBlock struct {
	v     [planes][blockPixels]float32
	alpha [blockPixels]float32
	cell  [blockPixels]int32  // of a table
	word  [blockPixels]uint64 // of labWay: sums, then places
}

// pass changes the first n pixels of a block.
type pass interface{ run(b *block, n int) }

// passes returns the passes that steps become after those of before, false where a
// step has none that keeps to what float32 holds.
func passes(before, steps []step) ([]pass, bool) {
	var out []pass
	far := false // whether values may be as large as float32 holds
	for len(steps) > 0 {
		if p, n := newLabTable(before, steps); p != nil {
			out, before, steps, far = append(out, p), steps[:n], steps[n:], false
			continue
		}
		p := passOf(&steps[0])
		if p == nil {
			return nil, false
		}
		switch steps[0].Kind {
		case icc.StepBound:
			far = true
		case icc.StepClamp, icc.StepTable:
			far = false
		case icc.StepToXYZ:
			out = within(out, far, farLab)
		case icc.StepToLab:
			out = within(out, far, farXYZ)
		}
		out, before, steps = append(out, p), steps[:1], steps[1:]
	}
	return out, true
}

// inUnit reports whether the last of steps gives nothing beyond 0 to 1.
func inUnit(steps []step) bool {
	if len(steps) == 0 {
		return false
	}
	s := &steps[len(steps)-1]
	switch s.Kind {
	case icc.StepClamp:
		return true
	case icc.StepTable:
		return s.Bounded()
	case icc.StepCurves:
		least, most := s.Range()
		return s.Bounded() && least >= 0 && most <= 1
	}
	return false
}

// What enters the formulas of CIELAB is limited far beyond all colours, as the
// chain does, so that cubes and differences of roots stay numbers.
const (
	farLab = 5e4
	farXYZ = 8e8
)

// within appends the limit, where values may be beyond it.
func within(out []pass, far bool, most float32) []pass {
	if !far {
		return out
	}
	return append(out, limit{3, -most, most})
}

func passOf(s *step) pass {
	if s.Inputs > planes || s.Outputs > planes {
		return nil
	}
	switch s.Kind {
	case icc.StepClamp:
		return limit{s.Inputs, 0, 1}
	case icc.StepBound:
		return limit{s.Inputs, -math.MaxFloat32, math.MaxFloat32}
	case icc.StepMatrix:
		return newAffine(s)
	case icc.StepCurves:
		return newCurves(s)
	case icc.StepTable:
		return newTable(s.Lattice())
	case icc.StepToLab:
		return toLab{}
	case icc.StepToXYZ:
		return toXYZ{}
	}
	return nil
}

// limit keeps channels within two values; NaN becomes 0.
type limit struct {
	channels int
	lo, hi   float32
}

func (l limit) run(b *block, n int) {
	if l.wide(b, n) {
		return
	}
	for c := range l.channels {
		row := b.v[c][:n]
		for i, v := range row {
			if !(v >= l.lo) {
				row[i] = l.lo
				if v != v {
					row[i] = 0
				}
			} else if v > l.hi {
				row[i] = l.hi
			}
		}
	}
}

// affine is a matrix and an offset.
type affine struct {
	in, out int
	m       [planes][planes]float32
	offset  [planes]float32
}

func newAffine(s *step) pass {
	a := &affine{in: s.Inputs, out: s.Outputs}
	for i := range a.out {
		for j := range a.in {
			a.m[i][j] = float32(s.matrix[i*a.in+j])
		}
		a.offset[i] = float32(s.matrix[a.out*a.in+i])
	}
	return a
}

func (a *affine) run(b *block, n int) {
	if a.in == 3 && a.out == 3 {
		a.run3(b, n)
		return
	}
	for i := range n {
		var v [planes]float32
		for j := range a.in {
			v[j] = b.v[j][i]
		}
		for k := range a.out {
			sum := a.offset[k]
			for j := range a.in {
				sum += a.m[k][j] * v[j]
			}
			b.v[k][i] = sum
		}
	}
}

func (a *affine) run3(b *block, n int) {
	if a.wide(b, n) {
		return
	}
	m := &a.m
	r, g, bl := b.v[0][:n], b.v[1][:n], b.v[2][:n]
	for i := range r {
		x, y, z := r[i], g[i], bl[i]
		r[i] = m[0][0]*x + m[0][1]*y + m[0][2]*z + a.offset[0]
		g[i] = m[1][0]*x + m[1][1]*y + m[1][2]*z + a.offset[1]
		bl[i] = m[2][0]*x + m[2][1]*y + m[2][2]*z + a.offset[2]
	}
}

// White of the connection space as package colorimetry has it.
const d50X, d50Z = 0.9642, 0.8249

// Constants of CIELAB, CIE 15:2018, 8.2.1.
const (
	labCut    = 216.0 / 24389
	labSlope  = 24389.0 / 27 / 116
	labOffset = 16.0 / 116
)

// toLab turns XYZ under D50 into L*a*b*.
type toLab struct{}

func (p toLab) run(b *block, n int) {
	if p.wide(b, n) {
		return
	}
	x, y, z := b.v[0][:n], b.v[1][:n], b.v[2][:n]
	for i := range x {
		fx, fy, fz := root(x[i]*(1/d50X)), root(y[i]), root(z[i]*(1/d50Z))
		x[i], y[i], z[i] = 116*fy-16, 500*(fx-fy), 200*(fy-fz)
	}
}

// root is f of CIELAB: the cube root, a line in the dark. The root begins from a
// third of the exponent, which two steps of Halley's method bring to float32's own
// precision.
func root(t float32) float32 {
	if !(t > labCut) {
		return labSlope*t + labOffset
	}
	y := math.Float32frombits(math.Float32bits(t)/3 + 0x2a5137a0)
	y3 := y * y * y
	y *= (y3 + t + t) / (y3 + y3 + t)
	y3 = y * y * y
	return y * (y3 + t + t) / (y3 + y3 + t)
}

// toXYZ turns L*a*b* into XYZ under D50.
type toXYZ struct{}

func (p toXYZ) run(b *block, n int) {
	if p.wide(b, n) {
		return
	}
	l, a, bb := b.v[0][:n], b.v[1][:n], b.v[2][:n]
	for i := range l {
		fy := (l[i] + 16) / 116
		l[i], a[i], bb[i] = cube(fy+a[i]/500)*d50X, cube(fy), cube(fy-bb[i]/200)*d50Z
	}
}

// cube is the inverse of root.
func cube(f float32) float32 {
	if f > 6.0/29 {
		return f * f * f
	}
	return (f - labOffset) / labSlope
}
