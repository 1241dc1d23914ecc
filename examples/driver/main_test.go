package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"go/parser"
	"go/token"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"github.com/google/go-cmp/cmp"
)

// TestMain makes this test's binary the program itself where its first argument
// says so: "driver" as it is, "mortal" with a folder as one that dies after a
// number of messages, another one in each life.
func TestMain(m *testing.M) {
	if len(os.Args) < 2 {
		os.Exit(m.Run())
	}
	switch os.Args[1] {
	case "driver":
		os.Args = append(os.Args[:1], os.Args[2:]...)
		main()
	case "mortal":
		lives, _ := os.ReadDir(os.Args[2])
		if err := os.WriteFile(filepath.Join(os.Args[2], fmt.Sprint(len(lives))), nil, 0o600); err != nil {
			os.Exit(cli.RunFailure)
		}
		left := 12 + rand.New(rand.NewPCG(5, uint64(len(lives)))).IntN(40)
		err := run(context.Background(), os.Args[3:], cli.IO{In: &mortal{os.Stdin, left}, Out: os.Stdout, Err: os.Stderr})
		os.Exit(cli.Status(err))
	}
	os.Exit(m.Run())
}

// mortal is standard input that ends the process after a number of messages.
type mortal struct {
	in   io.Reader
	left int
}

func (m *mortal) Read(b []byte) (int, error) {
	n, err := m.in.Read(b)
	if m.left -= bytes.Count(b[:n], []byte("\n")); m.left < 0 {
		fmt.Fprintln(os.Stderr, "out of memory")
		os.Exit(9)
	}
	return n, err
}

// driver returns the command that starts the program with options.
func driver(t testing.TB, options ...string) plug.Command {
	t.Helper()
	t.Setenv("GORACE", "atexit_sleep_ms=0")
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return plug.Command{Path: self, Args: append([]string{"driver"}, options...)}
}

// The program says what the page of the protocol has it say. Its readings are
// noise and physics: the page's digits may come out otherwise on another
// processor, and are held loosely.
func TestPageSession(t *testing.T) {
	page, err := os.ReadFile(filepath.FromSlash("../../chart/plug/PROTOCOL.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, session, ok := strings.Cut(string(page), "```session\n")
	if session, _, _ = strings.Cut(session, "```"); !ok {
		t.Fatal("the page has no session")
	}
	var in, want []string
	for l := range strings.Lines(session) {
		if sent, ok := strings.CutPrefix(l, "> "); ok {
			in = append(in, sent)
		} else {
			want = append(want, strings.TrimPrefix(l, "< "))
		}
	}
	out, errs, status := clitest.Call(run, strings.Join(in, ""))
	got := strings.SplitAfter(strings.TrimSuffix(out, "\n"), "\n")
	if status != cli.Done || len(got) != len(want) {
		t.Fatalf("status %d, %s, %d answers, want %d", status, errs, len(got), len(want))
	}
	near := cmp.FilterValues(func(a, b float64) bool { return true }, cmp.Comparer(func(a, b float64) bool {
		return math.Abs(a-b) <= 0.03*math.Max(math.Abs(a), math.Abs(b))
	}))
	for i := range want {
		var a, b any
		if err := errors.Join(json.Unmarshal([]byte(want[i]), &a), json.Unmarshal([]byte(got[i]), &b)); err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(a, b, near); diff != "" {
			t.Errorf("answer %d: %s", i+1, diff)
		}
	}
}

// What serves is written from the page alone.
func TestServeNeedsNothingOfOurs(t *testing.T) {
	f, err := parser.ParseFile(token.NewFileSet(), "serve.go", nil, parser.ImportsOnly)
	if err != nil {
		t.Fatal(err)
	}
	for _, i := range f.Imports {
		if strings.Contains(i.Path.Value, "chart/plug") {
			t.Errorf("serve.go imports %s", i.Path.Value)
		}
	}
}

// The check passes the program itself, and not one that says nothing.
func TestCheck(t *testing.T) {
	for _, options := range [][]string{nil, {"-display", "lcd", "-bits", "8", "-cold", "-no-controls", "-start", "2026-02-03T04:05:06Z"}} {
		out, errs, status := clitest.Call(run, "", "-check", driver(t, options...).String())
		if status != cli.Done || strings.Contains(out, "failed") || strings.Count(out, "passed") < 12 {
			t.Errorf("%v: status %d, %s%s", options, status, out, errs)
		}
	}
	out, _, status := clitest.Call(run, "", "-check", driver(t, "-h").String())
	if status != cli.Failed || !strings.Contains(out, "failed   says hello") {
		t.Errorf("status %d, %s", status, out)
	}
	for _, args := range [][]string{{"-check", `"`}, {"-check", ""}, {"-check", " "}, {"-check", "x", "-seed", "2"}, {"-person"}, {"-start", "now"}, {"-display", "none"}, {"x"}} {
		if _, errs, status := clitest.Call(run, "", args...); status != cli.BadInput || errs == "" {
			t.Errorf("%v: status %d, %s", args, status, errs)
		}
	}
}

// whole is a whole walk with a small chart on devices; lines are the journal it
// goes on with.
func whole(t *testing.T, m measure.Setup, lines [][]byte) ([]byte, [][]byte) {
	t.Helper()
	white, err := aim.Illuminant("D65")
	if err != nil {
		t.Fatal(err)
	}
	journal := measure.NewMemory(lines)
	m.Journal, m.Replay, m.Seed, m.Digest = journal, lines, 7, "test"
	r, err := characterise.Run(context.Background(), characterise.Setup{
		Measure: m, Aim: aim.Aim{White: white, Luminance: 100}, Patches: 40, ProofPatches: 100,
	})
	if err != nil {
		t.Fatal(err)
	}
	return r.Profile.Bytes, journal.Lines()
}

// plugged returns the devices of a started program.
func plugged(t *testing.T, p *plug.Process) (m measure.Setup) {
	t.Helper()
	var errs [5]error
	m.Screen, errs[0] = p.Screen()
	m.Instrument, errs[1] = p.Instrument()
	m.Reference, errs[2] = p.Reference()
	m.Controls, errs[3] = p.Controls()
	m.Clock, errs[4] = p.Clock()
	if err := errors.Join(errs[:]...); err != nil {
		t.Fatal(err)
	}
	return m
}

// A whole walk over the program reaches the same profile as one with the
// simulation built in, to the byte, and leaves the same journal; so does one
// that goes on, with a new program, where another was cut off.
func TestSameBytesAsBuiltIn(t *testing.T) {
	d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 7, Cold: true})
	want, wantLines := whole(t, measure.Setup{
		Screen: d, Instrument: d.Colorimeter(), Reference: d.Spectroradiometer(), Controls: d, Clock: d.Clock(),
	}, nil)
	cuts := map[string][][]byte{"resumed": wantLines[:len(wantLines)*2/3]}
	if !testing.Short() {
		cuts["from the beginning"] = nil
	}
	for name, lines := range cuts {
		t.Run(name, func(t *testing.T) {
			p, err := plug.Start(context.Background(), driver(t, "-seed", "7", "-cold"), plug.Options{})
			if err != nil {
				t.Fatal(err)
			}
			defer p.Close()
			got, gotLines := whole(t, plugged(t, p), lines)
			if !bytes.Equal(got, want) {
				t.Errorf("another profile: %d bytes, want %d", len(got), len(want))
			}
			if lines == nil {
				if diff := cmp.Diff(wantLines, gotLines); diff != "" {
					t.Errorf("another journal: %.2000s", diff)
				}
			}
			if p.Restarts() != 0 {
				t.Errorf("it was started again %d times", p.Restarts())
			}
		})
	}
}

// session reads some patches at a control's step and through curves, twice each.
func session(t *testing.T, m measure.Setup) []measure.Reading {
	t.Helper()
	ctx := context.Background()
	bend := []float64{0, 0.4, 0.9}
	curves, err := tone.NewChannels(bend, bend, bend)
	if err != nil {
		t.Fatal(err)
	}
	s, err := measure.Open(ctx, m)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(s.SetControl(ctx, measure.Brightness, 70), s.SetControl(ctx, measure.RedGain, 90), s.LoadCurves(ctx, curves)); err != nil {
		t.Fatal(err)
	}
	readings, err := s.ReadSet(ctx, measure.StageCharts, chart.Ramp(colorimetry.RGB{R: 1, G: 0.7, B: 1}, 80), 2)
	if err != nil {
		t.Fatal(err)
	}
	return readings
}

// A program that dies every few messages is started again, and told again so
// much that every reading on a settled display is, to the bit, what it would
// have been. Readings in whose integrations it died are flagged.
func TestFaultDiesAgainAndAgain(t *testing.T) {
	d := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 1})
	want := session(t, measure.Setup{Screen: d, Instrument: d.Colorimeter(), Controls: d, Clock: d.Clock()})
	c := driver(t)
	c.Args = []string{"mortal", t.TempDir()}
	p, err := plug.Start(context.Background(), c, plug.Options{Pause: time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	defer p.Close()
	got := session(t, plugged(t, p))
	flagged := 0
	for i := range want {
		if !slices.Equal(got[i].Repeats, want[i].Repeats) {
			t.Errorf("reading %d is %v, want %v", i, got[i].Repeats, want[i].Repeats)
		}
		if slices.Contains(got[i].Flags, measure.FlagRetried) {
			flagged++
		}
	}
	t.Logf("%d restarts, %d of %d readings flagged", p.Restarts(), flagged, len(got))
	if p.Restarts() < 8 || flagged == 0 {
		t.Errorf("%d restarts, %d readings flagged", p.Restarts(), flagged)
	}
}

// BenchmarkMessage is what one message and its answer cost beside the work.
func BenchmarkMessage(b *testing.B) {
	p, err := plug.Start(context.Background(), driver(b), plug.Options{})
	if err != nil {
		b.Fatal(err)
	}
	defer p.Close()
	screen, err := p.Screen()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := screen.Show(context.Background(), colorimetry.Gray(0.5)); err != nil {
			b.Fatal(err)
		}
	}
}
