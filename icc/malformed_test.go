package icc

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"example.org/primaries/colorimetry"
)

// smallClut returns a table with two points a channel that rises with all of
// its inputs.
func smallClut(in, out, width int) CLUT {
	return nodesOf(even(in, 2), out, width, 1, 0, func(d []float64) []float64 {
		sum := 0.0
		for _, v := range d {
			sum += v
		}
		c := make([]float64, out)
		for i := range c {
			c[i] = sum / float64(in)
		}
		return c
	})
}

// smallElements returns elements of every kind between some numbers of channels.
func smallElements(in, out int) MultiProcess {
	c := SegmentedCurve{Breaks: []float32{0, 0.5, 1}, Segments: []Segment{
		{Function: 0, Parameters: []float32{1, 1, 0, 0}}, {Samples: []float32{0.2, 0.5}},
		{Function: 1, Parameters: []float32{1, 0.4, 1, 0.3, 0.7}}, {Function: 2, Parameters: []float32{0.3, 2, 1, 0.2, -0.3}},
	}}
	set := make(CurveSet, in)
	for i := range set {
		set[i] = c
	}
	m := MatrixElement{in, make([]float32, in*in), make([]float32, in)}
	for i := range in {
		m.Matrix[i*in+i] = 0.9
	}
	return MultiProcess{in, out, []Element{
		ReservedElement{ElementBeginACS, in, SpaceXYZ}, set, m, CLUTElement{smallClut(in, out, 4)}, ReservedElement{ElementEndACS, out, SpaceXYZ},
	}}
}

// smallTable returns the table of a type in a direction.
func smallTable(typ Signature, in, out int) Value {
	even := func(n int) (w [][]uint16, b [][]uint8) {
		for range n {
			w = append(w, []uint16{0, 30000, 65535})
			b = append(b, make([]uint8, 256))
		}
		return w, b
	}
	inWords, inBytes := even(in)
	outWords, outBytes := even(out)
	c := smallClut(in, out, 2)
	m := &Affine{colorimetry.Identity(), [3]float64{0.1, 0, 0}}
	switch typ {
	case TypeLut8:
		return Lut8{colorimetry.Identity(), inBytes, smallClut(in, out, 1), outBytes}
	case TypeLut16:
		return Lut16{colorimetry.Identity(), inWords, c, outWords}
	case TypeLutAToB:
		return LutAToB{powers(in), &c, powers(3), m, bent(3, 4)}
	case TypeLutBToA:
		return LutBToA{bent(3, 4), m, powers(3), &c, powers(out)}
	}
	return smallElements(in, out)
}

// smallProfiles returns profiles of a few hundred bytes to a few thousand that
// hold every type of value between them.
func smallProfiles(t testing.TB) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	add := func(name string, p *Profile) { out[name], _ = mustEncode(t, p) }
	for _, version := range []Version{V2, V4Dot4} {
		spec := testSpec(t, version, version != V2)
		for i := range spec.Curves {
			spec.Curves[i] = samples(5, gamma(2))
		}
		spec.InForce = curves(t, 3)
		if version != V2 {
			spec.CICP = &CICP{12, 13, 0, 1}
		}
		p, _ := mustMatrix(t, spec)
		add("matrix, "+version.String(), p)
	}
	for name, typ := range map[string][2]Signature{"lut8": {TypeLut8, TypeLut8}, "lut16": {TypeLut16, TypeLut16}, "mAB and mBA": {TypeLutAToB, TypeLutBToA}} {
		p := bare(V4, ClassOutput, SpaceCMYK, SpaceLab)
		p.Set(TagAToB0, smallTable(typ[0], 4, 3))
		p.Set(TagBToA0, smallTable(typ[1], 3, 4))
		add(name, p)
	}
	p := bare(V4, ClassDisplay, SpaceRGB, SpaceXYZ)
	p.Set(TagDToB1, smallElements(3, 3))
	p.Set(TagBToD1, smallElements(3, 3))
	p.Set(TagAToB0, smallTable(TypeLut16, 3, 3))
	p.Set(TagBToA0, smallTable(TypeLutBToA, 3, 3))
	add("elements", p)
	for name, space := range map[string]Signature{"inverted gray": SpaceGray, "inverted 2 inks": 0x32434c52} {
		p := bare(V4, ClassInput, space, SpaceLab)
		p.Set(TagAToB0, smallTable(TypeLutAToB, Channels(space), 3))
		p.Set(TagDToB3, smallElements(Channels(space), 3))
		add(name, p)
	}
	p = bare(V4, ClassLink, SpaceRGB, SpaceCMYK)
	p.Set(TagAToB0, smallTable(TypeLut16, 3, 4))
	p.Set(TagProfileSequence, layouts["pseq, version 4"].v)
	add("link", p)
	p = bare(V2, ClassAbstract, SpaceLab, SpaceLab)
	p.Set(TagAToB0, smallTable(TypeLut16, 3, 3))
	add("abstract", p)
	p = bare(V2, ClassDisplay, SpaceGray, SpaceXYZ)
	p.Set(TagGrayCurve, SampledCurve{0, 20000, 65535})
	add("gray", p)
	out["every type"] = everyType(t)
	return out
}

// everyType returns a profile with the types of value that compute nothing.
func everyType(t testing.TB) []byte {
	p := bare(V4, ClassNamedColor, SpaceCMYK, SpaceLab)
	p.Header.Space = 0x32434c52 // as many as the named colours have
	for sig, name := range map[Signature]string{
		TagColorantOrder: "clro", TagColorantTable: "clrt", TagMeasurement: "meas", TagViewingConditions: "view", TagNamedColors: "ncl2",
		TagProfileSequence: "pseq, version 2", TagProfileSequenceIDs: "psid", TagOutputResponse: "rcs2", TagHardwareCalibration: "MHC2",
	} {
		p.Set(sig, layouts[name].v)
	}
	sortTags(p)
	p.Set(TagVideoCurves, VideoCurves{Formula: [3]VideoFormula{{1, 0, 1}, {2, 0, 1}, {1, 0, 1}}})
	p.Set(TagMetadata, Dict{{Name: "a", Value: "b", HasValue: true, DisplayName: LocalizedText{{"fr", "FR", "c"}}}})
	p.Set(TagCalibrationDate, DateTimeValue{2026, 1, 1, 0, 0, 0})
	p.Set(TagTechnology, SignatureValue(0x43525420))
	for i, v := range []Value{Uint8Array{1, 2}, Uint16Array{1, 2}, Uint32Array{1}, Uint64Array{1}, UFixedArray{1, 2}, Data{DataASCII, []byte("ab")}, Raw{0x61626364, make([]byte, 9)}} {
		p.Set(0x70726976+Signature(i), v)
	}
	b, _ := mustEncode(t, p)
	return b
}

// sparse is 1, or more for those small profiles whose inverse is searched, which
// takes a hundred times as long as anything else: of their cases one in so many
// is tried.
func sparse(name string) int {
	if strings.HasPrefix(name, "inverted") {
		return 7
	}
	return 1
}

// hurt is what a suite of malformed profiles comes to.
type hurt struct {
	t               *testing.T
	every           bool // each accepted profile is used in every intent
	count, accepted int
	memory          float64 // largest share of the bound
	longest         time.Duration
	slowest         string
}

// try decodes b, within the promised memory, and uses what comes out.
func (h *hurt) try(b []byte, what string) {
	h.t.Helper()
	h.count++
	start := time.Now()
	got, bound := allocated(b), float64(8*len(b)+1<<20)
	if h.memory = max(h.memory, float64(got)/bound); float64(got) > bound {
		h.t.Errorf("%s: %d bytes allocate %d", what, len(b), got)
	}
	p, err := Decode(b)
	if err != nil {
		var f *FormatError
		if !errors.As(err, &f) || f.Tag == "" || f.Offset < 0 || f.Offset > int64(len(b)) {
			h.t.Errorf("%s: error is %v", what, err)
		}
	} else {
		h.accepted++
		h.use(p, what)
	}
	if d := time.Since(start); d > h.longest {
		h.longest, h.slowest = d, what
	}
}

func (h *hurt) use(p *Profile, what string) {
	t := h.t
	defer func() {
		if t.Failed() {
			t.Logf("in %s", what)
		}
	}()
	for _, tag := range p.Tags {
		if tag.Value == nil || p.Value(tag.Signature) == nil {
			t.Fatalf("%s: tag %v has no value", what, tag.Signature)
		}
	}
	useTags(t, p)
	useCheck(t, p)
	if h.every {
		useEveryWay(t, p)
	} else {
		i := Intent(h.count)
		useWay(t, p, Options{Intent: i & 3, BlackPoint: i&4 != 0 && i&3 != Intent(Absolute)})
	}
	out, err := p.Encode()
	if err != nil {
		t.Fatalf("%s: a profile that was read cannot be written: %v", what, err)
	}
	q, err := Decode(out)
	if err != nil {
		t.Fatalf("%s: a profile that was written cannot be read: %v", what, err)
	}
	for i, tag := range p.Tags {
		if !reflect.DeepEqual(tag.Value, q.Tags[i].Value) {
			t.Fatalf("%s: tag %v changed", what, tag.Signature)
		}
	}
}

// done reports how the suite went.
func (h *hurt) done(least int) {
	h.t.Helper()
	h.t.Logf("%d cases, %d accepted; %.2f of the memory bound; longest %v (%s)", h.count, h.accepted, h.memory, h.longest, h.slowest)
	if h.count < least || h.accepted == 0 || h.accepted == h.count {
		h.t.Errorf("%d cases, %d accepted; want %d at least, some accepted and some not", h.count, h.accepted, least)
	}
	// A hostile profile of some kilobytes takes milliseconds; this is for
	// those that would take hours.
	if h.longest > 20*time.Second {
		h.t.Errorf("%s took %v", h.slowest, h.longest)
	}
}

// tagEntries returns where each entry of the tag table lies, and what it says.
func tagEntries(b []byte) (at []int, places []place) {
	n := int(binary.BigEndian.Uint32(b[headerSize:]))
	for i := range n {
		k := tableStart + entrySize*i
		at = append(at, k)
		places = append(places, place{binary.BigEndian.Uint32(b[k+4:]), binary.BigEndian.Uint32(b[k+8:])})
	}
	return at, places
}

// Profiles that end early: the bytes alone, the stated size with them, and each
// tag by itself.
func TestMalformedTruncation(t *testing.T) {
	h := &hurt{t: t}
	for name, b := range smallProfiles(t) {
		step := 1 + len(b)/800
		for n := 0; n < len(b); n += step {
			h.try(b[:n:n], fmt.Sprintf("%s, the first %d bytes", name, n))
			if n >= tableStart {
				h.try(put(b[:n:n], 0, uint32(n)), fmt.Sprintf("%s, the first %d bytes with their size", name, n))
			}
		}
		at, places := tagEntries(b)
		for i, p := range places {
			for size := uint32(0); size < p.size; size += 1 + p.size/60 {
				h.try(put(b, at[i]+8, size), fmt.Sprintf("%s, tag %d of %d bytes", name, i, size))
			}
		}
	}
	h.done(2000)
}

// Tables of tags whose entries lie: data of other tags, in part and in whole,
// places in the header, beyond the end and around it.
func TestMalformedPlaces(t *testing.T) {
	h := &hurt{t: t}
	for name, b := range smallProfiles(t) {
		at, places := tagEntries(b)
		end := uint32(len(b))
		for i, p := range places {
			what := fmt.Sprintf("%s, tag %d", name, i)
			for k, q := range places {
				h.try(put(put(b, at[i]+4, q.off), at[i]+8, q.size), fmt.Sprintf("%s with the data of tag %d", what, k))
				h.try(put(b, at[i]+4, q.off), fmt.Sprintf("%s at tag %d", what, k))
				h.try(put(b, at[i], binary.BigEndian.Uint32(b[at[k]:])), fmt.Sprintf("%s called as tag %d", what, k))
			}
			for _, off := range []uint32{0, 4, 127, 128, 132, tableStart + entrySize*uint32(len(places)) - 1, p.off - 4, p.off - 1, p.off + 1, p.off + 4, end - 8, end - 7, end, math.MaxUint32, math.MaxUint32 - 7, -p.size, -p.size + 4} {
				h.try(put(b, at[i]+4, off), fmt.Sprintf("%s at byte %d", what, off))
			}
			for _, size := range []uint32{0, 1, 7, 8, p.size - 1, p.size + 1, p.size + 4, end - p.off, end - p.off + 1, end, -p.off, -p.off + 8, math.MaxUint32, 0x7fffffff, 0x80000000} {
				h.try(put(b, at[i]+8, size), fmt.Sprintf("%s of %d bytes", what, size))
			}
		}
	}
	h.done(2000)
}

// Every word of every element set to numbers that hurt: counts, offsets, fixed
// point and floating point alike.
func TestMalformedWords(t *testing.T) {
	h := &hurt{t: t}
	float := math.Float32bits
	painful := []uint32{
		0, 1, 0x7fffffff, 0x80000000, math.MaxUint32, 0xff00ff, 0x10101010,
		float(float32(math.NaN())), float(float32(math.Inf(1))), float(float32(math.Inf(-1))), float(math.MaxFloat32), float(-math.MaxFloat32), 1,
	}
	for name, b := range smallProfiles(t) {
		_, places := tagEntries(b)
		for i, p := range places {
			step := uint32(4)
			for off := p.off; off+4 <= p.off+p.size && int(off)+4 <= len(b); off += step {
				if off > p.off+200 {
					step = 4 + p.size/100*4 // the long tables of entries
				}
				for k, v := range append(painful, off-p.off, p.size, uint32(len(b))) {
					if off > p.off+32 && (int(off/4)+k)%8 != 0 || int(off/4+uint32(k))%sparse(name) != 0 {
						continue
					}
					h.try(put(b, int(off), v), fmt.Sprintf("%s, tag %d, byte %d: 0x%08X", name, i, off-p.off, v))
				}
			}
		}
	}
	h.done(5000)
}

// Header fields that say what the tags don't.
func TestMalformedHeaders(t *testing.T) {
	h := &hurt{t: t}
	for name, b := range smallProfiles(t) {
		for _, space := range []Signature{SpaceRGB, SpaceGray, SpaceXYZ, SpaceLab, SpaceCMYK, 0x32434c52, 0x46434c52, 0, 0x58585858} {
			h.try(put(b, 16, uint32(space)), fmt.Sprintf("%s from %v", name, space))
			h.try(put(b, 20, uint32(space)), fmt.Sprintf("%s to %v", name, space))
			for _, class := range []Signature{ClassInput, ClassDisplay, ClassOutput, ClassLink, ClassSpace, ClassAbstract, ClassNamedColor, 0} {
				h.try(put(put(b, 12, uint32(class)), 20, uint32(space)), fmt.Sprintf("%s of class %v to %v", name, class, space))
			}
		}
		for off := 0; off < tableStart; off += 4 {
			for k, v := range []uint32{0, 1, 4, 0x02000000, 0x04ff0000, 0x7fffffff, 0x80000000, math.MaxUint32, uint32(len(b)) - 1} {
				if (off/4+k)%sparse(name) != 0 {
					continue
				}
				h.try(put(b, off, v), fmt.Sprintf("%s, header byte %d: 0x%08X", name, off, v))
			}
		}
	}
	h.done(2000)
}

// The untouched profiles are read, written and used in every intent.
func TestSmallProfiles(t *testing.T) {
	h := &hurt{t: t, every: true}
	for name, b := range smallProfiles(t) {
		keep := bytes.Clone(b)
		h.try(b, name)
		if !bytes.Equal(b, keep) {
			t.Errorf("%s: the bytes were changed", name)
		}
	}
	if h.accepted != h.count {
		t.Errorf("%d of %d were accepted", h.accepted, h.count)
	}
}
