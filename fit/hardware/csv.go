package hardware

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
)

// csvHead is the first line of a table in CSV.
var csvHead = [7]string{"part", "r", "g", "b", "R", "G", "B"}

// WriteCSV writes t as a table of codes with the columns part,r,g,b,R,G,B:
//
//	in,,,,64,940,1023          black, white and highest code of what enters
//	out,,,,64,940,1023         the same of what leaves
//	values,,,,0,4095,4095      black, white and highest code of all that follows
//	before,0,0,0,0,0,0         an entry of the three curves before, if there are any
//	table,0,0,1,273,273,276    a node: its place along red, green and blue
//	after,0,0,0,0,0,0          an entry of the three curves after, if there are any
//	end,,,,7,7,7               how many rows came before this one, three times
//
// [ReadCSV] returns the same table, to the bit, but for its two texts. The error
// is the writer's, or says that there is no table.
func WriteCSV(w io.Writer, t Table) error {
	if t.Nodes() == 0 {
		return fmt.Errorf("hardware: there is no table to write")
	}
	c := t.Contents()
	out := csvWriter{Writer: bufio.NewWriter(w)}
	for i, name := range csvHead {
		if i > 0 {
			out.WriteByte(',')
		}
		out.WriteString(name)
	}
	out.WriteByte('\n')
	scale := Full
	if c.WholeScale {
		scale = Limited
	}
	for _, p := range []struct {
		part  string
		bits  int
		codes Range
	}{{"in", c.Path, c.In}, {"out", c.Path, c.Out}, {"values", c.Bits, scale}} {
		black, white := p.codes.Codes(p.bits)
		out.row(p.part, nil, black, white, 1<<p.bits-1)
	}
	out.curves("before", c.Before)
	n := c.Nodes
	for i, v := range c.Values {
		out.row("table", []int{i / (n * n), i / n % n, i % n}, int(v[0]), int(v[1]), int(v[2]))
	}
	out.curves("after", c.After)
	out.row("end", nil, out.rows, out.rows, out.rows)
	return out.Flush()
}

// csvWriter writes rows and counts them.
type csvWriter struct {
	*bufio.Writer
	rows int
}

func (w *csvWriter) row(part string, at []int, r, g, b int) {
	line := append(w.AvailableBuffer(), part...)
	for i := range 3 {
		line = append(line, ',')
		if at != nil {
			line = strconv.AppendInt(line, int64(at[i]), 10)
		}
	}
	for _, v := range [3]int{r, g, b} {
		line = strconv.AppendInt(append(line, ','), int64(v), 10)
	}
	w.Write(append(line, '\n'))
	w.rows++
}

func (w *csvWriter) curves(part string, c [3][]uint16) {
	for i := range c[0] {
		w.row(part, []int{i, i, i}, int(c[0][i]), int(c[1][i]), int(c[2][i]))
	}
}

// ReadCSV reads a table that [WriteCSV] wrote, or one of that form. The bytes may
// come from anywhere: at most 16 MiB are read, and memory is bounded by them.
// Errors name the line and what to do.
func ReadCSV(r io.Reader) (Table, error) {
	b, err := bounded(r)
	if err != nil {
		return Table{}, err
	}
	in := csv.NewReader(bytes.NewReader(b))
	in.FieldsPerRecord, in.ReuseRecord = len(csvHead), true
	head, err := in.Read()
	if err != nil || [7]string(head) != csvHead {
		return Table{}, errors.New("hardware: a table in CSV begins with the line part,r,g,b,R,G,B; write it so")
	}
	p := csvReader{}
	for {
		rec, err := in.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return Table{}, fmt.Errorf("hardware: table in CSV: %w", err)
		}
		if err := p.row([7]string(rec)); err != nil {
			line, _ := in.FieldPos(0)
			return Table{}, fmt.Errorf("hardware: table in CSV, line %d: %w", line, err)
		}
	}
	if !p.ended {
		return Table{}, errors.New("hardware: the table in CSV does not come to its row \"end\"; it was cut off, get it again")
	}
	if err := p.number(); err != nil {
		return Table{}, err
	}
	return NewTable(p.contents)
}

// csvReader takes rows.
type csvReader struct {
	contents Contents
	places   [][3]uint16 // of the nodes
	parts    [3]bool     // in, out and values were seen
	rows     int
	ended    bool
}

func (p *csvReader) row(rec [7]string) error {
	if p.ended {
		return errors.New("a row after the end; write one table to a file")
	}
	var at, v [3]int
	var err error
	for c := range 3 {
		if rec[1+c] != "" {
			if at[c], err = code(rec[1+c]); err != nil {
				return err
			}
		}
		if v[c], err = code(rec[4+c]); err != nil {
			return err
		}
	}
	if rec[0] != "end" && max(at[0], at[1], at[2], v[0], v[1], v[2]) > 1<<16-1 {
		return errors.New("a number above 65535; codes have at most 16 bits")
	}
	values := [3]uint16{uint16(v[0]), uint16(v[1]), uint16(v[2])}
	switch part := rec[0]; part {
	case "in", "out", "values":
		err = p.path(part, v)
	case "before":
		err = p.curve(&p.contents.Before, at, values)
	case "after":
		err = p.curve(&p.contents.After, at, values)
	case "table":
		p.contents.Values = append(p.contents.Values, values)
		p.places = append(p.places, [3]uint16{uint16(at[0]), uint16(at[1]), uint16(at[2])})
	case "end":
		if p.ended = true; v != [3]int{p.rows, p.rows, p.rows} {
			err = fmt.Errorf("%d, %d and %d rows should have come, and %d did; get the file again", v[0], v[1], v[2], p.rows)
		}
	default:
		err = fmt.Errorf("the part %.20q; parts are in, out, values, before, table, after and end", part)
	}
	p.rows++
	return err
}

// code reads a whole number, as large as a count of rows may be.
func code(s string) (int, error) {
	v, err := strconv.ParseUint(s, 10, 20)
	if err != nil {
		return 0, fmt.Errorf("%.20q; write whole numbers", s)
	}
	return int(v), nil
}

// path reads a row that says what codes mean.
func (p *csvReader) path(part string, v [3]int) error {
	i := map[string]int{"in": 0, "out": 1, "values": 2}[part]
	if p.parts[i] {
		return fmt.Errorf("a second row %q", part)
	}
	p.parts[i] = true
	for _, bits := range [4]int{8, 10, 12, 16} {
		for _, r := range [2]Range{Full, Limited} {
			black, white := r.Codes(bits)
			if v != [3]int{black, white, 1<<bits - 1} {
				continue
			}
			switch {
			case part == "values":
				p.contents.Bits, p.contents.WholeScale = bits, r == Limited
				return nil
			case p.contents.Path != 0 && p.contents.Path != bits:
				return fmt.Errorf("%d bits enter and %d leave; write the same depth", p.contents.Path, bits)
			case part == "in":
				p.contents.In = r
			default:
				p.contents.Out = r
			}
			p.contents.Path = bits
			return nil
		}
	}
	return fmt.Errorf("codes %d, %d and %d are no black, white and highest code of a range of 8, 10, 12 or 16 bits", v[0], v[1], v[2])
}

// curve takes an entry of three curves.
func (p *csvReader) curve(to *[3][]uint16, at [3]int, v [3]uint16) error {
	n := len(to[0])
	if n == maxEntries || at != [3]int{n, n, n} {
		return fmt.Errorf("entry %d, %d, %d where %d, %d, %d is next; write at most %d in order", at[0], at[1], at[2], n, n, n, maxEntries)
	}
	for c := range 3 {
		to[c] = append(to[c], v[c])
	}
	return nil
}

// number finds out the number of nodes and checks that they are in order.
func (p *csvReader) number() error {
	if p.parts != [3]bool{true, true, true} {
		return errors.New("hardware: the table in CSV has no row \"in\", \"out\" or \"values\"; write all three")
	}
	n := minNodes
	for n < maxNodes && n*n*n < len(p.places) {
		n++
	}
	if err := checkNodes(n, len(p.places)); err != nil {
		return err
	}
	for i, at := range p.places {
		if want := [3]uint16{uint16(i / (n * n)), uint16(i / n % n), uint16(i % n)}; at != want {
			return fmt.Errorf("hardware: node %d of the table in CSV stands at %d, %d, %d, and %d, %d, %d is next; write blue fastest, then green, then red", i+1, at[0], at[1], at[2], want[0], want[1], want[2])
		}
	}
	p.contents.Nodes = n
	return nil
}
