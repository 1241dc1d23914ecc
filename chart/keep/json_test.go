package keep_test

import (
	"errors"
	"strings"
	"testing"
	"testing/iotest"

	"example.org/primaries/chart/keep"
)

// aim stands for the files that people keep.
type aim struct {
	Version int `json:"version"`
	White   struct {
		X float64 `json:"x"`
		Y float64 `json:"y"`
	} `json:"white"`
	Tone  string         `json:"tone"`
	Notes map[string]any `json:"notes"`
}

func TestStrictJSON(t *testing.T) {
	var got aim
	text := "\ufeff{\"version\": 1,\n \"white\": {\"x\": 0.3127, \"y\": 0.329},\n \"tone\": \"srgb\"}\n\n"
	if err := keep.StrictJSON(strings.NewReader(text), &got, 1000); err != nil {
		t.Fatal(err)
	}
	if got.Version != 1 || got.White.X != 0.3127 || got.White.Y != 0.329 || got.Tone != "srgb" {
		t.Errorf("got %+v", got)
	}
}

func TestStrictJSONRefuses(t *testing.T) {
	for _, c := range []struct {
		name, text  string
		line        int
		field, want string
	}{
		{"empty", "", 0, "", "empty"},
		{"blank", " \n\t", 0, "", "empty"},
		{"too large", `{"tone": "` + strings.Repeat("x", 1000) + `"}`, 0, "", "larger than 1000 bytes"},
		{"unknown field", "{\"version\": 1,\n\"tonne\": 2}", 2, "tonne", `"tonne" is unknown`},
		{"unknown field inside", "{\"version\": 1,\n\"white\": {\"x\": 1,\n\"z\": 2}}", 3, "z", `"z" is unknown`},
		{"unknown here, known there", "{\"version\": 1, \"x\": 1,\n\"white\": {\"x\": 1}}", 0, "x", `"x" is unknown`},
		{"a field twice", "{\"version\": 1,\n\n\"version\": 2}", 3, "version", "twice"},
		{"a field twice in a map", "{\"notes\": {\"a\": 1,\n\"a\": 2}}", 2, "a", "twice"},
		{"wrong type", "{\"version\": 1,\n\"white\": {\"x\": \"0.3\"}}", 2, "white.x", `"white.x" is a string`},
		{"fraction for a whole number", "{\"version\": 1.5}", 1, "version", `"version" is a number`},
		{"NaN", "{\"version\":\nNaN}", 2, "", "not JSON"},
		{"trailing comma", "{\"version\": 1,\n}", 2, "", "not JSON"},
		{"comment", "{\n// no\n}", 2, "", "not JSON"},
		{"cut off", "{\"version\": 1,\n\"tone\": \"sr", 2, "", "ends too early"},
		{"two values", "{\"version\": 1}\n{\"version\": 2}", 2, "", "something follows"},
		{"rubbish after it", "{\"version\": 1}\n]", 2, "", "something follows"},
		{"deep", "{\"notes\": {\"a\":" + strings.Repeat("[", 200) + strings.Repeat("]", 200) + "}}", 1, "", "nested deeper"},
		{"binary", "\x00\x01\x02", 1, "", "not JSON"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var v aim
			err := keep.StrictJSON(iotest.HalfReader(strings.NewReader(c.text)), &v, 1000)
			var e *keep.JSONError
			if !errors.As(err, &e) {
				t.Fatalf("got %v, want a *JSONError", err)
			}
			if e.Line != c.line || e.Field != c.field || !strings.Contains(err.Error(), c.want) {
				t.Errorf("line %d, field %q: %v; want line %d, field %q, %q", e.Line, e.Field, err, c.line, c.field, c.want)
			}
		})
	}
	broken := errors.New("broken disk")
	var e *keep.JSONError
	if err := keep.StrictJSON(iotest.ErrReader(broken), new(aim), 1000); !errors.Is(err, broken) || errors.As(err, &e) {
		t.Errorf("a broken disk gives %v", err)
	}
}

func FuzzStrictJSON(f *testing.F) {
	f.Add([]byte(`{"version": 1, "white": {"x": 0.3, "y": 0.3}, "notes": {"a": [1, {"b": null}]}}`))
	f.Add([]byte("{\"a\": 1,\n\"a\": 2}"))
	f.Add([]byte("[[[[{}]]]] x"))
	f.Fuzz(func(t *testing.T, data []byte) {
		var v aim
		err := keep.StrictJSON(strings.NewReader(string(data)), &v, 1<<12)
		var e *keep.JSONError
		if err != nil && (!errors.As(err, &e) || e.Problem == "" || e.Line > 1+strings.Count(string(data), "\n")) {
			t.Fatalf("%T: %v", err, err)
		}
	})
}
