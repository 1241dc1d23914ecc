package chart

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"

	"example.org/primaries/colorimetry"
)

// Scale says what the numbers of a table's XYZ mean.
type Scale int

// Scales of XYZ.
const (
	// ScaleUnstated leaves the scale to the file; a file that states none is
	// absolute.
	ScaleUnstated Scale = iota
	// ScaleAbsolute is cd/m².
	ScaleAbsolute
	// ScaleRelative is proportional to light by a factor that the table does
	// not tell: files with Y = 1 for white and with Y = 100 both occur. Divide
	// by the Y of [Table.White] to have the scale on which white is 1.
	ScaleRelative
)

// String returns the word by which files and options name the scale.
func (s Scale) String() string {
	switch s {
	case ScaleAbsolute:
		return "absolute"
	case ScaleRelative:
		return "relative"
	}
	return "unstated"
}

// Keyword is one keyword of a table's head and its value.
type Keyword struct{ Name, Value string }

// Keywords of our own that state a table's scales. Readers take them out of
// the keyword list, writers put them in.
const (
	keywordSignalMax = "SIGNAL_MAX" // number that stands for full signal
	keywordScale     = "XYZ_SCALE"  // absolute or relative
)

// Row is one patch of a table and its reading.
type Row struct {
	ID     string          // "" where the table has no names
	Signal colorimetry.RGB // 0 to 1, whatever the file counted to
	XYZ    colorimetry.XYZ // on the table's scale; zero where the table has none
	Extra  []string        // values of the table's Extra columns, in their order
	Line   int             // line of the file that the row was read from, from 1; 0 if from none
}

// Table is what CGATS.17 and CSV files hold: patches, and readings of them
// where HasXYZ.
type Table struct {
	Originator string
	Descriptor string
	Created    string
	// Keywords holds all other keywords of the head in file order, unknown
	// ones too.
	Keywords []Keyword
	// Comments holds the comments before the data, without their # and the
	// space around them.
	Comments []string
	Scale    Scale // ScaleAbsolute or ScaleRelative after reading
	HasXYZ   bool
	Extra    []string // names of further columns, whose values are kept as text
	Rows     []Row
}

// Patches returns the rows' patches.
func (t Table) Patches() Set {
	set := make(Set, len(t.Rows))
	for i, r := range t.Rows {
		set[i] = Patch{ID: r.ID, Signal: r.Signal}
	}
	return set
}

// White returns the mean XYZ of the rows at full signal on all channels; ok is
// false where there is none.
func (t Table) White() (white colorimetry.XYZ, ok bool) {
	count := 0.0
	for _, r := range t.Rows {
		if r.Signal == colorimetry.Gray(1) {
			white = white.Add(r.XYZ)
			count++
		}
	}
	if count == 0 || !t.HasXYZ {
		return colorimetry.XYZ{}, false
	}
	return white.Scale(1 / count), true
}

// ReadOptions steer reading. The zero value is the default.
type ReadOptions struct {
	// File names the file in errors.
	File string
	// SignalMax is the number that stands for full signal, for instance 100,
	// 255 or 1023. 0 takes what the file itself states in a keyword
	// SIGNAL_MAX, and 1 where it states nothing, in CGATS.17 files as well:
	// that format fixes no scale for RGB, files that count to 1, 100 and 255
	// are all about, and a guess would be wrong for a table of dark patches
	// alone. A table that goes beyond is refused, the error naming the number
	// that it probably counts to.
	SignalMax float64
	// Scale of XYZ. ScaleUnstated takes what the file itself states in a
	// keyword XYZ_SCALE, and absolute where it states nothing.
	Scale Scale
	// PatchesOnly accepts tables without X, Y and Z.
	PatchesOnly bool
	// MaxRows bounds the rows; 0 means 100,000, a hundred times the largest
	// usual set.
	MaxRows int
	// MaxBytes bounds the file; 0 means 64 MiB, enough for as many rows with a
	// spectrum each.
	MaxBytes int64
}

// withDefaults fills in the limits and checks what the caller gave.
func (o ReadOptions) withDefaults() (ReadOptions, error) {
	if o.MaxRows <= 0 {
		o.MaxRows = 100_000
	}
	if o.MaxBytes <= 0 {
		o.MaxBytes = 64 << 20
	}
	if o.SignalMax != 0 && !(o.SignalMax >= 1 && o.SignalMax <= maxSignalMax) {
		return o, fmt.Errorf("chart: signal-max is %g; numbers from 1 to %d are possible", o.SignalMax, maxSignalMax)
	}
	return o, nil
}

// maxSignalMax is the largest number that may stand for full signal: 16 bits
// and one, since some count to the power of two.
const maxSignalMax = 1 << 16

// InputError says in one sentence what is wrong with a file that a user gave
// and what to do. It carries no package prefix: the sentence is the user's.
type InputError struct {
	File    string // "" where the reader was not told
	Line    int    // from 1; 0 where the file as a whole is meant
	Problem string
	Remedy  string
}

// Error returns the sentence: file, line, problem; remedy.
func (e *InputError) Error() string {
	var where []string
	if e.File != "" {
		where = append(where, e.File)
	}
	if e.Line > 0 {
		where = append(where, fmt.Sprintf("line %d", e.Line))
	}
	if len(where) == 0 {
		where = append(where, "table")
	}
	return strings.Join(where, ", ") + ": " + e.Problem + "; " + e.Remedy
}

// Read reads a table in any format: CxF where the file starts with <, CGATS.17
// where the first 64 KiB hold BEGIN_DATA, else CSV. name, if not "", names the
// file in errors. See [ReadCxF], [ReadCGATS] and [ReadCSV].
func Read(r io.Reader, name string, o ReadOptions) (Table, error) {
	if name != "" {
		o.File = name
	}
	b := bufio.NewReaderSize(r, 64<<10)
	head, err := b.Peek(64 << 10)
	if err != nil && err != io.EOF {
		return Table{}, fmt.Errorf("chart: cannot read the table: %w", err)
	}
	if isXML(head) {
		return ReadCxF(b, o)
	}
	if bytes.Contains(head, []byte("BEGIN_DATA")) || bytes.HasPrefix(head, []byte("CGATS.")) {
		return ReadCGATS(b, o)
	}
	return ReadCSV(b, o)
}
