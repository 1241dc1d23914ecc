package keep

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// JSONError says what is wrong with JSON that was read, and where.
type JSONError struct {
	Line    int    // from 1; 0 where the place is unknown
	Field   string // name of the field, "" where none is to blame
	Problem string
	Err     error // the decoder's own error, nil where StrictJSON found it
}

// Error returns the line and the problem.
func (e *JSONError) Error() string {
	if e.Line > 0 {
		return fmt.Sprintf("keep: line %d: %s", e.Line, e.Problem)
	}
	return "keep: " + e.Problem
}

// Unwrap returns the decoder's own error, if any.
func (e *JSONError) Unwrap() error { return e.Err }

// maxDepth bounds how deep JSON may be nested; nothing of ours goes beyond ten.
const maxDepth = 100

// StrictJSON decodes into v exactly one JSON value of at most limit bytes, as
// encoding/json does: a field's name may differ from v's in case. After an
// error v may have been changed in part.
//
// Beside broken JSON it is an error, a [*JSONError] that names the line and the
// field, if an object has a field that v does not know, or one field twice; if
// a value does not fit; if something follows the value; if there is nothing; if
// the value nests deeper than 100. A failing r is its own error.
func StrictJSON(r io.Reader, v any, limit int64) error {
	data, err := io.ReadAll(io.LimitReader(r, limit+1))
	if err != nil {
		return fmt.Errorf("keep: cannot read JSON: %w", err)
	}
	if int64(len(data)) > limit {
		return &JSONError{Problem: fmt.Sprintf("the file is larger than %d bytes", limit)}
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if len(bytes.TrimSpace(data)) == 0 {
		return &JSONError{Problem: "the file is empty"}
	}
	// Form first: here the decoder says exactly where it breaks.
	if err := json.Unmarshal(data, new(json.RawMessage)); err != nil {
		return explain(data, nil, err)
	}
	places := make(map[string][]int64)
	walker := json.NewDecoder(bytes.NewReader(data))
	walker.UseNumber()
	if err := walk(walker, data, places, 0); err != nil {
		return err
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	return explain(data, places, d.Decode(v))
}

// walk reads one value of data, which is JSON, notes the offsets of its fields
// by name, and refuses a field that an object has twice and values too deep.
func walk(d *json.Decoder, data []byte, places map[string][]int64, depth int) error {
	t, err := d.Token()
	if err != nil {
		return &JSONError{Line: lineAt(data, d.InputOffset()), Problem: err.Error(), Err: err}
	}
	open, ok := t.(json.Delim)
	if !ok {
		return nil
	}
	if depth == maxDepth {
		return &JSONError{Line: lineAt(data, d.InputOffset()), Problem: fmt.Sprintf("values are nested deeper than %d", maxDepth)}
	}
	seen := make(map[string]bool)
	for d.More() {
		if open == '{' {
			key, err := d.Token()
			name, ok := key.(string)
			if err != nil || !ok {
				return &JSONError{Line: lineAt(data, d.InputOffset()), Problem: "the name of a field is no text", Err: err}
			}
			if seen[name] {
				return &JSONError{Line: lineAt(data, d.InputOffset()), Field: name, Problem: fmt.Sprintf("field %q is there twice", name)}
			}
			seen[name] = true
			places[name] = append(places[name], d.InputOffset())
		}
		if err := walk(d, data, places, depth+1); err != nil {
			return err
		}
	}
	_, err = d.Token() // what closes it
	return err
}

// explain puts an error of the decoder in our words.
func explain(data []byte, places map[string][]int64, err error) error {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &syntax):
		problem := "this is not JSON: " + syntax.Error()
		switch {
		case strings.HasSuffix(syntax.Error(), "after top-level value"):
			problem = "something follows the value"
		case syntax.Offset >= int64(len(data)):
			problem = "the file ends too early, or is not JSON: " + syntax.Error()
		}
		return &JSONError{Line: lineAt(data, syntax.Offset), Problem: problem, Err: err}
	case errors.As(err, &kind):
		return &JSONError{Line: lineAt(data, kind.Offset), Field: kind.Field, Problem: fmt.Sprintf("field %q is a %s, not a %v", kind.Field, kind.Value, kind.Type), Err: err}
	}
	// The standard library names an unknown field in its text alone.
	if rest, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		if name, unquoteErr := strconv.Unquote(rest); unquoteErr == nil {
			e := &JSONError{Field: name, Problem: fmt.Sprintf("field %q is unknown", name), Err: err}
			if at := places[name]; len(at) == 1 { // else it may be known elsewhere
				e.Line = lineAt(data, at[0])
			}
			return e
		}
	}
	return &JSONError{Problem: err.Error(), Err: err}
}

// lineAt returns the line, from 1, of the byte before offset.
func lineAt(data []byte, offset int64) int {
	offset = min(max(offset-1, 0), int64(len(data)))
	return 1 + bytes.Count(data[:offset], []byte("\n"))
}
