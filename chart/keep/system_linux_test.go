package keep_test

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"example.org/primaries/chart/keep"
)

// systemTask does the tasks of children that need Linux.
func systemTask(task, path string) error {
	switch task {
	case "full":
		return fillDisk(path)
	case "unwritable":
		return writeNowhere(path)
	}
	return fmt.Errorf("no task %q", task)
}

// fillDisk is the child of TestFaultFullDisk: the system lets it write no file
// beyond 1,000 bytes, which strikes in the middle of a line, as a full disk
// does.
func fillDisk(dir string) error {
	signal.Ignore(syscall.SIGXFSZ)
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: 1000, Max: 1000}); err != nil {
		return err
	}
	j, _, err := keep.OpenJournal(filepath.Join(dir, "journal"))
	if err != nil {
		return err
	}
	line := []byte(`{"pad":"` + strings.Repeat("x", 290) + `"}`) // 300 bytes, 301 in the file
	for n := range 3 {
		if err := j.Append(line); err != nil {
			return fmt.Errorf("line %d: %w", n+1, err)
		}
	}
	if err := j.Append(line); !errors.Is(err, syscall.EFBIG) {
		return fmt.Errorf("line 4 gives %v", err)
	}
	// A line that fits still fits, and does not stick to half a line.
	if err := errors.Join(j.Append([]byte(`{}`)), j.Close()); err != nil {
		return err
	}
	history := filepath.Join(dir, "history")
	for range 3 {
		if err := keep.AppendLine(history, line); err != nil {
			return err
		}
	}
	if err := keep.AppendLine(history, line); !errors.Is(err, syscall.EFBIG) {
		return fmt.Errorf("history line 4 gives %v", err)
	}
	if err := keep.ReplaceFile(filepath.Join(dir, "file"), write(strings.Repeat("y", 1001))); !errors.Is(err, syscall.EFBIG) {
		return fmt.Errorf("replacing gives %v", err)
	}
	return nil
}

func TestFaultFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "file"), []byte("old"), 0o666); err != nil {
		t.Fatal(err)
	}
	runToEnd(t, "full", dir)
	only(t, dir, "file", "history", "journal")
	line := `{"pad":"` + strings.Repeat("x", 290) + "\"}\n"
	for name, want := range map[string]string{"file": "old", "history": strings.Repeat(line, 3), "journal": strings.Repeat(line, 3) + "{}\n"} {
		if got := content(t, filepath.Join(dir, name)); got != want {
			t.Errorf("%s holds %d bytes, want %d", name, len(got), len(want))
		}
	}
}

// writeNowhere is the child of TestFaultUnwritableFolder.
func writeNowhere(dir string) error {
	if os.Geteuid() == 0 { // permissions do not bind root
		if err := syscall.Setuid(65534); err != nil {
			return err
		}
	}
	path := filepath.Join(dir, "new")
	_, lockErr := keep.Lock(path)
	_, _, journalErr := keep.OpenJournal(path)
	for name, err := range map[string]error{
		"ReplaceFile": keep.ReplaceFile(path, write("x")),
		"AppendLine":  keep.AppendLine(path, []byte("1")),
		"Lock":        lockErr,
		"OpenJournal": journalErr,
	} {
		if !errors.Is(err, fs.ErrPermission) || !strings.Contains(err.Error(), path) {
			return fmt.Errorf("%s gives %v", name, err)
		}
	}
	return nil
}

func TestFaultUnwritableFolder(t *testing.T) {
	dir := t.TempDir()
	for folder, mode := range map[string]fs.FileMode{filepath.Dir(dir): 0o755, dir: 0o555} {
		if err := os.Chmod(folder, mode); err != nil {
			t.Fatal(err)
		}
	}
	runToEnd(t, "unwritable", dir)
	only(t, dir)
}

// runToEnd runs a child that ends by itself and must succeed.
func runToEnd(t *testing.T, task, path string) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), "KEEP_TEST_TASK="+task, "KEEP_TEST_PATH="+path)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}
