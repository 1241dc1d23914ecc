//go:build !js

package keep_test

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/keep"
)

// TestMain lets the test binary be the program that the tests kill.
func TestMain(m *testing.M) {
	if task := os.Getenv("KEEP_TEST_TASK"); task != "" {
		if err := child(task, os.Getenv("KEEP_TEST_PATH")); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// child does its task, most for ever, and says on standard output what is done.
func child(task, path string) error {
	switch task {
	case "replace":
		for n := 0; ; n++ {
			if err := keep.ReplaceFile(path, func(w io.Writer) error { return numbered(w, n) }); err != nil {
				return err
			}
			fmt.Println(n)
		}
	case "journal":
		j, lines, err := keep.OpenJournal(path)
		for n := len(lines); err == nil; n++ {
			if err = j.Append(fmt.Appendf(nil, `{"n":%d,"pad":"%s"}`, n, strings.Repeat("x", n%5000))); err == nil {
				if err = j.Sync(); err == nil {
					fmt.Println(n)
				}
			}
		}
		return err
	case "append":
		for n := 0; ; n++ {
			if err := keep.AppendLine(path, fmt.Appendf(nil, `{"n":%d}`, n)); err != nil {
				return err
			}
			fmt.Println(n)
		}
	case "lock":
		l, err := keep.Lock(path)
		if err != nil {
			return err
		}
		defer l.Release()
		fmt.Println(0)
		time.Sleep(time.Hour)
		return nil
	}
	return systemTask(task, path)
}

// numbered writes 200 equal lines in as many writes.
func numbered(w io.Writer, n int) error {
	for range 200 {
		if _, err := fmt.Fprintf(w, "%08d\n", n); err != nil {
			return err
		}
	}
	return nil
}

// run starts a child, calls ready once it has said a word, kills it, and
// returns the last word it said.
func run(t *testing.T, task, path string, ready func()) (last int) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), "KEEP_TEST_TASK="+task, "KEEP_TEST_PATH="+path)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	last = -1
	scan := bufio.NewScanner(out)
	for first := true; scan.Scan(); first = false {
		if last, err = strconv.Atoi(scan.Text()); err != nil {
			t.Errorf("the child says %q", scan.Text())
		}
		if first {
			go func() {
				ready()
				cmd.Process.Kill()
			}()
		}
	}
	var exit *exec.ExitError
	if err := cmd.Wait(); !errors.As(err, &exit) || exit.Exited() && runtime.GOOS != "windows" || stderr.Len() > 0 {
		t.Fatalf("the child was not killed: %v\n%s", err, stderr.String())
	}
	return last
}

// pause returns a function that waits for up to 8 ms.
func pause(rng *rand.Rand) func() {
	d := time.Duration(rng.IntN(8000)) * time.Microsecond
	return func() { time.Sleep(d) }
}

// rounds is how many children each test kills.
func rounds() int {
	if testing.Short() {
		return 5
	}
	return 25
}

// TestFaultKillReplace kills a program that replaces a file again and again: the
// file is always whole, never older than what the program had said was done,
// and what it left unfinished can be swept.
func TestFaultKillReplace(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	dir := t.TempDir()
	path := filepath.Join(dir, "file")
	left := 0
	for range rounds() {
		last := run(t, "replace", path, pause(rng))
		text := content(t, path)
		n, err := strconv.Atoi(strings.SplitN(text, "\n", 2)[0])
		var want strings.Builder
		numbered(&want, n)
		if err != nil || text != want.String() {
			t.Fatalf("after %d the file is not whole: %d bytes, begins %.20q", last, len(text), text)
		}
		if n < last || n > last+1 {
			t.Errorf("the file holds version %d; the program had finished %d", n, last)
		}
		entries, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		left += len(entries) - 1
		if err := keep.Sweep(dir); err != nil {
			t.Fatal(err)
		}
		only(t, dir, "file")
	}
	t.Logf("%d of %d kills struck in the middle of a file", left, rounds())
}

// TestFaultKillJournal kills a program that appends: every line that it had called
// synced is there, in order, and the next program goes on behind them.
func TestFaultKillJournal(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	path := filepath.Join(t.TempDir(), "journal.jsonl")
	for range rounds() {
		last := run(t, "journal", path, pause(rng))
		lines, _, err := keep.ReadJournal(path)
		if err != nil {
			t.Fatal(err)
		}
		if len(lines) <= last {
			t.Fatalf("%d lines are there; the program had synced %d", len(lines), last+1)
		}
		for n, line := range lines {
			if want := fmt.Sprintf(`{"n":%d,"pad":"%s"}`, n, strings.Repeat("x", n%5000)); string(line) != want {
				t.Fatalf("line %d is %.30q", n+1, line)
			}
		}
	}
}

func TestFaultKillAppendLine(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	dir := t.TempDir()
	for i := range rounds() {
		path := filepath.Join(dir, fmt.Sprint(i))
		last := run(t, "append", path, pause(rng))
		if err := keep.AppendLine(path, []byte(`"next"`)); err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSuffix(content(t, path), "\n"), "\n")
		if len(lines)-1 <= last {
			t.Fatalf("%d lines are there; the program had written %d", len(lines)-1, last+1)
		}
		for n, line := range lines[:len(lines)-1] {
			if line != fmt.Sprintf(`{"n":%d}`, n) {
				t.Fatalf("line %d is %q", n+1, line)
			}
		}
	}
}

// TestFaultKillLock: a lock is held against other processes and dies with its own.
func TestFaultKillLock(t *testing.T) {
	path := filepath.Join(t.TempDir(), "run.lock")
	run(t, "lock", path, func() {
		if _, err := keep.Lock(path); !errors.Is(err, keep.ErrLocked) {
			t.Errorf("while another process holds the lock: %v", err)
		}
	})
	l, err := keep.Lock(path)
	if err != nil {
		t.Fatalf("a dead process holds the lock: %v", err)
	}
	l.Release()
}
