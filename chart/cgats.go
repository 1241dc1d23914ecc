package chart

import (
	"io"
	"strconv"
	"strings"
)

// ReadCGATS reads one table in the text form of CGATS.17 (ISO 28178): a head
// of keywords, the names of the fields between BEGIN_DATA_FORMAT and
// END_DATA_FORMAT, and between BEGIN_DATA and END_DATA one line for each
// patch. Needed are the fields RGB_R, RGB_G, RGB_B and XYZ_X, XYZ_Y, XYZ_Z
// (also R, G, B, X, Y, Z); all others, and all keywords, are kept as text.
// Declarations of keywords (KEYWORD) are made anew when writing. Comments
// among the rows are dropped, all others kept.
//
// Where NUMBER_OF_FIELDS or NUMBER_OF_SETS is given and does not fit, or the
// file ends before END_DATA, lines have been lost: an error. So is a second
// table in the file. Whatever is wrong with the file is an [*InputError]; a
// failing r is its own error. The file is read within the bounds of o.
//
// Source: the public summary of ISO 28178:2022, and from memory the structure
// of its text form.
func ReadCGATS(r io.Reader, o ReadOptions) (Table, error) {
	o, err := o.withDefaults()
	if err != nil {
		return Table{}, err
	}
	l := newLines(r, o)
	c := &cgats{lines: l, head: head{lines: l}, o: o, fields: -1, sets: -1}
	for {
		text, err := l.next()
		if err == io.EOF {
			return c.finish()
		}
		if err != nil {
			return Table{}, err
		}
		tokens, comment, err := splitCGATS(l, text)
		if err != nil {
			return Table{}, err
		}
		if comment != nil && (c.state == inHead || c.state == inFormat) {
			c.head.table.Comments = append(c.head.table.Comments, *comment)
		}
		if len(tokens) == 0 {
			continue
		}
		if err := c.line(tokens); err != nil {
			return Table{}, err
		}
	}
}

// States of reading a CGATS.17 file.
const (
	inHead = iota
	inFormat
	inData
	afterData
)

// cgats is a CGATS.17 file being read.
type cgats struct {
	lines  *lines
	head   head
	o      ReadOptions
	state  int
	begun  bool     // the line that identifies the format was read, or cannot come any more
	names  []string // of the fields
	fields int      // as the file counts them, −1 where it doesn't
	sets   int      // likewise the rows
	rows   *builder
}

// token is a word of a CGATS.17 file. Quoted words are never keywords.
type token struct {
	text   string
	quoted bool
}

// is reports whether t is the keyword name.
func (t token) is(name string) bool { return !t.quoted && t.text == name }

// line takes the words of one line, of which there is at least one.
func (c *cgats) line(tokens []token) error {
	switch c.state {
	case inHead:
		return c.headLine(tokens)
	case inFormat:
		return c.formatLine(tokens)
	case inData:
		return c.dataLine(tokens)
	}
	return c.lines.bad("keep one table in the file", "something follows END_DATA")
}

func (c *cgats) headLine(tokens []token) error {
	first, rest := tokens[0], tokens[1:]
	switch {
	case first.is("BEGIN_DATA_FORMAT"):
		if c.names != nil {
			return c.lines.bad("keep one table in the file", "there is a second BEGIN_DATA_FORMAT")
		}
		c.begun, c.state = true, inFormat
		if len(rest) > 0 {
			return c.formatLine(rest)
		}
		return nil
	case first.is("BEGIN_DATA"):
		if len(rest) > 0 {
			return c.lines.bad("put the first patch on the line below", "something follows BEGIN_DATA on its line")
		}
		return c.beginData()
	case first.is("NUMBER_OF_FIELDS"):
		return c.count(&c.fields, rest, "NUMBER_OF_FIELDS")
	case first.is("NUMBER_OF_SETS"):
		return c.count(&c.sets, rest, "NUMBER_OF_SETS")
	case first.is("KEYWORD"):
		return nil
	case structural(first.text):
		return c.lines.bad("correct the order of the lines", "%s is out of place", first.text)
	case !c.begun && !first.quoted && len(rest) == 0:
		c.begun = true // CGATS.17, or the name of another table format of the family
		return nil
	}
	c.begun = true
	if first.quoted || !keywordName.MatchString(first.text) {
		return c.lines.bad("each line before the data starts with a keyword", "%q is no keyword", clip(first.text))
	}
	words := make([]string, len(rest))
	for i, t := range rest {
		words[i] = t.text
	}
	return c.head.keyword(first.text, strings.Join(words, " "))
}

// count takes a number of fields or rows that the file states.
func (c *cgats) count(to *int, rest []token, name string) error {
	if len(rest) == 1 {
		if v, err := strconv.Atoi(rest[0].text); err == nil && v >= 0 {
			*to = v
			return nil
		}
	}
	return c.lines.bad("give it one whole number, or leave the line out", "%s is not followed by a number", name)
}

func (c *cgats) formatLine(tokens []token) error {
	for i, t := range tokens {
		if t.is("END_DATA_FORMAT") {
			if i+1 < len(tokens) {
				return c.lines.bad("put what follows END_DATA_FORMAT on its own line", "something follows END_DATA_FORMAT on its line")
			}
			c.state = inHead
			if len(c.names) == 0 {
				return c.lines.bad("name the fields between BEGIN_DATA_FORMAT and END_DATA_FORMAT", "no field is named")
			}
			return nil
		}
		if t.text == "" {
			return c.lines.bad("name it", "field %d has no name", len(c.names)+1)
		}
		if t.is("BEGIN_DATA") {
			return c.lines.bad("close the list of fields by END_DATA_FORMAT", "the data begin inside the list of fields")
		}
		if c.names = append(c.names, t.text); len(c.names) > maxColumns {
			return c.lines.bad("leave out fields that are not needed", "there are more than %d fields", maxColumns)
		}
	}
	return nil
}

// beginData settles columns and scales.
func (c *cgats) beginData() error {
	if c.names == nil {
		return c.lines.bad("name the fields between BEGIN_DATA_FORMAT and END_DATA_FORMAT", "the data begin before the fields are named")
	}
	if c.fields >= 0 && c.fields != len(c.names) {
		return c.lines.bad("correct the number or the list of fields", "NUMBER_OF_FIELDS is %d but %d fields are named", c.fields, len(c.names))
	}
	cols, err := findColumns(c.lines, c.names, c.o)
	if err != nil {
		return err
	}
	s, err := c.head.scales(c.o)
	if err != nil {
		return err
	}
	c.rows = newBuilder(c.head.table, cols, s, c.o)
	c.state = inData
	return nil
}

func (c *cgats) dataLine(tokens []token) error {
	if tokens[0].is("END_DATA") {
		if len(tokens) > 1 {
			return c.lines.bad("leave it out", "something follows END_DATA on its line")
		}
		if n := len(c.rows.table.Rows); c.sets >= 0 && c.sets != n {
			return c.lines.bad("restore the lines that were lost, or correct the number", "NUMBER_OF_SETS is %d but there are %d rows", c.sets, n)
		}
		c.state = afterData
		return nil
	}
	if len(tokens) != len(c.names) {
		return c.lines.bad("give each patch one line with a value for each field", "%d values for %d fields", len(tokens), len(c.names))
	}
	fields := make([]string, len(tokens))
	for i, t := range tokens {
		fields[i] = t.text
	}
	return c.rows.add(c.lines, fields)
}

// finish returns the table at the end of the file.
func (c *cgats) finish() (Table, error) {
	switch {
	case c.lines.blank:
		return Table{}, c.lines.whole("give a CGATS.17 table with RGB and XYZ", "the file is empty")
	case c.state == afterData:
		return c.rows.finish(c.lines)
	case c.state == inData:
		return Table{}, c.lines.bad("restore what was lost", "the file ends before END_DATA")
	}
	return Table{}, c.lines.bad("give a CGATS.17 table with BEGIN_DATA and END_DATA", "the file ends before its data begin")
}

// splitCGATS splits a line into words, separated by blanks, and the comment
// behind a #, nil without one. In quoted words a doubled quote is a quote.
func splitCGATS(l *lines, text string) (tokens []token, comment *string, err error) {
	for {
		text = strings.TrimLeft(text, " \t")
		switch {
		case text == "":
			return tokens, nil, nil
		case text[0] == '#':
			c := strings.TrimSpace(text[1:])
			return tokens, &c, nil
		case text[0] == '"':
			value, rest, ok := quoted(text)
			if !ok {
				return nil, nil, l.bad("close the quote on its line", "a quote is not closed")
			}
			tokens = append(tokens, token{value, true})
			text = rest
		default:
			i := strings.IndexAny(text, " \t\"#")
			if i < 0 {
				i = len(text)
			}
			tokens = append(tokens, token{text[:i], false})
			text = text[i:]
		}
	}
}
