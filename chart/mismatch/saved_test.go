package mismatch

import (
	"bytes"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// examples are corrections of two kinds, as they would be saved.
func examples(t testing.TB) []Saved {
	t.Helper()
	var ref, meas []measure.Reading
	n := measure.Noise{}.Assumed()
	for i, s := range [4]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}, colorimetry.Gray(1)} {
		l := []colorimetry.XYZ{{X: 41, Y: 21, Z: 2}, {X: 36, Y: 72, Z: 12}, {X: 18, Y: 7, Z: 95}, {X: 95, Y: 100, Z: 109}}[i]
		r := measure.Reading{XYZ: l, Raw: l.Scale(1.01), Covariance: n.Covariance(l, 16)}
		r.Patch.Signal = s
		ref, meas = append(ref, r), append(meas, r)
	}
	four, err := FromPairs(ref, meas)
	if err != nil {
		t.Fatal(err)
	}
	p := spectrum.PanelSources()[4].Primaries
	o := spectrum.CIE1964()
	levels, err := FromSpectra([3]spectrum.Spectrum{o.XBar, o.YBar, o.ZBar}, [3][]spectrum.Spectrum{{p[0], p[0].Scale(0.2).Add(p[1].Scale(0.01))}, {p[1]}, {p[2].Scale(0.1), p[2]}}, spectrum.CIE1931())
	if err != nil {
		t.Fatal(err)
	}
	day := time.Date(2026, 3, 4, 5, 6, 7, 8, time.UTC)
	return []Saved{
		{Correction: four, Instrument: "filter colorimeter", Serial: "17", Reference: "bench spectroradiometer", Display: `left "desk" [ 1 ]`, Date: day},
		{Correction: levels.Correction, Knots: levels.Knots, Instrument: "filter colorimeter", Display: "größer", Date: day},
	}
}

func written(t testing.TB, s Saved) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestSavedRoundTrip(t *testing.T) {
	for _, s := range examples(t) {
		b := written(t, s)
		got, err := Read(bytes.NewReader(b))
		if err != nil {
			t.Fatalf("%v\n%s", err, b)
		}
		if !reflect.DeepEqual(got, s) {
			t.Errorf("%+v, want %+v", got, s)
		}
		if !bytes.Equal(written(t, got), b) {
			t.Error("written again it is other bytes")
		}
		raw := colorimetry.XYZ{X: 50, Y: 60, Z: 30}
		if got.Corrector().Correct(raw) != s.Corrector().Correct(raw) || got.Corrector().Correct(raw).XYZ == raw {
			t.Error("it corrects in another way")
		}
		for n := range b[:len(b)-1] { // the last byte is a line's end
			if _, err := Read(bytes.NewReader(b[:n])); err == nil {
				t.Fatalf("the first %d of %d bytes were taken", n, len(b))
			}
		}
	}
}

func TestReadRefuses(t *testing.T) {
	good := string(written(t, examples(t)[0]))
	levels := string(written(t, examples(t)[1]))
	swap := func(in, old, by string) string {
		if !strings.Contains(in, old) {
			t.Fatalf("the file has no %q:\n%s", old, in)
		}
		return strings.Replace(in, old, by, 1)
	}
	covariance := good[strings.Index(good, `"covariance_of_elements": [`)+len(`"covariance_of_elements": [`):]
	first := covariance[:strings.Index(covariance, ",")]
	matrix := good[strings.Index(good, `"matrix": [`):]
	element := matrix[strings.IndexAny(matrix, "0123456789"):]
	element = element[:strings.Index(element, ",")]
	for name, text := range map[string]string{
		"a diagonal below 0":   swap(good, element, "-5"),
		"another kind":         swap(good, `"instrument correction"`, `"aim"`),
		"another version":      swap(good, `"version": 1`, `"version": 2`),
		"an unknown field":     swap(good, `"version": 1`, `"version": 1, "colour": 3`),
		"a field twice":        swap(good, `"version": 1`, `"version": 1, "version": 1`),
		"no instrument":        swap(good, `"filter colorimeter"`, `""`),
		"a line break":         swap(good, `"filter colorimeter"`, `"a\nb"`),
		"a long name":          swap(good, `"filter colorimeter"`, `"`+strings.Repeat("a", 1025)+`"`),
		"no date":              swap(good, `2026-03-04T`, `0001-03-04T`),
		"another method":       swap(good, `"four-colour"`, `"magic"`),
		"a short matrix":       swap(good, `"matrix": [`, `"matrix": [[1, 2, 3],`),
		"a short row":          swap(good, `"matrix": [`, `"matrix": [[1, 2],`),
		"an uncertainty below": swap(good, `"uncertainty_uv": `, `"uncertainty_uv": -`),
		"a variance below 0":   swap(good, `"covariance_of_elements": [`+first, `"covariance_of_elements": [[-7`),
		"no levels of blue":    swap(levels, `"levels_of_blue"`, `"levels_of_red"`),
		"falling levels":       swap(levels, `"amount": `, `"amount": 9`),
		"something after":      good + "{}",
		"nothing":              "",
		"too much":             good + strings.Repeat(" ", maxSaved),
	} {
		if _, err := Read(strings.NewReader(text)); err == nil {
			t.Errorf("%s was taken", name)
		} else if strings.Count(err.Error(), "mismatch: ") != 1 || strings.Contains(err.Error(), "keep: ") {
			t.Errorf("%s: %q does not begin with this package's name alone", name, err)
		} else {
			t.Logf("%s: %v", name, err)
		}
	}
	var unknown *keep.JSONError
	if _, err := Read(strings.NewReader(swap(good, `"version": 1`, `"version": 1, "colour": 3`))); !errors.As(err, &unknown) || unknown.Field != "colour" {
		t.Errorf("the unknown field is not named: %v", err)
	}
	s := examples(t)[0]
	s.Correction.Matrix = colorimetry.Matrix{}
	if err := s.Write(&bytes.Buffer{}); err == nil {
		t.Error("a matrix without inverse was written")
	}
	s = examples(t)[0]
	s.Correction.Covariance[1][0] += 1e-9
	if err := s.Write(&bytes.Buffer{}); err == nil || !strings.Contains(err.Error(), "symmetric") {
		t.Errorf("a covariance that is not symmetric: %v", err)
	}
	s = examples(t)[0]
	s.Display = ""
	if err := s.Write(&bytes.Buffer{}); err == nil {
		t.Error("a correction for no display was written")
	}
}

func TestFits(t *testing.T) {
	s := examples(t)[0]
	info := measure.InstrumentInfo{Name: s.Instrument, Serial: s.Serial}
	if err := s.Fits(info, s.Display); err != nil {
		t.Error(err)
	}
	other := info
	other.Serial = "18"
	for name, err := range map[string]error{
		"another unit":       s.Fits(other, s.Display),
		"another display":    s.Fits(info, "right"),
		"another instrument": s.Fits(measure.InstrumentInfo{Name: "x", Serial: s.Serial}, s.Display),
	} {
		if !errors.Is(err, ErrOtherInstrument) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// FuzzRead feeds corrections from strangers. What is taken must be written
// again, read again as the same, and correct any light without a panic.
func FuzzRead(f *testing.F) {
	for _, s := range examples(f) {
		f.Add(written(f, s))
	}
	f.Add([]byte(`{"kind":"instrument correction","version":1}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := Read(bytes.NewReader(b))
		if err != nil {
			return
		}
		again, err := Read(bytes.NewReader(written(t, s)))
		if err != nil || !reflect.DeepEqual(again, s) {
			t.Fatalf("%v: %+v, was %+v", err, again, s)
		}
		for _, raw := range []colorimetry.XYZ{{X: 95, Y: 100, Z: 109}, {}, {X: -1e-3, Y: 1e-9, Z: 1e6}} {
			if got := s.Corrector().Correct(raw); s.Knots[0] == nil && !got.XYZ.Finite() {
				t.Fatalf("%v became %v", raw, got.XYZ)
			}
		}
	})
}
