package chart

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
)

// maxValue bounds X, Y and Z: far above the sun's disc, which has about
// 1.6e9 cd/m² (from memory).
const maxValue = 1e12

// slack is how far a signal may lie beyond 0 or full signal, as a share of it,
// and still count as rounding in the program that wrote it: less than a tenth
// of a code of 16 bits, more than the last digit of a 32-bit float.
const slack = 1e-6

// columns knows which column of a table holds what, and turns its rows into
// Row values.
type columns struct {
	names   []string
	id      int    // -1 where there is none
	numbers [6]int // of R, G, B, X, Y, Z; -1 where PatchesOnly and there is none
	extra   []int
}

// letters are the columns that a table of readings needs.
var letters = [6]string{"R", "G", "B", "X", "Y", "Z"}

// findColumns maps the names of a table's columns.
//
// They are single capitals, or RGB_R … and XYZ_X … in any case. The small
// letters r, g and b count where all three are there and no R is, since a
// lone b belongs to CIELAB; small x and y never do, since they are
// chromaticities. The first column called ID, SAMPLE_ID, NAME or SAMPLE_NAME,
// in any case, names the patches.
func findColumns(l *lines, names []string, o ReadOptions) (columns, error) {
	c := columns{names: names, id: -1}
	used := make([]bool, len(names))
	take := func(match func(string) bool) int {
		for i, n := range names {
			if !used[i] && match(n) {
				used[i] = true
				return i
			}
		}
		return -1
	}
	small := !slices.Contains(names, "R") && slices.Contains(names, "r") && slices.Contains(names, "g") && slices.Contains(names, "b")
	var missing []string
	for k, letter := range letters {
		prefix := "RGB_"
		if k >= 3 {
			prefix = "XYZ_"
		}
		match := func(n string) bool {
			return n == letter || strings.EqualFold(n, prefix+letter) || small && k < 3 && n == strings.ToLower(letter)
		}
		c.numbers[k] = take(match)
		if i := take(match); i >= 0 {
			return c, l.bad("leave one of them", "two columns, %s and %s, both hold %s", clip(names[c.numbers[k]]), clip(names[i]), letter)
		}
		if c.numbers[k] < 0 {
			missing = append(missing, letter)
		}
	}
	noXYZ := c.numbers[3] < 0 && c.numbers[4] < 0 && c.numbers[5] < 0
	if len(missing) > 0 && !(o.PatchesOnly && noXYZ && len(missing) == 3) {
		return c, missingColumns(l, names, missing)
	}
	c.id = take(func(n string) bool {
		return slices.ContainsFunc([]string{"SAMPLE_ID", "ID", "SAMPLE_NAME", "NAME"}, func(id string) bool { return strings.EqualFold(n, id) })
	})
	for i := range names {
		if !used[i] {
			c.extra = append(c.extra, i)
		}
	}
	return c, nil
}

// missingColumns says which columns a table lacks and which it has.
func missingColumns(l *lines, names, missing []string) error {
	shown := make([]string, 0, len(names))
	for _, n := range names[:min(len(names), 12)] {
		shown = append(shown, clip(n))
	}
	if len(names) > 12 {
		shown = append(shown, fmt.Sprintf("and %d more", len(names)-12))
	}
	what := "column " + missing[0] + " is missing"
	if len(missing) > 1 {
		what = "columns " + strings.Join(missing, ", ") + " are missing"
	}
	remedy := "name the columns R, G, B and X, Y, Z, or RGB_R … and XYZ_X …"
	if slices.Contains(names, "x") || slices.Contains(names, "y") {
		remedy += " (small x and y are chromaticities)"
	}
	return l.bad(remedy, "%s among %s", what, strings.Join(shown, ", "))
}

// row turns the fields of one line into a Row whose signal still counts as the
// file does.
func (c columns) row(l *lines, fields []string, signalMax float64) (Row, error) {
	row := Row{Line: l.number}
	var v [6]float64
	for k, i := range c.numbers {
		if i < 0 {
			continue
		}
		var err error
		if v[k], err = number(l, clip(c.names[i]), fields[i]); err != nil {
			return row, err
		}
		if k < 3 && v[k] < -slack*signalMax {
			return row, l.bad("signals run from 0 to full signal: correct the line or leave it out", "%s is %s, below 0", clip(c.names[i]), clip(fields[i]))
		}
		if k >= 3 && math.Abs(v[k]) > maxValue {
			return row, l.bad("correct the line or leave it out", "%s is %s, more than any display shows", clip(c.names[i]), clip(fields[i]))
		}
	}
	row.Signal = colorimetry.RGB{R: signal(v[0] / signalMax), G: signal(v[1] / signalMax), B: signal(v[2] / signalMax)}
	row.XYZ = colorimetry.XYZ{X: v[3], Y: v[4], Z: v[5]}
	if c.id >= 0 {
		row.ID = fields[c.id]
	}
	for _, i := range c.extra {
		row.Extra = append(row.Extra, fields[i])
	}
	return row, nil
}

// signal takes away what rounding put beyond 0 or 1, and the sign of −0.
func signal(v float64) float64 {
	switch {
	case v <= 0:
		return 0
	case v > 1 && v <= 1+slack:
		return 1
	}
	return v
}

// number reads a decimal number, and says in the user's words what else a
// field is.
func number(l *lines, column, field string) (float64, error) {
	const remedy = "correct the line or leave it out"
	text := strings.TrimSpace(field)
	lower := strings.ToLower(strings.TrimLeft(text, "+-"))
	switch {
	case text == "":
		return 0, l.bad(remedy, "%s has no value", column)
	case lower == "nan" || lower == "inf" || lower == "infinity":
		return 0, l.bad(remedy, "%s is %s, which is no reading", column, clip(text))
	case strings.HasSuffix(text, "%"):
		return 0, l.bad("leave the % signs out and "+stateFull(100), "%s is %s", column, clip(text))
	case strings.Count(text, ",") == 1 && plain(strings.Replace(text, ",", ".", 1)):
		return 0, l.bad("write decimals with a point", "%s is %s, with a decimal comma", column, clip(text))
	case !plain(text):
		return 0, l.bad(remedy, "%s is %q, which is no number", column, clip(text))
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return 0, l.bad(remedy, "%s is %s, which is no number that can be held", column, clip(text))
	}
	return v, nil
}

// plain reports whether text is made of what a decimal number is made of; it
// keeps out the hexadecimal floats and underscores that Go would read.
func plain(text string) bool {
	return text != "" && strings.Trim(text, "0123456789+-.eE") == "" && strings.ContainsAny(text, "0123456789")
}

// clip shortens text from a file for a message.
func clip(text string) string {
	if r := []rune(text); len(r) > 32 {
		return string(r[:32]) + "…"
	}
	return text
}

// checkSignals looks at the rows as a whole: do they count to what they should?
func checkSignals(l *lines, rows []Row, s scales) error {
	signalMax := s.signalMax
	top, line := 0.0, 0
	for _, r := range rows {
		m := r.Signal.Max()
		if m > 1 && line == 0 {
			line = r.Line
		}
		top = math.Max(top, m*signalMax)
	}
	if line != 0 {
		e := &InputError{File: l.file, Line: line, Problem: fmt.Sprintf("a signal is above %g, the full signal, and the largest of the table is %.6g", signalMax, top)}
		if guess := countsTo(top); guess > signalMax {
			e.Remedy = fmt.Sprintf("if the table counts to %g, ", guess) + stateFull(guess)
		} else {
			e.Remedy = "correct the signals, which run from 0 to full signal"
		}
		return e
	}
	if s.given && signalMax > 1 && top > 0 && top <= 1 {
		return l.whole("leave signal-max out, or "+stateFull(1), "no signal is above 1 although the table is said to count to %g", signalMax)
	}
	return nil
}

// stateFull says how to tell what number stands for full signal, to a caller of
// the package and to the user of a program that has an option for it.
func stateFull(full float64) string {
	return fmt.Sprintf("state the full signal (SignalMax %g, on a command line -signal-max %g)", full, full)
}

// countsTo guesses what a table counts to from its largest signal, for use in
// a message: 1, percent, or the highest code of a usual depth. It answers 0
// where the signal is only a little too high, or beyond all of these.
func countsTo(top float64) float64 {
	if top < 2 {
		return 0
	}
	for _, m := range []float64{100, 255, 1023, 4095, 65535} {
		if top <= m {
			return m
		}
	}
	return 0
}
