package cli

import (
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

// open opens the folder at path, which must be possible, until the test ends.
func open(t *testing.T, path string, o FolderOptions) *Folder {
	t.Helper()
	o.Last = "last"
	f, err := OpenFolder(path, o)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// leave closes a folder.
func leave(t *testing.T, f *Folder) {
	t.Helper()
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

// begin begins a run with the lines it should find.
func begin(t *testing.T, f *Folder, want ...string) {
	t.Helper()
	_, lines, err := f.Begin()
	if err != nil {
		t.Fatal(err)
	}
	if len(lines) != len(want) {
		t.Fatalf("%d lines, want %q", len(lines), want)
	}
	for i := range want {
		if string(lines[i]) != want[i] {
			t.Errorf("line %d is %s, want %s", i+1, lines[i], want[i])
		}
	}
}

func names(t *testing.T, dir string) string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return strings.Join(all, " ")
}

// A folder walks through the states of a run: nothing, begun, finished,
// replaced.
func TestFolderStates(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "b")
	refuse := func(status int, says string, o FolderOptions) {
		t.Helper()
		o.Last = "last"
		f, err := OpenFolder(dir, o)
		if err == nil {
			leave(t, f)
		}
		if err == nil || Status(err) != status || !strings.Contains(err.Error(), says) {
			t.Errorf("%+v: %v, want status %d and %q", o, err, status, says)
		}
	}
	f := open(t, dir, FolderOptions{Resume: true}) // where nothing was begun it begins
	refuse(BadInput, "another run is at work", FolderOptions{})
	leave(t, f) // without a Begin nothing was begun
	f = open(t, dir, FolderOptions{})
	begin(t, f)
	leave(t, f)
	f = open(t, dir, FolderOptions{}) // nor with an empty journal
	begin(t, f)
	if err := f.journal.Append([]byte(`{"n":1}`)); err != nil {
		t.Fatal(err)
	}
	leave(t, f)
	refuse(BadInput, "begun and not finished", FolderOptions{})
	f = open(t, dir, FolderOptions{Resume: true})
	begin(t, f, `{"n":1}`)
	for _, name := range []string{"some", "last"} {
		if err := f.Write(name, text(name)); err != nil {
			t.Fatal(err)
		}
	}
	leave(t, f)
	refuse(BadInput, "earlier run", FolderOptions{})
	refuse(Done, "nothing was changed", FolderOptions{Resume: true})

	// Not before Begin is anything taken away, and never what is not ours.
	if err := os.WriteFile(filepath.Join(dir, "mine"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	f = open(t, dir, FolderOptions{Force: true})
	if got, want := names(t, dir), "files.json journal.jsonl last mine run.lock some"; got != want {
		t.Errorf("before Begin there are %s, want %s", got, want)
	}
	begin(t, f)
	if got, want := names(t, dir), "journal.jsonl mine run.lock"; got != want {
		t.Errorf("after Begin there are %s, want %s", got, want)
	}
	if err := f.Write("some", text("new")); err != nil {
		t.Fatal(err)
	}
	if err := f.Discard(); err != nil {
		t.Fatal(err)
	}
	leave(t, f)
	if got, want := names(t, dir), "mine run.lock"; got != want {
		t.Errorf("after Discard there are %s, want %s", got, want)
	}
}

// What a killed replacement left without a journal is cleared, not mixed with
// the new run's.
func TestFolderLeftovers(t *testing.T) {
	dir := t.TempDir()
	f := open(t, dir, FolderOptions{})
	begin(t, f)
	if err := f.Write("old", text("old")); err != nil {
		t.Fatal(err)
	}
	leave(t, f)
	if err := os.Remove(filepath.Join(dir, JournalFile)); err != nil {
		t.Fatal(err)
	}
	f = open(t, dir, FolderOptions{Resume: true})
	begin(t, f)
	leave(t, f)
	if got, want := names(t, dir), "journal.jsonl run.lock"; got != want {
		t.Errorf("there are %s, want %s", got, want)
	}
}

func TestBeginWithout(t *testing.T) {
	dir := t.TempDir()
	start := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	f := open(t, dir, FolderOptions{})
	id, began, err := f.BeginWithout("digest", start)
	if err != nil || id == "" || !began.Equal(start) {
		t.Fatalf("%q, %v, %v", id, began, err)
	}
	leave(t, f)
	f = open(t, dir, FolderOptions{Resume: true})
	again, began, err := f.BeginWithout("digest", start.Add(time.Hour))
	if err != nil || again != id || !began.Equal(start) {
		t.Errorf("resumed as %q from %v, %v; want %q from %v", again, began, err, id, start)
	}
	leave(t, f)
	for name, journal := range map[string]string{
		"other options": "",
		"another's":     `{"sum":"0","header":{}}` + "\n",
		"no journal":    "Dear diary\n",
	} {
		if journal != "" {
			if err := os.WriteFile(filepath.Join(dir, JournalFile), []byte(journal), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		f = open(t, dir, FolderOptions{Resume: true})
		if _, _, err := f.BeginWithout("other", start); Status(err) != BadInput || !strings.Contains(err.Error(), "line 1") {
			t.Errorf("%s: %v", name, err)
		}
		leave(t, f)
	}
}

// The list of files is read before anything is taken away, and names no file
// elsewhere.
func TestFolderListIsChecked(t *testing.T) {
	for _, list := range []string{`["../precious"]`, `[".."]`, `{"a":1}`, `[`} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, listFile), []byte(list), 0o666); err != nil {
			t.Fatal(err)
		}
		f := open(t, dir, FolderOptions{Force: true})
		if _, _, err := f.Begin(); Status(err) != BadInput || !strings.Contains(err.Error(), listFile) {
			t.Errorf("%s: %v", list, err)
		}
		leave(t, f)
	}
}
