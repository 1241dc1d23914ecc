package embed

import (
	"bufio"
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"

	"example.org/primaries/icc"
)

// Source of this file: PNG 3rd edition, 5.2 signature, 5.3 chunk layout, 5.6
// chunk ordering, 11.2.1 IHDR, 11.3.2.3 iCCP, 11.3.2.6 cICP.

const (
	pngMark      = "\x89PNG\r\n\x1a\n"
	mostPNGChunk = 1<<31 - 1
	mostName     = 79
)

// chunk is one chunk of a PNG.
type chunk struct {
	off  int64 // of its length field
	kind string
	n    int64 // length of its data
}

func (c chunk) data() int64 { return c.off + 8 }
func (c chunk) end() int64  { return c.off + 12 + c.n }

// chunks calls visit for each chunk up to and with IEND, until visit has seen
// enough. The first is IHDR.
func (f *file) chunks(visit func(chunk) (enough bool, err error)) error {
	for off := int64(len(pngMark)); ; {
		b, err := f.at(off, 8)
		if err != nil {
			return err
		}
		c := chunk{off, string(b[4:]), int64(binary.BigEndian.Uint32(b))}
		if c.n > mostPNGChunk {
			return f.damaged(off, "a chunk states %d bytes, more than a PNG can have", c.n)
		}
		if err := f.need(off, 12+c.n); err != nil {
			return err
		}
		if (off == int64(len(pngMark))) != (c.kind == "IHDR") {
			return f.damaged(off, "chunk %q, where IHDR is the first chunk of a PNG and no other", c.kind)
		}
		enough, err := visit(c)
		if err != nil || enough || c.kind == "IEND" {
			return err
		}
		off = c.end()
	}
}

// whole checks a chunk's check sum.
func (f *file) whole(c chunk) error {
	sum := crc32.NewIEEE()
	err := f.each(c.off+4, c.data()+c.n, func(b []byte) error {
		sum.Write(b)
		return nil
	})
	if err != nil {
		return err
	}
	b, err := f.at(c.data()+c.n, 4)
	if err != nil {
		return err
	}
	if binary.BigEndian.Uint32(b) != sum.Sum32() {
		return f.damaged(c.off, "the check sum of chunk %s is wrong", c.kind)
	}
	return nil
}

// content returns the data of a chunk of exactly n bytes, its check sum
// checked.
func (f *file) content(c chunk, n int) ([]byte, error) {
	if c.n != int64(n) {
		return nil, f.damaged(c.off, "chunk %s has %d bytes; it has %d in a PNG", c.kind, c.n, n)
	}
	if err := f.whole(c); err != nil {
		return nil, err
	}
	return f.at(c.data(), n)
}

func (f *file) extractPNG(limit int64) (Found, error) {
	var found Found
	palette := false
	err := f.chunks(func(c chunk) (bool, error) {
		var err error
		switch c.kind {
		case "PLTE":
			palette = true
		case "IDAT":
			return true, nil
		case "iCCP", "cICP":
			if palette {
				return false, f.fail(c.off, nil, fmt.Sprintf("chunk %s stands after the palette, where it does not count", c.kind), saveAnew)
			}
			if c.kind == "cICP" {
				err = f.codePoints(c, &found)
			} else {
				err = f.profilePNG(c, limit, &found)
			}
		}
		return false, err
	})
	return found, err
}

func (f *file) codePoints(c chunk, found *Found) error {
	if found.CICP != nil {
		return f.fail(c.off, nil, "a second chunk cICP", saveAnew)
	}
	b, err := f.content(c, 4)
	if err != nil {
		return err
	}
	found.CICP = &icc.CICP{Primaries: b[0], Transfer: b[1], Matrix: b[2], FullRange: b[3]}
	return nil
}

// profilePNG reads an iCCP chunk: name, NUL, method 0, zlib stream.
func (f *file) profilePNG(c chunk, limit int64, found *Found) error {
	if found.Profile != nil {
		return f.fail(c.off, nil, "a second chunk iCCP", saveAnew)
	}
	if err := f.whole(c); err != nil {
		return err
	}
	head, err := f.at(c.data(), int(min(c.n, mostName+2)))
	if err != nil {
		return err
	}
	n := bytes.IndexByte(head, 0)
	if n < 1 || n+1 >= len(head) { // head ends where the method of the longest name is
		return f.fail(c.off, nil, "chunk iCCP does not begin with a name of 1 to 79 bytes, a NUL and the method", saveAnew)
	}
	if head[n+1] != 0 {
		return f.fail(c.off, icc.ErrUnsupported, fmt.Sprintf("the profile is packed by method %d; 0 is defined", head[n+1]), saveAnew)
	}
	found.Name = fromLatin1(head[:n])
	skip := int64(n + 2)
	found.Profile, err = f.inflate(c, skip, limit)
	return err
}

// inflate unpacks the chunk's data after its first skip bytes, up to the
// limit and no further.
func (f *file) inflate(c chunk, skip, limit int64) ([]byte, error) {
	packed := io.NewSectionReader(f.r, c.data()+skip, c.n-skip)
	z, err := zlib.NewReader(bufio.NewReaderSize(packed, int(min(c.n, windowSize))))
	var out bytes.Buffer
	if err == nil {
		_, err = out.ReadFrom(io.LimitReader(z, limit))
	}
	if err == nil && int64(out.Len()) == limit {
		var more int
		if more, err = io.ReadFull(z, make([]byte, 1)); more > 0 {
			return nil, f.fail(c.off, ErrLimit, fmt.Sprintf("the profile unpacks to more than %d bytes", limit), "raise Limits.Profile if you trust the file")
		}
		if errors.Is(err, io.EOF) {
			err = nil
		}
	}
	switch {
	case err != nil:
		return nil, f.fail(c.off, err, fmt.Sprintf("the profile does not unpack (%v)", err), copyAgain)
	case out.Len() == 0:
		return nil, f.damaged(c.off, "the profile has no bytes")
	}
	return out.Bytes(), nil
}

func fromLatin1(b []byte) string {
	r := make([]rune, len(b))
	for i, c := range b {
		r[i] = rune(c)
	}
	return string(r)
}
