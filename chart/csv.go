package chart

import (
	"io"
	"slices"
	"strings"
)

// maxColumns bounds the columns of a table: a spectrum at 1 nm has about 400.
const maxColumns = 2000

// ReadCSV reads a table whose first line names its columns: R, G, B and X, Y,
// Z, in any order, and any others. Fields are separated by commas, semicolons
// or tabs, whichever the first line holds (tabs before semicolons before
// commas), may be quoted, and write decimals with a point. Lines that start
// with # are comments, or, before the first line and in the form
// # NAME "value", keywords. Lines may end in \n, \r\n or \r. Repeated patches
// are no error.
//
// Whatever is wrong with the file is an [*InputError]; a failing r is its own
// error. The file is read within the bounds of o.
func ReadCSV(r io.Reader, o ReadOptions) (Table, error) {
	o, err := o.withDefaults()
	if err != nil {
		return Table{}, err
	}
	l := newLines(r, o)
	h := head{lines: l}
	names, separator, err := csvHeader(l, &h)
	if err != nil {
		return Table{}, err
	}
	cols, err := findColumns(l, names, o)
	if err != nil {
		return Table{}, err
	}
	scales, err := h.scales(o)
	if err != nil {
		return Table{}, err
	}
	b := newBuilder(h.table, cols, scales, o)
	for {
		text, err := l.next()
		if err == io.EOF {
			return b.finish(l)
		}
		if err != nil {
			return Table{}, err
		}
		if strings.HasPrefix(strings.TrimSpace(text), "#") {
			continue
		}
		fields, err := splitCSV(l, text, separator)
		if err != nil {
			return Table{}, err
		}
		if fields = trimEmpty(fields, len(names)); len(fields) == 0 {
			continue
		}
		if len(fields) != len(names) {
			remedy := "make the line as long as the others"
			if separator == ',' && len(fields) > len(names) {
				remedy = "write decimals with a point and quote fields that hold a comma"
			}
			return Table{}, l.bad(remedy, "%d values for %d columns", len(fields), len(names))
		}
		if err := b.add(l, fields); err != nil {
			return Table{}, err
		}
	}
}

// csvHeader reads up to the line that names the columns.
func csvHeader(l *lines, h *head) (names []string, separator byte, err error) {
	for {
		text, err := l.next()
		if err == io.EOF {
			return nil, 0, l.whole("give a table with a line R,G,B,X,Y,Z and a line for each patch", "the file is empty")
		}
		if err != nil {
			return nil, 0, err
		}
		trimmed := strings.TrimSpace(text)
		if trimmed == "" {
			continue
		}
		if rest, ok := strings.CutPrefix(trimmed, "#"); ok {
			if err := h.comment(rest); err != nil {
				return nil, 0, err
			}
			continue
		}
		separator = separatorOf(trimmed)
		names, err := splitCSV(l, text, separator)
		if err != nil {
			return nil, 0, err
		}
		names = trimEmpty(names, 0)
		switch {
		case len(names) > maxColumns:
			return nil, 0, l.bad("leave out columns that are not needed", "there are more than %d columns", maxColumns)
		case len(names) > 0 && plain(names[0]):
			return nil, 0, l.bad("put a line R,G,B,X,Y,Z above the first patch", "there is a number where the names of the columns should be")
		case slices.Contains(names, ""):
			return nil, 0, l.bad("name it or take it out", "column %d has no name", slices.Index(names, "")+1)
		case len(names) == 1 && len(strings.Fields(names[0])) > 1:
			return nil, 0, l.bad("separate columns by commas, semicolons or tabs", "there is one column only, %q", clip(names[0]))
		}
		return names, separator, nil
	}
}

// separatorOf returns what separates the names of the columns: a tab, a
// semicolon or a comma, whichever of them occurs first in this list outside
// quotes.
func separatorOf(names string) byte {
	var bare strings.Builder
	for i, part := range strings.Split(names, `"`) {
		if i%2 == 0 {
			bare.WriteString(part)
		}
	}
	for _, c := range []byte("\t;") {
		if strings.IndexByte(bare.String(), c) >= 0 {
			return c
		}
	}
	return ','
}

// trimEmpty drops empty fields at the end beyond the first keep, which
// spreadsheets append; a line of empty fields becomes no field at all.
func trimEmpty(fields []string, keep int) []string {
	n := len(fields)
	for n > 0 && fields[n-1] == "" {
		n--
	}
	if n == 0 {
		return nil
	}
	return fields[:max(n, min(keep, len(fields)))]
}

// splitCSV splits a line into its fields. Fields without quotes lose the space
// around them; in quoted ones a doubled quote is a quote.
func splitCSV(l *lines, text string, separator byte) ([]string, error) {
	var fields []string
	for {
		text = strings.TrimLeft(text, " ")
		if strings.HasPrefix(text, `"`) {
			value, rest, ok := quoted(text)
			rest = strings.TrimLeft(rest, " ")
			if !ok || rest != "" && rest[0] != separator {
				return nil, l.bad("double the quotes inside a quoted field and close it on its line", "field %d has a quote out of place", len(fields)+1)
			}
			fields = append(fields, value)
			if rest == "" {
				return fields, nil
			}
			text = rest[1:]
			continue
		}
		i := strings.IndexByte(text, separator)
		if i < 0 {
			return append(fields, strings.TrimSpace(text)), nil
		}
		fields = append(fields, strings.TrimSpace(text[:i]))
		text = text[i+1:]
	}
}

// quoted cuts the quoted string that text starts with; ok is false where it is
// not closed.
func quoted(text string) (value, rest string, ok bool) {
	var b strings.Builder
	for i := 1; i < len(text); i++ {
		if text[i] != '"' {
			b.WriteByte(text[i])
			continue
		}
		if i+1 < len(text) && text[i+1] == '"' {
			b.WriteByte('"')
			i++
			continue
		}
		return b.String(), text[i+1:], true
	}
	return "", "", false
}
