package icc

import (
	"bytes"
	"cmp"
	"crypto/md5"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
)

// Type returns v.TypeSignature.
func (v Raw) Type() Signature { return v.TypeSignature }

func (v Raw) appendTo(b []byte) ([]byte, error) {
	if len(v.Data) < 4 {
		return nil, fmt.Errorf("raw data of %d bytes lacks the four reserved ones", len(v.Data))
	}
	return append(binary.BigEndian.AppendUint32(b, uint32(v.TypeSignature)), v.Data...), nil
}

// Encode returns the bytes of the profile; the same profile always gives the
// same bytes. Tags are stored in the order of Tags, those of a decoded profile
// in the order their data had, and equal data is stored once unless it was
// stored twice before. Header.ID is written as its documentation says. Numbers are
// rounded to the nearest that their field holds, halves up; one beyond its range
// is an error. The error names the tag that cannot be written.
func (p *Profile) Encode() ([]byte, error) {
	elements, err := p.elements()
	if err != nil {
		return nil, err
	}
	b, err := p.lay(elements)
	if err != nil {
		return nil, err
	}
	if p.Header.ID != [16]byte{} && !bytes.Equal(b, p.source) {
		id, err := ProfileID(b)
		if err != nil {
			return nil, err
		}
		copy(b[84:], id[:])
	}
	return b, nil
}

// elements returns the encoded value of each tag.
func (p *Profile) elements() ([][]byte, error) {
	out := make([][]byte, len(p.Tags))
	seen := make(map[Signature]bool, len(p.Tags))
	kept := make(map[stretch]Value, len(p.Tags)) // data of tags that are untouched
	for i, t := range p.Tags {
		if seen[t.Signature] {
			return nil, fmt.Errorf("icc: tag %v is there twice; remove one", t.Signature)
		}
		seen[t.Signature] = true
		if t.untouched(kept) {
			out[i] = t.raw
			continue
		}
		if t.Value == nil {
			return nil, fmt.Errorf("icc: tag %v has no value; set one or remove the tag", t.Signature)
		}
		e, err := t.Value.appendTo(nil)
		if err != nil {
			return nil, fmt.Errorf("icc: tag %v: %w", t.Signature, err)
		}
		out[i] = e
	}
	return out, nil
}

// stretch names bytes by where they are in memory.
type stretch struct {
	first *byte
	size  int
}

// untouched reports whether the value is still the one that raw holds. kept
// holds what was found before, so that shared data is decoded once.
func (t Tag) untouched(kept map[stretch]Value) bool {
	if len(t.raw) == 0 {
		return false
	}
	where := stretch{&t.raw[0], len(t.raw)}
	if v, ok := kept[where]; ok && reflect.DeepEqual(v, t.Value) {
		return true
	}
	// The bytes were decoded once within limits, so any will do now.
	budget := int64(math.MaxInt64)
	v, _, err := decodeValue(t.raw, Limits{Entries: math.MaxInt, Nodes: math.MaxInt}, &budget)
	if err != nil || !reflect.DeepEqual(v, t.Value) {
		return false
	}
	kept[where] = t.Value
	return true
}

// lay writes header, tag table and elements.
func (p *Profile) lay(elements [][]byte) ([]byte, error) {
	b, err := p.Header.appendTo(make([]byte, 0, 4096))
	if err != nil {
		return nil, err
	}
	b = binary.BigEndian.AppendUint32(b, uint32(len(p.Tags)))
	b = append(b, make([]byte, entrySize*len(p.Tags))...)
	order := make([]int, len(p.Tags))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		// Offset 0, of a tag that was not decoded, comes last.
		return cmp.Compare(p.Tags[i].offset-1, p.Tags[j].offset-1)
	})
	offsets := make([]uint32, len(p.Tags))
	for k, i := range order {
		e := elements[i]
		if j := p.shared(order[:k], i, elements); j >= 0 {
			offsets[i] = offsets[j]
		} else {
			b = pad4(b)
			if uint64(len(b))+uint64(len(e)) > math.MaxUint32-4 {
				return nil, errors.New("icc: the profile is longer than 4 GiB")
			}
			offsets[i] = uint32(len(b))
			b = append(b, e...)
		}
		at := b[tableStart+entrySize*i:]
		binary.BigEndian.PutUint32(at, uint32(p.Tags[i].Signature))
		binary.BigEndian.PutUint32(at[4:], offsets[i])
		binary.BigEndian.PutUint32(at[8:], uint32(len(e)))
	}
	// Version 2 lets the last element end anywhere; a profile that did so
	// keeps its length.
	if p.Header.Version.Major() != 2 || len(p.source)%4 == 0 {
		b = pad4(b)
	}
	binary.BigEndian.PutUint32(b, uint32(len(b)))
	return b, nil
}

// shared returns a tag among those laid before whose stored data tag i can
// use, or -1.
func (p *Profile) shared(before []int, i int, elements [][]byte) int {
	for _, j := range before {
		a, b := p.Tags[i].offset, p.Tags[j].offset
		if (a == b || a == 0 || b == 0) && bytes.Equal(elements[i], elements[j]) {
			return j
		}
	}
	return -1
}

func (h Header) appendTo(b []byte) ([]byte, error) {
	word := func(v uint32) { b = binary.BigEndian.AppendUint32(b, v) }
	word(0) // the size, known later
	word(uint32(h.CMM))
	word(uint32(h.Version))
	word(uint32(h.Class))
	word(uint32(h.Space))
	word(uint32(h.PCS))
	b = h.Created.appendTo(b)
	word(fileMark)
	word(uint32(h.Platform))
	word(h.Flags)
	word(uint32(h.Manufacturer))
	word(uint32(h.Model))
	b = binary.BigEndian.AppendUint64(b, h.Attributes)
	word(uint32(h.Intent))
	b, err := appendFixed(b, h.Illuminant.X, h.Illuminant.Y, h.Illuminant.Z)
	if err != nil {
		return nil, fmt.Errorf("icc: header illuminant: %w", err)
	}
	word(uint32(h.Creator))
	b = append(b, h.ID[:]...)
	return append(b, h.Reserved[:]...), nil
}

// ProfileID returns the MD5 by which a profile is known: of its bytes with the
// flags, the intent and the ID itself taken as zero. It is an error if there
// are fewer bytes than a header has; the bytes are not checked otherwise.
//
// Source: ICC.1:2022, 7.2.18.
func ProfileID(b []byte) ([16]byte, error) {
	if len(b) < headerSize {
		return [16]byte{}, headerError(int64(len(b)), fmt.Errorf("%d bytes are less than a header", len(b)))
	}
	var h [headerSize]byte
	copy(h[:], b)
	clear(h[44:48])
	clear(h[64:68])
	clear(h[84:100])
	sum := md5.New()
	sum.Write(h[:])
	sum.Write(b[headerSize:])
	return [16]byte(sum.Sum(nil)), nil
}
