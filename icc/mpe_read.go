package icc

import "fmt"

// elementCost is what an Element takes besides its numbers.
const elementCost = 160

func readMultiProcess(r *reader) Value {
	v := MultiProcess{Inputs: int(r.u16()), Outputs: int(r.u16())}
	places := readPlaces(r, r.b, r.u32(), "elements")
	if r.err != nil || !r.charge(int64(len(places))*16) {
		return nil
	}
	v.Elements = make([]Element, len(places))
	for i, p := range places {
		if v.Elements[i] = readElement(r, p); v.Elements[i] == nil {
			return nil
		}
	}
	if err := v.check(); err != nil {
		r.fail(8, err)
	}
	return v
}

// readPlaces reads n places within b, an element whose first byte they are
// counted from and where the reader stands.
func readPlaces(r *reader, b []byte, n uint32, what string) []place {
	count := r.room(n, what, 8, 8)
	out := make([]place, count)
	for i := range out {
		at := r.off
		out[i] = place{r.u32(), r.u32()}
		if p := out[i]; r.err == nil && (p.size < 8 || uint64(p.off)+uint64(p.size) > uint64(len(b))) {
			r.fail(at, fmt.Errorf("one of the %s at %d with %d bytes does not lie within %d", what, p.off, p.size, len(b)))
		}
	}
	return out
}

// part lets read work on a stretch of r's element as if it were alone; its
// first 8 bytes are a signature, which is returned, and reserved ones.
func (r *reader) part(p place, read func(*reader, Signature)) {
	if r.err != nil {
		return
	}
	end := p.off + p.size
	in := &reader{b: r.b[p.off:end:end], limits: r.limits, budget: r.budget}
	sig := Signature(in.u32())
	in.take(4)
	read(in, sig)
	if in.err != nil {
		r.fail(int(p.off)+in.at, in.err)
	}
}

func readElement(r *reader, p place) (v Element) {
	if !r.charge(elementCost) {
		return nil
	}
	r.part(p, func(r *reader, sig Signature) {
		in, out := int(r.u16()), int(r.u16())
		switch sig {
		case elementCurves:
			v = readCurveSet(r, in, out)
		case elementMatrix:
			v = readMatrixElement(r, in, out)
		case elementCLUT:
			if r.channels(in, out) {
				v = CLUTElement{r.table(readGrid(r, in), out, 4)}
			}
		case ElementBeginACS, ElementEndACS:
			v = ReservedElement{sig, in, Signature(r.u32())}
			if in != out {
				r.fail(8, fmt.Errorf("element %v takes %d channels and gives %d", sig, in, out))
			}
		default:
			r.fail(0, fmt.Errorf("element of type %v; cvst, matf, clut, bACS and eACS are defined", sig))
		}
	})
	if r.err != nil {
		return nil
	}
	return v
}

func readCurveSet(r *reader, in, out int) Element {
	if in != out {
		r.fail(8, fmt.Errorf("%d channels become %d in a set of curves", in, out))
	}
	places := readPlaces(r, r.b, uint32(in), "curves")
	if r.err != nil || !r.charge(int64(len(places))*2*sliceHeader) {
		return nil
	}
	v := make(CurveSet, len(places))
	for i, p := range places {
		r.part(p, func(r *reader, sig Signature) {
			if sig != curveSegmented {
				r.fail(0, fmt.Errorf("curve of type %v; curf is defined", sig))
				return
			}
			v[i] = readSegments(r)
		})
	}
	return v
}

// segmentCost is what a Segment takes besides its samples: itself and five
// parameters.
const segmentCost = 56 + 24

func readSegments(r *reader) (c SegmentedCurve) {
	n := int(r.u16())
	r.take(2)
	if r.err == nil && n == 0 {
		r.fail(8, fmt.Errorf("curve without pieces"))
	}
	if r.err != nil {
		return c
	}
	if k := r.room(uint32(n-1), "breaks", 4, 4); k > 0 {
		c.Breaks = r.floats(k)
	}
	count := r.room(uint32(n), "pieces", 12, segmentCost)
	c.Segments = make([]Segment, count)
	for i := range c.Segments {
		c.Segments[i] = readSegment(r)
	}
	if r.err == nil {
		if err := c.check(); err != nil {
			r.fail(8, err)
		}
	}
	return c
}

func readSegment(r *reader) (s Segment) {
	at := r.off
	sig := Signature(r.u32())
	r.take(4)
	switch {
	case r.err != nil:
	case sig == segmentFormula:
		s.Function = int(r.u16())
		r.take(2)
		if s.Function >= len(formulaParameters) {
			r.fail(at+8, fmt.Errorf("formula %d; 0 to 2 are defined", s.Function))
			return s
		}
		s.Parameters = r.floats(formulaParameters[s.Function])
	case sig == segmentSamples:
		n := r.room(r.u32(), "samples", 4, 4)
		if r.err == nil && n == 0 {
			r.fail(at+8, fmt.Errorf("piece of no samples"))
			return s
		}
		s.Samples = r.floats(n)
	default:
		r.fail(at, fmt.Errorf("piece of type %v; parf and samf are defined", sig))
	}
	return s
}

func readMatrixElement(r *reader, in, out int) Element {
	v := MatrixElement{Inputs: in}
	n := r.roomFor(uint64(in)*uint64(out), r.limits.Nodes, "matrix elements", 4, 4)
	v.Matrix = r.floats(n)
	v.Offset = r.floats(r.room(uint32(out), "offsets", 4, 4))
	return v
}
