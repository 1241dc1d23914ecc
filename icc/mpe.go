package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// MultiProcess is a multiProcessElementsType: elements that a colour passes
// through one after another, in floating point and without clipping. Device
// values run from 0 to 1; in the connection space they are XYZ with Y of the
// white 1, or L*a*b* as it is. Source: ICC.1:2022, 10.16.
type MultiProcess struct {
	Inputs, Outputs int
	Elements        []Element // one at least
}

// Element is an element of a MultiProcess: a CurveSet, a MatrixElement, a
// CLUTElement or a ReservedElement.
type Element interface {
	// Channels returns how many channels come in and go out.
	Channels() (in, out int)
	appendElement(b []byte) ([]byte, error)
}

// CurveSet is a curveSetElement: one curve for each channel.
// Source: ICC.1:2022, 10.16.2.
type CurveSet []SegmentedCurve

// SegmentedCurve is a curve in pieces: the first from minus infinity up to the
// first break, the last beyond the last break. A break belongs to the piece
// below it.
type SegmentedCurve struct {
	Breaks   []float32 // rising; one fewer than Segments
	Segments []Segment
}

// Segment is a piece of a SegmentedCurve: a formula, or samples.
type Segment struct {
	// Function is that of the formula; Parameters are named as the standard
	// names them, in its order.
	//
	//	0  y = (a·x + b)^γ + c            γ, a, b, c
	//	1  y = a·log10(b·x^γ + c) + d     γ, a, b, c, d
	//	2  y = a·b^(c·x + d) + e          a, b, c, d, e
	Function   int
	Parameters []float32
	// Samples replace the formula where they are not nil: equally spaced, the
	// last at the upper break. The lower break has the value of the piece
	// before. The first and the last piece of a curve are formulas.
	Samples []float32
}

// MatrixElement is a matrixElement: y = Matrix·x + Offset.
// Source: ICC.1:2022, 10.16.3.
type MatrixElement struct {
	Inputs int
	Matrix []float32 // row by row, a row of Inputs numbers for each output
	Offset []float32 // a number for each output
}

// CLUTElement is a CLUTElement: a table with Floats. Its inputs are clipped to
// [0, 1]. Source: ICC.1:2022, 10.16.4.
type CLUTElement struct{ CLUT }

// ReservedElement is one of the two elements that the standard keeps for the
// future, bACS and eACS. Colours pass through it unchanged.
// Source: ICC.1:2022, 10.16.5 and 10.16.6.
type ReservedElement struct {
	Signature Signature // ElementBeginACS or ElementEndACS
	Count     int       // channels
	Space     Signature // of the alternate connection space
}

// Type signatures of the elements of a MultiProcess.
const (
	elementCurves Signature = 0x63767374 // cvst
	elementMatrix Signature = 0x6d617466 // matf
	elementCLUT   Signature = 0x636c7574 // clut

	// ElementBeginACS and ElementEndACS are the two elements that ICC.1
	// reserves.
	ElementBeginACS Signature = 0x62414353 // bACS
	ElementEndACS   Signature = 0x65414353 // eACS

	curveSegmented Signature = 0x63757266 // curf
	segmentFormula Signature = 0x70617266 // parf
	segmentSamples Signature = 0x73616d66 // samf
)

// formulaParameters says how many parameters each formula has.
var formulaParameters = [...]int{4, 5, 5}

// Type returns TypeMultiProcess.
func (MultiProcess) Type() Signature { return TypeMultiProcess }

// Channels returns the number of curves, twice.
func (v CurveSet) Channels() (in, out int) { return len(v), len(v) }

// Channels returns the columns and rows of the matrix.
func (v MatrixElement) Channels() (in, out int) { return v.Inputs, len(v.Offset) }

// Channels returns the numbers of channels of the table.
func (v CLUTElement) Channels() (in, out int) { return len(v.Grid), v.Outputs }

// Channels returns Count, twice.
func (v ReservedElement) Channels() (in, out int) { return v.Count, v.Count }

// check tells whether the elements fit together.
func (v MultiProcess) check() error {
	if len(v.Elements) == 0 {
		return errors.New("no elements; there is one at least")
	}
	now := v.Inputs
	for i, e := range v.Elements {
		if e == nil {
			return fmt.Errorf("element %d is nil", i+1)
		}
		in, out := e.Channels()
		if in != now || in < 1 || out < 1 || in > math.MaxUint16 || out > math.MaxUint16 {
			return fmt.Errorf("element %d takes %d channels and gives %d; %d come to it", i+1, in, out, now)
		}
		now = out
	}
	if now != v.Outputs {
		return fmt.Errorf("the last element gives %d channels of %d", now, v.Outputs)
	}
	return nil
}

func (v MultiProcess) appendTo(b []byte) ([]byte, error) {
	if err := v.check(); err != nil {
		return nil, err
	}
	start := len(b)
	b = appendPair(appendType(b, TypeMultiProcess), v.Inputs, v.Outputs)
	b = binary.BigEndian.AppendUint32(b, uint32(len(v.Elements)))
	return appendPlaced(b, start, len(v.Elements), func(b []byte, i int) ([]byte, error) {
		b, err := v.Elements[i].appendElement(b)
		if err != nil {
			return nil, fmt.Errorf("element %d: %w", i+1, err)
		}
		return b, nil
	})
}

// appendPlaced appends n places and then what lies there, each padded to four
// bytes, counted from start.
func appendPlaced(b []byte, start, n int, item func([]byte, int) ([]byte, error)) ([]byte, error) {
	table := len(b)
	b = append(b, make([]byte, 8*n)...)
	for i := range n {
		for (len(b)-start)%4 != 0 {
			b = append(b, 0)
		}
		at := len(b)
		var err error
		if b, err = item(b, i); err != nil {
			return nil, err
		}
		if uint64(len(b)-start) > math.MaxUint32 {
			return nil, errors.New("the value is longer than 4 GiB")
		}
		binary.BigEndian.PutUint32(b[table+8*i:], uint32(at-start))
		binary.BigEndian.PutUint32(b[table+8*i+4:], uint32(len(b)-at))
	}
	return b, nil
}

func appendPair(b []byte, in, out int) []byte {
	return binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(b, uint16(in)), uint16(out))
}

func (v CurveSet) appendElement(b []byte) ([]byte, error) {
	start := len(b)
	b = appendPair(appendType(b, elementCurves), len(v), len(v))
	return appendPlaced(b, start, len(v), func(b []byte, i int) ([]byte, error) {
		b, err := v[i].appendCurve(b)
		if err != nil {
			return nil, fmt.Errorf("curve %d: %w", i+1, err)
		}
		return b, nil
	})
}

// check tells what is wrong with the pieces of a curve.
func (c SegmentedCurve) check() error {
	n := len(c.Segments)
	if n < 1 || n > math.MaxUint16 || len(c.Breaks) != n-1 {
		return fmt.Errorf("%d pieces with %d breaks between them", n, len(c.Breaks))
	}
	for i := 1; i < len(c.Breaks); i++ {
		if !(c.Breaks[i] >= c.Breaks[i-1]) {
			return fmt.Errorf("break %g after %g; they rise", c.Breaks[i], c.Breaks[i-1])
		}
	}
	for i, s := range c.Segments {
		if err := s.check(i == 0 || i == n-1); err != nil {
			return fmt.Errorf("piece %d: %w", i+1, err)
		}
	}
	return nil
}

// check tells what is wrong with a piece, which is open where it has no end.
func (s Segment) check(open bool) error {
	if s.Samples != nil {
		if open {
			return errors.New("samples in a piece without end; a formula is possible")
		}
		if len(s.Samples) == 0 {
			return errors.New("no samples")
		}
		return nil
	}
	if s.Function < 0 || s.Function >= len(formulaParameters) {
		return fmt.Errorf("formula %d; 0 to 2 are defined", s.Function)
	}
	if len(s.Parameters) != formulaParameters[s.Function] {
		return fmt.Errorf("%d parameters; formula %d has %d", len(s.Parameters), s.Function, formulaParameters[s.Function])
	}
	return nil
}

func (c SegmentedCurve) appendCurve(b []byte) ([]byte, error) {
	if err := c.check(); err != nil {
		return nil, err
	}
	b = appendPair(appendType(b, curveSegmented), len(c.Segments), 0)
	b = appendFloats(b, c.Breaks)
	for _, s := range c.Segments {
		if s.Samples != nil {
			b = binary.BigEndian.AppendUint32(appendType(b, segmentSamples), uint32(len(s.Samples)))
			b = appendFloats(b, s.Samples)
		} else {
			b = appendPair(appendType(b, segmentFormula), s.Function, 0)
			b = appendFloats(b, s.Parameters)
		}
	}
	return b, nil
}

func (v MatrixElement) appendElement(b []byte) ([]byte, error) {
	if len(v.Matrix) != v.Inputs*len(v.Offset) {
		return nil, fmt.Errorf("matrix of %d numbers from %d channels to %d", len(v.Matrix), v.Inputs, len(v.Offset))
	}
	b = appendPair(appendType(b, elementMatrix), v.Inputs, len(v.Offset))
	return appendFloats(appendFloats(b, v.Matrix), v.Offset), nil
}

func (v CLUTElement) appendElement(b []byte) ([]byte, error) {
	if err := v.CLUT.check(); err != nil {
		return nil, err
	}
	if v.Floats == nil {
		return nil, errors.New("a table of whole numbers; Floats are possible here")
	}
	var grid [maxChannels]byte
	for i, g := range v.Grid {
		grid[i] = byte(g)
	}
	b = appendPair(appendType(b, elementCLUT), len(v.Grid), v.Outputs)
	return appendFloats(append(b, grid[:]...), v.Floats), nil
}

func (v ReservedElement) appendElement(b []byte) ([]byte, error) {
	if v.Signature != ElementBeginACS && v.Signature != ElementEndACS {
		return nil, fmt.Errorf("reserved element %v; bACS and eACS are defined", v.Signature)
	}
	b = appendPair(appendType(b, v.Signature), v.Count, v.Count)
	return binary.BigEndian.AppendUint32(b, uint32(v.Space)), nil
}
