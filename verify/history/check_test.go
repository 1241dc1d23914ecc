package history_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/verify/history"
)

func TestCheck(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "history.jsonl")
	if err := history.Check(path); err != nil {
		t.Errorf("a history that is not there yet: %v", err)
	}
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("Check made the history: %v", err)
	}
	if _, _, err := history.Append(path, entry("a", 0)); err != nil {
		t.Fatal(err)
	}
	if err := history.Check(path); err != nil {
		t.Errorf("a history of one run: %v", err)
	}
	if err := os.WriteFile(path, []byte("Dear diary\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	for p, says := range map[string]string{path: "line 1", filepath.Join(dir, "none", "h.jsonl"): "cannot be written"} {
		if err := history.Check(p); err == nil || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), p) {
			t.Errorf("%s: %v, want an error that says %q", p, err, says)
		}
	}
}
