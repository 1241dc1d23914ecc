package spectrum_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"testing/iotest"

	"example.org/primaries/colorimetry/spectrum"
)

func TestReadCSV(t *testing.T) {
	names, spectra, err := spectrum.ReadCSV(strings.NewReader("\ufeff# invented\r\nwavelength_nm, R ,G\r\n\r\n400,1, 2e-3\r\n# a remark\r\n405.5,-0.5,4\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	if len(names) != 2 || names[0] != "R" || names[1] != "G" || len(spectra) != 2 {
		t.Fatalf("names %q, %d spectra", names, len(spectra))
	}
	if spectra[0].At(405.5) != -0.5 || spectra[1].At(400) != 2e-3 || spectra[1].Len() != 2 {
		t.Errorf("read %v", spectra)
	}
}

func TestReadCSVRefuses(t *testing.T) {
	const head = "# ours\nwavelength_nm,R\n"
	for name, k := range map[string]struct {
		text string
		line int
		says string
	}{
		"empty":           {"", 0, "empty"},
		"comments only":   {"# nothing\n", 0, "empty"},
		"binary":          {"wavelength_nm,R\n400,\x00\n", 0, "not text"},
		"not UTF-8":       {"wavelength_nm,R\n400,\xff\n", 0, "not text"},
		"first column":    {"nm,R\n400,1\n", 1, `first column is called "nm"`},
		"no spectrum":     {"wavelength_nm\n400\n", 1, "1 columns"},
		"unnamed":         {"wavelength_nm,R,\n", 1, "empty or there twice"},
		"twice":           {"wavelength_nm,R,R\n", 1, "empty or there twice"},
		"too many":        {"wavelength_nm" + strings.Repeat(",a", 1024) + "\n", 1, "1025 columns"},
		"missing column":  {head + "400,1\n410\n", 4, "1 columns where the header has 2"},
		"decimal comma":   {head + "400,1,5\n", 3, "3 columns where the header has 2"},
		"semicolons":      {"wavelength_nm;R\n400;1\n", 1, "first column"},
		"NaN":             {head + "400,1\n\n410,NaN\n", 5, `"NaN" is no finite number`},
		"infinite":        {head + "400,Inf\n", 3, "finite"},
		"word":            {head + "400,one\n", 3, "decimal point"},
		"metres":          {head + "4e-7,1\n", 3, "give wavelengths in nm"},
		"order":           {head + "410,1\n400,1\n", 4, "sort the lines"},
		"one wavelength":  {head + "410,1\n", 0, "at least two"},
		"quotation marks": {head + "\"410,1\n", 3, "without quotation marks"},
		"too long":        {head + strings.Repeat(" ", 16<<20), 0, "16 MiB"},
		"too many rows":   {head + manyRows(), 65539, "more than 65536"},
	} {
		_, _, err := spectrum.ReadCSV(strings.NewReader(k.text))
		var f *spectrum.FormatError
		if !errors.As(err, &f) || f.Line != k.line || !strings.Contains(err.Error(), k.says) || f.Remedy == "" {
			t.Errorf("%s: error %v, want line %d and %q", name, err, k.line, k.says)
		}
		if err != nil && (strings.Count(err.Error(), "spectrum:") != 1 || strings.Contains(err.Error(), "\n")) {
			t.Errorf("%s: not one plain sentence: %v", name, err)
		}
	}
	broken := errors.New("cable pulled")
	if _, _, err := spectrum.ReadCSV(iotest.ErrReader(broken)); !errors.Is(err, broken) {
		t.Errorf("the reader's error is lost: %v", err)
	}
}

func manyRows() string {
	var b strings.Builder
	for i := range 65537 {
		fmt.Fprintf(&b, "%d,1\n", 1+i)
	}
	return b.String()
}

func FuzzReadCSV(f *testing.F) {
	f.Add("wavelength_nm,R,G,B\n400,1,2,3\n405,1,2,3\n")
	f.Add("# a\n\nwavelength_nm,R\n400.5,-1e-9\n401,\"2\"\n")
	f.Add("nm;R\n1;2\n")
	f.Fuzz(func(t *testing.T, text string) {
		names, spectra, err := spectrum.ReadCSV(strings.NewReader(text))
		if err != nil {
			var e *spectrum.FormatError
			if !errors.As(err, &e) || e.Remedy == "" {
				t.Fatalf("error without a remedy: %v", err)
			}
			return
		}
		if len(names) != len(spectra) {
			t.Fatalf("%d names, %d spectra", len(names), len(spectra))
		}
		for _, s := range spectra {
			if lo, hi := s.Range(); s.Len() < 2 || !(lo < hi) || s.Len() > len(text) {
				t.Fatalf("%d samples from %g to %g nm", s.Len(), lo, hi)
			}
			if v := s.Integral(s); v < 0 {
				t.Fatalf("a square sums to %g", v)
			}
		}
	})
}
