package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
)

// Type returns TypeDict.
func (Dict) Type() Signature { return TypeDict }

// Get returns the value of the first entry called name.
func (v Dict) Get(name string) (value string, ok bool) {
	for _, e := range v {
		if e.Name == name {
			return e.Value, e.HasValue
		}
	}
	return "", false
}

func (v Dict) appendTo(b []byte) ([]byte, error) {
	size := 16
	for _, e := range v {
		if e.DisplayName != nil || e.DisplayValue != nil {
			size = 32
		}
	}
	start := len(b)
	b = binary.BigEndian.AppendUint32(appendType(b, TypeDict), uint32(len(v)))
	b = binary.BigEndian.AppendUint32(b, uint32(size))
	at := 16 + size*len(v)
	var data []byte
	// Each part starts on a 4-byte boundary; an absent one has no offset.
	part := func(p []byte, present bool) {
		off := 0
		if present {
			data = pad4(data)
			off = at + len(data)
		}
		b = binary.BigEndian.AppendUint32(b, uint32(off))
		b = binary.BigEndian.AppendUint32(b, uint32(len(p)))
		data = append(data, p...)
	}
	for _, e := range v {
		if e.Name == "" {
			return nil, errors.New("an entry has no name")
		}
		part(appendUTF16(nil, e.Name), true)
		part(appendUTF16(nil, e.Value), e.HasValue)
		if size == 16 {
			continue
		}
		for _, t := range []LocalizedText{e.DisplayName, e.DisplayValue} {
			p := []byte(nil)
			if t != nil {
				var err error
				if p, err = t.appendTo(nil); err != nil {
					return nil, err
				}
			}
			part(p, t != nil)
		}
	}
	if b = append(b, data...); uint64(len(b)-start) > math.MaxUint32 {
		return nil, errors.New("entries are longer than 4 GiB")
	}
	return b, nil
}

func readDict(r *reader) Value {
	n := r.u32()
	size := r.u32()
	if r.err == nil && n > 0 && size != 16 && size != 24 && size != 32 {
		r.fail(12, fmt.Errorf("records of %d bytes; 16, 24 or 32 are defined", size))
		return nil
	}
	v := make(Dict, r.room(n, "dictionary records", int(size), 88))
	for i := range v {
		e := &v[i]
		name, _ := readPart(r)
		e.Name = readUTF16(r, name)
		var value []byte
		value, e.HasValue = readPart(r)
		e.Value = readUTF16(r, value)
		if size >= 24 {
			e.DisplayName = readNested(r)
		}
		if size >= 32 {
			e.DisplayValue = readNested(r)
		}
	}
	return v
}

// readPart reads an offset and a size and returns what they point to; offset 0
// means that the part is absent.
func readPart(r *reader) (part []byte, present bool) {
	off, size := r.u32(), r.u32()
	if off == 0 {
		return nil, false
	}
	return r.within(off, size, "string"), true
}

// readNested reads a LocalizedText that lies elsewhere in the element.
func readNested(r *reader) LocalizedText {
	at := r.off
	part, present := readPart(r)
	if !present || r.err != nil {
		return nil
	}
	in := &reader{b: part, limits: r.limits, budget: r.budget}
	if s := Signature(in.u32()); in.err == nil && s != TypeLocalized {
		in.fail(0, fmt.Errorf("translation of type %v; mluc is needed", s))
	}
	in.take(4)
	v, _ := readLocalized(in).(LocalizedText)
	if in.err != nil {
		r.fail(at, in.err)
		return nil
	}
	return v
}

// pad4 appends zeros up to a multiple of four bytes.
func pad4(b []byte) []byte {
	for len(b)%4 != 0 {
		b = append(b, 0)
	}
	return b
}
