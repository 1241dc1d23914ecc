package mismatch

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"regexp"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/mat"
)

// Limits of a correction's file.
const (
	savedKind    = "instrument correction" // tells it from the library's other files
	savedVersion = 1
	maxSaved     = 64 << 10 // about ten times the largest that is written
	maxText      = 1024     // bytes of a name or a note
	maxElement   = 1e6      // of a matrix: instruments that count in another unit included
)

// Saved is a correction with what it holds for: one instrument, looking at one
// display.
type Saved struct {
	Correction Correction
	Knots      [3][]Knot // of [Levels]; nil for one matrix
	Instrument string    // as [measure.InstrumentInfo] names it
	Serial     string    // of the instrument, "" where it has none
	Reference  string    // name of the reference, "" where there was none
	Display    string    // name, and what else tells it from others
	Date       time.Time // when the pairs were read, or the spectra put together
}

// savedForm is a Saved as it is kept.
type savedForm struct {
	Kind        string      `json:"kind"`
	Version     int         `json:"version"`
	Instrument  string      `json:"instrument"`
	Serial      string      `json:"instrument_serial,omitempty"`
	Reference   string      `json:"reference,omitempty"`
	Display     string      `json:"display"`
	Date        time.Time   `json:"date"`
	Correction  savedMatrix `json:"correction"`
	KnotsOfRed  []savedKnot `json:"levels_of_red,omitempty"`
	KnotsOfGrn  []savedKnot `json:"levels_of_green,omitempty"`
	KnotsOfBlue []savedKnot `json:"levels_of_blue,omitempty"`
}

// savedMatrix holds lists where the library holds arrays: encoding/json would
// take an array of another length without a word.
type savedMatrix struct {
	Method        string      `json:"method"`
	Matrix        [][]float64 `json:"matrix"`
	Covariance    [][]float64 `json:"covariance_of_elements,omitempty"`
	UncertaintyUV float64     `json:"uncertainty_uv"`
	UncertaintyY  float64     `json:"uncertainty_luminance_share"`
	Condition     float64     `json:"condition"`
	Residual      float64     `json:"residual"`
	LargestUV     float64     `json:"largest_uv"`
	Note          string      `json:"note,omitempty"`
}

type savedKnot struct {
	Amount float64   `json:"amount"`
	Seen   []float64 `json:"seen_xyz"`
	True   []float64 `json:"true_xyz"`
}

// Corrector returns the correction in the form that a session takes.
func (s Saved) Corrector() measure.Corrector {
	if s.Knots[0] == nil {
		return s.Correction
	}
	return Levels{s.Correction, s.Knots}
}

// ErrOtherInstrument is wrapped where a saved correction is another
// instrument's or another display's.
var ErrOtherInstrument = errors.New("the correction was made for another instrument or display")

// Fits says whether the correction was made for this instrument looking at this
// display: the error names what differs, and wraps [ErrOtherInstrument]. A
// correction of another unit of the same kind may still be better than none;
// what it leaves has then to be said. How old a correction may be is for the
// caller to judge, by Date.
func (s Saved) Fits(instrument measure.InstrumentInfo, display string) error {
	for _, d := range []struct{ what, was, is string }{
		{"instrument", s.Instrument, instrument.Name},
		{"instrument's serial number", s.Serial, instrument.Serial},
		{"display", s.Display, display},
	} {
		if d.was != d.is {
			return fmt.Errorf("mismatch: the correction's %s is %q, and now there is %q; make one for this pair, or say what the other leaves: %w", d.what, d.was, d.is, ErrOtherInstrument)
		}
	}
	return nil
}

// Write writes s as JSON that [Read] reads. It is an error if s is nothing that
// Read would take, or w's own.
func (s Saved) Write(w io.Writer) error {
	if err := s.check(); err != nil {
		return err
	}
	c := s.Correction
	f := savedForm{Kind: savedKind, Version: savedVersion, Instrument: s.Instrument, Serial: s.Serial, Reference: s.Reference,
		Display: s.Display, Date: s.Date.Round(0).UTC(),
		Correction: savedMatrix{c.Kind, rows(c.Matrix), nil, c.UncertaintyUV, c.UncertaintyY, c.Condition, c.Residual, c.LargestUV, c.Note}}
	if c.Covariance != (MatrixCovariance{}) {
		for _, row := range c.Covariance {
			f.Correction.Covariance = append(f.Correction.Covariance, row[:])
		}
	}
	for i, to := range []*[]savedKnot{&f.KnotsOfRed, &f.KnotsOfGrn, &f.KnotsOfBlue} {
		for _, k := range s.Knots[i] {
			*to = append(*to, savedKnot{k.Amount, list(k.Seen), list(k.True)})
		}
	}
	b, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		return fmt.Errorf("mismatch: the correction cannot be saved: %w", err)
	}
	b = lists.ReplaceAllFunc(b, func(l []byte) []byte { return spaces.ReplaceAll(l, []byte(" ")) })
	_, err = w.Write(append(b, '\n'))
	return err
}

// Lists of numbers stand on one line each. Text cannot look like one: a line
// break in it is written as \n.
var (
	lists  = regexp.MustCompile(`\[\n\s*[-0-9][-+.,eE0-9\s]*\]`)
	spaces = regexp.MustCompile(`\s+`)
)

func rows(m colorimetry.Matrix) [][]float64 { return [][]float64{m[0][:], m[1][:], m[2][:]} }

func list(c colorimetry.XYZ) []float64 { return []float64{c.X, c.Y, c.Z} }

// Read reads a correction that [Saved.Write] wrote, of at most 64 KiB. Anything
// else is an error: another kind or version, a field that is unknown or there
// twice (a *[keep.JSONError] names it and its line), a number out of range, a
// matrix that has no inverse, a covariance that is none.
func Read(r io.Reader) (Saved, error) {
	var f savedForm
	if err := keep.StrictJSON(r, &f, maxSaved); err != nil {
		return Saved{}, &fileError{err}
	}
	if f.Kind != savedKind {
		return Saved{}, fmt.Errorf("mismatch: the file's kind is %.40q, not %q; give a file that was written as a correction", f.Kind, savedKind)
	}
	if f.Version != savedVersion {
		return Saved{}, fmt.Errorf("mismatch: the correction has version %d; this build reads version %d", f.Version, savedVersion)
	}
	c := f.Correction
	s := Saved{Instrument: f.Instrument, Serial: f.Serial, Reference: f.Reference, Display: f.Display, Date: f.Date.UTC(),
		Correction: Correction{Kind: c.Method, UncertaintyUV: c.UncertaintyUV, UncertaintyY: c.UncertaintyY,
			Condition: c.Condition, Residual: c.Residual, LargestUV: c.LargestUV, Note: c.Note}}
	if !square(c.Matrix, 3) || c.Covariance != nil && !square(c.Covariance, 9) {
		return Saved{}, errors.New("mismatch: the matrix has to have 3 rows of 3 numbers, the covariance of its elements 9 of 9 or none")
	}
	for i, row := range c.Matrix {
		s.Correction.Matrix[i] = [3]float64(row)
	}
	for i, row := range c.Covariance {
		s.Correction.Covariance[i] = [9]float64(row)
	}
	for i, knots := range [][]savedKnot{f.KnotsOfRed, f.KnotsOfGrn, f.KnotsOfBlue} {
		for _, k := range knots {
			if len(k.Seen) != 3 || len(k.True) != 3 {
				return Saved{}, errors.New("mismatch: a level has to have three numbers as seen and three that are true")
			}
			s.Knots[i] = append(s.Knots[i], Knot{k.Amount, colorimetry.XYZ{X: k.Seen[0], Y: k.Seen[1], Z: k.Seen[2]}, colorimetry.XYZ{X: k.True[0], Y: k.True[1], Z: k.True[2]}})
		}
	}
	if err := s.check(); err != nil {
		return Saved{}, err
	}
	return s, nil
}

// fileError is what is wrong with a file's form, in this package's name.
type fileError struct{ err error }

func (e *fileError) Error() string {
	return "mismatch: " + strings.TrimPrefix(e.err.Error(), "keep: ") + "; mend the file, or save the correction anew"
}

func (e *fileError) Unwrap() error { return e.err }

func square(rows [][]float64, n int) bool {
	for _, r := range rows {
		if len(r) != n {
			return false
		}
	}
	return len(rows) == n
}

// check says what of s is out of range.
func (s Saved) check() error {
	for _, t := range []struct {
		what, text string
		needed     bool
	}{
		{"instrument", s.Instrument, true}, {"instrument's serial number", s.Serial, false}, {"reference", s.Reference, false},
		{"display", s.Display, true}, {"note", s.Correction.Note, false},
	} {
		if t.needed && t.text == "" || len(t.text) > maxText || !plain(t.text) {
			return fmt.Errorf("mismatch: the %s, %.40q, is no text in one line of at most %d bytes; name instrument and display", t.what, t.text, maxText)
		}
	}
	if y := s.Date.UTC().Year(); y < 1990 || y > 9999 {
		return fmt.Errorf("mismatch: the correction's date is in the year %d; say when it was made", y)
	}
	switch c := s.Correction; c.Kind {
	case KindFourColour, KindLeastSquares, KindSource, KindUnknown, KindWeighted, KindSpectra:
	default:
		return fmt.Errorf("mismatch: a correction by the method %.40q is not known", c.Kind)
	}
	if err := s.Correction.check(); err != nil {
		return err
	}
	return s.checkKnots()
}

// plain reports whether a text is valid and without control characters.
func plain(text string) bool {
	for _, r := range text {
		if unicode.IsControl(r) {
			return false
		}
	}
	return utf8.ValidString(text)
}

// check says what of the numbers is out of range.
func (c *Correction) check() error {
	for _, v := range []float64{c.UncertaintyUV, c.UncertaintyY, c.Condition, c.Residual, c.LargestUV} {
		if !(v >= 0 && v <= maxElement) {
			return fmt.Errorf("mismatch: a correction's uncertainty, condition or residual is %g; 0 to %g are possible", v, maxElement)
		}
	}
	for i, row := range c.Matrix {
		for _, v := range row {
			if !(math.Abs(v) <= maxElement) {
				return fmt.Errorf("mismatch: the matrix has the element %g; ±%g is the most", v, maxElement)
			}
		}
		// More of a component as seen is more of it in truth; the rest sets filters
		// right that see a little of the other two.
		if !(row[i] > 0) {
			return fmt.Errorf("mismatch: the matrix has %g on its diagonal, row %d; an instrument that sees X, Y and Z at all has more than 0 there: make the correction anew", row[i], i+1)
		}
	}
	if k := condition(c.Matrix); !(k < largestCondition) {
		return fmt.Errorf("mismatch: the matrix turns different colours into one (condition %.3g); make the correction anew", k)
	}
	if c.Covariance == (MatrixCovariance{}) {
		return nil
	}
	sym := mat.NewSymDense(9, nil)
	for i := range 9 {
		for k := range 9 {
			if v := c.Covariance[i][k]; !(math.Abs(v) <= maxElement) || v != c.Covariance[k][i] {
				return fmt.Errorf("mismatch: the covariance of elements %d and %d is %g; it must be symmetric and within ±%g", i, k, v, maxElement)
			}
			sym.SetSym(i, k, c.Covariance[i][k])
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(sym, false) {
		return errors.New("mismatch: the covariance of the matrix's elements cannot be taken apart")
	}
	v := eigen.Values(nil)
	// Rounding leaves negative ones of some 1e-16 of the largest.
	if v[0] < -1e-9*v[8] {
		return errors.New("mismatch: the covariance of the matrix's elements is none: a combination of them has a variance below 0")
	}
	return nil
}

// checkKnots says what of the levels is out of range.
func (s Saved) checkKnots() error {
	n := [3]int{len(s.Knots[0]), len(s.Knots[1]), len(s.Knots[2])}
	if n == ([3]int{}) {
		return nil
	}
	if min(n[0], n[1], n[2]) < 1 || max(n[0], n[1], n[2]) > maxKnots {
		return fmt.Errorf("mismatch: red, green and blue have %v levels; 1 to %d each are possible, or none at all", n, maxKnots)
	}
	for c, knots := range s.Knots {
		for i, k := range knots {
			if !(k.Amount > 0 && k.Amount <= maxElement) || i > 0 && k.Amount <= knots[i-1].Amount {
				return fmt.Errorf("mismatch: level %d of %s has the amount %g; amounts rise from above 0 to at most %g", i, channels[c], k.Amount, maxElement)
			}
			for _, v := range append(list(k.Seen), list(k.True)...) {
				if !(math.Abs(v) <= maxElement) {
					return fmt.Errorf("mismatch: level %d of %s holds %g; ±%g is the most", i, channels[c], v, maxElement)
				}
			}
		}
	}
	_, err := (&Levels{s.Correction, s.Knots}).apart((&Levels{s.Correction, s.Knots}).top())
	return err
}
