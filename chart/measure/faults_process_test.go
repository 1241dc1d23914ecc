//go:build linux

package measure_test

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
)

// TestMain lets the test binary be the program that tests kill and starve.
func TestMain(m *testing.M) {
	if path := os.Getenv("MEASURE_TEST_JOURNAL"); path != "" {
		if err := child(path, os.Getenv("MEASURE_TEST_LIMIT")); err != nil {
			fmt.Println("error:", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// child is a run with its journal at path: an inspection, a watched chart with a
// mishap on the way that nobody mends but that passes, outliers, drift. It says
// a word after every reading.
func child(path, limit string) error {
	if limit != "" {
		var bytes uint64
		if _, err := fmt.Sscan(limit, &bytes); err != nil {
			return err
		}
		signal.Ignore(syscall.SIGXFSZ)
		if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: bytes, Max: bytes}); err != nil {
			return err
		}
	}
	lock, err := keep.Lock(filepath.Join(filepath.Dir(path), "lock"))
	if err != nil {
		return err
	}
	defer lock.Release()
	journal, lines, err := keep.OpenJournal(path)
	if err != nil {
		return err
	}
	defer journal.Close()
	crash, err := strconv.Atoi(os.Getenv("MEASURE_TEST_CRASH"))
	if err != nil {
		crash = -1
	}
	_, err = processRun(journal, lines, crash, func(measure.Progress) { fmt.Println("read") })
	return err
}

func processRun(journal measure.Journal, lines [][]byte, crash int, progress func(measure.Progress)) (string, error) {
	ctx := context.Background()
	d, err := simulate.New(simulate.Invented(simulate.CoupledLCD, simulate.Options{}).Spec().Troubled(), simulate.Options{Seed: 6})
	if err != nil {
		return "", err
	}
	i, err := d.ColorimeterWith(simulate.FilterMeter{Traits: simulate.Traits{Outliers: simulate.Outliers{Probability: 0.02}}})
	if err != nil {
		return "", err
	}
	if crash >= 0 {
		i = simulate.Faulty(i, simulate.Fault{Kind: simulate.Crashes, Reading: crash})
	}
	s, err := measure.Open(ctx, measure.Setup{Screen: d, Instrument: i, Clock: d.Clock(), Journal: journal, Replay: lines, Seed: 6, Progress: progress})
	if err != nil {
		return "", err
	}
	look, err := measure.Inspect(ctx, s, measure.InspectOptions{})
	if err != nil {
		return "", err
	}
	got, err := s.ReadChart(ctx, measure.StageCharts, watched(6)[:60], measure.ChartOptions{Watch: &look, Precision: measure.Precision{Luminance: 0.004, Most: 6}})
	return fmt.Sprint(got.Readings, got.Again, got.Drift.At(s.Now())), err
}

// start starts the child; what it says comes line by line.
func start(t *testing.T, path, limit, crash string) (*exec.Cmd, *bufio.Scanner) {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), "MEASURE_TEST_JOURNAL="+path, "MEASURE_TEST_LIMIT="+limit, "MEASURE_TEST_CRASH="+crash)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	return cmd, bufio.NewScanner(out)
}

// finished is what the run comes to when nothing happens to it.
func finished(t *testing.T) string {
	t.Helper()
	want, err := processRun(&measure.Memory{}, nil, -1, nil)
	if err != nil {
		t.Fatal(err)
	}
	return want
}

// resumed finishes the run in the file and returns what it comes to.
func resumed(t *testing.T, path string) string {
	t.Helper()
	journal, lines, err := keep.OpenJournal(path)
	if err != nil {
		t.Fatal(err)
	}
	defer journal.Close()
	got, err := processRun(journal, lines, -1, nil)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// Killed again and again at random readings, the run comes to the same end.
func TestFaultKilled(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal")
	rng := rand.New(rand.NewPCG(5, 6))
	kills := 0
	for kills < 8 {
		cmd, said := start(t, path, "", "")
		// What is replayed is said, too: go a little beyond.
		lines, _, err := keep.ReadJournal(path)
		if err != nil && !errors.Is(err, os.ErrNotExist) {
			t.Fatal(err)
		}
		words := len(lines)/2 + 1 + rng.IntN(12)
		for said.Scan() && !strings.HasPrefix(said.Text(), "error") {
			if words--; words <= 0 {
				time.Sleep(time.Duration(rng.IntN(1500)) * time.Microsecond)
				if err := cmd.Process.Kill(); err != nil {
					t.Fatal(err)
				}
				break
			}
		}
		if err := cmd.Wait(); err == nil {
			break // it was faster
		} else if strings.HasPrefix(said.Text(), "error") {
			t.Fatal(said.Text())
		}
		kills++
	}
	if kills < 4 {
		t.Errorf("only %d kills struck", kills)
	}
	if resumed(t, path) != finished(t) {
		t.Error("the killed run comes to another end")
	}
	t.Logf("%d kills", kills)
}

// A disk that is full in the middle of a line ends the run with an error about
// the journal; with room again, it goes on from the last whole reading.
func TestFaultFullDisk(t *testing.T) {
	want := finished(t)
	for _, limit := range []string{"100", "5000", "20001"} {
		path := filepath.Join(t.TempDir(), "journal")
		cmd, said := start(t, path, limit, "")
		last := ""
		for said.Scan() {
			last = said.Text()
		}
		if err := cmd.Wait(); err == nil || !strings.Contains(last, "journal") || !strings.Contains(last, "make room") {
			t.Errorf("limit %s: %v, it said %q", limit, err, last)
		}
		if resumed(t, path) != want {
			t.Errorf("limit %s: the resumed run comes to another end", limit)
		}
	}
}

// A driver that panics takes the program with it; the run that is started again
// loses nothing.
func TestFaultDriverPanics(t *testing.T) {
	path := filepath.Join(t.TempDir(), "journal")
	cmd, said := start(t, path, "", "31")
	for said.Scan() {
		if strings.HasPrefix(said.Text(), "error") {
			t.Fatal(said.Text())
		}
	}
	if err := cmd.Wait(); err == nil {
		t.Fatal("the driver did not crash")
	}
	lines, _, err := keep.ReadJournal(path)
	if err != nil {
		t.Fatal(err)
	}
	if record, err := measure.ReadJournal(lines); err != nil || len(record.Readings) != 31 {
		t.Errorf("%d readings are kept, %v", len(record.Readings), err)
	}
	if resumed(t, path) != finished(t) {
		t.Error("the crashed run comes to another end")
	}
}

// The run that goes on while another holds the lock says so and changes nothing.
func TestFaultLockHeld(t *testing.T) {
	dir := t.TempDir()
	lock, err := keep.Lock(filepath.Join(dir, "lock"))
	if err != nil {
		t.Fatal(err)
	}
	defer lock.Release()
	path := filepath.Join(dir, "journal")
	cmd, said := start(t, path, "", "")
	last := ""
	for said.Scan() {
		last = said.Text()
	}
	if err := cmd.Wait(); err == nil || !strings.HasPrefix(last, "error") {
		t.Errorf("%v, it said %q", err, last)
	}
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("the journal was touched: %v", err)
	}
}
