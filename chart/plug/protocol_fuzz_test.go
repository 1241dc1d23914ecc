package plug

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
)

// FuzzAnswer: whatever a program says, decoding it ends in a ProtocolError of
// bounded length or in an answer that says the same when it is written again.
func FuzzAnswer(f *testing.F) {
	for _, s := range []string{
		`{"id":1,"done":{}}`, `{"id":1,"now":"2026-01-05T09:00:00Z","say":"x"}`, `{"id":1,"failed":{"kind":"condition","condition":"display_dark","text":"t","remedy":"r"}}`,
		`{"id":2,"done":{"xyz":[1,2,3e-300],"took_ns":1,"spectrum":{"nm":[400,410],"values":[0,1e-5]}}}`, `{"id":2,"done":{"until":"2026-01-05T09:00:00Z"}}`,
		`{"id":1,"done":{"version":1,"program":"p","clock":true,"screen":{"name":"s","bits":8,"window_share":1},"instrument":{"name":"i","noise":{"chromaticity_xy":0,"luminance_share":0,"floor_cd_m2":0},"dark_calibration":{}},"controls":[{"name":"c","min":0,"max":1,"now":1}]}}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, line []byte) {
		a, err := decodeAnswer(line)
		if err != nil {
			var form *ProtocolError
			if !errors.As(err, &form) || len(err.Error()) > 3000 {
				t.Fatalf("%v", err)
			}
			return
		}
		if a.Failed != nil && a.Failed.err() == nil {
			t.Fatal("a failure is no error")
		}
		var h helloDone
		if strict(a.Done, &h) == nil {
			if o, err := h.offer(); err == nil {
				if o.differs(o) != "" {
					t.Fatal("an offer differs from itself")
				}
				again, err := json.Marshal(h)
				var back helloDone
				if err != nil || strict(again, &back) != nil {
					t.Fatalf("%s: %v", again, err)
				}
				if p, err := back.offer(); err != nil || o.differs(p) != "" {
					t.Fatalf("written again, its %s differs: %v", o.differs(p), err)
				}
			}
		}
		var m measureDone
		if strict(a.Done, &m) == nil {
			if s, err := m.sample(m.Spectrum != nil); err == nil && !s.XYZ.Finite() {
				t.Fatalf("%v", s)
			}
		}
		again, err := json.Marshal(a)
		if err != nil {
			t.Fatal(err)
		}
		if b, err := decodeAnswer(again); err != nil || *b.ID != *a.ID || (b.Failed == nil) != (a.Failed == nil) || (b.Say == nil) != (a.Say == nil) {
			t.Fatalf("%s became %s: %v", line, again, err)
		}
	})
}

// Each line is refused for the reason given.
func TestDecodeAnswerRefuses(t *testing.T) {
	for line, says := range map[string]string{
		``:                             "the line is empty",
		"{\"id\":1,\"say\":\"\xff\"}":  "no UTF-8",
		`{"id":1,"done":{}`:            "no JSON",
		`{"id":1,"done":{}} {}`:        "no JSON",
		`[1]`:                          "no JSON object",
		`{"id":1,"done":{},"ID":1}`:    `field "ID" is unknown`,
		`{"id":1,"id":1,"done":{}}`:    `field "id" is there twice`,
		`{"id":1,"done":{},"extra":1}`: `unknown field "extra"`,
		`{"done":{}}`:                  `field "id" is missing`,
		`{"id":null,"done":{}}`:        "null stands for nothing",
		`{"id":1.5,"done":{}}`:         `field "id" is a number 1.5`,
		`{"id":1}`:                     "this one 0",
		`{"id":1,"say":"a","done":{}}`: "this one 2",
		`{"id":1,"done":[]}`:           `"done" is no object`,
		`{"id":1,"now":"9","done":{}}`: "parsing time",
		`{"id":1,"now":"9999-01-05T09:00:00Z","done":{}}`:                                 "1970 to 2200",
		`{"id":1,"failed":{"kind":"odd","text":"x"}}`:                                     `no kind "odd"`,
		`{"id":1,"failed":{"kind":"failure"}}`:                                            `needs its "text"`,
		`{"id":1,"failed":{"kind":"condition","text":"x"}}`:                               "names its condition",
		`{"id":1,"failed":{"kind":"failure","condition":"display_dark","text":"x"}}`:      "names its condition",
		`{"id":1,"failed":{"kind":"condition","condition":"odd","text":"x"}}`:             `no condition "odd"`,
		`{"id":1,"done":{"a":` + strings.Repeat("[", 20) + strings.Repeat("]", 20) + `}}`: "nested deeper",
		`{"id":1,"say":"` + strings.Repeat("a", maxLine) + `"}`:                           "more than 1048576 bytes",
	} {
		_, err := decodeAnswer([]byte(line))
		var form *ProtocolError
		if !errors.As(err, &form) || !strings.Contains(err.Error(), says) {
			t.Errorf("%.80s: %v, want %s", line, err, says)
		}
	}
}
