package plug

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// ProtocolError says that a program broke the line protocol, with the line
// that did.
type ProtocolError struct {
	Got     string // what came, escaped and cut; "" where nothing did
	Problem string // what is wrong with it
	torn    bool   // the program ended in the middle of the line
}

// Error tells the problem and quotes the line.
func (e *ProtocolError) Error() string {
	text := e.Problem
	if e.Got != "" {
		text += ": it said " + e.Got
	}
	return text + "; hold the program against PROTOCOL.md, its -check names what to change"
}

// AnswerError is a program's own word that it could not do what it was told. It
// wraps [measure.ErrTransient] where the program says that the trouble may pass.
type AnswerError struct {
	Kind   string // "passing", "failure", "unknown" or "version"
	Text   string // what went wrong, in the program's words, escaped and cut
	Remedy string // what to do about it, likewise; may be empty
}

// Error tells what the program said.
func (e *AnswerError) Error() string {
	if e.Remedy == "" {
		return e.Text
	}
	return e.Text + "; " + e.Remedy
}

// Unwrap returns measure.ErrTransient for passing trouble, else nil.
func (e *AnswerError) Unwrap() error {
	if e.Kind == kindPassing {
		return measure.ErrTransient
	}
	return nil
}

// quoted returns a line as it can be printed: cut, and escaped where it has
// anything that does not print.
func quoted(line []byte) string {
	const most = 300
	line = bytes.TrimRight(line, "\r\n")
	text, more := string(line), ""
	if len(line) > most {
		text, more = string(line[:most]), fmt.Sprintf(" and %d bytes more", len(line)-most)
	}
	if utf8.ValidString(text) && strconv.CanBackquote(text) && plain(text) == text {
		return "`" + text + "`" + more
	}
	return strconv.QuoteToGraphic(text) + more
}

// plain returns a sentence of a program as it can be printed on one line: what
// does not print is escaped, and what is too long is cut.
func plain(s string) string {
	if len(s) > maxText {
		s = strings.ToValidUTF8(s[:maxText], "") + "…"
	}
	var b strings.Builder
	for _, r := range s {
		if unicode.IsPrint(r) {
			b.WriteRune(r)
		} else {
			b.WriteString(strings.Trim(strconv.QuoteRune(r), "'"))
		}
	}
	return b.String()
}

// broken returns a ProtocolError about a line.
func broken(line []byte, format string, args ...any) *ProtocolError {
	return &ProtocolError{Got: quoted(line), Problem: fmt.Sprintf(format, args...)}
}

// decodeAnswer decodes a line of a program. All that is wrong with its form is
// a *ProtocolError; Done is checked in its form and not in its content.
func decodeAnswer(line []byte) (answer, error) {
	if len(line) > maxLine {
		return answer{}, broken(line, "a line of more than %d bytes", maxLine)
	}
	if err := checkForm(line); err != nil {
		return answer{}, broken(line, "%v", err)
	}
	var a answer
	if err := strict(line, &a); err != nil {
		return answer{}, broken(line, "%v", err)
	}
	kinds := 0
	for _, there := range []bool{a.Say != nil, a.Done != nil, a.Failed != nil} {
		if there {
			kinds++
		}
	}
	switch {
	case a.ID == nil:
		return answer{}, broken(line, `field "id" is missing`)
	case kinds != 1:
		return answer{}, broken(line, `an answer has one of "done", "failed" and "say", this one %d`, kinds)
	case a.Done != nil && a.Done[0] != '{':
		return answer{}, broken(line, `"done" is no object`)
	case a.Now != nil && !possible(*a.Now):
		return answer{}, broken(line, `"now" is no time from 1970 to 2200`)
	}
	if f := a.Failed; f != nil {
		if err := f.check(); err != nil {
			return answer{}, broken(line, "%v", err)
		}
	}
	return a, nil
}

func (f *failure) check() error {
	kinds := []string{kindCondition, kindFailure, kindPassing, kindUnknown, kindVersion}
	_, known := conditions[f.Condition]
	switch {
	case !slices.Contains(kinds, f.Kind):
		return fmt.Errorf("a failure has no kind %.40q; there are %q", f.Kind, kinds)
	case f.Text == "":
		return errors.New(`a failure needs its "text"`)
	case (f.Kind == kindCondition) != (f.Condition != ""):
		return fmt.Errorf("a failure of the kind %q, and no other, names its condition", kindCondition)
	case f.Condition != "" && !known:
		return fmt.Errorf("there is no condition %.40q", f.Condition)
	}
	return nil
}

// err returns the failure as a person is to read it.
func (f *failure) err() error {
	if f.Kind == kindCondition {
		e := &measure.ConditionError{Condition: conditions[f.Condition], Evidence: plain(f.Text), Remedy: plain(f.Remedy)}
		if e.Remedy == "" {
			e.Remedy = "see to it, then read again"
		}
		return e
	}
	return &AnswerError{Kind: f.Kind, Text: plain(f.Text), Remedy: plain(f.Remedy)}
}

// possible reports whether t lies where no arithmetic with it goes wrong.
func possible(t time.Time) bool { return t.Year() >= 1970 && t.Year() <= 2200 }

// checkForm tests that a line is one JSON object in UTF-8 with no null in it, no
// field twice, none with other letters than small ones, and not nested too deep.
func checkForm(line []byte) error {
	err := json.Unmarshal(line, new(json.RawMessage))
	switch {
	case !utf8.Valid(line):
		return errors.New("this is no UTF-8")
	case len(bytes.TrimSpace(line)) == 0:
		return errors.New("the line is empty")
	case err != nil:
		return fmt.Errorf("this is no JSON: %w", err)
	case bytes.TrimSpace(line)[0] != '{':
		return errors.New("this is no JSON object")
	}
	d := json.NewDecoder(bytes.NewReader(line))
	d.UseNumber()
	return walk(d, 0)
}

func walk(d *json.Decoder, depth int) error {
	t, err := d.Token()
	if err != nil {
		return err
	}
	if t == nil {
		return errors.New("null stands for nothing here; leave the field out")
	}
	open, ok := t.(json.Delim)
	if !ok {
		return nil
	}
	if depth == maxDepth {
		return fmt.Errorf("values are nested deeper than %d", maxDepth)
	}
	seen := map[string]bool{}
	for d.More() {
		if open == '{' {
			t, err := d.Token()
			if err != nil {
				return err
			}
			name, _ := t.(string)
			// encoding/json would take other letters for the same name.
			if strings.Trim(name, "abcdefghijklmnopqrstuvwxyz0123456789_") != "" {
				return fmt.Errorf("field %.40q is unknown", name)
			}
			if seen[name] {
				return fmt.Errorf("field %q is there twice", name)
			}
			seen[name] = true
		}
		if err := walk(d, depth+1); err != nil {
			return err
		}
	}
	_, err = d.Token()
	return err
}

// strict decodes JSON whose form was checked and names what does not fit.
func strict(data []byte, v any) error {
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	err := d.Decode(v)
	var kind *json.UnmarshalTypeError
	switch {
	case err == nil:
		if _, err := d.Token(); !errors.Is(err, io.EOF) {
			return errors.New("something follows the object")
		}
		return nil
	case errors.As(err, &kind):
		return fmt.Errorf("field %q is a %s where a %v is due", kind.Field, kind.Value, kind.Type)
	}
	return errors.New(strings.TrimPrefix(err.Error(), "json: "))
}

// light decodes three numbers that are a colour.
func light(v []float64) (colorimetry.XYZ, error) {
	if len(v) != 3 {
		return colorimetry.XYZ{}, fmt.Errorf(`"xyz" has %d numbers, not 3`, len(v))
	}
	for _, x := range v {
		if !(math.Abs(x) <= measure.MaxLight) {
			return colorimetry.XYZ{}, fmt.Errorf(`"xyz" has %g, which no display gives; the unit is cd/m²`, x)
		}
	}
	return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}, nil
}

// sample checks what one integration gave against what the instrument offers.
func (m measureDone) sample(offersSpectrum bool) (measure.Sample, error) {
	xyz, err := light(m.XYZ)
	if err != nil {
		return measure.Sample{}, err
	}
	if m.TookNS == nil || *m.TookNS < 0 || *m.TookNS > int64(longestTake) {
		return measure.Sample{}, fmt.Errorf(`"took_ns" is missing, below 0 or above %d`, int64(longestTake))
	}
	s := measure.Sample{XYZ: xyz, Duration: time.Duration(*m.TookNS)}
	if (m.Spectrum != nil) != offersSpectrum {
		return measure.Sample{}, fmt.Errorf("spectrum there: %v, though its hello said %v", m.Spectrum != nil, offersSpectrum)
	}
	if m.Spectrum != nil {
		if s.Spectrum, err = spectrum.New(m.Spectrum.NM, m.Spectrum.Values); err != nil {
			return measure.Sample{}, err
		}
	}
	return s, nil
}

// checkDark tests the time until which a dark calibration holds.
func (d darkDone) check() error {
	if d.Until != nil && !possible(*d.Until) {
		return errors.New(`"until" is no time from 1970 to 2200`)
	}
	return nil
}

// when returns until when the calibration holds, the zero time where there is
// none.
func (d *darkDone) when() time.Time {
	if d == nil || d.Until == nil {
		return time.Time{}
	}
	return d.Until.UTC()
}
