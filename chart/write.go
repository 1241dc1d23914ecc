package chart

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
)

// WriteOptions steer writing. The zero value is the default.
type WriteOptions struct {
	// SignalMax is the number that full signal is written as, 1 to 65536; 0
	// means 1. With 1 signals come back exactly as they were; with another
	// number to the last bit, and exactly where they are codes of the path
	// whose highest code it is.
	SignalMax float64
}

// WriteCSV writes t as a CSV file that [ReadCSV] reads back unchanged:
// comments, keywords in the form # NAME "value", the names of the columns, and
// a line for each row. Numbers have the fewest digits that restore them
// exactly. Rows without an ID are named by their number. Lines end in \n.
//
// It is an error if a number is not finite, a signal outside [0, 1], a keyword
// not of the form of one, a text holds a control character, or a row has
// another number of Extra values than the table.
func WriteCSV(w io.Writer, t Table, o WriteOptions) error {
	m, err := o.check(t)
	if err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	for _, c := range t.Comments {
		fmt.Fprintln(b, strings.TrimSpace("# "+c))
	}
	for _, k := range t.head(m, false) {
		fmt.Fprintf(b, "# %s %s\n", k.Name, quote(k.Value))
	}
	names := []string{"ID", "R", "G", "B"}
	if t.HasXYZ {
		names = append(names, "X", "Y", "Z")
	}
	line := func(fields []string) {
		for i, f := range fields {
			if i > 0 {
				b.WriteByte(',')
			}
			if strings.ContainsAny(f, ",;\"#\t") || strings.TrimSpace(f) != f || f == "" {
				f = quote(f)
			}
			b.WriteString(f)
		}
		b.WriteByte('\n')
	}
	line(append(names, t.Extra...))
	for i := range t.Rows {
		id, numbers, extra := t.fields(i, m)
		line(append(append([]string{id}, numbers...), extra...))
	}
	return b.Flush()
}

// WriteCGATS writes t in the text form of CGATS.17 (ISO 28178) so that
// [ReadCGATS] reads it back unchanged. The keywords SIGNAL_MAX and XYZ_SCALE
// state its scales. Numbers, names and errors are as in [WriteCSV].
func WriteCGATS(w io.Writer, t Table, o WriteOptions) error {
	m, err := o.check(t)
	if err != nil {
		return err
	}
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "CGATS.17")
	for _, c := range t.Comments {
		fmt.Fprintln(b, strings.TrimSpace("# "+c))
	}
	declared := make(map[string]bool)
	for _, k := range t.head(m, true) {
		if !standardKeyword(k.Name) && !declared[k.Name] {
			declared[k.Name] = true
			fmt.Fprintf(b, "KEYWORD %s\n", quote(k.Name))
		}
		fmt.Fprintf(b, "%s %s\n", k.Name, quote(k.Value))
	}
	names := []string{"SAMPLE_ID", "RGB_R", "RGB_G", "RGB_B"}
	if t.HasXYZ {
		names = append(names, "XYZ_X", "XYZ_Y", "XYZ_Z")
	}
	for _, n := range t.Extra {
		names = append(names, word(n))
	}
	fmt.Fprintf(b, "NUMBER_OF_FIELDS %d\nBEGIN_DATA_FORMAT\n%s\nEND_DATA_FORMAT\n", len(names), strings.Join(names, " "))
	fmt.Fprintf(b, "NUMBER_OF_SETS %d\nBEGIN_DATA\n", len(t.Rows))
	for i := range t.Rows {
		id, numbers, extra := t.fields(i, m)
		fmt.Fprintf(b, "%s %s", word(id), strings.Join(numbers, " "))
		for _, e := range extra {
			fmt.Fprintf(b, " %s", word(e))
		}
		b.WriteByte('\n')
	}
	fmt.Fprintln(b, "END_DATA")
	return b.Flush()
}

// standardKeyword reports whether CGATS.17 defines a keyword, so that it needs
// no declaration (from memory; a declaration too many does no harm).
func standardKeyword(name string) bool {
	switch name {
	case "ORIGINATOR", "DESCRIPTOR", "CREATED", "MANUFACTURER", "PROD_DATE", "SERIAL", "MATERIAL",
		"INSTRUMENTATION", "MEASUREMENT_SOURCE", "PRINT_CONDITIONS":
		return true
	}
	return false
}

// head returns all keywords to write. Those that state a scale are left out
// where the default holds and all is false.
func (t Table) head(signalMax float64, all bool) []Keyword {
	var out []Keyword
	for _, k := range []Keyword{{"ORIGINATOR", t.Originator}, {"DESCRIPTOR", t.Descriptor}, {"CREATED", t.Created}} {
		if k.Value != "" {
			out = append(out, k)
		}
	}
	if all || signalMax != 1 {
		out = append(out, Keyword{keywordSignalMax, digits(signalMax)})
	}
	switch {
	case t.Scale == ScaleRelative:
		out = append(out, Keyword{keywordScale, t.Scale.String()})
	case all:
		out = append(out, Keyword{keywordScale, ScaleAbsolute.String()})
	}
	return append(out, t.Keywords...)
}

// fields returns what row i holds, as text.
func (t Table) fields(i int, signalMax float64) (id string, numbers, extra []string) {
	r := t.Rows[i]
	if id = r.ID; id == "" {
		id = strconv.Itoa(i + 1)
	}
	for _, v := range []float64{r.Signal.R, r.Signal.G, r.Signal.B} {
		numbers = append(numbers, digits(v*signalMax))
	}
	if t.HasXYZ {
		numbers = append(numbers, digits(r.XYZ.X), digits(r.XYZ.Y), digits(r.XYZ.Z))
	}
	return id, numbers, r.Extra
}

// check says what of t cannot be written, and returns the number of full
// signal.
func (o WriteOptions) check(t Table) (signalMax float64, err error) {
	if signalMax = o.SignalMax; signalMax == 0 {
		signalMax = 1
	}
	if !(signalMax >= 1 && signalMax <= maxSignalMax) {
		return 0, fmt.Errorf("chart: signal-max is %g; numbers from 1 to %d are possible", signalMax, maxSignalMax)
	}
	for _, k := range t.Keywords {
		if !keywordName.MatchString(k.Name) {
			return 0, fmt.Errorf("chart: keyword %q cannot be written; keywords are letters, digits and underscores", clip(k.Name))
		}
		if structural(k.Name) || k.Name == keywordSignalMax || k.Name == keywordScale {
			return 0, fmt.Errorf("chart: keyword %s is written by itself; leave it out of the keywords", k.Name)
		}
	}
	if slices.Contains(t.Extra, "") {
		return 0, fmt.Errorf("chart: column %d of the extra columns has no name", slices.Index(t.Extra, "")+1)
	}
	texts := append([]string{t.Originator, t.Descriptor, t.Created}, t.Comments...)
	texts = append(texts, t.Extra...)
	for _, k := range t.Keywords {
		texts = append(texts, k.Value)
	}
	if err := writable(texts); err != nil {
		return 0, err
	}
	for i, r := range t.Rows {
		s := r.Signal
		if !(s.Min() >= 0 && s.Max() <= 1) || s.Min() != s.Min() || !r.XYZ.Finite() {
			return 0, fmt.Errorf("chart: row %d cannot be written: signal %v, XYZ %v; signals run from 0 to 1 and all numbers are finite", i+1, s, r.XYZ)
		}
		if len(r.Extra) != len(t.Extra) {
			return 0, fmt.Errorf("chart: row %d has %d extra values for %d columns", i+1, len(r.Extra), len(t.Extra))
		}
		if err := writable(append([]string{r.ID}, r.Extra...)); err != nil {
			return 0, fmt.Errorf("%w, in row %d", err, i+1)
		}
	}
	return signalMax, nil
}

// structural reports whether a keyword is part of the form of a CGATS.17 file.
func structural(name string) bool {
	switch name {
	case "KEYWORD", "NUMBER_OF_FIELDS", "NUMBER_OF_SETS", "BEGIN_DATA_FORMAT", "END_DATA_FORMAT", "BEGIN_DATA", "END_DATA":
		return true
	}
	return false
}

// writable reports the first text that would break its line.
func writable(texts []string) error {
	for _, s := range texts {
		if strings.ContainsFunc(s, func(r rune) bool { return r < ' ' && r != '\t' || r == 0x7f || r == '\ufffd' }) {
			return fmt.Errorf("chart: text %q cannot be written; it holds a line end or another control character", clip(s))
		}
	}
	return nil
}

// quote puts text in quotes, quotes inside doubled.
func quote(text string) string { return `"` + strings.ReplaceAll(text, `"`, `""`) + `"` }

// word returns text as one word of a CGATS.17 file, in quotes where it needs
// them.
func word(text string) string {
	if text == "" || strings.ContainsAny(text, " \t\"#") || text != strings.TrimSpace(text) ||
		strings.HasPrefix(text, "BEGIN_") || strings.HasPrefix(text, "END_") {
		return quote(text)
	}
	return text
}

// digits returns v with the fewest digits that restore it; −0 becomes 0.
func digits(v float64) string {
	if v == 0 {
		v = math.Abs(v)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
