package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Limits of a table: a million pairs take some seconds and 50 MB.
const (
	maxBytes = 256 << 20
	maxRows  = 1 << 20
)

// kind is what the three numbers of a colour are.
type kind string

const (
	isLab kind = "L,a,b"
	isXYZ kind = "X,Y,Z"
)

// table is a table of colours.
type table struct {
	kind    kind
	colours [][3]float64
}

// read fills t from CSV: a header row that names the columns L, a, b or X, Y, Z
// in any order, further columns being passed over, and a row a colour. Errors
// say the line and the remedy; the file's name goes before them.
func (t *table) read(r io.Reader) error {
	limited := &io.LimitedReader{R: r, N: maxBytes + 1}
	in := csv.NewReader(limited)
	in.Comment = '#'
	in.FieldsPerRecord = -1 // counted below, with a better message
	in.ReuseRecord = true
	head, err := in.Read()
	if errors.Is(err, io.EOF) {
		return errors.New(`the table is empty; begin with a header row "L,a,b" or "X,Y,Z"`)
	}
	if err != nil {
		return csvError(err)
	}
	columns, err := t.columns(head)
	if err != nil {
		return err
	}
	width := len(head)
	for {
		row, err := in.Read()
		if limited.N <= 0 {
			return fmt.Errorf("the table is larger than %d MiB; split it", maxBytes>>20)
		}
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return csvError(err)
		}
		line, _ := in.FieldPos(0)
		if len(row) != width {
			return fmt.Errorf("line %d: %d columns where the header has %d; give every column a value", line, len(row), width)
		}
		var c [3]float64
		for k, column := range columns {
			field := strings.TrimSpace(row[column])
			v, err := strconv.ParseFloat(field, 64)
			if err != nil || v-v != 0 {
				return fmt.Errorf("line %d: %.40q is no finite number; write numbers with a decimal point, as in 49.3", line, field)
			}
			c[k] = v
		}
		if len(t.colours) == maxRows {
			return fmt.Errorf("line %d: more than %d colours; split the table", line, maxRows)
		}
		t.colours = append(t.colours, c)
	}
	if len(t.colours) == 0 {
		return errors.New("the table has a header and no colours; give a row a colour")
	}
	return nil
}

// columns finds where the three numbers stand, and what they are.
func (t *table) columns(head []string) (columns [3]int, err error) {
	where := map[string]int{}
	for i, h := range head {
		if i == 0 {
			h = strings.TrimPrefix(h, "\ufeff")
		}
		if !utf8.ValidString(h) || strings.ContainsRune(h, 0) {
			return columns, errors.New("the file is not text; save the table as CSV in UTF-8")
		}
		h = strings.TrimSpace(h)
		if _, twice := where[h]; twice && slices.Contains([]string{"L", "a", "b", "X", "Y", "Z"}, h) {
			return columns, fmt.Errorf("the header names the column %q twice; leave one of them", h)
		}
		where[h] = i
	}
	found := 0
	for _, k := range []kind{isLab, isXYZ} {
		var at [3]int
		complete := true
		for n, name := range strings.Split(string(k), ",") {
			i, ok := where[name]
			complete = complete && ok
			at[n] = i
		}
		if complete {
			found++
			t.kind, columns = k, at
		}
	}
	switch found {
	case 0:
		return columns, fmt.Errorf(`the header %.60q has neither L, a, b nor X, Y, Z; begin with a header row "L,a,b" or "X,Y,Z", separated by commas`, strings.Join(head, ","))
	case 2:
		return columns, errors.New("the header has both L, a, b and X, Y, Z; leave the ones that are to be compared")
	}
	return columns, nil
}

func csvError(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return fmt.Errorf("line %d: %w; write plain comma-separated values", p.Line, p.Err)
	}
	return fmt.Errorf("%w; give a file that can be read to its end", err)
}
