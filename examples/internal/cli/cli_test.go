package cli

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"strings"
	"testing"
	"time"
)

// The statuses are the table in DEVELOPERS.md.
func TestStatus(t *testing.T) {
	plain := errors.New("the disk is full")
	for _, c := range []struct {
		name string
		err  error
		want int
	}{
		{"nil", nil, 0},
		{"help", flag.ErrHelp, 0},
		{"help through Parse", Give(BadInput, flag.ErrHelp), 0},
		{"bad input", Bad("line %d: %w", 3, plain), 2},
		{"bad input wrapped again", fmt.Errorf("reading: %w", Bad("no rows")), 2},
		{"given status stays", Give(RunFailure, Bad("no rows")), 2},
		{"failed", Give(Failed, plain), 1},
		{"judged and passed", Judged("passed", "x"), 0},
		{"judged and failed", Judged("failed", "x"), 1},
		{"judged and open", Judged("undecided", "x"), 3},
		{"undecided", Give(Undecided, plain), 3},
		{"plain error", plain, 4},
		{"interrupted", fmt.Errorf("patch 12: %w", context.Canceled), 130},
	} {
		if got := Status(c.err); got != c.want {
			t.Errorf("%s: status %d, want %d", c.name, got, c.want)
		}
	}
}

// What does not listen is left behind, soon; what does has its own word.
func TestSuperviseEnds(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	own := errors.New("own")
	if err := (Program{}).supervise(ctx, time.Hour, func() error { return own }); err != own {
		t.Errorf("without an interrupt: %v", err)
	}
	cancel()
	if err := (Program{}).supervise(ctx, time.Hour, func() error { return own }); err != own {
		t.Errorf("interrupted, and listening: %v", err)
	}
	never := make(chan struct{})
	defer close(never)
	if err := (Program{Kept: "the readings are kept"}).supervise(ctx, time.Millisecond, func() error { <-never; return nil }); Status(err) != Interrupted || err.Error() != "interrupted; the readings are kept" {
		t.Errorf("interrupted, and deaf: %v", err)
	}
}

func TestGiveKeepsNil(t *testing.T) {
	if err := Give(Failed, nil); err != nil {
		t.Errorf("Give(Failed, nil) = %v, want nil", err)
	}
}

// An error is one line under the program's name, which a package of that name
// does not say again.
func TestErrorIsOneLine(t *testing.T) {
	p := Program{Name: "demo"}
	for text, want := range map[string]string{
		"demo: no rows":            "demo: no rows",
		"no rows":                  "demo: no rows",
		"a.csv: demo: no\nno ends": "demo: a.csv: demo: no; no ends",
	} {
		if got := p.sentence(errors.New(text)); got != want {
			t.Errorf("%q is said as %q, want %q", text, got, want)
		}
	}
}

func TestHelpListsOptionsAlphabetically(t *testing.T) {
	var out bytes.Buffer
	f := NewFlags("demo", "demo does nothing.", IO{Err: &out})
	f.String("zeta", "", "last")
	f.String("alpha", "", "first")
	if err := f.Parse([]string{"-h"}); Status(err) != Done {
		t.Fatalf("-h has status %d, want 0", Status(err))
	}
	s := out.String()
	if !strings.HasPrefix(s, "demo does nothing.") || strings.Index(s, "-alpha") > strings.Index(s, "-zeta") {
		t.Errorf("help reads\n%s", s)
	}
	if err := f.Parse([]string{"-nonsense"}); Status(err) != BadInput {
		t.Errorf("an unknown option has status %d, want 2", Status(err))
	}
}

func TestProgressInPlainLines(t *testing.T) {
	var out bytes.Buffer
	p := NewProgress(IO{Err: &out})
	for i := range 21 {
		p.Update("charts", i, 20, time.Duration(20-i)*time.Minute)
	}
	for i := range 12 {
		p.Update("a look", i, 11, 0)
	}
	want := "charts: 0/20 read, about 20 min left\ncharts: 5/20 read, about 15 min left\n" +
		"charts: 10/20 read, about 10 min left\ncharts: 15/20 read, about 5 min left\ncharts: 20/20 read\na look: 0/11 read\n"
	if out.String() != want {
		t.Errorf("got\n%s\nwant\n%s", out.String(), want)
	}
}

func TestProgressBarIsDrawnAgain(t *testing.T) {
	var out bytes.Buffer
	p := NewProgress(IO{Err: &out, Terminal: true})
	p.Update("charts", 12, 24, 4*time.Minute)
	p.Update("charts", 13, 24, 0)
	p.Line("done")
	s := out.String()
	if strings.Count(s, "\n") != 1 || !strings.HasSuffix(s, "done\n") {
		t.Errorf("the bar broke the line: %q", s)
	}
	if !strings.Contains(s, strings.Repeat("█", 12)+strings.Repeat("·", 12)+" charts: 12/24 read, about 4 min left") {
		t.Errorf("half a bar was not drawn: %q", s)
	}
}

func TestDuration(t *testing.T) {
	for d, want := range map[time.Duration]string{
		300 * time.Millisecond:                        "1 s",
		40 * time.Second:                              "40 s",
		4*time.Minute + 20*time.Second:                "4 min",
		80 * time.Minute:                              "80 min",
		2*time.Hour - 30*time.Minute + 40*time.Second: "1 h 31 min",
	} {
		if got := Duration(d); got != want {
			t.Errorf("Duration(%v) = %q, want %q", d, got, want)
		}
	}
}
