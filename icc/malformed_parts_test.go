package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"runtime"
	"testing"

	"example.org/primaries/colorimetry"
)

// asTag returns a profile whose only tag is e, in its place and class.
func asTag(class, space, pcs, tag Signature, e []byte) []byte {
	b := element(e)
	b = put(put(put(b, 12, uint32(class)), 16, uint32(space)), 20, uint32(pcs))
	return put(b, tableStart, uint32(tag))
}

// oneWay returns a profile with a table of three channels whose inverse is not
// asked for, since the search for it takes its time.
func oneWay(typ Signature, e []byte) []byte {
	switch typ {
	case TypeLutBToA:
		return asTag(ClassDisplay, SpaceRGB, SpaceLab, TagBToA0, e)
	case TypeMultiProcess:
		return asTag(ClassAbstract, SpaceLab, SpaceLab, TagDToB0, e)
	}
	return asTag(ClassAbstract, SpaceLab, SpaceLab, TagAToB0, e)
}

// mustAppend returns the bytes of a value.
func mustAppend(t testing.TB, v Value) []byte {
	t.Helper()
	b, err := v.appendTo(nil)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// Grids and counts that are far larger than the bytes, products that wrap
// around 32 and 64 bits among them.
func TestMalformedGrids(t *testing.T) {
	h := &hurt{t: t}
	for _, typ := range []Signature{TypeLut8, TypeLut16, TypeLutAToB, TypeLutBToA, TypeMultiProcess} {
		e := mustAppend(t, smallTable(typ, 3, 3))
		try := func(b []byte, what string) { h.try(oneWay(typ, b), fmt.Sprintf("%v, %s", typ, what)) }
		// Every byte of the head, and of what parts begin with.
		for off := 8; off < min(len(e), 160); off++ {
			for _, v := range []byte{0, 1, 2, 16, 17, 255} {
				b := append([]byte(nil), e...)
				b[off] = v
				try(b, fmt.Sprintf("byte %d is %d", off, v))
			}
		}
		// Numbers of channels with grids of 255 points in each.
		for _, n := range []byte{1, 2, 4, 8, 15, 16, 17, 255} {
			for _, points := range []byte{1, 2, 16, 128, 255} {
				b := append([]byte(nil), e...)
				switch typ {
				case TypeLut8, TypeLut16:
					b[8], b[10] = n, points
				case TypeLutAToB, TypeLutBToA:
					b[8], b[9] = n, n
					at := binary.BigEndian.Uint32(b[24:])
					for i := range maxChannels {
						b[int(at)+i] = points
					}
				case TypeMultiProcess:
					for i := 0; i+30 < len(b); i += 4 {
						if Signature(binary.BigEndian.Uint32(b[i:])) == elementCLUT {
							b[i+9] = n
							for k := range maxChannels {
								b[i+12+k] = points
							}
						}
					}
				}
				try(b, fmt.Sprintf("%d channels of %d points", n, points))
			}
		}
	}
	h.done(1000)
}

// Parts of a value that lie in each other, in the head, in themselves.
func TestMalformedParts(t *testing.T) {
	h := &hurt{t: t}
	for _, typ := range []Signature{TypeLutAToB, TypeLutBToA} {
		e := mustAppend(t, smallTable(typ, 3, 3))
		for slot := range 5 {
			at := 12 + 4*slot
			for off := range uint32(len(e) + 4) {
				h.try(oneWay(typ, put(e, at, off)), fmt.Sprintf("%v, part %d at byte %d", typ, slot, off))
			}
			for other := range 5 {
				b := put(e, at, 0)
				h.try(oneWay(typ, put(b, 12+4*other, 0)), fmt.Sprintf("%v without parts %d and %d", typ, slot, other))
			}
		}
	}
	e := mustAppend(t, smallElements(3, 3))
	n := int(binary.BigEndian.Uint32(e[12:]))
	for i := range n {
		for _, p := range []place{{0, uint32(len(e))}, {16, 8}, {0, 16}, {uint32(len(e)), 0}, {uint32(len(e)) - 8, 8}, {math.MaxUint32 - 7, 8}, {math.MaxUint32, math.MaxUint32}, {8, math.MaxUint32 - 7}} {
			h.try(oneWay(TypeMultiProcess, put(put(e, 16+8*i, p.off), 20+8*i, p.size)), fmt.Sprintf("element %d at %d with %d bytes", i, p.off, p.size))
		}
		for k := range n {
			b := append([]byte(nil), e...)
			copy(b[16+8*i:24+8*i], e[16+8*k:])
			h.try(oneWay(TypeMultiProcess, b), fmt.Sprintf("element %d is element %d", i, k))
		}
	}
	h.done(1000)
}

// Parameters at the ends of their range, in every function and every place that
// holds a formula.
func TestMalformedParameters(t *testing.T) {
	h := &hurt{t: t}
	fixed := []uint32{0, 1, 0x10000, 0x7fffffff, 0x80000000, math.MaxUint32, 0xffff0000}
	for f := range 5 {
		plain := mustAppend(t, ParametricCurve{f, 2, 1, 0.1, 0.5, 0.2, 0.1, 0.1})
		for k := range parameters(f) {
			for l := range parameters(f) {
				for _, v := range fixed {
					for _, w := range fixed {
						if k < l && (v^w)&3 != 0 {
							continue
						}
						e := put(put(plain, 12+4*k, v), 12+4*l, w)
						h.try(asTag(ClassDisplay, SpaceGray, SpaceXYZ, TagGrayCurve, e), fmt.Sprintf("function %d, parameters %d and %d are %#x and %#x", f, k, l, v, w))
					}
				}
			}
		}
	}
	floats := []float32{0, 1, -1, math.MaxFloat32, -math.MaxFloat32, math.SmallestNonzeroFloat32, float32(math.Inf(1)), float32(math.NaN())}
	whole := mustAppend(t, smallElements(1, 3))
	for off := 16; off+4 <= len(whole); off += 4 {
		for _, v := range floats {
			e := put(whole, off, math.Float32bits(v))
			h.try(asTag(ClassDisplay, SpaceGray, SpaceLab, TagDToB0, e), fmt.Sprintf("number %g at byte %d", v, off))
		}
	}
	h.done(1000)
}

// Tags that overlap in part are accepted only as long as writing them apart
// stays within the memory bound.
func TestOverlapIsBounded(t *testing.T) {
	for _, sig := range []Signature{TypeSignature, 0x61626364} {
		b := sliding(sig, 1<<20, 200, 1)
		if _, err := Decode(b); !errors.Is(err, errMemory) {
			t.Errorf("type %v: error is %v", sig, err)
		}
		p, err := Decode(sliding(sig, 1<<10, 200, 1))
		if err != nil {
			t.Fatal(err)
		}
		if out, err := p.Encode(); err != nil || len(out) < 180<<10 {
			t.Errorf("type %v: %d bytes, %v", sig, len(out), err)
		}
	}
	// Data that all tags share is decoded once, written once, and compared once.
	b := sliding(TypeUint8Array, 1<<20, 200, 0)
	p, err := Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	out, err := p.Encode()
	p.Check()
	runtime.ReadMemStats(&after)
	if got := after.TotalAlloc - before.TotalAlloc; err != nil || len(out) != len(b) || got > uint64(8*len(b)+1<<20) {
		t.Errorf("%d bytes become %d and allocate %d: %v", len(b), len(out), got, err)
	}
}

// sliding returns a profile of n tags over one element of so many bytes, each
// shorter by step than the one before.
func sliding(sig Signature, size, n, step int) []byte {
	b := element(make([][]byte, n)...)
	start := len(b)
	b = append(append(b, words(uint32(sig), 0)...), make([]byte, size)...)
	binary.BigEndian.PutUint32(b, uint32(len(b)))
	for i := range n {
		binary.BigEndian.PutUint32(b[tableStart+entrySize*i+4:], uint32(start))
		binary.BigEndian.PutUint32(b[tableStart+entrySize*i+8:], uint32(len(b)-start-i*step))
	}
	return b
}

// manyElements returns a multiprocess value of n elements that are all one.
func manyElements(t *testing.T, n int, e Element) []byte {
	t.Helper()
	one, err := e.appendElement(nil)
	if err != nil {
		t.Fatal(err)
	}
	in, out := e.Channels()
	v := binary.BigEndian.AppendUint32(appendPair(appendType(nil, TypeMultiProcess), in, out), uint32(n))
	at := uint32(len(v) + 8*n)
	for range n {
		v = append(v, words(at, uint32(len(one)))...)
	}
	return append(v, one...)
}

// Building a chain takes memory in proportion to the values, and a way that
// takes too much work is not searched for its inverse.
func TestHostileElements(t *testing.T) {
	for name, e := range map[string]Element{
		"matrices": MatrixElement{3, make([]float32, 9), make([]float32, 3)}, "curves": smallElements(3, 3).Elements[1], "tables": CLUTElement{smallClut(3, 3, 4)},
	} {
		n := 300
		if name == "matrices" {
			n = 2700
		}
		p, err := Decode(asTag(ClassDisplay, SpaceRGB, SpaceLab, TagDToB0, manyElements(t, n, e)))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		c, err := ToPCS(p, Options{})
		runtime.ReadMemStats(&after)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		useChain(t, name, c)
		got, size := after.TotalAlloc-before.TotalAlloc, len(p.source)
		t.Logf("%d %s in %d bytes: a chain allocates %d", n, name, size, got)
		if got > 8<<20 {
			t.Errorf("%s: a chain of %d bytes allocates %d", name, size, got)
		}
		if work(c.stages) > maxWork {
			if _, err := FromPCS(p, Options{}); !errors.Is(err, ErrUnsupported) {
				t.Errorf("%s: error is %v", name, err)
			}
		}
	}
}

// A table with more inputs than any device has takes its time, and ends.
func TestManyChannels(t *testing.T) {
	h := &hurt{t: t}
	v := Lut8{Matrix: colorimetry.Identity(), Table: smallClut(15, 3, 1), Input: make([][]uint8, 15), Output: make([][]uint8, 3)}
	for _, side := range [][][]uint8{v.Input, v.Output} {
		for i := range side {
			side[i] = make([]uint8, 256)
			side[i][100] = 200
		}
	}
	h.try(asTag(ClassOutput, 0x46434c52, SpaceLab, TagAToB0, mustAppend(t, v)), "15 channels")
	if h.accepted != 1 {
		t.Error("a table of 15 channels was refused")
	}
}

// Elements reach numbers for which CIELAB has no formula; results stay finite
// and in order. Found by FuzzEvaluate.
func TestColoursBeyondLab(t *testing.T) {
	for _, pcs := range []Signature{SpaceLab, SpaceXYZ} {
		last := math.Inf(-1)
		for _, f := range []float32{-math.MaxFloat32, -1e30, -1e12, -1, 0, 1, 1e4, 1e12, 1e30, math.MaxFloat32} {
			p := bare(V4, ClassDisplay, SpaceGray, pcs)
			for _, sig := range toElements {
				p.Set(sig, MultiProcess{1, 3, []Element{MatrixElement{1, []float32{f, f, f}, make([]float32, 3)}}})
			}
			useEveryWay(t, p)
			c, err := ToPCS(p, Options{Intent: Relative, PCS: SpaceLab})
			if err != nil {
				t.Fatal(err)
			}
			var lab [3]float64
			c.Eval(lab[:], []float64{1})
			if !(lab[0] >= last) {
				t.Errorf("%v, %g: L* falls from %g to %g", pcs, f, last, lab[0])
			}
			last = lab[0]
		}
	}
}

// A tag that comes from another profile is written as it is there, although
// its data may lie at the same place in both.
func TestTagFromAnotherProfile(t *testing.T) {
	p, err := Decode(element(mustAppend(t, Text("one")), mustAppend(t, Text("two"))))
	if err != nil {
		t.Fatal(err)
	}
	q, err := Decode(element(mustAppend(t, Text("ein")), mustAppend(t, Text("zwei"))))
	if err != nil {
		t.Fatal(err)
	}
	q.Tags[0] = p.Tags[0]
	q.Tags = append(q.Tags, Tag{p.Tags[1].Signature + 1, p.Tags[0].Value, p.Tags[0].raw, p.Tags[0].offset})
	_, r := mustEncode(t, q)
	if a, b, c := r.Tags[0].Value, r.Tags[1].Value, r.Tags[2].Value; a != Text("one") || b != Text("zwei") || c != Text("one") {
		t.Errorf("tags are %v, %v and %v", a, b, c)
	}
	useCheck(t, q)
}
