package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
)

// fakePage is what the page's script says and asks, without a browser: tests of
// plug do it with a real one.
type fakePage struct {
	t       *testing.T
	address string
	name    string
	seq     int
	end     string // how the program said that it ended
}

func (p *fakePage) tell(kind string, more map[string]any) []byte {
	p.seq++
	report := map[string]any{"kind": kind, "page": p.name, "seq": p.seq, "curves": "none", "started": kind != "hello",
		"now": map[string]any{"width": 800, "height": 600, "ratio": 1, "gamut": "srgb"}, "scale": 1, "inner": 800, "wide": true}
	for k, v := range more {
		report[k] = v
	}
	body, err := json.Marshal(report)
	if err != nil {
		p.t.Error(err)
	}
	answer, err := http.Post(p.address+"tell", "application/json", bytes.NewReader(body))
	if err != nil {
		return nil // the program has ended
	}
	defer answer.Body.Close()
	data, _ := io.ReadAll(answer.Body)
	return data
}

// show plays the page: it acknowledges every picture, and steps after each as
// steps says.
func (p *fakePage) show(steps []int) {
	var hello struct{ Page string }
	if err := json.Unmarshal(p.tell("hello", nil), &hello); err != nil {
		p.t.Error(err)
		return
	}
	p.name = hello.Page
	p.tell("started", nil)
	known, last := -1, 0
	for {
		answer, err := http.Get(fmt.Sprintf("%snext?page=%s&n=%d&curves=none", p.address, p.name, known))
		if err != nil {
			return
		}
		var view struct {
			N       int
			Phase   string
			Picture struct {
				ID  int
				RGB [3]int
			}
		}
		err = json.NewDecoder(answer.Body).Decode(&view)
		answer.Body.Close()
		if err != nil {
			return
		}
		if view.Phase == "finished" || view.Phase == "stopped" {
			p.end = view.Phase
			return
		}
		known = view.N
		if view.Picture.ID == last {
			continue
		}
		last = view.Picture.ID
		shown := map[string]any{"picture": last, "painted": fmt.Sprintf("rgb(%d, %d, %d)", view.Picture.RGB[0], view.Picture.RGB[1], view.Picture.RGB[2])}
		p.tell("shown", shown)
		if len(steps) > 0 {
			// As a person does it: after a look.
			time.Sleep(dwell + 50*time.Millisecond)
			shown["step"] = steps[0]
			p.tell("step", shown)
			steps = steps[1:]
		}
	}
}

// watched is standard output; the first line, the address, starts the page.
type watched struct {
	mu     sync.Mutex
	text   bytes.Buffer
	opened func(address string)
}

func (w *watched) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if address, is := strings.CutPrefix(string(b), "open "); is {
		w.opened(strings.TrimSpace(address))
	}
	return w.text.Write(b)
}

// shown runs the program with a page that steps so, and returns what it
// printed after the address.
func shown(t *testing.T, steps []int, args ...string) []string {
	t.Helper()
	var wait sync.WaitGroup
	out := &watched{}
	page := &fakePage{t: t}
	out.opened = func(address string) {
		page.address = address
		wait.Go(func() { page.show(steps) })
	}
	ctx, cancel := context.WithTimeout(context.Background(), 30*time.Second)
	defer cancel()
	var errs bytes.Buffer
	if err := run(ctx, args, cli.IO{In: strings.NewReader(""), Out: out, Err: &errs}); err != nil {
		t.Fatalf("%v: %v; %s", args, err, errs.String())
	}
	wait.Wait()
	if page.end != "finished" {
		t.Errorf("%v: the page was told that it is %q", args, page.end)
	}
	lines := strings.Split(strings.TrimSpace(out.text.String()), "\n")
	return lines[1:]
}

// TestByHand: keys go on, back and out.
func TestByHand(t *testing.T) {
	got := shown(t, []int{1, 1, -1, 1, 0}, "-set", "neutral", "-size", "5")
	var order []string
	for _, line := range got {
		order = append(order, strings.SplitN(line, "\t", 2)[0])
	}
	if want := "1/5 2/5 3/5 2/5 3/5"; strings.Join(order, " ") != want {
		t.Errorf("shown %v, want %s", order, want)
	}
	if !strings.HasPrefix(got[0], "1/5\tn1\t0.0000\t0.0000\t0.0000") {
		t.Errorf("first line %q", got[0])
	}
}

// TestTimed: a chart from a file goes by itself, no faster than is safe.
func TestTimed(t *testing.T) {
	path := filepath.Join(t.TempDir(), "set.csv")
	if err := os.WriteFile(path, []byte("ID,R,G,B\na,0,0,0\nb,255,0,0\nc,255,255,255\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	begin := time.Now()
	got := shown(t, nil, "-seconds", "0.01", "-signal-max", "255", path)
	if took := time.Since(begin); len(got) != 3 || took < 3*dwell {
		t.Errorf("%q in %v", got, took)
	}
	if !strings.HasPrefix(got[1], "2/3\tb\t1.0000\t0.0000\t0.0000") {
		t.Errorf("second line %q", got[1])
	}
}

// TestStopped: who interrupts is not told that all was shown.
func TestStopped(t *testing.T) {
	var wait sync.WaitGroup
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	page, out := &fakePage{t: t}, &watched{}
	out.opened = func(address string) {
		page.address = address
		wait.Go(func() { page.show(nil) })
	}
	time.AfterFunc(500*time.Millisecond, cancel)
	err := run(ctx, []string{"-set", "neutral"}, cli.IO{In: strings.NewReader(""), Out: out, Err: io.Discard})
	wait.Wait()
	if !errors.Is(err, context.Canceled) || page.end != "stopped" {
		t.Errorf("%v, and the page was told that it is %q", err, page.end)
	}
}

// TestPictures: all pictures are shown.
func TestPictures(t *testing.T) {
	got := strings.Join(shown(t, nil, "-seconds", "0.01", "-look", "all"), "\n")
	for _, want := range []string{"1/6\tgrey ramp", "2/6\tsteps near black", "6/6\teven field, code 26"} {
		if !strings.Contains(got, want) {
			t.Errorf("%q is not shown: %s", want, got)
		}
	}
}

func TestBadUse(t *testing.T) {
	empty := filepath.Join(t.TempDir(), "empty.csv")
	if err := os.WriteFile(empty, []byte("ID,R,G,B\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for args, says := range map[string]string{
		"":                          "nothing is asked for",
		"a.csv b.csv":               "give one",
		"missing.csv":               "missing.csv",
		empty:                       "empty.csv",
		"-look stars":               "near-black",
		"-look ramp -set ramps":     "exclude each other",
		"-look ramp a.csv":          "exclude each other",
		"-size 5 -look ramp":        "-size goes with -set",
		"-set ramps -size 41":       "2 to 40",
		"-set ramps -window 2":      "0.001 to 1",
		"-set ramps -diagonal 2":    "5 to 2000",
		"-set ramps -surround -1":   "0 to 1",
		"-set ramps -seconds x":     "0 to 3600",
		"-set ramps -signal-max -1": "0 to 65536",
		"-set ramps -what":          "-h lists",
	} {
		_, errs, status := clitest.Call(run, "", strings.Fields(args)...)
		if status != cli.BadInput || !strings.Contains(errs, says) || strings.Contains(errs, "\n") {
			t.Errorf("%q: status %d, %q", args, status, errs)
		}
	}
	// An address that anybody can reach is refused.
	if _, errs, status := clitest.Call(run, "", "-set", "ramps", "-address", "0.0.0.0:0"); status != cli.BadInput || !strings.Contains(errs, "nobody but this machine") {
		t.Errorf("0.0.0.0: status %d, %q", status, errs)
	}
}
