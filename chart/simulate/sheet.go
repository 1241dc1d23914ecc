package simulate

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"example.org/primaries/chart"
)

// Limits of the tables that people give.
const (
	maxSheetBytes = 8 << 20 // 65536 rows of four numbers take about 4 MiB
	maxSheetRows  = 65536   // levels of a 16-bit path
)

// sheet is a table of numbers: one key column, then red, green and blue.
type sheet struct {
	file string
	key  string // name of the key column
	rows []sheetRow
}

type sheetRow struct {
	line   int // of the file, from 1
	key    float64
	values [3]float64
}

// problem returns the error that file has a problem at a line, 0 for none.
func (s *sheet) problem(line int, remedy, format string, args ...any) error {
	return &chart.InputError{File: s.file, Line: line, Problem: fmt.Sprintf(format, args...), Remedy: remedy}
}

// readSheet reads a CSV table whose columns are called by one of keys and by
// the channels, in any order and case; further columns and lines that begin
// with # are passed over. All numbers of the result are finite and its keys
// increase. The file is named by its Name method where r has one, as an
// os.File does, else by what. Errors about the table are *chart.InputError.
func readSheet(r io.Reader, what string, keys ...string) (*sheet, error) {
	s := &sheet{file: what, key: keys[0]}
	if f, ok := r.(interface{ Name() string }); ok {
		s.file = f.Name()
	}
	text, err := io.ReadAll(io.LimitReader(r, maxSheetBytes+1))
	if err != nil {
		return nil, fmt.Errorf("simulate: reading %s: %w", s.file, err)
	}
	text = bytes.TrimPrefix(text, []byte("\ufeff"))
	switch {
	case len(text) > maxSheetBytes:
		return nil, s.problem(0, "give the table of one display", "the file is larger than %d MiB", maxSheetBytes>>20)
	case len(bytes.TrimSpace(text)) == 0:
		return nil, s.problem(0, "give a table with the columns "+s.columns(), "the file is empty")
	case bytes.IndexByte(text, 0) >= 0 || !utf8.Valid(text):
		return nil, s.problem(0, "export the table as CSV text", "the file is not text")
	}
	return s, s.parse(text, keys)
}

func (s *sheet) columns() string { return s.key + ",R,G,B" }

func (s *sheet) parse(text []byte, keys []string) error {
	in := csv.NewReader(bytes.NewReader(text))
	in.Comment, in.FieldsPerRecord, in.TrimLeadingSpace, in.ReuseRecord = '#', -1, true, true
	var columns [4]int
	for named := false; ; {
		record, err := in.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			var where *csv.ParseError
			line := 0
			if errors.As(err, &where) {
				line, err = where.Line, where.Err
			}
			return s.problem(line, "write one row of plain numbers a line, separated by commas", "not CSV: %v", err)
		}
		line, _ := in.FieldPos(0)
		if !named {
			if columns, err = s.find(record, line, keys); err != nil {
				return err
			}
			named = true
			continue
		}
		if len(s.rows) == maxSheetRows {
			return s.problem(line, "give fewer rows", "more than %d rows", maxSheetRows)
		}
		if err := s.add(record, line, columns); err != nil {
			return err
		}
	}
	if len(s.rows) < 2 {
		return s.problem(0, "give a table with the columns "+s.columns(), "there are %d rows of numbers; at least 2 are needed", len(s.rows))
	}
	return nil
}

// find returns the places of the key and of the channels in the head.
func (s *sheet) find(head []string, line int, keys []string) (columns [4]int, err error) {
	wanted := [4][]string{keys, {"r", "red"}, {"g", "green"}, {"b", "blue"}}
	for i, names := range wanted {
		columns[i] = slices.IndexFunc(head, func(h string) bool {
			return slices.Contains(names, strings.ToLower(strings.TrimSpace(h)))
		})
		if columns[i] < 0 {
			name := strings.Split(s.columns(), ",")[i]
			return columns, s.problem(line, "name the columns "+s.columns()+", separated by commas", "there is no column %s", name)
		}
	}
	s.key = strings.ToLower(strings.TrimSpace(head[columns[0]]))
	return columns, nil
}

// add takes one row.
func (s *sheet) add(record []string, line int, columns [4]int) error {
	var v [4]float64
	for i, c := range columns {
		name := strings.Split(s.columns(), ",")[i]
		if c >= len(record) {
			return s.problem(line, "give every row all the columns that the first line names", "the row ends before column %s", name)
		}
		field := strings.TrimSpace(record[c])
		f, err := strconv.ParseFloat(field, 64)
		if err != nil {
			return s.problem(line, "write numbers with a decimal point", "%.40q in column %s is no number", field, name)
		}
		if math.IsNaN(f) || math.IsInf(f, 0) {
			return s.problem(line, "measure this row again or leave it out", "%s in column %s is not finite", field, name)
		}
		v[i] = f
	}
	if n := len(s.rows); n > 0 && v[0] <= s.rows[n-1].key {
		return s.problem(line, "sort the rows and keep one of each "+s.key, "%s %g is not above the %g before it", s.key, v[0], s.rows[n-1].key)
	}
	s.rows = append(s.rows, sheetRow{line, v[0], [3]float64{v[1], v[2], v[3]}})
	return nil
}
