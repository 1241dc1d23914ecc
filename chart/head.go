package chart

import (
	"regexp"
	"strconv"
	"strings"
)

// head collects what stands before the rows of a table.
type head struct {
	lines *lines
	table Table
	// What the file itself states, 0 where it states nothing.
	signalMax float64
	scale     Scale
}

// keywordName is the form of a keyword.
var keywordName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_.\-]*$`)

// keyword takes one keyword and its value.
func (h *head) keyword(name, value string) error {
	single := map[string]*string{
		"ORIGINATOR": &h.table.Originator,
		"DESCRIPTOR": &h.table.Descriptor,
		"CREATED":    &h.table.Created,
	}
	if to := single[name]; to != nil && *to == "" {
		*to = value
		return nil
	}
	switch name {
	case keywordSignalMax:
		v, err := strconv.ParseFloat(value, 64)
		if err != nil || !(v >= 1 && v <= maxSignalMax) || h.signalMax != 0 {
			return h.lines.bad("state the number that stands for full signal once, for instance 1, 100 or 255", "%s is %q", name, clip(value))
		}
		h.signalMax = v
	case keywordScale:
		scale := map[string]Scale{"absolute": ScaleAbsolute, "relative": ScaleRelative}[value]
		if scale == ScaleUnstated || h.scale != ScaleUnstated {
			return h.lines.bad("state absolute (cd/m²) or relative once", "%s is %q", name, clip(value))
		}
		h.scale = scale
	default:
		h.table.Keywords = append(h.table.Keywords, Keyword{name, value})
	}
	return nil
}

// comment takes the text after the # of a comment in a CSV file: a keyword in
// the form NAME "value", else a remark.
func (h *head) comment(text string) error {
	text = strings.TrimSpace(text)
	name, rest, _ := strings.Cut(text, " ")
	if keywordName.MatchString(name) && !structural(name) {
		rest = strings.TrimSpace(rest)
		if value, left, ok := quoted(rest); ok && left == "" && rest[0] == '"' {
			return h.keyword(name, value)
		}
	}
	h.table.Comments = append(h.table.Comments, text)
	return nil
}

// scales are the two scales of a table, settled.
type scales struct {
	signalMax float64
	given     bool // signalMax is the caller's word
	xyz       Scale
}

// scales settles them: the caller's word, else the file's, else 1 and
// absolute.
func (h *head) scales(o ReadOptions) (scales, error) {
	s := scales{signalMax: o.SignalMax, given: o.SignalMax != 0, xyz: o.Scale}
	if s.signalMax == 0 {
		s.signalMax = h.signalMax
	}
	if s.signalMax == 0 {
		s.signalMax = 1
	}
	if s.xyz == ScaleUnstated {
		s.xyz = h.scale
	} else if h.scale != ScaleUnstated && h.scale != s.xyz {
		return s, h.lines.whole("leave the scale to the file, or correct the file", "XYZ is said to be %v although the file states %v", s.xyz, h.scale)
	}
	if s.xyz == ScaleUnstated {
		s.xyz = ScaleAbsolute
	}
	return s, nil
}

// builder collects the rows of a table.
type builder struct {
	table  Table
	cols   columns
	scales scales
	max    int
}

func newBuilder(t Table, cols columns, s scales, o ReadOptions) *builder {
	t.Scale = s.xyz
	t.HasXYZ = cols.numbers[3] >= 0
	for _, i := range cols.extra {
		t.Extra = append(t.Extra, cols.names[i])
	}
	return &builder{table: t, cols: cols, scales: s, max: o.MaxRows}
}

// add takes the fields of the line read last.
func (b *builder) add(l *lines, fields []string) error {
	if len(b.table.Rows) == b.max {
		return l.bad("give a smaller table", "there are more than %d rows", b.max)
	}
	row, err := b.cols.row(l, fields, b.scales.signalMax)
	if err != nil {
		return err
	}
	b.table.Rows = append(b.table.Rows, row)
	return nil
}

// finish returns the table after its last row.
func (b *builder) finish(l *lines) (Table, error) {
	if len(b.table.Rows) == 0 {
		return Table{}, l.whole("give a line for each patch", "the table names its columns but has no rows")
	}
	if err := checkSignals(l, b.table.Rows, b.scales); err != nil {
		return Table{}, err
	}
	return b.table, nil
}
