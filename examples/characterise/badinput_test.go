package main

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/verify/report"
)

// table is readings.csv of the unbroken run, taken apart: its columns are
// ID,R,G,B,X,Y,Z,STAGE.
type table struct {
	head []string // comments and the names of the columns
	rows [][]string
}

func readings(t *testing.T) table {
	t.Helper()
	var out table
	for line := range strings.Lines(get(t, filepath.Join(unbroken(t).dir, "o", "readings.csv"))) {
		line = strings.TrimSuffix(line, "\n")
		if strings.HasPrefix(line, "#") || strings.HasPrefix(line, "ID,") {
			out.head = append(out.head, line)
		} else {
			out.rows = append(out.rows, strings.Split(line, ","))
		}
	}
	if len(out.rows) < 100 || out.head[len(out.head)-1] != "ID,R,G,B,X,Y,Z,STAGE,AVERAGES,COV_XX,COV_YY,COV_ZZ,COV_XY,COV_XZ,COV_YZ" {
		t.Fatalf("readings.csv has changed: %q and %d rows", out.head, len(out.rows))
	}
	return out
}

// text returns the table as a file.
func (x table) text() string {
	lines := slices.Clone(x.head)
	for _, r := range x.rows {
		lines = append(lines, strings.Join(r, ","))
	}
	return strings.Join(lines, "\n") + "\n"
}

// named returns the table with another line of names.
func (x table) named(names string) table {
	head := slices.Clone(x.head)
	head[len(head)-1] = names
	return table{head, x.rows}
}

// line returns the line of the file that row i stands on.
func (x table) line(i int) string { return fmt.Sprint("line ", len(x.head)+1+i) }

// scaled returns a row with its columns from to to multiplied by f.
func scaled(row []string, from, to int, f float64) []string {
	row = slices.Clone(row)
	for i := from; i <= to; i++ {
		v, err := strconv.ParseFloat(row[i], 64)
		if err != nil {
			panic(err) // the program wrote it
		}
		row[i] = strconv.FormatFloat(v*f, 'g', -1, 64)
	}
	return row
}

// grey returns the first row that is a grey with a signal in these bounds.
func (x table) grey(t *testing.T, low, high float64) int {
	t.Helper()
	for i, r := range x.rows {
		if v, _ := strconv.ParseFloat(r[1], 64); r[1] == r[2] && r[2] == r[3] && v >= low && v <= high {
			return i
		}
	}
	t.Fatalf("no grey from %g to %g", low, high)
	return 0
}

// with returns the table with every row changed.
func (x table) with(change func([]string) []string) table {
	out := table{head: x.head}
	for _, r := range x.rows {
		if r = change(r); r != nil {
			out.rows = append(out.rows, r)
		}
	}
	return out
}

// and returns the table with one row more, and that row's line.
func (x table) and(row []string) (table, string) {
	x.rows = append(slices.Clone(x.rows), row)
	return x, x.line(len(x.rows) - 1)
}

// withSignal returns a grey row at another signal.
func withSignal(row []string, signal float64) []string {
	row = slices.Clone(row)
	for i := 1; i <= 3; i++ {
		row[i] = strconv.FormatFloat(signal, 'g', -1, 64)
	}
	return row
}

// Each is refused with one sentence, status 2 and nothing written, and the next
// run in the same folder needs no -force.
func TestBadReadings(t *testing.T) {
	good := readings(t)
	middle := good.grey(t, 0.35, 0.5)
	light := good.grey(t, 0.9, 0.95)
	apart, apartLine := good.and(scaled(good.rows[middle], 4, 6, 1.1))
	// 5 % of white is 5 cd/m² here, and this row falls by some 40.
	fall, fallLine := good.and(withSignal(scaled(good.rows[light], 4, 6, 0.5), 0.96))
	nan := table{good.head, slices.Clone(good.rows)}
	nan.rows[middle] = slices.Clone(nan.rows[middle])
	nan.rows[middle][5] = "NaN"
	percent := good.with(func(r []string) []string { return scaled(r, 1, 3, 100) })
	for _, c := range []struct {
		name, text string
		more, says []string
	}{
		{"missing column", strings.Replace(good.text(), "ID,R,", "ID,first,", 1), nil, []string{"bad.csv", fmt.Sprint("line ", len(good.head)), "column R is missing", "name the columns"}},
		{"nan", nan.text(), nil, []string{"bad.csv", nan.line(middle), "Y is NaN", "correct the line"}},
		{"percent", percent.text(), nil, []string{"bad.csv", good.line(0), "largest of the table is 100", "signal-max 100"}},
		{"empty", "", nil, []string{"bad.csv", "the file is empty", "give a table"}},
		{"binary", "\x7fELF\x02\x01\x01\x00\x00\xff\xfe", nil, []string{"bad.csv", "binary", "give a CSV or CGATS.17 text file"}},
		{"disagreeing", apart.text(), nil, []string{"bad.csv", "times the scatter", "read the patch again"}},
		{"falling", fall.text(), nil, []string{"bad.csv", fallLine, "falls", "read the ramp again"}},
		{"no white", good.with(func(r []string) []string {
			if r[1] == "1" && r[2] == "1" && r[3] == "1" {
				return nil
			}
			return r
		}).text(), nil, []string{"bad.csv", "no patch of signal 1, 1, 1", "measure black, white and the full primaries"}},
		{"too few", table{good.head, [][]string{
			{"k", "0", "0", "0", "0.01", "0.01", "0.01", ""}, {"r", "1", "0", "0", "40", "20", "1", ""}, {"g", "0", "1", "0", "30", "70", "10", ""},
			{"b", "0", "0", "1", "20", "10", "100", ""}, {"w", "1", "1", "1", "90", "100", "111", ""},
		}}.named("ID,R,G,B,X,Y,Z,STAGE").text(), nil, []string{"bad.csv", "too few", "measure more"}},
		{"wrong maximum", good.text(), []string{"-signal-max", "255"}, []string{"bad.csv", "no signal is above 1", "leave signal-max out"}},
		{"bad curves", good.text(), []string{"-curves", "bad.csv"}, []string{"bad.csv", "input,R,G,B"}},
		{"fitted proof", good.text(), []string{"-verify", "bad.csv"}, []string{"bad.csv", "the fit has not seen"}},
		{"missing proof", good.text(), []string{"-verify", "none.csv"}, []string{"none.csv", "give the path"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			put(t, filepath.Join(dir, "bad.csv"), c.text)
			o := outcomeOf(t, dir, append([]string{"-out", "o", "-readings", "bad.csv"}, c.more...)...)
			refused(t, o, c.says...)
			if c.name == "disagreeing" && !strings.Contains(o.errors, apartLine) && !strings.Contains(o.errors, good.line(middle)) {
				t.Errorf("it names neither of the rows that disagree: %s", o.errors)
			}
			if strings.Count(o.errors, "\n") != 1 {
				t.Errorf("it says more than one sentence:\n%s", o.errors)
			}
			free(t, dir)
		})
	}
}

// free checks that a refused run left nothing in dir that a reader could take
// for a result, and nothing that stands in the way of the next run.
func free(t *testing.T, dir string) {
	t.Helper()
	for name, f := range files(t, dir) {
		if strings.HasPrefix(name, "o/") && name != "o/run.lock" || name == "history.jsonl" || strings.HasSuffix(name, ".part") {
			t.Errorf("%s was left behind, %d bytes", name, len(f.Bytes))
		}
	}
	if _, err := os.Stat(filepath.Join(dir, "o")); err != nil {
		return // not even made
	}
	must(t, dir, "-out", "o", "-history", "h.jsonl", "-readings", filepath.Join(unbroken(t).dir, "o", "readings.csv"))
}

// turned is a correction whose matrix takes X for five times as much, and below 0.
func turned(correction string) string {
	return firstElement.ReplaceAllString(correction, "${1}-5")
}

var firstElement = regexp.MustCompile(`("matrix": \[\s*\[ *)[-0-9.e]+`)

func TestBadUse(t *testing.T) {
	whole := unbroken(t)
	good := filepath.Join(whole.dir, "o", "readings.csv")
	curves, correction := filepath.Join(whole.dir, "o", "curves.csv"), filepath.Join(whole.dir, "o", "correction.json")
	data := display(t, "crt")
	spectra, tones := data[1], data[3]
	change := func(path string, line int, change func(string) string) string {
		lines := strings.Split(get(t, path), "\n")
		lines[line-1] = change(lines[line-1])
		return strings.Join(lines, "\n")
	}
	upto := func(line string) string { return line[:strings.LastIndexByte(line, ',')] }
	shorter := change(spectra, 40, upto)
	negative := change(spectra, 60, func(line string) string { return strings.Replace(line, ",", ",-1", 1) })
	header := change(spectra, 2, func(string) string { return "wavelength,red,green,blue" })
	for _, c := range []struct {
		name, text string // of bad.txt
		args, says []string
	}{
		{"unknown option", "", []string{"-nonsense"}, []string{"-nonsense", "-h lists the options"}},
		{"stray word", "", []string{"word"}, []string{`"word"`, "-h lists the options"}},
		{"start", "", []string{"-start", "yesterday"}, []string{"-start", "yesterday", "2026-11-25T09:00:00Z"}},
		{"patches", "", []string{"-patches", "4"}, []string{"-patches", "40 to 2800"}},
		{"tone", "", []string{"-tone", "steep"}, []string{"steep"}},
		{"white", "", []string{"-white", "0.9,0.9"}, []string{"0.9,0.9", "chromaticity"}},
		{"luminance", "", []string{"-luminance", "-3"}, []string{"-3"}},
		{"force and resume", "", []string{"-force", "-resume"}, []string{"-force", "-resume", "exclude each other"}},
		{"two displays", "", []string{"-readings", good, "-display-spectra", spectra, "-display-tones", tones}, []string{"-readings", "-display-spectra", "exclude each other"}},
		{"a display beside files", "", []string{"-display", "crt", "-display-spectra", spectra, "-display-tones", tones}, []string{"-display", "-display-spectra", "exclude each other"}},
		{"a display of readings", "", []string{"-readings", good, "-display", "crt"}, []string{"-readings", "-display", "exclude each other"}},
		{"no such display", "", []string{"-display", "plasma"}, []string{"plasma", "four-subpixels"}},
		{"corrected readings", "", []string{"-readings", good, "-correction", "pairs"}, []string{"-readings", "-correction", "exclude each other"}},
		{"depth of readings", "", []string{"-readings", good, "-bits", "9"}, []string{"-readings", "-bits", "exclude each other"}},
		{"curves alone", "", []string{"-curves", "x.csv"}, []string{"-curves", "-readings"}},
		{"share beside proof", "", []string{"-readings", good, "-verify", good, "-share", "0.3"}, []string{"-verify", "-share", "exclude each other"}},
		{"spectra alone", "", []string{"-display-spectra", spectra}, []string{"-display-spectra", "-display-tones"}},
		{"unknown source", "", []string{"-correction", "source", "-source", "gas"}, []string{"gas", "blue-yellow", "rgb-leds"}},
		{"source without its correction", "", []string{"-source", "rgb-leds"}, []string{"-source", "-correction source"}},
		{"a screen alone", "", []string{"-screen", "browser"}, []string{"-screen", "-instrument", "give both"}},
		{"an instrument alone", "", []string{"-instrument", "process:x"}, []string{"-instrument", "-screen"}},
		{"no device", "", []string{"-screen", "wall", "-instrument", "process:x"}, []string{"-screen", `"wall"`, "process:COMMAND"}},
		{"no command", "", []string{"-screen", "browser", "-instrument", "process:"}, []string{"-instrument", "names no program"}},
		{"a page without a name", "", []string{"-screen", "browser", "-instrument", "process:x"}, []string{"-display-name"}},
		{"sensitivities of a program", "", []string{"-screen", "process:x", "-instrument", "process:x", "-correction", "source"}, []string{"-correction source", "sensitivities"}},
		{"a menu that is none", "", []string{"-screen", "process:x", "-instrument", "process:x", "-menu", "bright 7"}, []string{"-menu", "bright 7", "brightness 80 of 0 to 100"}},
		{"a step off the menu", "", []string{"-screen", "process:x", "-instrument", "process:x", "-menu", "brightness 101 of 0 to 100"}, []string{"-menu", "101"}},
		{"depth of a program", "", []string{"-screen", "process:x", "-instrument", "process:x", "-bits", "8"}, []string{"-screen", "-bits", "exclude each other"}},
		{"an end of a fixed set", "", []string{"-enough", "0.3"}, []string{"-enough", "-chart planned"}},
		{"an error below 0", "", []string{"-chart", "planned", "-enough", "-1"}, []string{"-enough", "0 to 10"}},
		{"a plan of readings", "", []string{"-readings", good, "-chart", "planned"}, []string{"-readings", "-chart", "exclude each other"}},
		{"curves of no earlier run", "", []string{"-earlier-curves", good}, []string{"-earlier-curves", "-earlier", "give both"}},
		{"an earlier run without its curves", "", []string{"-earlier", good}, []string{"readings.csv", "those given are none", "give the curves that this run wrote"}},
		{"an earlier run of anybody's", strings.Replace(get(t, good), "# CURVES_IN_FORCE", "# CURVES", 1), []string{"-earlier", "bad.txt"}, []string{"bad.txt", "does not say which curves"}},
		{"an earlier run of one reading", strings.Join(strings.SplitAfter(get(t, good), "\n")[:6], ""), []string{"-earlier", "bad.txt", "-earlier-curves", curves}, []string{"bad.txt", "the earlier run has 1 reading;", "takes 40"}},
		{"an earlier run of no display", strings.Replace(get(t, good), "# DESCRIPTOR", "# NAMES", 1), []string{"-earlier", "bad.txt", "-earlier-curves", curves}, []string{"does not say which display"}},
		{"a correction that makes light negative", turned(get(t, correction)), []string{"-correction-file", "bad.txt"}, []string{"bad.txt", "-5 on its diagonal", "make the correction anew"}},
		{"another display's run", "", []string{"-display", "coupled", "-earlier", good, "-earlier-curves", curves}, []string{`"Reference OLED, native mode"`, `"Coupled LCD (invented), native mode"`, "name an earlier run of this display"}},
		{"a table of one node", "", []string{"-table", "1"}, []string{"-table 1", "2 to 65"}},
		{"a table too large", "", []string{"-table", "66"}, []string{"-table", "0 to 65"}},
		{"primaries of no table", "", []string{"-table-primaries", "srgb"}, []string{"-table-primaries", "-table"}},
		{"a relative table", "", []string{"-readings", good, "-xyz", "relative", "-table", "9"}, []string{"-table", "give absolute readings"}},
		{"the system's tag without its curves", "", []string{"-readings", good, "-system-calibration"}, []string{"readings.csv", "MHC2 has to hold the curves", "takes them away", "give those"}},
		{"a table without its curves", "", []string{"-readings", good, "-table", "9"}, []string{"readings.csv", "take in the curves", "give those"}},
		{"black point of version 4", "", []string{"-black-point"}, []string{"-black-point", "-icc 2"}},
		{"no knee", "", []string{"-knee", "0"}, []string{"-knee", "0.05 to 1"}},
		{"two corrections", "", []string{"-correction-file", good, "-correction", "pairs"}, []string{"-correction-file", "-correction", "exclude each other"}},
		{"no correction", "", []string{"-correction-file", good}, []string{"readings.csv", "line 1", "save the correction anew"}},
		{"another display's correction", "", []string{"-display", "coupled", "-correction-file", correction}, []string{"display", `"Reference OLED"`, `"Coupled LCD (invented)"`, "make one for this pair"}},
		{"missing readings", "", []string{"-readings", "none.csv"}, []string{"none.csv", "give the path"}},
		{"missing tones", "", []string{"-display-spectra", spectra, "-display-tones", "none.csv"}, []string{"open none.csv", "give the path"}},
		{"folder for a file", "", []string{"-readings", "."}, []string{".", "directory"}},
		{"header of spectra", header, []string{"-display-spectra", "bad.txt", "-display-tones", tones}, []string{"bad.txt, line 2", "wavelength_nm", "name the columns"}},
		{"negative spectra", negative, []string{"-display-spectra", "bad.txt", "-display-tones", tones}, []string{"bad.txt, line 60", "below 0", "subtract the dark"}},
		{"unequal columns", shorter, []string{"-display-spectra", "bad.txt", "-display-tones", tones}, []string{"bad.txt, line 40", "ends before column B", "give every row"}},
		{"tones that are none", header, []string{"-display-spectra", spectra, "-display-tones", "bad.txt"}, []string{"bad.txt, line 2", "input_level", "name the columns"}},
		{"unknown field of an aim", "{\n\"kind\": \"display aim\",\n\"version\": 1,\n\"whiteness\": \"D65\"}\n", []string{"-aim", "bad.txt"}, []string{"bad.txt", "line 4", `"whiteness"`, "mend it"}},
		{"no aim", "white D65\n", []string{"-aim", "bad.txt"}, []string{"bad.txt", "line 1", "mend it"}},
		{"history that is none", "Dear diary\n", []string{"-history", "bad.txt"}, []string{"bad.txt", "line 1", "mend or move"}},
		{"history nowhere", "", []string{"-history", "none/history.jsonl"}, []string{"none/history.jsonl", "give another file"}},
		{"aim saved nowhere", "", []string{"-save-aim", "none/aim.json"}, []string{"none/aim.json", "-save-aim"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			put(t, filepath.Join(dir, "bad.txt"), c.text)
			o := outcomeOf(t, dir, append([]string{"-out", "o"}, c.args...)...)
			refused(t, o, c.says...)
			if strings.Count(o.errors, "\n") != 1 {
				t.Errorf("it says more than one sentence:\n%s", o.errors)
			}
			if got := get(t, filepath.Join(dir, "bad.txt")); got != c.text {
				t.Errorf("bad.txt became %q", got)
			}
			free(t, dir)
		})
	}
}

// The path leads through a file, which not even root can make a folder of.
func TestFaultFolderBelowFile(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "file"), "text")
	refused(t, outcomeOf(t, dir, "-out", "file/o"), "file", "-out")
	if got := get(t, filepath.Join(dir, "file")); got != "text" {
		t.Errorf("the file became %q", got)
	}
}

// A display can be asked for what it cannot do; the run says so as soon as it
// has read enough, names what can be had, and leaves the folder free.
func TestAimOutOfReach(t *testing.T) {
	for _, c := range []struct {
		name string
		args []string
		says []string
	}{
		// The panel's own white has 157 cd/m²; at D65 it is a little less.
		{"luminance", []string{"-luminance", "500"}, []string{"not 500", "The nearest aim that can be had", "D65", "at 15"}},
		{"white", []string{"-white", "0.1,0.8"}, []string{"0.1000,0.8000 lies outside the display's primaries", "The nearest aim that can be had: white 0.2"}},
		{"black", append([]string{"-black", "0.0001"}, display(t, "wide_gamut_lcd")...), []string{"above the 0.0001 asked for", "The nearest aim that can be had"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			refused(t, outcomeOf(t, dir, short(c.args...)...), c.says...)
			free(t, dir)
		})
	}
}

// unfinished copies the unbroken run without its report, as if it had been
// killed at the very last.
func unfinished(t *testing.T) (dir string) {
	t.Helper()
	dir = t.TempDir()
	if err := os.CopyFS(dir, os.DirFS(unbroken(t).dir)); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(dir, "o", report.LastFile)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// A journal that belongs to other options, or was changed, is refused; it stays
// as it is, and so does everything else.
func TestFaultResumeRefuses(t *testing.T) {
	none := func(b string) string { return b }
	editLine := func(n int, old, new string) func(string) string {
		return func(b string) string {
			lines := strings.SplitAfter(b, "\n")
			if !strings.Contains(lines[n-1], old) {
				t.Fatalf("line %d holds no %s: %s", n, old, lines[n-1])
			}
			lines[n-1] = strings.Replace(lines[n-1], old, new, 1)
			return strings.Join(lines, "")
		}
	}
	for _, c := range []struct {
		name string
		edit func(string) string
		args []string
		says []string
	}{
		{"other luminance", none, []string{"-luminance", "90"}, []string{"line 1", "options and inputs", "resume with the same options"}},
		{"other tone", none, []string{"-tone", "lstar"}, []string{"line 1", "options and inputs"}},
		{"other name", none, []string{"-display-name", "mine"}, []string{"line 1"}},
		{"other correction", none, []string{"-correction", "none"}, []string{"line 1", "options and inputs"}},
		{"other display", none, display(t, "crt"), []string{"line 1"}},
		{"other display by name", none, []string{"-display", "crt"}, []string{"line 1"}},
		{"other seed", none, []string{"-seed", "4"}, []string{"line 1", "seed 3", "there is 4", "resume with the same"}},
		{"a changed figure", editLine(101, `"Y":`, `"Y":1`), nil, []string{"line 101", "changed or damaged", "restore it from a copy"}},
		{"a changed sum", editLine(200, `{"sum":"`, `{"sum":"0`), nil, []string{"line 200", "changed or damaged"}},
		{"no line 300", func(b string) string {
			lines := strings.SplitAfter(b, "\n")
			return strings.Join(slices.Delete(lines, 299, 300), "")
		}, nil, []string{"line 300", "changed or damaged"}},
		{"no journal", func(string) string { return "Dear diary\n" }, nil, []string{"line 1", "restore the file from a copy", "-force"}},
		{"not begun anew", none, nil, []string{"o holds a run that was begun and not finished", "-resume", "-force"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			dir := unfinished(t)
			path := filepath.Join(dir, "o", cli.JournalFile)
			edited := c.edit(get(t, path))
			put(t, path, edited)
			before := files(t, dir)
			args := short(append(slices.Clone(c.args), "-resume")...)
			if c.name == "not begun anew" {
				args = short()
			} else {
				c.says = append(c.says, "o/"+cli.JournalFile)
			}
			o := outcomeOf(t, dir, args...)
			refused(t, o, c.says...)
			for name, f := range files(t, dir) {
				if before[name].Bytes != f.Bytes {
					t.Errorf("%s was changed", name)
				}
			}
			if c.args != nil { // the right options still go on
				must(t, dir, short("-resume")...)
				sameAs(t, dir, unbroken(t))
			}
		})
	}
}
