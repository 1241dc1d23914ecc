package spectrum

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"
)

const (
	maxBytes   = 16 << 20 // 400 spectra of 400 samples take under 4 MB
	maxColumns = 1024
)

// FormatError says what is wrong with a table, on which line (from 1, 0 where
// it is no line's fault) and what to do about it.
type FormatError struct {
	Line    int
	Problem string
	Remedy  string
}

// Error returns one sentence.
func (e *FormatError) Error() string {
	if e.Line == 0 {
		return fmt.Sprintf("spectrum: %s; %s", e.Problem, e.Remedy)
	}
	return fmt.Sprintf("spectrum: line %d: %s; %s", e.Line, e.Problem, e.Remedy)
}

// ReadCSV reads spectra from a table with one line a wavelength. The header's
// first column is wavelength_nm, the others name the spectra; numbers have a
// decimal point; lines that begin with # and empty lines are passed over.
//
// A table that is not so gives a *FormatError; other errors are the reader's.
// At most 16 MiB, 1023 spectra and 65536 wavelengths are read.
func ReadCSV(r io.Reader) (names []string, spectra []Spectrum, err error) {
	b, err := io.ReadAll(io.LimitReader(r, maxBytes+1))
	if err != nil {
		return nil, nil, fmt.Errorf("spectrum: reading the table: %w", err)
	}
	if len(b) > maxBytes {
		return nil, nil, &FormatError{0, "the table is larger than 16 MiB", "give one line a wavelength and one column a spectrum"}
	}
	if bytes.IndexByte(b, 0) >= 0 || !utf8.Valid(b) {
		return nil, nil, &FormatError{0, "the file is not text", "save the table as CSV in UTF-8"}
	}
	in := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(b, []byte("\ufeff"))))
	in.Comment = '#'
	in.FieldsPerRecord = -1 // counted below, with a better message
	in.ReuseRecord = true
	if names, err = readHeader(in); err != nil {
		return nil, nil, err
	}
	nm, columns, err := readRows(in, names)
	if err != nil {
		return nil, nil, err
	}
	for i, name := range names {
		s, err := New(nm, columns[i])
		if err != nil {
			return nil, nil, &FormatError{0, fmt.Sprintf("column %q: %s", name, strings.TrimPrefix(err.Error(), "spectrum: ")), "list at least two wavelengths"}
		}
		spectra = append(spectra, s)
	}
	return names, spectra, nil
}

func readHeader(in *csv.Reader) ([]string, error) {
	const remedy = `begin with a header such as "wavelength_nm,R,G,B"`
	head, err := in.Read()
	if errors.Is(err, io.EOF) {
		return nil, &FormatError{0, "the table is empty", remedy}
	}
	if err != nil {
		return nil, csvError(err)
	}
	line, _ := in.FieldPos(0)
	if first := strings.TrimSpace(head[0]); first != "wavelength_nm" {
		return nil, &FormatError{line, fmt.Sprintf("the first column is called %.40q", first), remedy}
	}
	if len(head) < 2 || len(head) > maxColumns {
		return nil, &FormatError{line, fmt.Sprintf("the header has %d columns", len(head)), remedy}
	}
	var names []string
	seen := map[string]bool{}
	for _, h := range head[1:] {
		h = strings.TrimSpace(h)
		if h == "" || seen[h] {
			return nil, &FormatError{line, fmt.Sprintf("column name %.40q is empty or there twice", h), "give every spectrum a name of its own"}
		}
		seen[h] = true
		names = append(names, h)
	}
	return names, nil
}

func readRows(in *csv.Reader, names []string) (nm []float64, columns [][]float64, err error) {
	columns = make([][]float64, len(names))
	for {
		row, err := in.Read()
		if errors.Is(err, io.EOF) {
			return nm, columns, nil
		}
		if err != nil {
			return nil, nil, csvError(err)
		}
		line, _ := in.FieldPos(0)
		if len(row) != len(names)+1 {
			return nil, nil, &FormatError{line, fmt.Sprintf("%d columns where the header has %d", len(row), len(names)+1), "give every column of the header a number"}
		}
		for i, field := range row {
			field = strings.TrimSpace(field)
			v, err := strconv.ParseFloat(field, 64)
			if err != nil || v-v != 0 {
				return nil, nil, &FormatError{line, fmt.Sprintf("%.40q is no finite number", field), "write numbers with a decimal point, as in 0.0012 or 1.2e-3"}
			}
			if i > 0 {
				columns[i-1] = append(columns[i-1], v)
				continue
			}
			if !(v >= 1 && v <= 1e5) {
				return nil, nil, &FormatError{line, fmt.Sprintf("wavelength %.40q is out of range", field), "give wavelengths in nm"}
			}
			if len(nm) > 0 && v <= nm[len(nm)-1] {
				return nil, nil, &FormatError{line, fmt.Sprintf("wavelength %g is not above the %g before it", v, nm[len(nm)-1]), "sort the lines by wavelength, each once"}
			}
			if nm = append(nm, v); len(nm) > maxSamples {
				return nil, nil, &FormatError{line, fmt.Sprintf("more than %d wavelengths", maxSamples), "give at most one line each 0.01 nm"}
			}
		}
	}
}

func csvError(err error) error {
	var p *csv.ParseError
	if errors.As(err, &p) {
		return &FormatError{p.Line, p.Err.Error(), "write plain comma-separated values without quotation marks"}
	}
	return fmt.Errorf("spectrum: reading the table: %w", err)
}
