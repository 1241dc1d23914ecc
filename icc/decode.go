package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"

	"example.org/primaries/colorimetry"
)

const (
	headerSize = 128
	tableStart = headerSize + 4
	entrySize  = 12
	fileMark   = 0x61637370 // acsp
)

// Decode reads a profile under the default Limits. The error is a
// *FormatError, inside which errors.Is finds ErrUnsupported for a major
// version other than 2 and 4. The bytes are not changed and not kept.
func Decode(b []byte) (*Profile, error) { return DecodeLimited(b, Limits{}) }

// DecodeLimited is Decode under limits of the caller's own.
func DecodeLimited(b []byte, limits Limits) (*Profile, error) {
	limits = limits.withDefaults()
	size, err := checkSize(b, limits)
	if err != nil {
		return nil, err
	}
	p := &Profile{source: make([]byte, size)}
	copy(p.source, b)
	if err := p.readHeader(); err != nil {
		return nil, err
	}
	budget := int64(budgetFactor)*int64(size) + budgetBase
	if err := p.readTags(limits, &budget); err != nil {
		return nil, err
	}
	return p, nil
}

func headerError(off int64, err error) error { return &FormatError{"header", off, err} }

// checkSize returns the size that the header states, which the bytes must
// cover.
func checkSize(b []byte, limits Limits) (int, error) {
	if len(b) < tableStart {
		return 0, headerError(int64(len(b)), fmt.Errorf("%d bytes are no profile, whose header and tag count take 132: %w", len(b), io.ErrUnexpectedEOF))
	}
	if binary.BigEndian.Uint32(b[36:]) != fileMark {
		return 0, headerError(36, errors.New("the bytes 'acsp' of an ICC profile are missing"))
	}
	size := uint64(binary.BigEndian.Uint32(b))
	switch {
	case size < tableStart:
		return 0, headerError(0, fmt.Errorf("stated size of %d bytes is less than header and tag count take", size))
	case size > uint64(len(b)):
		return 0, headerError(0, fmt.Errorf("profile states %d bytes and has %d; it is cut off: %w", size, len(b), io.ErrUnexpectedEOF))
	case size > uint64(limits.Bytes):
		return 0, headerError(0, fmt.Errorf("profile of %d bytes exceeds the limit of %d", size, limits.Bytes))
	}
	return int(size), nil
}

func (p *Profile) readHeader() error {
	r := &reader{b: p.source[:headerSize], off: 4}
	sig := func() Signature { return Signature(r.u32()) }
	h := &p.Header
	h.CMM = sig()
	h.Version = Version(r.u32())
	h.Class, h.Space, h.PCS = sig(), sig(), sig()
	h.Created = readDateTime(r)
	r.take(4) // fileMark
	h.Platform = sig()
	h.Flags = r.u32()
	h.Manufacturer, h.Model = sig(), sig()
	h.Attributes = uint64(r.u32())<<32 | uint64(r.u32())
	h.Intent = Intent(r.u32())
	h.Illuminant = colorimetry.XYZ{X: r.fixed(), Y: r.fixed(), Z: r.fixed()}
	h.Creator = sig()
	copy(h.ID[:], r.take(16))
	copy(h.Reserved[:], r.take(28))
	if m := h.Version.Major(); m != 2 && m != 4 {
		return headerError(8, fmt.Errorf("profile version %v; 2 and 4 are read: %w", h.Version, ErrUnsupported))
	}
	return nil
}

// place is where an element lies.
type place struct{ off, size uint32 }

func (p *Profile) readTags(limits Limits, budget *int64) error {
	fail := func(off int, err error) error { return &FormatError{"tag table", int64(off), err} }
	n := binary.BigEndian.Uint32(p.source[headerSize:])
	if uint64(n) > uint64(limits.Tags) {
		return fail(headerSize, fmt.Errorf("%d tags exceed the limit of %d", n, limits.Tags))
	}
	if uint64(n) > uint64(len(p.source)-tableStart)/entrySize {
		return fail(headerSize, fmt.Errorf("%d tags do not fit into %d bytes: %w", n, len(p.source), io.ErrUnexpectedEOF))
	}
	if *budget -= int64(n) * tagCost; *budget < 0 {
		return fail(headerSize, errMemory)
	}
	first := uint32(tableStart + n*entrySize)
	p.Tags = make([]Tag, 0, n)
	seen := make(map[Signature]bool, n)
	values := make(map[place]Value, n) // each place is decoded once
	room := *budget                    // for elements, each of which Encode writes
	for i := range int(n) {
		at := tableStart + i*entrySize
		word := func(k int) uint32 { return binary.BigEndian.Uint32(p.source[at+4*k:]) }
		sig, where := Signature(word(0)), place{word(1), word(2)}
		switch {
		case seen[sig]:
			return fail(at, fmt.Errorf("tag %v is there twice", sig))
		case where.off < first:
			return fail(at, fmt.Errorf("tag %v begins at byte %d, inside the header or the tag table", sig, where.off))
		case where.size < 8:
			return fail(at, fmt.Errorf("tag %v has %d bytes; a type takes 8 at least", sig, where.size))
		case uint64(where.off)+uint64(where.size) > uint64(len(p.source)):
			return fail(at, fmt.Errorf("tag %v ends at byte %d of %d", sig, uint64(where.off)+uint64(where.size), len(p.source)))
		}
		seen[sig] = true
		end := where.off + where.size
		t := Tag{Signature: sig, raw: p.source[where.off:end:end], offset: where.off}
		var done bool
		if t.Value, done = values[where]; !done {
			if room -= int64(where.size); room < 0 {
				return fail(at, fmt.Errorf("tag %v: %w", sig, errMemory))
			}
			v, off, err := decodeValue(t.raw, limits, budget)
			if err != nil {
				return &FormatError{sig.String(), int64(where.off) + int64(off), err}
			}
			t.Value, values[where] = v, v
		}
		p.Tags = append(p.Tags, t)
	}
	return nil
}

// decodeValue decodes one element of at least 8 bytes. After an error, off
// says where in the element it is.
func decodeValue(b []byte, limits Limits, budget *int64) (v Value, off int, err error) {
	r := &reader{b: b, limits: limits, budget: budget}
	sig := Signature(r.u32())
	if read := readerOf(sig); read != nil {
		// The four bytes after the type signature are zero in a conforming
		// profile, and nothing depends on them.
		r.take(4)
		v = read(r)
	} else {
		v = Raw{sig, r.b[4:len(r.b):len(r.b)]}
	}
	if r.err != nil {
		return nil, r.at, r.err
	}
	return v, 0, nil
}

// readerOf returns what reads values of a type, nil for one that this package
// does not interpret.
func readerOf(sig Signature) func(*reader) Value {
	switch sig {
	case TypeChromaticity:
		return readChromaticity
	case TypeCICP:
		return readCICP
	case TypeColorantOrder:
		return readColorantOrder
	case TypeColorantTable:
		return readColorantTable
	case TypeCurve:
		return readCurve
	case TypeData:
		return readData
	case TypeDateTime:
		return readDateTimeValue
	case TypeDict:
		return readDict
	case TypeFixedArray:
		return readFixedArray
	case TypeHardwareCalibration:
		return readHardwareCalibration
	case TypeLocalized:
		return readLocalized
	case TypeLut16:
		return readLut16
	case TypeLut8:
		return readLut8
	case TypeLutAToB:
		return readLutAToB
	case TypeLutBToA:
		return readLutBToA
	case TypeMeasurement:
		return readMeasurement
	case TypeMultiProcess:
		return readMultiProcess
	case TypeNamedColors:
		return readNamedColors
	case TypeParametricCurve:
		return readParametric
	case TypeProfileSequence:
		return readProfileSequence
	case TypeProfileSequenceIDs:
		return readProfileSequenceIDs
	case TypeResponseCurves:
		return readResponseCurves
	case TypeSignature:
		return readSignature
	case TypeText:
		return readText
	case TypeTextDescription:
		return readTextDescription
	case TypeUFixedArray:
		return readUFixedArray
	case TypeUint16Array:
		return readUint16Array
	case TypeUint32Array:
		return readUint32Array
	case TypeUint64Array:
		return readUint64Array
	case TypeUint8Array:
		return readUint8Array
	case TypeVideoCurves:
		return readVideo
	case TypeViewingConditions:
		return readViewingConditions
	case TypeXYZ:
		return readXYZ
	}
	return nil
}
