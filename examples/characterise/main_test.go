package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/measure"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/verify/report"
)

// binary is the program, and driver the one that drives simulated devices,
// built once: every test runs them as processes of their own.
var binary, driver string

func TestMain(m *testing.M) { os.Exit(buildAndRun(m)) }

func buildAndRun(m *testing.M) int {
	dir, err := os.MkdirTemp("", "characterise")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	binary, driver = filepath.Join(dir, "characterise"), filepath.Join(dir, "driver")
	if runtime.GOOS == "windows" {
		binary, driver = binary+".exe", driver+".exe"
	}
	for path, folder := range map[string]string{binary: ".", driver: "../driver"} {
		if out, err := exec.Command("go", "build", "-o", path, folder).CombinedOutput(); err != nil {
			fmt.Fprintf(os.Stderr, "go build %s: %v\n%s", folder, err, out)
			return 1
		}
	}
	return m.Run()
}

// outcome is how a run ended.
type outcome struct {
	code        int
	out, errors string
}

// started is a run under way.
type started struct {
	cmd         *exec.Cmd
	cancel      context.CancelFunc
	out, errors bytes.Buffer
}

// command returns the program, to be started in dir.
func command(dir string, args ...string) *started {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	s := &started{cmd: exec.CommandContext(ctx, binary, args...), cancel: cancel}
	s.cmd.Dir, s.cmd.Stdout, s.cmd.Stderr = dir, &s.out, &s.errors
	return s
}

// begin starts the program in dir.
func begin(t *testing.T, dir string, args ...string) *started {
	t.Helper()
	s := command(dir, args...)
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return s
}

// end waits for the program; a code below 0 says that a signal ended it.
func (s *started) end(t *testing.T) outcome {
	t.Helper()
	defer s.cancel()
	err := s.cmd.Wait()
	var exit *exec.ExitError
	if err != nil && !errors.As(err, &exit) {
		t.Fatal(err)
	}
	return outcome{s.cmd.ProcessState.ExitCode(), s.out.String(), s.errors.String()}
}

// outcomeOf runs the program in dir to its end.
func outcomeOf(t *testing.T, dir string, args ...string) outcome {
	t.Helper()
	return begin(t, dir, args...).end(t)
}

// must runs the program, which has to end with status 0.
func must(t *testing.T, dir string, args ...string) outcome {
	t.Helper()
	o := outcomeOf(t, dir, args...)
	if o.code != cli.Done {
		t.Fatalf("%q: status %d\n%s", args, o.code, o.errors)
	}
	return o
}

// short is a run on the default display with the fewest patches, always the
// same.
func short(more ...string) []string {
	return append([]string{"-out", "o", "-patches", "40", "-proof", "100", "-seed", "3", "-start", "2026-11-25T09:00:00Z"}, more...)
}

// file is what is known of one.
type file struct {
	Bytes   string
	Changed time.Time
}

// files returns the files below dir by their paths.
func files(t *testing.T, dir string) map[string]file {
	t.Helper()
	all := map[string]file{}
	err := filepath.WalkDir(dir, func(path string, d os.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		b, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		all[filepath.ToSlash(name)] = file{string(b), info.ModTime()}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// whole is a run that nothing stopped.
type whole struct {
	dir      string // holds the folder o
	files    map[string]file
	readings []measure.Reading
}

var theWhole struct {
	once sync.Once
	run  whole
}

// unbroken returns the run that all that are stopped are held against.
func unbroken(t *testing.T) whole {
	t.Helper()
	theWhole.once.Do(func() {
		dir := filepath.Join(filepath.Dir(binary), "whole")
		if err := os.Mkdir(dir, 0o777); err != nil {
			t.Fatal(err)
		}
		must(t, dir, short()...)
		theWhole.run = whole{dir, files(t, dir), readingsOf(t, dir)}
	})
	if theWhole.run.dir == "" {
		t.Fatal("the run that nothing stopped failed")
	}
	return theWhole.run
}

// readingsOf returns the readings in the journal of dir's run.
func readingsOf(t *testing.T, dir string) []measure.Reading {
	t.Helper()
	lines, _, err := keep.ReadJournal(filepath.Join(dir, "o", cli.JournalFile))
	if err != nil {
		t.Fatal(err)
	}
	record, err := measure.ReadJournal(lines)
	if err != nil {
		t.Fatal(err)
	}
	return record.Readings
}

// sameAs holds a finished run's folder, and the history beside it, against the
// unbroken run: the same files, and all of them byte for byte, but for the
// journal, in which a patch may stand twice.
func sameAs(t *testing.T, dir string, want whole) {
	t.Helper()
	got := files(t, dir)
	for name, f := range want.files {
		if g, ok := got[name]; !ok {
			t.Errorf("%s is missing", name)
		} else if name != "o/"+cli.JournalFile && g.Bytes != f.Bytes {
			t.Errorf("%s differs from that of a run that nothing stopped", name)
		}
	}
	for name := range got {
		if _, ok := want.files[name]; !ok {
			t.Errorf("%s was left behind", name)
		}
	}
	if n := strings.Count(got["history.jsonl"].Bytes, "\n"); n != 1 {
		t.Errorf("the history has %d lines, want 1", n)
	}
	if diff := cmp.Diff(want.readings, readingsOf(t, dir)); diff != "" {
		t.Errorf("the readings differ:\n%s", diff)
	}
}

// profileName returns the name of the one profile in the folder.
func profileName(t *testing.T, folder string) string {
	t.Helper()
	found, err := filepath.Glob(filepath.Join(folder, "*.icc"))
	if err != nil || len(found) != 1 {
		t.Fatalf("profiles in %s: %v, %v; want one", folder, found, err)
	}
	return found[0]
}

// read decodes report.json as a stranger would.
func read(t *testing.T, folder string) map[string]any {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(folder, report.LastFile))
	if err != nil {
		t.Fatal(err)
	}
	var doc map[string]any
	if err := json.Unmarshal(b, &doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

// value returns the value at a path such as "white.x", nil where there is none.
func value(doc map[string]any, path string) any {
	var v any = doc
	for step := range strings.SplitSeq(path, ".") {
		m, _ := v.(map[string]any)
		v = m[step]
	}
	return v
}

// warnings returns the report's warnings.
func warnings(t *testing.T, folder string) []string {
	t.Helper()
	list, ok := read(t, folder)["warnings"].([]any)
	if !ok {
		t.Fatal("report.json has no list of warnings")
	}
	var texts []string
	for _, w := range list {
		texts = append(texts, w.(string))
	}
	return texts
}

// warned reports whether one of the warnings says text.
func warned(t *testing.T, folder, text string) bool {
	t.Helper()
	return slices.ContainsFunc(warnings(t, folder), func(w string) bool { return strings.Contains(w, text) })
}

// put writes a file.
func put(t *testing.T, path, text string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// get reads one.
func get(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// display returns the options for one of the measured displays that the
// simulator carries: ISETCAM's, as the first lines of the tables say.
func display(t *testing.T, name string) []string {
	t.Helper()
	var paths [2]string
	for i, what := range [...]string{"spectra", "tones"} {
		path, err := filepath.Abs(filepath.Join("..", "..", "chart", "simulate", "data", name+"_"+what+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		paths[i] = path
	}
	return []string{"-display-spectra", paths[0], "-display-tones", paths[1]}
}

// lastLine returns the last line of what was printed.
func lastLine(text string) string {
	text = strings.TrimSpace(text)
	return text[strings.LastIndexByte(text, '\n')+1:]
}

// refused checks that a run ended with status 2 and one sentence that says
// these things.
func refused(t *testing.T, o outcome, says ...string) {
	t.Helper()
	last := lastLine(o.errors)
	if o.code != cli.BadInput || !strings.HasPrefix(last, "characterise: ") || strings.Count(o.errors, "characterise: ") != strings.Count(last, "characterise: ") {
		t.Errorf("status %d, want %d and one sentence:\n%s", o.code, cli.BadInput, o.errors)
	}
	for _, text := range says {
		if !strings.Contains(last, text) {
			t.Errorf("it does not say %q: %s", text, last)
		}
	}
	if o.out != "" {
		t.Errorf("it printed a result:\n%s", o.out)
	}
}
