package keep_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/keep"
)

func write(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

func content(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// only fails the test unless dir holds exactly these names.
func only(t *testing.T, dir string, names ...string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if strings.Join(got, " ") != strings.Join(names, " ") {
		t.Errorf("the folder holds %q, want %q", got, names)
	}
}

func TestReplaceFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "report.json")
	for _, text := range []string{"first", "second and longer", ""} {
		if err := keep.ReplaceFile(path, write(text)); err != nil {
			t.Fatal(err)
		}
		if got := content(t, path); got != text {
			t.Errorf("the file holds %q, want %q", got, text)
		}
		only(t, dir, "report.json")
	}
}

func TestFaultReplaceFileFails(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "report.json")
	broken := errors.New("no more numbers")
	half := func(w io.Writer) error {
		io.WriteString(w, "half")
		return broken
	}
	if err := keep.ReplaceFile(path, half); !errors.Is(err, broken) {
		t.Errorf("got %v, want the writer's error", err)
	}
	only(t, dir)
	if err := keep.ReplaceFile(path, write("old")); err != nil {
		t.Fatal(err)
	}
	if err := keep.ReplaceFile(path, half); !errors.Is(err, broken) {
		t.Errorf("got %v, want the writer's error", err)
	}
	if got := content(t, path); got != "old" {
		t.Errorf("the file holds %q, want the old one", got)
	}
	only(t, dir, "report.json")

	if err := keep.ReplaceFile(dir, write("x")); err == nil {
		t.Error("a folder is replaced by a file")
	}
	if err := keep.ReplaceFile(filepath.Join(dir, "none", "x"), write("x")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("in a folder that does not exist: %v", err)
	}
}

func TestReplaceFileKeepsModeAndLink(t *testing.T) {
	if runtime.GOOS == "windows" || runtime.GOOS == "js" {
		t.Skip("no permission bits, or links that need a privilege")
	}
	dir := t.TempDir()
	path, link := filepath.Join(dir, "file"), filepath.Join(dir, "link")
	if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(path, 0o664); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("file", link); err != nil {
		t.Fatal(err)
	}
	if err := keep.ReplaceFile(link, write("new")); err != nil {
		t.Fatal(err)
	}
	info, err := os.Lstat(path)
	if err != nil || info.Mode() != 0o664 || content(t, path) != "new" {
		t.Errorf("the file has mode %v and holds %q: %v", info.Mode(), content(t, path), err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&fs.ModeSymlink == 0 {
		t.Errorf("the link became %v: %v", info.Mode(), err)
	}
}

func TestSweep(t *testing.T) {
	dir := t.TempDir()
	stay := []string{".a.0123456z.part", ".part", "a.01234567.part", "b.part", "c"}
	for _, name := range append([]string{".a.0123abcd.part", ".report.json.00000000.part"}, stay...) {
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := keep.Sweep(dir); err != nil {
		t.Fatal(err)
	}
	only(t, dir, stay...)
	if err := keep.Sweep(filepath.Join(dir, "none")); err != nil {
		t.Errorf("a folder that does not exist: %v", err)
	}
}

func TestLock(t *testing.T) {
	if runtime.GOOS == "js" || runtime.GOOS == "plan9" {
		t.Skip("this system has no locks that die with the process")
	}
	path := filepath.Join(t.TempDir(), "run.lock")
	first, err := keep.Lock(path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := keep.Lock(path); !errors.Is(err, keep.ErrLocked) || !strings.Contains(err.Error(), path) {
		t.Errorf("a second holder gets %v", err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Millisecond)
	defer cancel()
	if _, err := keep.LockWait(ctx, path); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("waiting gives %v", err)
	}
	// What holds a lock may grow meanwhile, through another opening.
	if err := keep.AppendLine(path, []byte(`1`)); err != nil {
		t.Error(err)
	}
	go func() {
		time.Sleep(20 * time.Millisecond)
		first.Release()
	}()
	second, err := keep.LockWait(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := second.Release(); err != nil {
			t.Error(err)
		}
	}
	third, err := keep.Lock(path)
	if err != nil {
		t.Fatal(err)
	}
	third.Release()
	if got := content(t, path); got != "1\n" {
		t.Errorf("locking changed the file to %q", got)
	}
	if _, err := keep.Lock(filepath.Join(path, "none")); err == nil || errors.Is(err, keep.ErrLocked) {
		t.Errorf("a lock below a file: %v", err)
	}
}

func TestJournal(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.jsonl")
	if _, _, err := keep.ReadJournal(path); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no journal gives %v", err)
	}
	want := []string{}
	for round := range 3 {
		j, lines, err := keep.OpenJournal(path)
		if err != nil {
			t.Fatal(err)
		}
		if got := fmt.Sprintf("%s", lines); got != fmt.Sprintf("%s", want) {
			t.Errorf("round %d: %s, want %s", round, got, want)
		}
		for i := range 3 {
			line := fmt.Sprintf(`{"round":%d,"i":%d}`, round, i)
			want = append(want, line)
			if err := j.Append([]byte(line)); err != nil {
				t.Fatal(err)
			}
		}
		if err := j.Sync(); err != nil {
			t.Error(err)
		}
		if err := j.Append([]byte("a\nb")); err == nil {
			t.Error("a line with a newline is taken")
		}
		if err := j.Append(make([]byte, 1<<20+1)); err == nil {
			t.Error("an endless line is taken")
		}
		for range 2 {
			if err := j.Close(); err != nil {
				t.Error(err)
			}
		}
		if err := j.Append([]byte("x")); !errors.Is(err, fs.ErrClosed) {
			t.Errorf("a closed journal gives %v", err)
		}
	}
	if got := content(t, path); got != strings.Join(want, "\n")+"\n" {
		t.Errorf("the file holds %q", got)
	}
}

// TestFaultJournalTorn cuts a journal at every byte: what was whole stays, the rest
// goes, and the next line does not stick to it.
func TestFaultJournalTorn(t *testing.T) {
	whole := "{\"a\":1}\n{\"b\":\"ä\"}\n\n{\"c\":3}\n"
	path := filepath.Join(t.TempDir(), "journal.jsonl")
	for cut := range len(whole) + 1 {
		if err := os.WriteFile(path, []byte(whole[:cut]), 0o666); err != nil {
			t.Fatal(err)
		}
		kept := whole[:strings.LastIndexByte(whole[:cut], '\n')+1]
		_, torn, err := keep.ReadJournal(path)
		if err != nil || torn != (len(kept) < cut) || content(t, path) != whole[:cut] {
			t.Fatalf("cut at %d: torn %v, %v; reading must change nothing", cut, torn, err)
		}
		j, lines, err := keep.OpenJournal(path)
		if err != nil {
			t.Fatal(err)
		}
		if len(lines) != strings.Count(kept, "\n") {
			t.Errorf("cut at %d: %d lines, want %d", cut, len(lines), strings.Count(kept, "\n"))
		}
		if err := errors.Join(j.Append([]byte("next")), j.Close()); err != nil {
			t.Fatal(err)
		}
		if got := content(t, path); got != kept+"next\n" {
			t.Errorf("cut at %d: the file holds %q", cut, got)
		}
	}
}

func TestJournalBounds(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal.jsonl")
	if err := os.WriteFile(path, []byte("ok\n"+strings.Repeat("x", 1<<20+1)+"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, _, err := keep.OpenJournal(path); err == nil || !strings.Contains(err.Error(), "line 2") {
		t.Errorf("an endless line gives %v", err)
	}
	if err := os.WriteFile(path, []byte(strings.Repeat("x", 1<<20)+"\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if lines, _, err := keep.ReadJournal(path); err != nil || len(lines) != 1 || len(lines[0]) != 1<<20 {
		t.Errorf("the longest line gives %v", err)
	}
}

func TestAppendLine(t *testing.T) {
	path := filepath.Join(t.TempDir(), "history.jsonl")
	for _, c := range []struct{ name, before, want string }{
		{"empty", "", "{\"n\":1}\n"},
		{"after a line", "{}\n", "{}\n{\"n\":1}\n"},
		{"after a whole line without its end", "{}\n{\"a\":2}", "{}\n{\"a\":2}\n{\"n\":1}\n"},
		{"after a torn line", "{}\n{\"a\":", "{}\n{\"n\":1}\n"},
		{"after a torn first line", "{\"a", "{\"n\":1}\n"},
	} {
		if err := os.WriteFile(path, []byte(c.before), 0o666); err != nil {
			t.Fatal(err)
		}
		if err := keep.AppendLine(path, []byte(`{"n":1}`)); err != nil {
			t.Fatal(err)
		}
		if got := content(t, path); got != c.want {
			t.Errorf("%s: the file holds %q, want %q", c.name, got, c.want)
		}
	}
	for _, bad := range []string{"", "{", "{}\n{}", "{}\n"} {
		if err := keep.AppendLine(path, []byte(bad)); err == nil {
			t.Errorf("%q is appended", bad)
		}
	}
	picture := strings.Repeat("x", 2<<20)
	if err := os.WriteFile(path, []byte(picture), 0o666); err != nil {
		t.Fatal(err)
	}
	if err := keep.AppendLine(path, []byte(`1`)); err == nil || content(t, path) != picture {
		t.Errorf("a file that is no history: %v", err)
	}
}

func TestReadFileIsBounded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "f")
	if _, err := keep.ReadFile(path, 10); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no file: %v", err)
	}
	if err := os.WriteFile(path, []byte("0123456789"), 0o600); err != nil {
		t.Fatal(err)
	}
	if b, err := keep.ReadFile(path, 10); err != nil || string(b) != "0123456789" {
		t.Errorf("ten bytes: %q, %v", b, err)
	}
	if b, err := keep.ReadFile(path, 9); err == nil || b != nil {
		t.Errorf("ten bytes with a limit of nine: %q, %v", b, err)
	}
}
