package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
)

// SequenceProfile describes one profile of a ProfileSequence, by fields of its
// header and by its tags.
type SequenceProfile struct {
	Manufacturer, Model Signature // of the device
	Attributes          uint64
	Technology          Signature // 0 where the profile has none
	// ManufacturerName and ModelName are a LocalizedText in version 4 and a
	// TextDescription in version 2; empty, not nil, where the profile has none.
	ManufacturerName, ModelName Value
}

// ProfileSequence is a profileSequenceDescType: the profiles that were joined
// into this one, in their order. Source: ICC.1:2022, 10.19.
type ProfileSequence []SequenceProfile

// SequenceID identifies one profile of ProfileSequenceIDs.
type SequenceID struct {
	ID [16]byte // zero where it was not computed
	// Description is a LocalizedText, or a TextDescription as some programs
	// write into version 2 profiles.
	Description Value
}

// ProfileSequenceIDs is a profileSequenceIdentifierType: which profiles were
// joined into this one, in their order. Source: ICC.1:2022, 10.20.
type ProfileSequenceIDs []SequenceID

// Type returns TypeProfileSequence.
func (ProfileSequence) Type() Signature { return TypeProfileSequence }

func (v ProfileSequence) appendTo(b []byte) ([]byte, error) {
	start := len(b)
	b = binary.BigEndian.AppendUint32(appendType(b, TypeProfileSequence), uint32(len(v)))
	for i, p := range v {
		b = binary.BigEndian.AppendUint32(b, uint32(p.Manufacturer))
		b = binary.BigEndian.AppendUint32(b, uint32(p.Model))
		b = binary.BigEndian.AppendUint64(b, p.Attributes)
		b = binary.BigEndian.AppendUint32(b, uint32(p.Technology))
		for _, name := range []Value{p.ManufacturerName, p.ModelName} {
			var err error
			if b, err = appendNestedText(b, name); err != nil {
				return nil, fmt.Errorf("profile %d: %w", i, err)
			}
		}
	}
	if uint64(len(b)-start) > math.MaxUint32 {
		return nil, errors.New("descriptions are longer than 4 GiB")
	}
	return b, nil
}

// Least stored sizes of a profile of either type, and what one takes in
// memory: itself and the descriptions behind its interfaces.
const (
	sequenceFields  = 20
	sequenceProfile = sequenceFields + 2*textHead
	sequenceCost    = 56 + 2*80
	sequenceIDCost  = 32 + 80
)

// readProfileSequence also takes descriptions that are padded to multiples of
// four bytes, as Little CMS writes them into version 2 profiles, where they
// make no sense as they stand.
func readProfileSequence(r *reader) Value {
	v := make(ProfileSequence, r.room(r.u32(), "profiles", sequenceProfile, sequenceCost))
	padded := !sequenceFits(r.b, len(v), 1) && sequenceFits(r.b, len(v), 4)
	for i := range v {
		v[i] = SequenceProfile{
			Manufacturer: Signature(r.u32()), Model: Signature(r.u32()),
			Attributes: uint64(r.u32())<<32 | uint64(r.u32()),
			Technology: Signature(r.u32()),
		}
		for _, name := range []*Value{&v[i].ManufacturerName, &v[i].ModelName} {
			*name = r.nestedText()
			if padded {
				r.off = min((r.off+3)/4*4, len(r.b))
			}
		}
		if r.err != nil {
			return nil
		}
	}
	return v
}

// sequenceFits reports whether b holds the texts of n profiles where they are
// if each fills up a multiple of align bytes.
func sequenceFits(b []byte, n, align int) bool {
	at := uint64(12)
	for i := range 2 * n {
		if i%2 == 0 {
			at += sequenceFields
		}
		if at > uint64(len(b)) {
			return false
		}
		size, err := nestedSize(b[at:])
		if err != nil {
			return false
		}
		at = (at + size + uint64(align) - 1) / uint64(align) * uint64(align)
	}
	return true
}

// Type returns TypeProfileSequenceIDs.
func (ProfileSequenceIDs) Type() Signature { return TypeProfileSequenceIDs }

func (v ProfileSequenceIDs) appendTo(b []byte) ([]byte, error) {
	b = binary.BigEndian.AppendUint32(appendType(b, TypeProfileSequenceIDs), uint32(len(v)))
	at := 12 + 8*len(v)
	var data []byte
	for i, p := range v {
		data = pad4(data)
		start := len(data)
		data = append(data, p.ID[:]...)
		var err error
		if data, err = appendNestedText(data, p.Description); err != nil {
			return nil, fmt.Errorf("profile %d: %w", i, err)
		}
		if uint64(at)+uint64(len(data)) > math.MaxUint32 {
			return nil, errors.New("descriptions are longer than 4 GiB")
		}
		b = binary.BigEndian.AppendUint32(b, uint32(at+start))
		b = binary.BigEndian.AppendUint32(b, uint32(len(data)-start))
	}
	return append(b, data...), nil
}

func readProfileSequenceIDs(r *reader) Value {
	v := make(ProfileSequenceIDs, r.room(r.u32(), "profiles", 8, sequenceIDCost))
	for i := range v {
		off, size := r.u32(), r.u32()
		part := r.within(off, size, "profile identifier")
		if r.err != nil {
			return nil
		}
		in := &reader{b: part, limits: r.limits, budget: r.budget}
		copy(v[i].ID[:], in.take(len(v[i].ID)))
		v[i].Description = in.nestedText()
		if in.err != nil {
			r.fail(int(off)+in.at, in.err)
			return nil
		}
	}
	return v
}

// appendNestedText appends a text of one of the two types that other types
// contain.
func appendNestedText(b []byte, v Value) ([]byte, error) {
	switch v.(type) {
	case LocalizedText, TextDescription:
		return v.appendTo(b)
	case nil:
		return nil, errors.New("a description is missing; LocalizedText{} stands for none")
	}
	return nil, fmt.Errorf("description of type %v; use a LocalizedText or, in version 2, a TextDescription", v.Type())
}

// textHead is the least that either type of nested text takes.
const textHead = 16

// nestedText reads a text that begins here and whose length only the text
// itself tells, and moves behind it.
func (r *reader) nestedText() Value {
	if r.err != nil {
		return nil
	}
	at := r.off
	size, err := nestedSize(r.b[at:])
	if err != nil {
		r.fail(at, err)
		return nil
	}
	in := &reader{b: r.take(int(size)), limits: r.limits, budget: r.budget}
	sig := Signature(in.u32())
	in.take(4)
	var v Value
	if sig == TypeLocalized {
		v = readLocalized(in)
	} else {
		v = readTextDescription(in)
	}
	if in.err != nil {
		r.fail(at+in.at, in.err)
		return nil
	}
	return v
}

// nestedSize returns how long the text is that b begins with, which is not
// longer than b. It looks no further into the text than that takes.
func nestedSize(b []byte) (uint64, error) {
	if len(b) < textHead {
		return 0, io.ErrUnexpectedEOF
	}
	var size uint64
	switch sig := Signature(binary.BigEndian.Uint32(b)); sig {
	case TypeLocalized:
		size = localizedSize(b)
	case TypeTextDescription:
		size = descriptionSize(b)
	default:
		return 0, fmt.Errorf("description of type %v; mluc or desc is needed", sig)
	}
	if size > uint64(len(b)) {
		return 0, fmt.Errorf("description of %d bytes does not fit into the %d left", size, len(b))
	}
	return size, nil
}

// localizedSize returns how long the LocalizedText is that b begins with: up
// to the end of its records or of the last text.
func localizedSize(b []byte) uint64 {
	n := uint64(binary.BigEndian.Uint32(b[8:]))
	size := textHead + localRecord*n
	if size > uint64(len(b)) {
		return size
	}
	for i := range n {
		record := b[textHead+localRecord*i:]
		size = max(size, uint64(binary.BigEndian.Uint32(record[4:]))+uint64(binary.BigEndian.Uint32(record[8:])))
	}
	return size
}

// descriptionSize returns how long the TextDescription is that b begins with.
func descriptionSize(b []byte) uint64 {
	// The type, the count, the ASCII text; the language and the count of the
	// Unicode text.
	size := 12 + uint64(binary.BigEndian.Uint32(b[8:])) + 8
	if size > uint64(len(b)) {
		return size
	}
	// That text; code, count and room of the third form.
	return size + 2*uint64(binary.BigEndian.Uint32(b[size-4:])) + 3 + scriptBytes
}
