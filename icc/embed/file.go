package embed

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// windowSize is how much of a file is held at once: larger than any part that
// is looked at as a whole but the profile and the directories of a TIFF, and
// large enough for calls to cost little beside the bytes.
const windowSize = 64 << 10

// file is an image as it is read. Bytes beyond its end are a *FormatError.
type file struct {
	r      io.ReaderAt
	size   int64
	format Format
	window []byte // the bytes from start on
	start  int64
	buffer []byte
}

// open tells the format by the first bytes.
//
// Source: PNG 3rd edition, 5.2; ISO/IEC 10918-1, B.1.1.3 (SOI); TIFF 6.0,
// section 2; for BigTIFF the design of libtiff, from memory.
func open(r io.ReaderAt, size int64) (*file, error) {
	f := &file{r: r, size: size, buffer: make([]byte, max(0, min(size, windowSize)))}
	head, err := f.at(0, int(max(0, min(size, int64(len(pngMark))))))
	if err != nil {
		return nil, err
	}
	for _, k := range []struct {
		mark   string
		format Format
	}{
		{pngMark, PNG}, {"\xff\xd8", JPEG},
		{"II*\x00", TIFF}, {"MM\x00*", TIFF}, {"II+\x00", TIFF}, {"MM\x00+", TIFF},
	} {
		if bytes.HasPrefix(head, []byte(k.mark)) {
			f.format = k.format
			return f, nil
		}
	}
	return nil, f.fail(0, ErrFormat, ErrFormat.Error(), "save the image as one of them")
}

func (f *file) fail(off int64, kind error, problem, remedy string) error {
	return &FormatError{Format: f.format, Offset: off, Problem: problem, Remedy: remedy, Err: kind}
}

// damaged reports what no correct writer makes.
func (f *file) damaged(off int64, format string, args ...any) error {
	return f.fail(off, nil, fmt.Sprintf(format, args...), copyAgain)
}

// need checks that n bytes from off on, both not negative, are in the file.
func (f *file) need(off, n int64) error {
	if off > f.size || n > f.size-off {
		return f.fail(off, io.ErrUnexpectedEOF, fmt.Sprintf("the file ends at byte %d within a part of %d bytes", f.size, n), copyAgain)
	}
	return nil
}

// at returns n bytes, at most windowSize, from off on. They hold until the
// next call.
func (f *file) at(off int64, n int) ([]byte, error) {
	if err := f.need(off, int64(n)); err != nil {
		return nil, err
	}
	if off < f.start || off+int64(n) > f.start+int64(len(f.window)) {
		b := f.buffer[:min(f.size-off, windowSize)]
		f.window = nil
		if err := f.read(b, off); err != nil {
			return nil, err
		}
		f.window, f.start = b, off
	}
	i := off - f.start
	return f.window[i : i+int64(n)], nil
}

// read fills b from off on, which need has checked.
func (f *file) read(b []byte, off int64) error {
	n, err := f.r.ReadAt(b, off)
	switch {
	case n == len(b): // err may be io.EOF or nil
		return nil
	case err == nil || errors.Is(err, io.EOF):
		return f.fail(off+int64(n), io.ErrUnexpectedEOF, fmt.Sprintf("the file is shorter than the %d bytes stated", f.size), "state the size that it has")
	}
	return fmt.Errorf("embed: reading at byte %d: %w", off+int64(n), err)
}

// each hands the bytes from off to end on in pieces.
func (f *file) each(off, end int64, use func([]byte) error) error {
	for off < end {
		b, err := f.at(off, int(min(end-off, windowSize)))
		if err != nil {
			return err
		}
		if err := use(b); err != nil {
			return err
		}
		off += int64(len(b))
	}
	return nil
}

// edit puts other bytes in the place of those from off to end: with, and behind
// it what more puts, which is for bytes better made one after another.
type edit struct {
	off, end int64
	with     []byte
	more     func(put func([]byte) error) error
}

// write writes the file with its edits, which are in order and apart. That all
// other bytes stay as they are is the work of this function alone.
func (f *file) write(dst io.Writer, edits []edit) error {
	put := func(b []byte) error {
		if _, err := dst.Write(b); err != nil {
			return fmt.Errorf("embed: writing: %w", err)
		}
		return nil
	}
	var off int64
	for _, e := range edits {
		if err := f.each(off, e.off, put); err != nil {
			return err
		}
		if len(e.with) > 0 {
			if err := put(e.with); err != nil {
				return err
			}
		}
		if e.more != nil {
			if err := e.more(put); err != nil {
				return err
			}
		}
		off = e.end
	}
	return f.each(off, f.size, put)
}
