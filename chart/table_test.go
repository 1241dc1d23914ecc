package chart_test

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

const smallCSV = `R,G,B,X,Y,Z
0,0,0,0.1,0.11,0.12
1,1,1,95,100,108
0.5,0.25,1e-3,20.5,10.25,3
`

// small is what smallCSV holds.
func small() chart.Table {
	return chart.Table{
		Scale: chart.ScaleAbsolute, HasXYZ: true,
		Rows: []chart.Row{
			{Signal: colorimetry.Gray(0), XYZ: colorimetry.XYZ{X: 0.1, Y: 0.11, Z: 0.12}, Line: 2},
			{Signal: colorimetry.Gray(1), XYZ: colorimetry.XYZ{X: 95, Y: 100, Z: 108}, Line: 3},
			{Signal: colorimetry.RGB{R: 0.5, G: 0.25, B: 0.001}, XYZ: colorimetry.XYZ{X: 20.5, Y: 10.25, Z: 3}, Line: 4},
		},
	}
}

const smallCGATS = `CGATS.17
ORIGINATOR "a ""print"" studio"
DESCRIPTOR "textiles"
CREATED "2026-11-25T09:00:00Z"
# read through the curves in force
KEYWORD "CURVES_DIGEST"
CURVES_DIGEST "0123456789abcdef"
WEIGHTING 1 2
NUMBER_OF_FIELDS	8
BEGIN_DATA_FORMAT
SAMPLE_ID SAMPLE_NAME RGB_R RGB_G RGB_B
XYZ_X XYZ_Y XYZ_Z
END_DATA_FORMAT
NUMBER_OF_SETS 3 # with black
BEGIN_DATA
1 "black" 0 0 0 0.1 0.11 0.12

2 "white # 1" 1.0 1.00 1 95 100 108
a 3 0.5 0.25 .001 20.5 10.25 3E0
END_DATA
`

func TestReadCSV(t *testing.T) {
	withID := small()
	for i := range withID.Rows {
		withID.Rows[i].ID = fmt.Sprintf("p %d", i+1)
	}
	relative := small()
	relative.Scale = chart.ScaleRelative
	late := small()
	late.Comments = []string{"from a studio"}
	late.Keywords = []chart.Keyword{{Name: "SERIAL", Value: `1"2`}}
	for i := range late.Rows {
		late.Rows[i].Line += 2
	}
	extra := small()
	extra.Extra = []string{"note"}
	for i, n := range []string{"dark, very", "", "x"} {
		extra.Rows[i].Extra = []string{n}
	}
	for _, c := range []struct {
		name, text string
		want       chart.Table
		o          chart.ReadOptions
	}{
		{"plain", smallCSV, small(), chart.ReadOptions{}},
		{"no newline at the end", strings.TrimSuffix(smallCSV, "\n"), small(), chart.ReadOptions{}},
		{"CRLF", strings.ReplaceAll(smallCSV, "\n", "\r\n"), small(), chart.ReadOptions{}},
		{"CR", strings.ReplaceAll(smallCSV, "\n", "\r"), small(), chart.ReadOptions{}},
		{"byte-order mark", "\ufeff" + smallCSV, small(), chart.ReadOptions{}},
		{"semicolons", strings.ReplaceAll(smallCSV, ",", " ; "), small(), chart.ReadOptions{}},
		{"tabs", strings.ReplaceAll(smallCSV, ",", "\t"), small(), chart.ReadOptions{}},
		{"small letters and the standard's names", strings.Replace(smallCSV, "R,G,B,X,Y,Z", "r,g,b,XYZ_X,Y,xyz_z", 1), small(), chart.ReadOptions{}},
		{"stated scale", smallCSV, relative, chart.ReadOptions{Scale: chart.ScaleRelative}},
		{"stated number of full signal", "R,G,B,X,Y,Z\n0,0,0,0.1,0.11,0.12\n100,100.0,100,95,100,108\n50,25,0.1,20.5,10.25,3\n", small(), chart.ReadOptions{SignalMax: 100}},
		{"empty columns of a spreadsheet", strings.ReplaceAll(smallCSV, "\n", ",,\n") + ",,,,,,,\n", small(), chart.ReadOptions{}},
		{"rounding of other programs", "R,G,B,X,Y,Z\n-1e-7,0,0,0.1,0.11,0.12\n1,1.0000001,1,95,100,108\n0.5,0.25,0.001,20.5,10.25,3\n", small(), chart.ReadOptions{}},
		{"names", "ID,R,G,B,X,Y,Z\np 1,0,0,0,0.1,0.11,0.12\n\"p 2\",1,1,1,95,100,108\n p 3 ,0.5,0.25,1e-3,20.5,10.25,3\n", withID, chart.ReadOptions{}},
		{"comment and keyword", "# from a studio\n# SERIAL \"1\"\"2\"\n" + smallCSV + "# done\n", late, chart.ReadOptions{}},
		{"extra column", "note,R,G,B,X,Y,Z\n\"dark, very\",0,0,0,0.1,0.11,0.12\n,1,1,1,95,100,108\nx,0.5,0.25,1e-3,20.5,10.25,3\n", extra, chart.ReadOptions{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for name, read := range readers("ReadCSV") {
				got, err := read(c.text, c.o)
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				if diff := cmp.Diff(c.want, got, cmpopts.EquateEmpty()); diff != "" {
					t.Errorf("%s (-want +got):\n%s", name, diff)
				}
			}
		})
	}
}

// readers returns a reader by name, and Read, which must choose it.
func readers(format string) map[string]func(string, chart.ReadOptions) (chart.Table, error) {
	by := chart.ReadCSV
	if format == "ReadCGATS" {
		by = chart.ReadCGATS
	}
	return map[string]func(string, chart.ReadOptions) (chart.Table, error){
		format: func(s string, o chart.ReadOptions) (chart.Table, error) {
			return by(iotest.OneByteReader(strings.NewReader(s)), o)
		},
		"Read": func(s string, o chart.ReadOptions) (chart.Table, error) {
			return chart.Read(strings.NewReader(s), "", o)
		},
	}
}

func TestReadCGATS(t *testing.T) {
	want := small()
	want.Originator, want.Descriptor, want.Created = `a "print" studio`, "textiles", "2026-11-25T09:00:00Z"
	want.Comments = []string{"read through the curves in force", "with black"}
	want.Keywords = []chart.Keyword{{Name: "CURVES_DIGEST", Value: "0123456789abcdef"}, {Name: "WEIGHTING", Value: "1 2"}}
	want.Extra = []string{"SAMPLE_NAME"}
	for i, id := range []string{"1", "2", "a"} {
		want.Rows[i].ID = id
		want.Rows[i].Extra = []string{[]string{"black", "white # 1", "3"}[i]}
		want.Rows[i].Line = []int{16, 18, 19}[i]
	}
	for name, read := range readers("ReadCGATS") {
		got, err := read(smallCGATS, chart.ReadOptions{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
	// What the file states about its scales holds where the caller says nothing.
	stated := strings.Replace(smallCGATS, "KEYWORD", "SIGNAL_MAX 2\nXYZ_SCALE relative\nKEYWORD", 1)
	got, err := chart.ReadCGATS(strings.NewReader(stated), chart.ReadOptions{})
	if err != nil || got.Scale != chart.ScaleRelative || got.Rows[1].Signal != colorimetry.Gray(0.5) || len(got.Keywords) != 2 {
		t.Errorf("stated scales: %v, %+v", err, got)
	}
	got, err = chart.ReadCGATS(strings.NewReader(stated), chart.ReadOptions{SignalMax: 1})
	if err != nil || got.Rows[1].Signal != colorimetry.Gray(1) {
		t.Errorf("the caller's word does not win over the file's: %v", err)
	}
}

func TestPatchesOnly(t *testing.T) {
	text := "R;G;B\n0;0.5;1\n"
	if _, err := chart.ReadCSV(strings.NewReader(text), chart.ReadOptions{}); err == nil {
		t.Error("readings without X, Y, Z are accepted")
	}
	got, err := chart.ReadCSV(strings.NewReader(text), chart.ReadOptions{PatchesOnly: true})
	if err != nil {
		t.Fatal(err)
	}
	want := chart.Set{{Signal: colorimetry.RGB{G: 0.5, B: 1}}}
	if diff := cmp.Diff(want, got.Patches()); diff != "" || got.HasXYZ {
		t.Errorf("HasXYZ %v\n%s", got.HasXYZ, diff)
	}
	if _, ok := got.White(); ok {
		t.Error("a table without readings has a white")
	}
}

func TestWhite(t *testing.T) {
	table := small()
	table.Rows = append(table.Rows, chart.Row{Signal: colorimetry.Gray(1), XYZ: colorimetry.XYZ{X: 97, Y: 102, Z: 110}})
	if got, ok := table.White(); !ok || got != (colorimetry.XYZ{X: 96, Y: 101, Z: 109}) {
		t.Errorf("white is %v, %v", got, ok)
	}
}

func TestWriteRestores(t *testing.T) {
	table := small()
	table.Originator, table.Descriptor, table.Created = "us", `with "quotes" and # signs`, "2026"
	table.Comments = []string{"first", "", "1, 2; 3"}
	table.Keywords = []chart.Keyword{{Name: "CURVES", Value: "none"}, {Name: "EMPTY", Value: ""}, {Name: "CURVES", Value: " twice "}}
	table.Extra = []string{"note", "a;b", "spec 400"}
	// Numbers whose shortest form is long, tiny or huge.
	odd := []float64{1.0 / 3, math.Nextafter(1, 0), 5e-324, 1e-7, 0.1 + 0.2}
	for i, v := range odd {
		table.Rows = append(table.Rows, chart.Row{ID: fmt.Sprintf("r%d", i), Signal: colorimetry.RGB{R: v, G: v / 3, B: 1 - v}, XYZ: colorimetry.XYZ{X: -v, Y: v * 1e6, Z: v / 7}})
	}
	for i := range table.Rows {
		table.Rows[i].Extra = []string{"", `say "a, b"` + "\t;", "#1"}
		if table.Rows[i].ID == "" {
			table.Rows[i].ID = fmt.Sprint("# ", i)
		}
	}
	for _, scale := range []chart.Scale{chart.ScaleAbsolute, chart.ScaleRelative} {
		table.Scale = scale
		for name, f := range formats() {
			var b bytes.Buffer
			if err := f.write(&b, table, chart.WriteOptions{}); err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			got, err := chart.Read(bytes.NewReader(b.Bytes()), name, chart.ReadOptions{})
			if err != nil {
				t.Fatalf("%s: %v\n%s", name, err, b.String())
			}
			if diff := cmp.Diff(table, got, cmpopts.IgnoreFields(chart.Row{}, "Line"), cmpopts.EquateEmpty()); diff != "" {
				t.Errorf("%s (-want +got):\n%s", name, diff)
			}
		}
	}
}

type format struct {
	write func(io.Writer, chart.Table, chart.WriteOptions) error
	read  func(io.Reader, chart.ReadOptions) (chart.Table, error)
}

func formats() map[string]format {
	return map[string]format{
		"CSV":   {chart.WriteCSV, chart.ReadCSV},
		"CGATS": {chart.WriteCGATS, chart.ReadCGATS},
	}
}

// TestWriteSignalMax: every code of a path comes back exactly where the table
// counts to the highest.
func TestWriteSignalMax(t *testing.T) {
	for _, bits := range []int{8, 10, 12, 16} {
		top := 1<<bits - 1
		var table chart.Table
		for code := 0; code <= top; code += 1 + top/5000 {
			table.Rows = append(table.Rows, chart.Row{ID: "a", Signal: colorimetry.Gray(float64(code) / float64(top)).Quantise(bits)})
		}
		for name, f := range formats() {
			var b bytes.Buffer
			if err := f.write(&b, table, chart.WriteOptions{SignalMax: float64(top)}); err != nil {
				t.Fatal(err)
			}
			if strings.Contains(strings.SplitN(b.String(), "BEGIN_DATA\n", 2)[len(strings.SplitN(b.String(), "BEGIN_DATA\n", 2))-1], "e-") {
				t.Errorf("%s, %d bits: codes are not written as whole numbers", name, bits)
			}
			got, err := f.read(&b, chart.ReadOptions{PatchesOnly: true})
			if err != nil {
				t.Fatal(err)
			}
			for i := range table.Rows {
				if got.Rows[i].Signal != table.Rows[i].Signal {
					t.Errorf("%s, %d bits: %v came back as %v", name, bits, table.Rows[i].Signal, got.Rows[i].Signal)
				}
			}
		}
	}
}

func TestWriteRefuses(t *testing.T) {
	for name, spoil := range map[string]func(*chart.Table){
		"NaN in XYZ":         func(t *chart.Table) { t.Rows[1].XYZ.Y = math.NaN() },
		"infinite XYZ":       func(t *chart.Table) { t.Rows[1].XYZ.Z = math.Inf(1) },
		"NaN signal":         func(t *chart.Table) { t.Rows[1].Signal.G = math.NaN() },
		"signal above 1":     func(t *chart.Table) { t.Rows[1].Signal.B = 1.001 },
		"signal below 0":     func(t *chart.Table) { t.Rows[1].Signal.R = -1e-9 },
		"newline in an ID":   func(t *chart.Table) { t.Rows[1].ID = "a\nb" },
		"newline in a value": func(t *chart.Table) { t.Originator = "a\r" },
		"NUL in a comment":   func(t *chart.Table) { t.Comments = []string{"\x00"} },
		"bad keyword":        func(t *chart.Table) { t.Keywords = []chart.Keyword{{Name: "A B"}} },
		"structural keyword": func(t *chart.Table) { t.Keywords = []chart.Keyword{{Name: "BEGIN_DATA"}} },
		"missing extra":      func(t *chart.Table) { t.Extra = []string{"note"} },
		"extra without name": func(t *chart.Table) { t.Extra = []string{""} },
	} {
		table := small()
		spoil(&table)
		for format, f := range formats() {
			var b bytes.Buffer
			if err := f.write(&b, table, chart.WriteOptions{}); err == nil {
				t.Errorf("%s: %s is written", name, format)
			} else if b.Len() > 0 {
				t.Errorf("%s: %s is written by half", name, format)
			}
		}
	}
	for format, f := range formats() {
		for _, m := range []float64{0.5, -1, math.NaN(), math.Inf(1)} {
			if err := f.write(io.Discard, small(), chart.WriteOptions{SignalMax: m}); err == nil {
				t.Errorf("%s: signal-max %g is accepted", format, m)
			}
		}
	}
	full := errors.New("disk full")
	if err := chart.WriteCSV(failing{full}, small(), chart.WriteOptions{}); !errors.Is(err, full) {
		t.Errorf("a failing writer gives %v", err)
	}
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }
func (f failing) Read([]byte) (int, error)  { return 0, f.err }

func ExampleReadCSV() {
	_, err := chart.ReadCSV(strings.NewReader("R,G,B,X,Y,Z\n0,0,0,0,0,0\n100,100,100,95,100,108\n"), chart.ReadOptions{File: "readings.csv"})
	fmt.Println(err)
	// Output: readings.csv, line 3: a signal is above 1, the full signal, and the largest of the table is 100; if the table counts to 100, state the full signal (SignalMax 100, on a command line -signal-max 100)
}
