package chart

import (
	"bufio"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strings"
)

// Bounds of a CxF document, beside those of ReadOptions.
const (
	// cxfDepth bounds nested elements: the core goes 8 deep, what others put
	// into CustomResources or tags seldom deeper.
	cxfDepth = 64
	// cxfTag bounds one tag, since the decoder needs about fifty times the
	// length of a tag full of short attributes (seen in a test). Text that is
	// passed over, as embedded profiles are, is bounded with the file.
	cxfTag = 256 << 10
	// cxfShort bounds numbers, references and words of the standard.
	cxfShort = 128
	// cxfName bounds names and identifiers of objects, cxfLong the texts of
	// the head.
	cxfName, cxfLong = 1 << 10, 4 << 10
	// cxfSpectrum bounds a spectrum's text without its padding, so that a row
	// with three of them still fits a line of the other formats: 471 values,
	// 360 to 830 nm at 1 nm, have 34 bytes each. With padding cxfPadded holds.
	cxfSpectrum, cxfPadded = 16 << 10, 64 << 10
)

// cxfNamespace is the namespace of CxF3's core.
const cxfNamespace = "http://colorexchangeformat.com/CxF3-core"

// isXML reports whether a file that starts with head is XML, or would be but
// for the blanks in front: no table of the other formats starts with a <.
func isXML(head []byte) bool {
	return bytes.HasPrefix(bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\ufeff")), " \t\r\n"), []byte("<"))
}

// cxfBytes hands the document to the decoder byte by byte within the bounds of
// the file and of one tag. Being an io.ByteReader, it is not read ahead of.
type cxfBytes struct {
	r     *bufio.Reader
	lines *lines
	read  int64 // bytes so far
	last  byte  // the last of them
	state int   // of the token being read
	tag   int   // bytes of it where it is a tag
	err   error // what ended the reading, but for io.EOF
}

// States of reading a token.
const (
	cxfNothing = iota
	cxfBracket // a < that begins a tag, a comment, CDATA, …
	cxfInTag
	cxfInOther
)

// next begins the next token. Text ends with the < of what follows, which was
// read already.
func (b *cxfBytes) next() {
	b.state, b.tag = cxfNothing, 0
	if b.last == '<' {
		b.state = cxfBracket
	}
}

// ReadByte returns the next byte.
func (b *cxfBytes) ReadByte() (byte, error) {
	if b.err != nil {
		return 0, b.err
	}
	c, err := b.r.ReadByte()
	if err == io.EOF {
		return 0, err
	}
	b.read++
	b.last = c
	switch {
	case b.state == cxfNothing && c == '<':
		b.state = cxfBracket
	case b.state == cxfBracket && c != '!' && c != '?', b.state == cxfInTag:
		b.state = cxfInTag
		b.tag++
	default:
		b.state = cxfInOther
	}
	switch {
	case err != nil:
		b.err = fmt.Errorf("chart: cannot read the table after line %d: %w", b.lines.number, err)
	case b.read > b.lines.limit:
		b.err = b.lines.whole("give a smaller table", "the file is larger than %d bytes", b.lines.limit)
	case b.tag > cxfTag:
		b.err = b.lines.bad("take it out of the file", "a tag that begins on the line is longer than %d bytes", cxfTag)
	}
	return c, b.err
}

// Read reads one byte, as the decoder's type demands; it calls ReadByte only.
func (b *cxfBytes) Read(p []byte) (int, error) {
	if len(p) == 0 {
		return 0, nil
	}
	c, err := b.ReadByte()
	if err != nil {
		return 0, err
	}
	p[0] = c
	return 1, nil
}

// cxfReader is a CxF document being read.
type cxfReader struct {
	lines   *lines
	in      *cxfBytes
	decoder *xml.Decoder
	o       ReadOptions
	head    head
	space   string   // the namespace of the root
	open    []string // names of the open elements
	closed  bool     // the root was closed
	skip    int      // depth of the outermost element that is passed over; 0 where none is
	keep    int      // bytes that may be kept of the innermost element's text; 0 where none are
	text    []byte   // those kept

	object   *cxfObject
	colour   *cxfColour
	spectrum *cxfCurve
	spec     *cxfSpec
	objects  []*cxfObject
	specs    map[string]*cxfSpec
}

func newCxF(r io.Reader, o ReadOptions) *cxfReader {
	l := newLines(r, o)
	in := &cxfBytes{r: l.r, lines: l}
	c := &cxfReader{lines: l, in: in, o: o, head: head{lines: l}, specs: make(map[string]*cxfSpec)}
	c.decoder = xml.NewDecoder(in)
	c.decoder.CharsetReader = func(name string, r io.Reader) (io.Reader, error) {
		if strings.EqualFold(name, "us-ascii") {
			return r, nil
		}
		l.number = 1
		return nil, l.bad("save it as UTF-8", "the file says that its text is %q", clip(clean(name)))
	}
	return c
}

// walk reads the document to its end.
func (c *cxfReader) walk() error {
	if err := c.begin(); err != nil {
		return err
	}
	for {
		token, err := c.decoder.Token()
		c.in.next()
		c.lines.number, _ = c.decoder.InputPos()
		if err == io.EOF && c.closed {
			return nil
		}
		if err != nil {
			return c.broken(err)
		}
		switch t := token.(type) {
		case xml.StartElement:
			err = c.start(t)
		case xml.EndElement:
			err = c.end()
		case xml.CharData:
			err = c.chars(t)
		case xml.Directive:
			err = c.directive(t)
		}
		if err != nil {
			return err
		}
	}
}

// begin looks at the first bytes for what the decoder would refuse in words
// that help nobody.
func (c *cxfReader) begin() error {
	if err := c.lines.refuseBinary(); err != nil {
		return err
	}
	head, err := c.in.r.Peek(4)
	if err != nil && err != io.EOF {
		return fmt.Errorf("chart: cannot read the table: %w", err)
	}
	switch {
	case bytes.HasPrefix(head, []byte("<\x00")), bytes.HasPrefix(head, []byte("\x00<")):
		return c.lines.whole("save it as UTF-8", "the file is UTF-16 text")
	case bytes.HasPrefix(head, []byte("\ufeff")):
		c.in.r.Discard(3)
		c.in.read = 3
	}
	return nil
}

// broken says what ended the document before its root was closed, or is no XML
// behind it.
func (c *cxfReader) broken(err error) error {
	if c.in.err != nil {
		return c.in.err
	}
	if own := (*InputError)(nil); errors.As(err, &own) {
		return own
	}
	const lost = "restore what was lost, or export the file again"
	var syntax *xml.SyntaxError
	switch {
	case err == io.EOF:
		return c.lines.whole("give a CxF3 document with RGB and XYZ", "the file is empty, without any element")
	case !errors.As(err, &syntax):
		return c.lines.bad(lost, "the file is no XML that can be read (%s)", clipTo(clean(err.Error()), 80))
	case syntax.Msg == "unexpected EOF" && len(c.open) > 0:
		return c.lines.bad(lost, "the file ends inside %s", clip(clean(c.open[len(c.open)-1])))
	case syntax.Msg == "invalid UTF-8":
		return c.lines.bad("save the file as UTF-8", "the line is not UTF-8 text")
	}
	return c.lines.bad(lost, "the file is no whole XML (%s)", clipTo(clean(syntax.Msg), 80))
}

// directive takes <!…>. A document type could define entities, which would
// grow without bound or fetch other files; the decoder expands none.
func (c *cxfReader) directive(d xml.Directive) error {
	fields := strings.Fields(string(d[:min(len(d), 64)]))
	if len(fields) > 1 && strings.EqualFold(fields[1], "html") {
		return c.webPage()
	}
	return c.lines.bad("take it out, CxF has none", "the file declares a document type or entities")
}

func (c *cxfReader) webPage() error {
	return c.lines.bad("fetch the CxF file itself", "the file is a web page (HTML)")
}

// root checks the document's first element.
func (c *cxfReader) root(e xml.StartElement) error {
	c.space = e.Name.Space
	switch {
	case c.closed:
		return c.lines.bad("keep one document in the file", "something follows the end of CxF")
	case strings.EqualFold(e.Name.Local, "html"):
		return c.webPage()
	case !strings.EqualFold(e.Name.Local, "CxF"):
		return c.lines.bad("give a CxF3 document, whose first element is CxF", "the file is XML of another kind: its first element is %s", clip(clean(e.Name.Local)))
	case e.Name.Local != "CxF", c.space != "" && c.space != cxfNamespace:
		return c.lines.bad("export the file as CxF3", "the file is CxF of another version (namespace %q)", clipTo(clean(c.space), 64))
	}
	return nil
}

func (c *cxfReader) start(e xml.StartElement) error {
	if len(c.open) == cxfDepth {
		return c.lines.bad("leave out what is nested so deeply", "more than %d elements are open", cxfDepth)
	}
	if len(c.open) == 0 {
		c.open = append(c.open, e.Name.Local)
		return c.root(e)
	}
	parent := c.open[len(c.open)-1]
	c.open = append(c.open, e.Name.Local)
	if c.skip > 0 {
		return nil
	}
	known := false
	if e.Name.Space == c.space && c.keep == 0 {
		var err error
		if known, err = c.enter(parent, e); err != nil {
			return err
		}
	}
	if !known {
		c.skip = len(c.open)
	}
	return nil
}

func (c *cxfReader) end() error {
	depth := len(c.open)
	name := c.open[depth-1]
	c.open = c.open[:depth-1]
	if depth == 1 {
		c.closed = true
	}
	if c.skip > 0 {
		if c.skip == depth {
			c.skip = 0
		}
		return nil
	}
	text := clean(string(c.text))
	c.keep, c.text = 0, c.text[:0]
	if depth == 1 {
		return nil
	}
	return c.leave(c.open[depth-2], name, text)
}

// chars takes text; comments and CDATA divide one text into several.
func (c *cxfReader) chars(t xml.CharData) error {
	switch {
	case len(c.open) == 0:
		if len(bytes.TrimSpace(t)) > 0 {
			c.lines.number -= bytes.Count(bytes.TrimLeft(t, " \t\r\n"), []byte("\n"))
			return c.lines.bad("give a CxF3 document and nothing else in the file", "there is text outside the XML")
		}
	case c.skip > 0 || c.keep == 0:
	case len(c.text)+len(t) > c.keep:
		return c.lines.bad("shorten it or leave it out", "the text of %s is longer than %d bytes", c.open[len(c.open)-1], c.keep)
	default:
		c.text = append(c.text, t...)
	}
	return nil
}

// keepText lets the text of the element just opened be kept.
func (c *cxfReader) keepText(limit int) bool {
	c.keep = limit
	return true
}

// attribute returns the text of an attribute without namespace, "" where there
// is none.
func (c *cxfReader) attribute(e xml.StartElement, name string, limit int) (string, error) {
	for _, a := range e.Attr {
		if a.Name.Space != "" || a.Name.Local != name {
			continue
		}
		if len(a.Value) > limit {
			return "", c.lines.bad("shorten it", "%s of %s is longer than %d bytes", name, e.Name.Local, limit)
		}
		return clean(a.Value), nil
	}
	return "", nil
}

// clean puts single blanks for white space, and a question mark for what no
// table can hold.
func clean(text string) string {
	text = strings.Join(strings.Fields(text), " ")
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\ufffd' {
			return '?'
		}
		return r
	}, text)
}

// clipTo shortens text from a file for a message.
func clipTo(text string, n int) string {
	if r := []rune(text); len(r) > n {
		return string(r[:n]) + "…"
	}
	return text
}
