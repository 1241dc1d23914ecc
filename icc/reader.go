package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
)

// errMemory is what decoding a value past the memory bound gives.
var errMemory = errors.New("values take more memory than 8 times the profile; the data overlaps itself")

// reader is a cursor over one tag element. The first error wins, and reads
// after it return zero.
type reader struct {
	b      []byte // the element, type signature included
	off    int
	limits Limits
	budget *int64 // bytes that values may still take
	err    error
	at     int // where err happened
}

func (r *reader) fail(at int, err error) {
	if r.err == nil {
		r.err, r.at = err, at
	}
}

// left returns how many bytes remain.
func (r *reader) left() int { return len(r.b) - r.off }

func (r *reader) take(n int) []byte {
	if r.err != nil {
		return nil
	}
	if n < 0 || n > r.left() {
		r.fail(r.off, io.ErrUnexpectedEOF)
		return nil
	}
	b := r.b[r.off : r.off+n : r.off+n]
	r.off += n
	return b
}

func (r *reader) u8() uint8 {
	if b := r.take(1); b != nil {
		return b[0]
	}
	return 0
}

func (r *reader) u16() uint16 {
	if b := r.take(2); b != nil {
		return binary.BigEndian.Uint16(b)
	}
	return 0
}

func (r *reader) u32() uint32 {
	if b := r.take(4); b != nil {
		return binary.BigEndian.Uint32(b)
	}
	return 0
}

// words reads n 16-bit numbers, for which room was made before.
func (r *reader) words(n int) []uint16 {
	out := make([]uint16, n)
	b := r.take(2 * n)
	for i := 0; i+1 < len(b); i += 2 {
		out[i/2] = binary.BigEndian.Uint16(b[i:])
	}
	return out
}

// fixed reads an s15Fixed16Number.
func (r *reader) fixed() float64 { return float64(int32(r.u32())) / 65536 }

// ufixed reads a u16Fixed16Number.
func (r *reader) ufixed() float64 { return float64(r.u32()) / 65536 }

// charge takes n bytes off the memory budget before they are allocated.
func (r *reader) charge(n int64) bool {
	if r.err != nil {
		return false
	}
	if n > *r.budget {
		r.fail(r.off, errMemory)
		return false
	}
	*r.budget -= n
	return true
}

// room checks that n items of stored bytes each are there and within the limit
// of entries, and charges held bytes for each. It returns n, or 0 after an
// error.
func (r *reader) room(n uint32, what string, stored, held int) int {
	return r.roomFor(uint64(n), r.limits.Entries, what, stored, held)
}

// roomFor is room under another limit. n is below 2³².
func (r *reader) roomFor(n uint64, limit int, what string, stored, held int) int {
	switch {
	case r.err != nil:
		return 0
	case n > uint64(limit):
		r.fail(r.off, fmt.Errorf("%d %s exceed the limit of %d", n, what, limit))
		return 0
	case n*uint64(stored) > uint64(r.left()):
		r.fail(r.off, fmt.Errorf("%d %s do not fit into the %d bytes left", n, what, r.left()))
		return 0
	case !r.charge(int64(n) * int64(held)):
		return 0
	}
	return int(n)
}

// within returns the bytes from off to off+size of the element, both counted
// from its first byte, as strings and nested values are addressed.
func (r *reader) within(off, size uint32, what string) []byte {
	if r.err != nil {
		return nil
	}
	if uint64(off)+uint64(size) > uint64(len(r.b)) {
		r.fail(r.off, fmt.Errorf("%s at %d with %d bytes lies outside the tag's %d bytes", what, off, size, len(r.b)))
		return nil
	}
	return r.b[off : off+size : off+size]
}
