package icc

import (
	"math"
	"slices"
)

// StepKind is what a step of a chain does.
type StepKind uint8

const (
	StepCurves StepKind = iota // a function of each channel
	StepMatrix                 // a matrix, then an offset
	StepTable                  // a table with interpolation
	StepClamp                  // to 0 to 1, NaN to 0
	StepBound                  // to what float32 holds, NaN to 0
	StepToXYZ                  // from L*a*b* to XYZ under D50
	StepToLab                  // from XYZ to L*a*b* under D50
	StepSearch                 // for the device values of a colour
)

// Step is one step of a chain's computation: what a compiler of chains for
// pixels needs to know of it, and what can be shown of it in teaching. It does not
// change and is safe for concurrent use.
type Step struct {
	Kind            StepKind
	Inputs, Outputs int
	s               stage
}

// Steps returns the steps of the chain in their order.
func (c *Chain) Steps() []Step {
	out := make([]Step, len(c.stages))
	for i, s := range c.stages {
		out[i] = Step{kindOf(s.op), s.in, s.out, s}
		if out[i].Kind == StepTable {
			out[i].Outputs = s.table.outputs
		}
	}
	return out
}

func kindOf(o op) StepKind {
	switch o {
	case opCurves, opInverseCurves:
		return StepCurves
	case opMatrix:
		return StepMatrix
	case opTable:
		return StepTable
	case opClamp:
		return StepClamp
	case opBound:
		return StepBound
	case opLabToXYZ:
		return StepToXYZ
	case opXYZToLab:
		return StepToLab
	}
	return StepSearch
}

// Eval writes what src becomes in this step alone to dst, without allocating. src
// has Inputs numbers and dst room for Outputs; both may be the same.
func (s *Step) Eval(dst, src []float64) {
	var v vec
	_, _ = dst[s.Outputs-1], src[s.Inputs-1] // panics here, whatever the capacity
	copy(v[:], src[:s.Inputs])
	s.s.apply(&v)
	copy(dst[:s.Outputs], v[:])
}

// Curve returns the curve of one channel of StepCurves at x.
func (s *Step) Curve(channel int, x float64) float64 {
	if s.s.op == opInverseCurves {
		return s.s.curves[channel].inverse(x)
	}
	return s.s.curves[channel].at(x)
}

// Inverse returns the lowest x at which the curve of one channel of StepCurves
// reaches y, as far as the step knows a way back: ok is false for curves in
// pieces.
func (s *Step) Inverse(channel int, y float64) (x float64, ok bool) {
	c := &s.s.curves[channel]
	switch {
	case s.s.op == opInverseCurves:
		return c.at(y), true
	case c.pieces != nil:
		return 0, false
	}
	return c.inverse(y), true
}

// Bounded reports of StepCurves whether the curves see no more than 0 to 1 of what
// they are given, clamped, as all but curves in pieces do; and of StepTable whether
// what it gives stays within 0 to 1.
func (s *Step) Bounded() bool {
	if t := s.s.table; t != nil {
		for _, v := range t.nodes {
			if !(v >= 0 && float64(v)*t.scale <= 1) {
				return false
			}
		}
	}
	for i := range s.s.curves {
		if s.s.curves[i].pieces != nil {
			return false
		}
	}
	return true
}

// Range returns the least and the most that the curves of StepCurves give for 0 to
// 1, where they are Bounded; sampled curves and powers have both at their entries or
// ends.
func (s *Step) Range() (least, most float64) {
	least, most = math.Inf(1), math.Inf(-1)
	for i := range s.s.curves {
		c := &s.s.curves[i]
		if s.s.op == opInverseCurves {
			return 0, 1
		}
		values := []float64{c.at(0), c.at(1)}
		if c.sampled {
			values = append(values, float64(slices.Min(c.table))/65535, float64(slices.Max(c.table))/65535)
		} else if d := c.parametric.d; d > 0 && d < 1 {
			// The two parts meet, or jump, at d.
			values = append(values, c.at(d), c.at(math.Nextafter(d, 0)))
		}
		least, most = min(least, slices.Min(values)), max(most, slices.Max(values))
	}
	return least, most
}

// Rising reports whether the curve of one channel of StepCurves surely never falls,
// nor the one that it undoes.
func (s *Step) Rising(channel int) bool {
	c := &s.s.curves[channel]
	switch {
	case c.pieces != nil:
		return false
	case c.sampled:
		return !c.falls && slices.IsSorted(c.table)
	}
	d := c.parametric.d
	return !c.parametric.falls && (!(d > 0 && d <= 1) || c.at(math.Nextafter(d, 0)) <= c.at(d))
}

// Bends returns what the curve of one channel of StepCurves is given, from 0 to 1,
// where it may bend or jump, between which it is a line or a power: the entries of a
// sampled curve, the place where the two parts of a formula meet. Nil for curves in
// pieces.
func (s *Step) Bends(channel int) []float64 {
	c := &s.s.curves[channel]
	undoes := s.s.op == opInverseCurves
	switch d := c.parametric.d; {
	case c.pieces != nil:
		return nil
	case c.sampled:
		out := make([]float64, len(c.table))
		for i, v := range c.table {
			if out[i] = float64(i) / float64(len(c.table)-1); undoes {
				out[i] = float64(v) / 65535
			}
		}
		return out
	case d > 0 && d < 1 && undoes:
		return []float64{clamp(c.at(math.Nextafter(d, 0))), clamp(c.at(d))}
	case d > 0 && d < 1:
		return []float64{math.Nextafter(d, 0), d}
	}
	return nil
}

// Polyline reports whether the curve of one channel of StepCurves is a line between
// each two of its Bends that lie side by side.
func (s *Step) Polyline(channel int) bool {
	c := &s.s.curves[channel]
	return c.pieces == nil && c.sampled
}

// Straight reports whether the curves of StepCurves give what they are given,
// clamped to 0 to 1.
func (s *Step) Straight() bool {
	for i := range s.s.curves {
		c := &s.s.curves[i]
		switch {
		case c.pieces != nil:
			return false
		case c.sampled:
			for k, v := range c.table {
				if math.Abs(float64(v)-65535*float64(k)/float64(len(c.table)-1)) > 1e-6 {
					return false
				}
			}
		default:
			// A formula of a power is a line if it is one at a few places.
			for k := range 17 {
				if x := float64(k) / 16; math.Abs(c.at(x)-x) > 1e-12 {
					return false
				}
			}
		}
	}
	return true
}

// SameCurve reports whether two channels of StepCurves surely have the same curve.
func (s *Step) SameCurve(a, b int) bool {
	p, q := &s.s.curves[a], &s.s.curves[b]
	if p.pieces != nil || q.pieces != nil || p.sampled != q.sampled || p.falls != q.falls {
		return false
	}
	if p.sampled {
		return slices.Equal(p.table, q.table)
	}
	return p.parametric == q.parametric
}

// Matrix returns the rows of StepMatrix one after the other, Inputs numbers each,
// and then its offsets; nil for other steps.
func (s *Step) Matrix() []float64 { return slices.Clone(s.s.matrix) }

// Lattice is the table of a StepTable. Nodes lie in the order of ICC.1, the last
// channel varying fastest, Outputs numbers each; with Linear it is read linearly
// in each channel, otherwise by tetrahedra, as [Tetrahedral] has it.
type Lattice struct {
	Grid    []int
	Outputs int
	Nodes   []float32 // as they count, mostly 0 to 1
	Linear  bool
}

// Lattice returns a copy of the table of StepTable; the zero value for other steps.
func (s *Step) Lattice() Lattice {
	t := s.s.table
	if t == nil {
		return Lattice{}
	}
	nodes := make([]float32, len(t.nodes))
	for i, v := range t.nodes {
		nodes[i] = float32(float64(v) * t.scale)
	}
	return Lattice{slices.Clone(t.grid), t.outputs, nodes, t.linear}
}
