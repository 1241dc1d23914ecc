package chart_test

import (
	"errors"
	"io"
	"strings"
	"testing"

	"example.org/primaries/chart"
)

// badInput are files that users give by mistake. want are parts of the
// sentence that names the problem, line is where it is.
var badInput = []struct {
	name, text string
	line       int
	want       []string
}{
	{"empty", "", 0, []string{"empty", "R,G,B,X,Y,Z"}},
	{"blank", " \n\t\r\n\n", 0, []string{"empty"}},
	{"only a byte-order mark", "\ufeff", 0, []string{"empty"}},
	{"names only", "R,G,B,X,Y,Z\n", 0, []string{"no rows"}},
	{"binary", "\x7fELF\x02\x01\x01\x00", 1, []string{"binary"}},
	{"picture", "\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", 1, []string{"UTF-8"}},
	{"NUL inside", "R,G,B,X,Y,Z\n0,0,0,\x00,1,1\n", 2, []string{"binary"}},
	{"spreadsheet", "PK\x03\x04\x14\x00\x06\x00", 0, []string{"spreadsheet", "export"}},
	{"UTF-16", "\xff\xfeR\x00,\x00G\x00", 0, []string{"UTF-16", "save it as UTF-8"}},
	{"Latin-1", "R,G,B,X,Y,Z,Prüfer\n0,0,0,0,0,0,M\xfcller\n", 2, []string{"UTF-8"}},
	{"missing column", "R,G,B,X,Z\n0,0,0,0,0\n", 1, []string{"column Y is missing", "R, G, B, X, Z"}},
	{"missing columns", "ID,L,a,b\n1,50,0,0\n", 1, []string{"columns R, G, B, X, Y, Z are missing", "ID, L, a, b"}},
	{"chromaticities", "R,G,B,x,y,Y\n0,0,0,0.3,0.3,1\n", 1, []string{"X, Z are missing", "chromaticities"}},
	{"a column twice", "R,G,B,X,Y,Z,RGB_R\n0,0,0,0,0,0,0\n", 1, []string{"R and RGB_R, both hold R"}},
	{"a column without name", "R,G,B,,X,Y,Z\n0,0,0,0,0,0,0\n", 1, []string{"column 4 has no name"}},
	{"no names", "0,0,0,0.1,0.1,0.1\n1,1,1,95,100,108\n", 1, []string{"a number where the names", "R,G,B,X,Y,Z"}},
	{"separated by blanks", "R G B X Y Z\n0 0 0 0 0 0\n", 1, []string{"commas, semicolons or tabs"}},
	{"NaN", "R,G,B,X,Y,Z\n0,0,0,0,0,0\n1,1,1,95,NaN,108\n", 3, []string{"Y is NaN", "leave it out"}},
	{"infinite", "R,G,B,X,Y,Z\n0,0,0,0,0,-inf\n", 2, []string{"Z is -inf"}},
	{"overflow", "R,G,B,X,Y,Z\n0,0,0,0,0,1e999\n", 2, []string{"Z is 1e999"}},
	{"absurd", "R,G,B,X,Y,Z\n0,0,0,0,0,1e99\n", 2, []string{"more than any display"}},
	{"word", "R,G,B,X,Y,Z\n0,0,0,0,none,0\n", 2, []string{`Y is "none"`}},
	{"hexadecimal", "R,G,B,X,Y,Z\n0x10,0,0,0,0,0\n", 2, []string{`R is "0x10"`}},
	{"no value", "R,G,B,X,Y,Z\n0,0,0,0,,0\n", 2, []string{"Y has no value"}},
	{"below 0", "R,G,B,X,Y,Z\n0,-0.1,0,0,0,0\n", 2, []string{"G is -0.1, below 0"}},
	{"percent", "R,G,B,X,Y,Z\n0,0,0,0,0,0\n50,0,0,20,10,1\n100,100,100,95,100,108\n", 3, []string{"above 1", "signal-max 100"}},
	{"percent signs", "R,G,B,X,Y,Z\n0%,0%,0%,0,0,0\n", 2, []string{"R is 0%", "signal-max 100"}},
	{"codes of 8 bits", "R,G,B,X,Y,Z\n0,0,0,0,0,0\n255,255,255,95,100,108\n", 3, []string{"signal-max 255"}},
	{"codes of 10 bits", "R,G,B,X,Y,Z\n1023,0,0,0,0,0\n", 2, []string{"signal-max 1023"}},
	{"a little above 1", "R,G,B,X,Y,Z\n1.02,0,0,0,0,0\n", 2, []string{"above 1", "correct the signals"}},
	{"far above", "R,G,B,X,Y,Z\n1e6,0,0,0,0,0\n", 2, []string{"above 1", "correct the signals"}},
	{"decimal commas", "R;G;B;X;Y;Z\n0,5;0;0;0;0;0\n", 2, []string{"decimal comma", "point"}},
	{"decimal commas between commas", "R,G,B,X,Y,Z\n0,5,0,0,0,0,0,0,0\n", 2, []string{"9 values for 6 columns", "point"}},
	{"ragged", "R,G,B,X,Y,Z\n0,0,0,0,0,0\n\n0,0,0,0,0\n", 4, []string{"5 values for 6 columns"}},
	{"open quote", "ID,R,G,B,X,Y,Z\n\"a,0,0,0,0,0,0\n", 2, []string{"field 1", "quote"}},
	{"quote out of place", "ID,R,G,B,X,Y,Z\n\"a\"b,0,0,0,0,0,0\n", 2, []string{"field 1", "quote"}},
	{"stated twice", "# SIGNAL_MAX \"1\"\n# SIGNAL_MAX \"255\"\nR,G,B,X,Y,Z\n0,0,0,0,0,0\n", 2, []string{"SIGNAL_MAX"}},
	{"states nonsense", "# XYZ_SCALE \"percent\"\nR,G,B,X,Y,Z\n0,0,0,0,0,0\n", 1, []string{"XYZ_SCALE", "absolute"}},

	{"CGATS, cut in the data", strings.Split(smallCGATS, "END_DATA\n")[0], 19, []string{"ends before END_DATA"}},
	{"CGATS, cut in the head", "CGATS.17\nORIGINATOR \"a\"\n", 2, []string{"ends before its data begin"}},
	{"CGATS, a row lost", strings.Replace(smallCGATS, "2 \"white # 1\" 1.0 1.00 1 95 100 108\n", "", 1), 19, []string{"NUMBER_OF_SETS is 3 but there are 2"}},
	{"CGATS, a field lost", strings.Replace(smallCGATS, " SAMPLE_NAME", "", 1), 15, []string{"NUMBER_OF_FIELDS is 8 but 7"}},
	{"CGATS, ragged", strings.Replace(smallCGATS, "1 \"black\"", "1", 1), 16, []string{"7 values for 8 fields"}},
	{"CGATS, second table", smallCGATS + smallCGATS, 21, []string{"one table"}},
	{"CGATS, data before fields", "CGATS.17\nBEGIN_DATA\nEND_DATA\n", 2, []string{"before the fields are named"}},
	{"CGATS, no fields", "CGATS.17\nBEGIN_DATA_FORMAT\nEND_DATA_FORMAT\nBEGIN_DATA\nEND_DATA\n", 3, []string{"no field"}},
	{"CGATS, no rows", "CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R RGB_G RGB_B XYZ_X XYZ_Y XYZ_Z\nEND_DATA_FORMAT\nBEGIN_DATA\nEND_DATA\n", 0, []string{"no rows"}},
	{"CGATS, fields not closed", "CGATS.17\nBEGIN_DATA_FORMAT\nRGB_R\nBEGIN_DATA\n", 4, []string{"END_DATA_FORMAT"}},
	{"CGATS, open quote", "CGATS.17\nORIGINATOR \"a\nBEGIN_DATA\n", 2, []string{"quote is not closed"}},
	{"CGATS, bad count", strings.Replace(smallCGATS, "SETS 3", "SETS three", 1), 14, []string{"NUMBER_OF_SETS"}},
	{"CGATS, missing column", strings.Replace(smallCGATS, "XYZ_Y", "LAB_L", 1), 15, []string{"column Y is missing", "SAMPLE_ID, SAMPLE_NAME, RGB_R"}},
	{"CGATS, Infinity", strings.Replace(smallCGATS, "108", "Infinity", 1), 18, []string{"XYZ_Z is Infinity"}},
	{"CGATS, percent", strings.Replace(smallCGATS, "1.0 1.00 1 ", "100 100 100 ", 1), 18, []string{"signal-max 100"}},
	{"CGATS, out of place", "CGATS.17\nEND_DATA\nBEGIN_DATA\n", 2, []string{"END_DATA is out of place"}},
}

func TestBadInput(t *testing.T) {
	for _, c := range badInput {
		t.Run(c.name, func(t *testing.T) {
			_, err := chart.Read(strings.NewReader(c.text), "readings.csv", chart.ReadOptions{})
			var e *chart.InputError
			if !errors.As(err, &e) {
				t.Fatalf("got %v, want an *InputError", err)
			}
			if e.Line != c.line {
				t.Errorf("line %d, want %d: %v", e.Line, c.line, err)
			}
			text := err.Error()
			if !strings.HasPrefix(text, "readings.csv") || e.Problem == "" || e.Remedy == "" || strings.ContainsAny(text, "\n\x00") {
				t.Errorf("no whole sentence: %q", text)
			}
			for _, w := range c.want {
				if !strings.Contains(text, w) {
					t.Errorf("%q does not say %q", text, w)
				}
			}
		})
	}
}

func TestReadBounds(t *testing.T) {
	row := "0,0,0,0,0,0\n"
	for _, c := range []struct {
		name, text, want string
		o                chart.ReadOptions
	}{
		{"rows", "R,G,B,X,Y,Z\n" + strings.Repeat(row, 11), "more than 10 rows", chart.ReadOptions{MaxRows: 10}},
		{"bytes", "R,G,B,X,Y,Z\n" + strings.Repeat(row, 11), "larger than 100 bytes", chart.ReadOptions{MaxBytes: 100}},
		{"line", "R,G,B,X,Y,Z\n" + strings.Repeat("1", 1<<20), "longer than 65536 bytes", chart.ReadOptions{}},
		{"columns", "R,G,B,X,Y,Z" + strings.Repeat(",a", 3000) + "\n", "more than 2000 columns", chart.ReadOptions{}},
		{"fields", "CGATS.17\nBEGIN_DATA_FORMAT\n" + strings.Repeat("A ", 3000), "more than 2000 fields", chart.ReadOptions{}},
		{"says full signal is 255", smallCSV, "leave signal-max out", chart.ReadOptions{SignalMax: 255}},
		{"scale against the file's", "# XYZ_SCALE \"relative\"\n" + smallCSV, "the file states relative", chart.ReadOptions{Scale: chart.ScaleAbsolute}},
	} {
		_, err := chart.Read(strings.NewReader(c.text), "", c.o)
		var e *chart.InputError
		if !errors.As(err, &e) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	for _, m := range []float64{-1, 0.5, 1e9} {
		if _, err := chart.Read(strings.NewReader(smallCSV), "", chart.ReadOptions{SignalMax: m}); err == nil {
			t.Errorf("signal-max %g is accepted", m)
		}
	}
}

// TestReadFailing: a broken disk is no fault of the file's text.
func TestReadFailing(t *testing.T) {
	broken := errors.New("broken disk")
	for _, text := range []string{"", smallCSV, smallCGATS[:100], smallCGATS} {
		_, err := chart.Read(io.MultiReader(strings.NewReader(text), failing{broken}), "a", chart.ReadOptions{})
		var e *chart.InputError
		if !errors.Is(err, broken) || errors.As(err, &e) {
			t.Errorf("after %d bytes: %v", len(text), err)
		}
	}
}

// TestTruncated: no beginning of a CGATS.17 file passes for a whole one.
func TestTruncated(t *testing.T) {
	for i := range len(smallCGATS) - 1 {
		_, err := chart.ReadCGATS(strings.NewReader(smallCGATS[:i]), chart.ReadOptions{})
		var e *chart.InputError
		if !errors.As(err, &e) {
			t.Errorf("the first %d bytes: %v", i, err)
		}
	}
}
