package hardware

import (
	"bufio"
	"encoding/hex"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
)

// What names a file as Common LUT Format: the name space of SMPTE ST 2136-1, and
// the version that readers of the Academy's specification look for. Files with
// both suit both.
//
// Source: the sample files of the public committee draft of SMPTE ST 2136-1
// (2025-02), one of which says that it suits both; the standard itself was not
// opened. The specification of the Academy's version 3.0.
const (
	clfSpace   = "http://www.smpte-ra.org/ns/2136-1/2024"
	clfVersion = "3.0"
)

// WriteCLF writes t as a file in Common LUT Format (.clf): a Range where the
// signal that enters is of the limited range, a LUT1D and a LUT3D where t has
// them, another LUT1D, and a Range for the way out. On the whole scale the Ranges
// do no more than limit signals to black and white. All values are whole codes,
// the table's with the third channel changing fastest, and tetrahedra are asked
// for. The identifier is made of the values, so that equal tables have equal
// ones. [ReadCLF] returns the same table, to the bit.
//
// The error is the writer's, or says that there is no table.
//
// Source: Academy, Common LUT Format specification, version 3.0; SMPTE ST 2136-1.
func WriteCLF(w io.Writer, t Table) error {
	if t.Nodes() == 0 {
		return fmt.Errorf("hardware: there is no table to write")
	}
	c := t.Contents()
	out := &clfWriter{Writer: bufio.NewWriter(w), before: c.Path, within: c.Bits}
	id := "urn:uuid:" + uuid(t.sum())
	out.text(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	out.text(`<ProcessList xmlns="` + clfSpace + `" id="` + id + `" compCLFversion="` + clfVersion + `">` + "\n")
	out.element("Id", id)
	out.element("Description", fmt.Sprintf("From a source signal of the %s range to a device signal of the %s range", c.In, c.Out))
	if c.Source != "" {
		out.element("InputDescriptor", c.Source)
	}
	if c.Display != "" {
		out.element("OutputDescriptor", c.Display)
	}
	black, white := Limited.Codes(c.Path)
	lowest, highest := 0, 1<<c.Bits-1
	if c.WholeScale {
		lowest, highest = black, white
	}
	if c.In == Limited {
		out.scale(c.Path, c.Bits, black, white, lowest, highest)
		out.before = c.Bits
	}
	out.curves(c.Before)
	out.begin("LUT3D", ` interpolation="tetrahedral"`, fmt.Sprintf("%d %d %d 3", c.Nodes, c.Nodes, c.Nodes))
	for _, v := range c.Values {
		out.row(v[0], v[1], v[2])
	}
	out.end("LUT3D")
	out.curves(c.After)
	if c.Out == Limited {
		out.scale(c.Bits, c.Path, lowest, highest, black, white)
	}
	out.text("</ProcessList>\n")
	return out.Flush()
}

// uuid returns a universally unique identifier made of the first half of a hash.
//
// Source: RFC 9562, version 8 (from memory).
func uuid(sum []byte) string {
	b := append([]byte(nil), sum[:16]...)
	b[6], b[8] = b[6]&0x0f|0x80, b[8]&0x3f|0x80
	s := hex.EncodeToString(b)
	return s[:8] + "-" + s[8:12] + "-" + s[12:16] + "-" + s[16:20] + "-" + s[20:]
}

// clfWriter writes elements. Errors stay with the buffer, as its Flush says.
type clfWriter struct {
	*bufio.Writer
	before, within int // depths that the next node takes and gives
}

func (w *clfWriter) text(s string) { w.WriteString(s) }

func (w *clfWriter) element(name, text string) {
	w.text("\t<" + name + ">")
	xml.EscapeText(w, []byte(text))
	w.text("</" + name + ">\n")
}

// scale writes a Range.
func (w *clfWriter) scale(in, out, inBlack, inWhite, outBlack, outWhite int) {
	w.text(fmt.Sprintf("\t<Range inBitDepth=\"%di\" outBitDepth=\"%di\">\n", in, out))
	for _, v := range []struct {
		name string
		code int
	}{{"minInValue", inBlack}, {"maxInValue", inWhite}, {"minOutValue", outBlack}, {"maxOutValue", outWhite}} {
		w.text(fmt.Sprintf("\t\t<%s>%d</%s>\n", v.name, v.code, v.name))
	}
	w.text("\t</Range>\n")
}

// curves writes a LUT1D, where there are curves.
func (w *clfWriter) curves(c [3][]uint16) {
	if len(c[0]) == 0 {
		return
	}
	w.begin("LUT1D", ` interpolation="linear"`, fmt.Sprintf("%d 3", len(c[0])))
	for i := range c[0] {
		w.row(c[0][i], c[1][i], c[2][i])
	}
	w.end("LUT1D")
}

func (w *clfWriter) begin(name, attributes, dim string) {
	w.text(fmt.Sprintf("\t<%s inBitDepth=\"%di\" outBitDepth=\"%di\"%s>\n\t\t<Array dim=\"%s\">\n", name, w.before, w.within, attributes, dim))
	w.before = w.within
}

func (w *clfWriter) row(r, g, b uint16) {
	line := w.AvailableBuffer()
	line = strconv.AppendUint(line, uint64(r), 10)
	line = strconv.AppendUint(append(line, ' '), uint64(g), 10)
	line = strconv.AppendUint(append(line, ' '), uint64(b), 10)
	w.Write(append(line, '\n'))
}

func (w *clfWriter) end(name string) { w.text("\t\t</Array>\n\t</" + name + ">\n") }
