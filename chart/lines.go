package chart

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// maxLine bounds a line: 64 KiB hold a name and a spectrum at 1 nm with 17
// digits a value several times over.
const maxLine = 64 << 10

// lines reads a text file line by line within bounds. Lines end in \n, \r\n or
// \r; a byte-order mark of UTF-8 is skipped.
type lines struct {
	r      *bufio.Reader
	file   string
	limit  int64 // bytes allowed
	read   int64 // bytes read so far
	number int   // of the line read last, from 1
	blank  bool  // nothing but blanks so far
}

func newLines(r io.Reader, o ReadOptions) *lines {
	return &lines{r: bufio.NewReader(r), file: o.File, limit: o.MaxBytes, blank: true}
}

// bad returns an InputError about the line read last.
func (l *lines) bad(remedy, problem string, args ...any) error {
	return &InputError{File: l.file, Line: l.number, Problem: fmt.Sprintf(problem, args...), Remedy: remedy}
}

// whole returns an InputError about the file.
func (l *lines) whole(remedy, problem string, args ...any) error {
	return &InputError{File: l.file, Problem: fmt.Sprintf(problem, args...), Remedy: remedy}
}

// next returns the next line without its end, io.EOF after the last.
func (l *lines) next() (string, error) {
	if l.read == 0 {
		if err := l.refuseBinary(); err != nil {
			return "", err
		}
	}
	text, err := l.raw()
	if err != nil {
		return "", err
	}
	if l.number == 1 {
		text = strings.TrimPrefix(text, "\ufeff")
	}
	for i := range len(text) {
		if c := text[i]; c < ' ' && c != '\t' || c == 0x7f {
			return "", l.bad("give a CSV or CGATS.17 text file", "the file is binary, not text (byte %#02x)", c)
		}
	}
	if !utf8.ValidString(text) {
		return "", l.bad("save the file as UTF-8", "the line is not UTF-8 text")
	}
	if strings.TrimSpace(text) != "" {
		l.blank = false
	}
	return text, nil
}

// refuseBinary looks at the first bytes for files that are often given by
// mistake.
func (l *lines) refuseBinary() error {
	head, err := l.r.Peek(4)
	if err != nil && err != io.EOF {
		return fmt.Errorf("chart: cannot read the table: %w", err)
	}
	switch h := string(head); {
	case strings.HasPrefix(h, "\xff\xfe"), strings.HasPrefix(h, "\xfe\xff"):
		return l.whole("save it as UTF-8", "the file is UTF-16 text")
	case h == "PK\x03\x04":
		return l.whole("export the sheet as CSV", "the file is a spreadsheet or another zip archive")
	}
	return nil
}

// raw returns the next line's bytes without its end.
func (l *lines) raw() (string, error) {
	var line []byte
	for {
		c, err := l.r.ReadByte()
		if err == io.EOF {
			if len(line) == 0 {
				return "", io.EOF
			}
			l.number++
			return string(line), nil
		}
		if err != nil {
			return "", fmt.Errorf("chart: cannot read the table after line %d: %w", l.number, err)
		}
		if l.read++; l.read > l.limit {
			return "", l.whole("give a smaller table", "the file is larger than %d bytes", l.limit)
		}
		if c == '\n' || c == '\r' {
			l.number++
			if c == '\r' {
				l.skipNewline()
			}
			return string(line), nil
		}
		if len(line) == maxLine {
			l.number++
			return "", l.bad("give a CSV or CGATS.17 text file", "the line is longer than %d bytes", maxLine)
		}
		line = append(line, c)
	}
}

// skipNewline skips the \n of a \r\n.
func (l *lines) skipNewline() {
	if c, err := l.r.Peek(1); err == nil && c[0] == '\n' {
		l.r.Discard(1)
		l.read++
	}
}
