//go:build unix

package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/verify/report"
)

// moment is when a run is stopped: when reports it from what lies in dir.
type moment struct {
	name string
	when func(dir string, began time.Time) bool
}

func afterTime(d time.Duration) moment {
	return moment{fmt.Sprint("after ", d), func(_ string, began time.Time) bool { return time.Since(began) >= d }}
}

func atSize(name string, bytes int64) moment {
	return moment{fmt.Sprintf("%s, journal of %d bytes", name, bytes), func(dir string, _ time.Time) bool {
		info, err := os.Stat(filepath.Join(dir, "o", cli.JournalFile))
		return err == nil && info.Size() >= bytes
	}}
}

func withFile(pattern string) moment {
	return moment{"with " + pattern, func(dir string, _ time.Time) bool {
		found, err := filepath.Glob(filepath.Join(dir, pattern))
		return err == nil && len(found) > 0
	}}
}

func without(name string) moment {
	return moment{"without " + name, func(dir string, _ time.Time) bool {
		_, err := os.Lstat(filepath.Join(dir, name))
		return err != nil
	}}
}

// stop runs the program and signals it at the moment, unless it ended before.
func stop(t *testing.T, dir string, at moment, signal os.Signal, args ...string) outcome {
	t.Helper()
	began := time.Now()
	s := begin(t, dir, args...)
	done := make(chan struct{})
	var watch sync.WaitGroup
	watch.Go(func() {
		for !at.when(dir, began) {
			select {
			case <-done:
				return
			case <-time.After(50 * time.Microsecond):
			}
		}
		// The process may have ended meanwhile: its status will tell.
		_ = s.cmd.Process.Signal(signal)
	})
	o := s.end(t)
	close(done)
	watch.Wait()
	return o
}

// kept returns the whole lines of dir's journal, "" where there is none.
func kept(dir string) string {
	b, err := os.ReadFile(filepath.Join(dir, "o", cli.JournalFile))
	if err != nil {
		return "" // killed before there was one
	}
	return string(b[:strings.LastIndexByte(string(b), '\n')+1])
}

// wentOn checks that dir's journal goes on from what was kept: the simulated
// readings are the same when they are taken again, so that a run which began
// anew would show in nothing else.
func wentOn(t *testing.T, dir, kept string) {
	t.Helper()
	if !strings.HasPrefix(get(t, filepath.Join(dir, "o", cli.JournalFile)), kept) {
		t.Errorf("the journal does not go on from the %d bytes that were kept", len(kept))
	}
}

// moments spreads the kills: three at random places within each stage's parts of
// the journal, one with each of the files that are written at the end, and the
// rest of fifty at random times.
func moments(t *testing.T, random *rand.Rand, run whole) []moment {
	t.Helper()
	var stages []string
	lines := map[string][][2]int64{} // where those of a stage begin, and their lengths
	offset, stage := int64(0), ""
	for line := range strings.Lines(run.files["o/"+cli.JournalFile].Bytes) {
		if _, rest, ok := strings.Cut(line, `"stage":"`); ok {
			stage, _, _ = strings.Cut(rest, `"`)
		}
		if stage != "" && !slices.Contains(stages, stage) {
			stages = append(stages, stage)
		}
		lines[stage] = append(lines[stage], [2]int64{offset, int64(len(line))})
		offset += int64(len(line))
	}
	if len(stages) != 9 {
		t.Fatalf("the stages are %q, want 9: the walk has changed", stages)
	}
	var list []moment
	for _, s := range stages {
		for range 3 {
			line := lines[s][random.IntN(len(lines[s]))]
			list = append(list, atSize(s, line[0]+1+random.Int64N(line[1])))
		}
	}
	for _, pattern := range []string{
		"history.jsonl", "o/files.json", "o/*.icc", "o/readings.cgats.txt", "o/readings.csv", "o/curves.csv", "o/report.html", "o/.*.part",
	} {
		list = append(list, withFile(pattern))
	}
	for len(list) < 50 {
		list = append(list, afterTime(time.Duration(random.Int64N(int64(300*time.Millisecond)))))
	}
	return list
}

func TestFaultKilledRunGoesOnToTheSameBytes(t *testing.T) {
	want := unbroken(t)
	random := rand.New(rand.NewPCG(1, 2))
	list := moments(t, random, want)
	if testing.Short() {
		var some []moment
		for i := 0; i < len(list); i += 8 {
			some = append(some, list[i])
		}
		list = some
	}
	var mu sync.Mutex
	killed, again := 0, 0
	t.Run("kill", func(t *testing.T) {
		for _, first := range list {
			second := afterTime(time.Duration(random.Int64N(int64(250 * time.Millisecond))))
			t.Run(first.name, func(t *testing.T) {
				t.Parallel()
				var dir string
				// The end of a run takes milliseconds: the kill may come late.
				for try := 0; ; try++ {
					dir = t.TempDir()
					if o := stop(t, dir, first, os.Kill, short()...); o.code < 0 {
						break
					} else if o.code != 0 || try == 20 {
						t.Fatalf("try %d: status %d instead of a kill\n%s", try, o.code, o.errors)
					}
				}
				once := kept(dir)
				if o := stop(t, dir, second, os.Kill, short("-resume")...); o.code < 0 {
					mu.Lock()
					again++
					mu.Unlock()
				} else if o.code != 0 {
					t.Fatalf("resumed: status %d\n%s", o.code, o.errors)
				}
				wentOn(t, dir, once)
				twice := kept(dir)
				must(t, dir, short("-resume")...)
				wentOn(t, dir, twice)
				sameAs(t, dir, want)
				mu.Lock()
				killed++
				mu.Unlock()
			})
		}
	})
	t.Logf("%d runs were killed, %d of them again while they were resumed", killed, again)
	if killed < len(list) || again < len(list)/3 {
		t.Errorf("%d of %d runs were killed and brought to their end, %d killed twice", killed, len(list), again)
	}
}

// A plan is made again from the readings that the journal holds.
func TestFaultKilledPlanGoesOnToTheSameBytes(t *testing.T) {
	t.Parallel()
	args := func(more ...string) []string {
		return short(append([]string{"-chart", "planned", "-patches", "60", "-controls", "none"}, more...)...)
	}
	dir := t.TempDir()
	must(t, dir, args()...)
	want := whole{dir, files(t, dir), readingsOf(t, dir)}
	journal := want.files["o/"+cli.JournalFile].Bytes
	at := strings.Index(journal, `"id":"n52"`)
	if at < 0 {
		t.Fatal("patch n52 was not planned")
	}
	for try := 0; ; try++ {
		dir = t.TempDir()
		if o := stop(t, dir, atSize("in the second batch", int64(at)), os.Kill, args()...); o.code < 0 {
			break
		} else if o.code != 0 || try == 20 {
			t.Fatalf("try %d: status %d instead of a kill\n%s", try, o.code, o.errors)
		}
	}
	once := kept(dir)
	must(t, dir, args("-resume")...)
	wentOn(t, dir, once)
	sameAs(t, dir, want)
}

// A replacement that is killed leaves either the earlier result, whole, or a
// run that goes on to what it should have become.
func TestFaultKilledReplacement(t *testing.T) {
	want := unbroken(t)
	for _, at := range []moment{without("o/" + cli.JournalFile), without("o/" + report.LastFile), without("o/curves.csv"), atSize("anywhere", 60000), afterTime(10 * time.Millisecond)} {
		t.Run(at.name, func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			must(t, dir, "-out", "o", "-history", "other.jsonl", "-readings", filepath.Join(want.dir, "o", "readings.csv"))
			earlier := files(t, dir)
			stop(t, dir, at, os.Kill, short("-force")...)
			if o := outcomeOf(t, dir, short("-resume")...); o.code == cli.BadInput {
				refused(t, o, "made with other options") // the earlier result stands
				if files(t, dir)["o/"+report.LastFile] != earlier["o/"+report.LastFile] {
					t.Error("the earlier result was changed and does not go on")
				}
				must(t, dir, short("-force")...)
			} else if o.code != cli.Done {
				t.Fatalf("resumed: status %d\n%s", o.code, o.errors)
			}
			for _, name := range []string{"other.jsonl", "other.jsonl.lock"} {
				if err := os.Remove(filepath.Join(dir, name)); err != nil {
					t.Error(err)
				}
			}
			sameAs(t, dir, want)
		})
	}
}

// Readings that somebody brought leave no journal of readings; what is killed
// between the history's line and the report must still be one run.
func TestFaultKilledReadings(t *testing.T) {
	table := filepath.Join(unbroken(t).dir, "o", "readings.csv")
	for _, at := range []moment{atSize("begun", 1), withFile("history.jsonl"), withFile("o/*.icc"), withFile("o/report.html")} {
		t.Run(at.name, func(t *testing.T) {
			t.Parallel()
			var dir string
			for try := 0; ; try++ {
				dir = t.TempDir()
				if o := stop(t, dir, at, os.Kill, "-out", "o", "-readings", table); o.code < 0 {
					break
				} else if o.code != 0 || try == 20 {
					t.Fatalf("try %d: status %d instead of a kill\n%s", try, o.code, o.errors)
				}
			}
			refused(t, outcomeOf(t, dir, "-out", "o", "-readings", table, "-resume", "-share", "0.3"), "journal.jsonl", "line 1", "other options")
			time.Sleep(time.Second) // the start is told in seconds
			must(t, dir, "-out", "o", "-readings", table, "-resume")
			if n := strings.Count(get(t, filepath.Join(dir, "history.jsonl")), "\n"); n != 1 {
				t.Errorf("the history has %d lines, want 1", n)
			}
			if value(read(t, filepath.Join(dir, "o")), "profile") != filepath.Base(profileName(t, filepath.Join(dir, "o"))) {
				t.Error("the report names another profile")
			}
		})
	}
}

func TestFaultInterrupt(t *testing.T) {
	want := unbroken(t)
	size := int64(len(want.files["o/"+cli.JournalFile].Bytes))
	for _, share := range []float64{0.02, 0.3, 0.8} {
		t.Run(fmt.Sprint(share), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			o := stop(t, dir, atSize("share", int64(share*float64(size))), os.Interrupt, short()...)
			if o.code != cli.Interrupted {
				t.Fatalf("status %d, want %d\n%s", o.code, cli.Interrupted, o.errors)
			}
			if last := lastLine(o.errors); !strings.HasPrefix(last, "characterise: interrupted") || !strings.Contains(last, "-resume") {
				t.Errorf("it says %q, and not how to go on", last)
			}
			got := files(t, filepath.Join(dir, "o"))
			if n := len(got[cli.JournalFile].Bytes); float64(n) < share*float64(size) {
				t.Errorf("the journal has %d of %d bytes", n, size)
			}
			if _, ok := got[report.LastFile]; ok {
				t.Error("there is a report")
			}
			before := kept(dir)
			must(t, dir, short("-resume")...)
			wentOn(t, dir, before)
			sameAs(t, dir, want)
		})
	}
}

func TestFaultTwoRunsOnOneFolder(t *testing.T) {
	t.Parallel()
	want := unbroken(t)
	dir := t.TempDir()
	first := begin(t, dir, short()...)
	for ready := atSize("begun", 1000); !ready.when(dir, time.Now()); {
		time.Sleep(time.Millisecond)
	}
	// Held still, so that it is surely at work while the others try.
	if err := first.cmd.Process.Signal(syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	for _, more := range []string{"-resume", "-force"} {
		if o := outcomeOf(t, dir, short(more)...); o.code != cli.BadInput || !strings.Contains(o.errors, "another run is at work in o") {
			t.Errorf("with %s: status %d, %q", more, o.code, o.errors)
		}
	}
	if err := first.cmd.Process.Signal(syscall.SIGCONT); err != nil {
		t.Fatal(err)
	}
	if o := first.end(t); o.code != cli.Done {
		t.Fatalf("status %d\n%s", o.code, o.errors)
	}
	sameAs(t, dir, want)
}

// Permissions bind everybody but root, so root runs the program as nobody.
func TestFaultFolderWithoutPermission(t *testing.T) {
	dir := t.TempDir()
	locked := filepath.Join(dir, "locked")
	if err := os.Mkdir(locked, 0o555); err != nil {
		t.Fatal(err)
	}
	// Nobody must get at the program, and may read here.
	for d := dir; len(d) > len(os.TempDir()); d = filepath.Dir(d) {
		if err := os.Chmod(d, 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Chmod(filepath.Dir(binary), 0o755); err != nil {
		t.Fatal(err)
	}
	s := command(dir, "-out", "locked/o")
	if os.Getuid() == 0 {
		s.cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	refused(t, s.end(t), "locked/o", "permission denied", "-out")
}
