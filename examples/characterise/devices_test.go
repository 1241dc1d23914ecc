//go:build unix

package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/examples/internal/cli"
)

// driven is the run of short on the same display, driven by a program.
func driven(more ...string) []string {
	command := fmt.Sprintf(`process:"%s" -cold -seed 3 -start 2026-11-25T09:00:00Z`, driver)
	return append([]string{"-out", "o", "-patches", "40", "-proof", "100", "-seed", "3", "-screen", command, "-instrument", command}, more...)
}

// profileOf returns the bytes of the one profile in dir's run.
func profileOf(t *testing.T, dir string) string {
	t.Helper()
	return get(t, profileName(t, filepath.Join(dir, "o")))
}

// A program that drives the very display which is built in leads to the very
// profile, also when the run is killed on the way and the program with it.
func TestFaultDrivenRunReachesTheSameProfile(t *testing.T) {
	want := unbroken(t)
	size := int64(len(want.files["o/"+cli.JournalFile].Bytes))
	for _, share := range []float64{2, 0.1, 0.5, 0.9} {
		t.Run(fmt.Sprint(share), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			if share <= 1 {
				if o := stop(t, dir, atSize("share", int64(share*float64(size))), os.Kill, driven()...); o.code >= 0 {
					t.Fatalf("status %d instead of a kill\n%s", o.code, o.errors)
				}
				must(t, dir, driven("-resume")...)
			} else {
				must(t, dir, driven()...)
			}
			if profileOf(t, dir) != profileOf(t, want.dir) {
				t.Error("the profile differs from that of the display which is built in")
			}
		})
	}
}

func TestProgramThatIsNone(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	o := outcomeOf(t, dir, "-out", "o", "-screen", "process:./none", "-instrument", "process:./none")
	if o.code != cli.RunFailure || !strings.Contains(lastLine(o.errors), "./none") {
		t.Errorf("status %d, %s", o.code, o.errors)
	}
}

// The person at the terminal is asked for each step and answers with Enter.
func TestMenu(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := command(dir, driven("-menu", "brightness 100 of 0 to 100")...)
	s.cmd.Stdin = strings.NewReader(strings.Repeat("\n", 100))
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	// The driver's brightness stays where it was, whatever the person says.
	o := s.end(t)
	if !strings.Contains(o.errors, "Please set brightness: ") || !strings.Contains(o.errors, "Press Enter when it is done.") {
		t.Errorf("nobody was asked:\n%s", o.errors)
	}
	s = command(t.TempDir(), driven("-menu", "brightness 100 of 0 to 100")...)
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if o := s.end(t); o.code != cli.RunFailure || !strings.Contains(lastLine(o.errors), "nobody answered") {
		t.Errorf("without a person: status %d, %s", o.code, lastLine(o.errors))
	}
}

func TestAskingEndsWithItsContext(t *testing.T) {
	in, _ := io.Pipe()
	var out bytes.Buffer
	std := cli.IO{In: in, Err: bufio.NewWriter(&out)}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := asking(std, cli.NewProgress(std))(ctx, "brightness: 1 step up, to 3"); err != context.Canceled {
		t.Errorf("%v", err)
	}
	if err := in.Close(); err != nil {
		t.Error(err)
	}
}
