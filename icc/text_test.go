package icc

import (
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// decodeOne decodes an element under the default limits with plenty of memory.
func decodeOne(b []byte) (Value, error) {
	budget := int64(1 << 20)
	v, _, err := decodeValue(b, Limits{}.withDefaults(), &budget)
	return v, err
}

// Every type comes back as it went.
func TestValuesRoundTrip(t *testing.T) {
	values := map[string]Value{
		"XYZ":              XYZArray{{X: 0.5, Y: 1, Z: -0.25}, {X: 32767}},
		"sf32":             FixedArray{1, -1, 0.5},
		"sig":              SignatureValue(TagRedCurve),
		"dtim":             DateTimeValue{2026, 2, 28, 23, 59, 58},
		"chrm":             ChromaticityValue{Colorant: 1, Channels: chroma(0.625, 0.25, 0.28125, 0.5)},
		"cicp":             CICP{9, 16, 0, 1},
		"text":             Text("one\ntwo"),
		"text, empty":      Text(""),
		"desc":             TextDescription{ASCII: "plain"},
		"desc, Unicode":    TextDescription{ASCII: "K?the", UnicodeLanguage: 0x6465, Unicode: "Käthe 😀"},
		"desc, script":     TextDescription{ASCII: "x", ScriptCode: 1, Script: []byte{0x81, 0x82}},
		"mluc":             LocalizedText{{"en", "US", "grey"}, {"de", "DE", "grau, größer"}, {"ja", "JP", "灰色 😀"}},
		"mluc, none":       LocalizedText{},
		"dict":             Dict{{Name: "a", Value: "1", HasValue: true}, {Name: "b"}, {Name: "ü", HasValue: true}},
		"dict, translated": Dict{{Name: "a", Value: "1", HasValue: true, DisplayName: LocalizedText{{"de", "DE", "ä"}}}, {Name: "b", DisplayValue: LocalizedText{{"de", "DE", "x"}}}},
		"curv, identity":   SampledCurve{},
		"curv, power":      SampledCurve{563},
		"curv":             SampledCurve{0, 1, 65535},
		"para 0":           ParametricCurve{Function: 0, G: 2.25},
		"para 4":           ParametricCurve{4, 2, 0.5, 0.25, -1, 0.125, 3, -4},
		"vcgt, 16 bits":    VideoCurves{Bits: 16, Table: [][]uint16{{0, 1, 2}, {3, 4, 5}, {6, 7, 65535}}},
		"vcgt, 8 bits":     VideoCurves{Bits: 8, Table: [][]uint16{{0, 257, 65535}}},
		"vcgt, formula":    VideoCurves{Formula: [3]VideoFormula{{1, 0, 1}, {2, 0.25, 0.5}, {0.5, 0, 0.75}}},
		"unknown":          Raw{0x7a7a7a7a, []byte{0, 0, 0, 0, 1, 2, 3}},
	}
	for name, v := range values {
		t.Run(name, func(t *testing.T) {
			b, err := v.appendTo(nil)
			if err != nil {
				t.Fatal(err)
			}
			if got := Signature(uint32(b[0])<<24 | uint32(b[1])<<16 | uint32(b[2])<<8 | uint32(b[3])); got != v.Type() {
				t.Errorf("type is %v, want %v", got, v.Type())
			}
			got, err := decodeOne(b)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(v, got); d != "" {
				t.Error(d)
			}
			for n := range len(b) {
				if n < 8 {
					continue
				}
				if v, err := decodeOne(b[:n:n]); err == nil && v == nil {
					t.Errorf("first %d bytes give nothing and no error", n)
				}
			}
		})
	}
}

// A value that the form cannot hold is an error, never something else.
func TestValuesRefused(t *testing.T) {
	values := map[string]Value{
		"umlaut in text":        Text("ä"),
		"NUL in text":           Text("a\x00b"),
		"umlaut in plain desc":  TextDescription{ASCII: "ä"},
		"script too long":       TextDescription{Script: make([]byte, 68)},
		"language of 3 letters": LocalizedText{{"deu", "DE", "x"}},
		"nameless entry":        Dict{{Value: "x", HasValue: true}},
		"function 5":            ParametricCurve{Function: 5},
		"parameter too large":   ParametricCurve{G: 1e6},
		"not a number":          FixedArray{math.NaN()},
		"two channels":          VideoCurves{Table: [][]uint16{{1}, {2}}},
		"uneven channels":       VideoCurves{Table: [][]uint16{{1}, {2}, {}}},
		"12 bits":               VideoCurves{Bits: 12, Table: [][]uint16{{1}}},
		"too fine for 8 bits":   VideoCurves{Bits: 8, Table: [][]uint16{{1}}},
		"too many entries":      VideoCurves{Table: [][]uint16{make([]uint16, 65536)}},
		"raw without reserved":  Raw{TagRedCurve, []byte{0}},
		"negative chromaticity": ChromaticityValue{Channels: chroma(-0.5, 0.5)},
	}
	for name, v := range values {
		t.Run(name, func(t *testing.T) {
			if b, err := v.appendTo(nil); err == nil {
				t.Errorf("was written as % x", b)
			}
		})
	}
}

// Layout of textDescriptionType, ICC.1:2001-04, 6.5.17: count with its NUL,
// text, Unicode code and count, script code and count, 67 bytes.
func TestTextDescriptionLayout(t *testing.T) {
	b, err := TextDescription{ASCII: "ab"}.appendTo(nil)
	if err != nil {
		t.Fatal(err)
	}
	want := "desc\x00\x00\x00\x00" + "\x00\x00\x00\x03ab\x00" + strings.Repeat("\x00", 4+4+2+1+67)
	if string(b) != want {
		t.Errorf("% x\nwant\n% x", b, want)
	}
}

// Layout of multiLocalizedUnicodeType, ICC.1:2022, 10.15: record count, record
// size 12, then language, country, length and offset from the type's start.
func TestLocalizedLayout(t *testing.T) {
	b, err := LocalizedText{{"en", "US", "ab"}}.appendTo(nil)
	if err != nil {
		t.Fatal(err)
	}
	want := "mluc\x00\x00\x00\x00" + "\x00\x00\x00\x01\x00\x00\x00\x0c" + "enUS\x00\x00\x00\x04\x00\x00\x00\x1c" + "\x00a\x00b"
	if string(b) != want {
		t.Errorf("% x\nwant\n% x", b, want)
	}
}

func TestTextBytes(t *testing.T) {
	for in, want := range map[string]string{
		"plain\x00":        "plain",
		"plain":            "plain",
		"cut\x00rest":      "cut",
		"\xa9 2001\x00":    "© 2001", // ISO 8859-1
		"© 2001\x00":       "© 2001", // UTF-8
		"\x00":             "",
		"":                 "",
		"tab\tand\r\n\x00": "tab\tand\r\n",
	} {
		v, err := decodeOne([]byte("text\x00\x00\x00\x00" + in))
		if err != nil || v != Text(want) {
			t.Errorf("%q reads as %q, %v; want %q", in, v, err, want)
		}
	}
}

func TestUTF16(t *testing.T) {
	for in, want := range map[string]string{
		"\x00a\x00b":               "ab",
		"\x00a\x00\x00\x00\x00":    "a",
		"\xd8\x3d\xde\x00":         "😀",
		"\xd8\x3d":                 "\uFFFD",
		"\xd8\x3d\x00a":            "\uFFFDa",
		"\xde\x00\x00a":            "\uFFFDa",
		"\x00a\x00":                "a",
		"\xff\xff":                 "\uFFFF",
		"\xd8\x3d\xd8\x3d\xde\x00": "\uFFFD😀",
	} {
		budget := int64(1000)
		r := &reader{budget: &budget}
		if got := readUTF16(r, []byte(in)); got != want || r.err != nil {
			t.Errorf("% x reads as %q, want %q (%v)", in, got, want, r.err)
		}
	}
}

func TestLocalizedString(t *testing.T) {
	for want, v := range map[string]LocalizedText{
		"":     nil,
		"grau": {{"de", "DE", "grau"}, {"fr", "FR", "gris"}},
		"grey": {{"de", "DE", "grau"}, {"en", "GB", "grey"}},
	} {
		if v.String() != want {
			t.Errorf("%v gives %q, want %q", []LocalizedString(v), v, want)
		}
	}
}

func TestDictGet(t *testing.T) {
	d := Dict{{Name: "a", Value: "1", HasValue: true}, {Name: "b"}, {Name: "a", Value: "2", HasValue: true}}
	for name, want := range map[string]string{"a": "1", "b": "", "c": ""} {
		if v, ok := d.Get(name); v != want || ok != (want != "") {
			t.Errorf("%q gives %q, %v", name, v, ok)
		}
	}
}
