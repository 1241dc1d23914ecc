package icc

import (
	"fmt"

	"example.org/primaries/colorimetry"
)

// through returns the stages of a table from one space's own units to
// another's.
func (p *Profile) through(c choice, from, to Signature, o Options) ([]stage, error) {
	stages, kind, err := tableStages(c.value, from, o)
	if err == nil {
		in, out := stages[0].in, stages[len(stages)-1].out
		if n, m := Channels(from), Channels(to); in != n || out != m {
			err = fmt.Errorf("it leads from %d channels to %d; %v has %d and %v %d", in, out, from, n, to, m)
		}
	}
	if err != nil {
		return nil, fmt.Errorf("icc: tag %v: %w", c.tag, err)
	}
	return append(append(kind.encode(from), stages...), kind.decode(to)...), nil
}

// tableStages returns the stages of a value that is a table, one at least, and
// how it holds colours of a connection space.
func tableStages(v Value, from Signature, o Options) ([]stage, encoding, error) {
	linear := o.Interpolation == Multilinear || from == SpaceLab
	switch v := v.(type) {
	case Lut8:
		s, err := lutStages(v.check(), v.Matrix, from, widen(v.Input), &v.Table, widen(v.Output), linear)
		return s, modern, err
	case Lut16:
		s, err := lutStages(v.check(), v.Matrix, from, v.Input, &v.Table, v.Output, linear)
		return s, legacy, err
	case LutAToB:
		_, _, err := v.channels()
		if err != nil {
			return nil, modern, err
		}
		s, err := v.stages(linear)
		return s, modern, err
	case LutBToA:
		_, _, err := v.channels()
		if err != nil {
			return nil, modern, err
		}
		s, err := v.stages(linear)
		return s, modern, err
	case MultiProcess:
		// What indexes a table among elements is their affair.
		s, err := v.stages(o.Interpolation == Multilinear)
		return s, plain, err
	}
	return nil, modern, fmt.Errorf("type %v is no table", v.Type())
}

// widen returns 8-bit entries as the 16-bit ones that stand for the same.
func widen(tables [][]uint8) [][]uint16 {
	out := make([][]uint16, len(tables))
	for i, t := range tables {
		out[i] = make([]uint16, len(t))
		for k, e := range t {
			out[i][k] = uint16(e) * 257
		}
	}
	return out
}

func lutStages(bad error, m colorimetry.Matrix, from Signature, input [][]uint16, t *CLUT, output [][]uint16, linear bool) ([]stage, error) {
	if bad != nil {
		return nil, bad
	}
	var out []stage
	// ICC.1:2022, 10.10: the matrix is for XYZ alone.
	if from == SpaceXYZ {
		out = append(out, affine(m, [3]float64{}))
	}
	for i, side := range [][][]uint16{input, output} {
		curves := make([]Curve, len(side))
		for k, e := range side {
			curves[k] = SampledCurve(e)
		}
		s, err := newChannels(curves)
		if err != nil {
			return nil, err
		}
		if out = append(out, s); i == 0 {
			out = append(out, tableStage(t, linear))
		}
	}
	return out, nil
}

func tableStage(t *CLUT, linear bool) stage {
	return stage{op: opTable, in: len(t.Grid), out: t.Outputs, table: newLattice(t, linear)}
}

// curveStage prepares the curves that a part of a table is called after.
func curveStage(name string, curves []Curve) (stage, error) {
	s, err := newChannels(curves)
	if err != nil {
		err = fmt.Errorf("%s %w", name, err)
	}
	return s, err
}

func (v LutAToB) stages(linear bool) (out []stage, err error) {
	var a, m, b stage
	if v.Table != nil {
		if err := v.Table.check(); err != nil {
			return nil, err
		}
		if len(v.Table.Grid) != len(v.A) {
			return nil, fmt.Errorf("%d A curves before a table of %d channels", len(v.A), len(v.Table.Grid))
		}
		if a, err = curveStage("A", v.A); err != nil {
			return nil, err
		}
		out = append(out, a, tableStage(v.Table, linear))
	}
	if v.Matrix != nil {
		if m, err = curveStage("M", v.M); err != nil {
			return nil, err
		}
		out = append(out, m, affine(v.Matrix.Matrix, v.Matrix.Offset), stage{op: opClamp, in: 3, out: 3})
	}
	if b, err = curveStage("B", v.B); err != nil {
		return nil, err
	}
	return append(out, b), fits(out, b.in)
}

func (v LutBToA) stages(linear bool) (out []stage, err error) {
	b, err := curveStage("B", v.B)
	if err != nil {
		return nil, err
	}
	out = append(out, b)
	if v.Matrix != nil {
		m, err := curveStage("M", v.M)
		if err != nil {
			return nil, err
		}
		out = append(out, affine(v.Matrix.Matrix, v.Matrix.Offset), stage{op: opClamp, in: 3, out: 3}, m)
	}
	if v.Table == nil {
		return out, nil
	}
	if err := v.Table.check(); err != nil {
		return nil, err
	}
	if err := fits(out, len(v.Table.Grid)); err != nil {
		return nil, err
	}
	a, err := curveStage("A", v.A)
	if err != nil {
		return nil, err
	}
	out = append(out, tableStage(v.Table, linear), a)
	return out, fits(out[:len(out)-1], a.in)
}

// fits tells whether what leaves the stages is as many channels as come next.
func fits(stages []stage, next int) error {
	if n := len(stages); n > 0 && stages[n-1].out != next {
		return fmt.Errorf("%d channels leave a part and %d enter the next", stages[n-1].out, next)
	}
	return nil
}

func (v MultiProcess) stages(linear bool) (out []stage, err error) {
	if err := v.check(); err != nil {
		return nil, err
	}
	if !v.evaluable() {
		return nil, fmt.Errorf("elements of more than 16 channels: %w", ErrUnsupported)
	}
	for i, e := range v.Elements {
		s, err := elementStage(e, linear)
		if err != nil {
			return nil, fmt.Errorf("element %d: %w", i+1, err)
		}
		out = append(out, s, stage{op: opBound, in: s.out, out: s.out})
	}
	return out, nil
}

func elementStage(e Element, linear bool) (stage, error) {
	in, out := e.Channels()
	s := stage{in: in, out: out}
	switch v := e.(type) {
	case CurveSet:
		s.op = opCurves
		for _, c := range v {
			if err := c.check(); err != nil {
				return s, err
			}
			s.curves = append(s.curves, newPieces(c))
		}
	case MatrixElement:
		if len(v.Matrix) != in*out {
			return s, fmt.Errorf("matrix of %d numbers from %d channels to %d", len(v.Matrix), in, out)
		}
		s.op = opMatrix
		for _, part := range [][]float32{v.Matrix, v.Offset} {
			for _, f := range part {
				s.matrix = append(s.matrix, float64(f))
			}
		}
	case CLUTElement:
		if err := v.CLUT.check(); err != nil {
			return s, err
		}
		s = tableStage(&v.CLUT, linear)
	case ReservedElement:
		s.op = opBound
	}
	return s, nil
}
