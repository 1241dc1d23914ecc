package plug_test

import (
	"bufio"
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/plug"
)

// TestHelperProgram is no test: it is the program that the tests of Process
// start, which is this test's binary with two arguments, the fault that it has
// and a folder of its own.
func TestHelperProgram(t *testing.T) {
	if flag.NArg() != 2 {
		return
	}
	h := &helper{fault: flag.Arg(0), dir: flag.Arg(1), now: time.Date(2026, 1, 5, 9, 0, 0, 0, time.UTC), step: 50}
	os.Exit(h.run())
}

// command returns the helper's command.
func command(t *testing.T, fault, dir string) plug.Command {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	return plug.Command{Path: self, Args: []string{"-test.run=^TestHelperProgram$", "--", fault, dir}}
}

// fast are limits for tests: long enough for a machine under load.
func fast() plug.Options {
	return plug.Options{StartTimeout: 20 * time.Second, Timeout: 10 * time.Second, MeasureTimeout: 10 * time.Second, PersonTimeout: 10 * time.Second, Restarts: 3, Pause: time.Millisecond}
}

// start starts the helper with a fault; it is closed, and everything it left
// behind looked for, when the test ends.
func start(t *testing.T, fault string, o plug.Options) (*plug.Process, string) {
	t.Helper()
	dir := t.TempDir()
	watch(t, dir)
	p, err := plug.Start(context.Background(), command(t, fault, dir), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.Close() })
	return p, dir
}

// watch looks, when the test ends, for goroutines and processes that are left.
func watch(t *testing.T, dir string) {
	t.Helper()
	t.Setenv("GORACE", "atexit_sleep_ms=0") // the helper's end is not to wait a second under -race
	before := runtime.NumGoroutine()
	t.Cleanup(func() {
		var alive []string
		var now int
		for range 300 {
			alive, now = survivors(dir), runtime.NumGoroutine()
			if len(alive) == 0 && now <= before {
				return
			}
			time.Sleep(10 * time.Millisecond)
		}
		stacks := make([]byte, 1<<16)
		t.Errorf("left behind: processes %v, %d goroutines where there were %d\n%s", alive, now, before, stacks[:runtime.Stack(stacks, true)])
	})
}

// heard returns the messages that the helper got, "life: message", without their
// ids.
func heard(t *testing.T, dir string) []string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(dir, "log"))
	if err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimSpace(string(b)), "\n")
}

type object = map[string]any

type helper struct {
	fault, dir string
	life       int // from 1
	now        time.Time
	step       int
	calls      map[string]int
	out        *os.File
}

func (h *helper) is(faults ...string) bool {
	for _, f := range faults {
		if h.fault == f {
			return true
		}
	}
	return false
}

func (h *helper) note(file, text string) {
	f, err := os.OpenFile(filepath.Join(h.dir, file), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err == nil {
		fmt.Fprintln(f, text)
		f.Close()
	}
}

// forever is longer than any test.
func forever() { time.Sleep(time.Hour) }

func (h *helper) run() int {
	h.out, h.calls = os.Stdout, map[string]int{}
	h.note("pids", fmt.Sprint(os.Getpid()))
	if h.is("sleep") {
		forever()
	}
	h.note("lives", "")
	lives, _ := os.ReadFile(filepath.Join(h.dir, "lives"))
	h.life = len(lives)
	switch {
	case h.is("exits at start"), h.is("unplugged") && (h.life == 2 || h.life == 3):
		fmt.Fprintln(os.Stderr, "no instrument found\x1b[31m")
		return 5
	case h.is("silent at start"):
		forever()
	case h.is("loud on stderr"):
		for i := range 20000 {
			fmt.Fprintln(os.Stderr, i, strings.Repeat("x", 1000))
		}
	}
	in := bufio.NewReader(os.Stdin)
	for {
		if h.is("deaf") && h.calls["hello"] > 0 {
			forever()
		}
		line, err := in.ReadBytes('\n')
		if err != nil {
			if h.is("stubborn") {
				forever()
			}
			return 0
		}
		var m struct {
			ID      int
			Do      string
			Control string
			Step    int
			ForNS   int64     `json:"for_ns"`
			Time    time.Time `json:"time"`
			Repeat  int
		}
		if err := json.Unmarshal(line, &m); err != nil {
			return 6
		}
		_, rest, _ := strings.Cut(strings.TrimSpace(string(line)), ",")
		h.note("log", fmt.Sprintf("%d: {%s", h.life, rest))
		h.calls[m.Do]++
		if status := h.misbehave(m.ID, m.Do); status >= 0 {
			return status
		}
		answer := object{"done": object{}}
		switch m.Do {
		case "hello":
			answer["done"] = h.hello()
		case "measure":
			answer = h.measure(m.Repeat)
		case "calibrate_dark":
			h.answer(m.ID, object{"say": "Put the cap on.\a"})
			answer["done"] = object{"until": h.now.Add(time.Hour)}
		case "set":
			h.step = m.Step
		case "sleep":
			h.now = h.now.Add(time.Duration(m.ForNS))
		case "restore":
			h.now = m.Time
		case "curves":
			if h.is("lies about curves") {
				answer = object{"failed": object{"kind": "unknown", "text": "no such message"}}
			}
		case "check":
			if h.is("condition") {
				answer = object{"failed": object{"kind": "condition", "condition": "display_dark", "text": "0.01 cd/m² where 80 are due", "remedy": "wake the display"}}
			}
		case "show":
		default:
			answer = object{"failed": object{"kind": "unknown", "text": "no such message"}}
		}
		h.answer(m.ID, answer)
		if h.is("says more than asked") {
			h.answer(m.ID, answer)
		}
	}
}

func (h *helper) answer(id int, a object) {
	a["id"] = id
	if !h.is("real", "vanishes") {
		a["now"] = h.now
	}
	if h.is("loses its clock") && h.calls["show"] > 0 {
		delete(a, "now")
	}
	line, _ := json.Marshal(a)
	h.out.Write(append(line, '\n'))
}

// misbehave does what the helper's fault is, and returns an exit status, or -1
// where it goes on.
func (h *helper) misbehave(id int, do string) int {
	first := h.life == 1
	measure := do == "measure"
	switch {
	case h.is("hangs") && measure && first, h.is("always hangs") && measure, h.is("hangs in show") && do == "show" && first:
		forever()
	case h.is("hangs with company") && measure && first:
		self, _ := os.Executable()
		company := exec.Command(self, "-test.run=^TestHelperProgram$", "--", "sleep", h.dir)
		company.Stdout, company.Stderr = os.Stdout, os.Stderr // holds them open
		if company.Start() != nil {
			return 7
		}
		for range 500 { // until it has said its number
			if b, _ := os.ReadFile(filepath.Join(h.dir, "pids")); strings.Count(string(b), "\n") > 1 {
				break
			}
			time.Sleep(10 * time.Millisecond)
		}
		forever()
	case h.is("crashes mid-answer") && measure && h.calls[do] == 2 && first:
		fmt.Fprintf(h.out, `{"id":%d,"now":"2026-01-05T09`, id)
		fmt.Fprintln(os.Stderr, "segmentation fault")
		return 3
	case h.is("always crashes") && measure, h.is("unplugged") && measure && h.calls[do] == 3 && first,
		h.is("comes back as another") && measure && first, h.is("crashes in show") && do == "show" && h.calls[do] == 2 && first,
		h.is("crashes in set") && do == "set" && h.calls[do] == 2 && first:
		return 3
	case h.is("vanishes") && do == "show" && first:
		h.answer(id, object{"done": object{}})
		return 3
	case h.is("prints garbage") && measure && first:
		fmt.Fprintln(h.out, "Initialising device \x1b[31m...")
	case h.is("greets with garbage"):
		fmt.Fprintln(h.out, "Welcome!")
	case h.is("prints a line too long") && measure && first:
		h.out.Write([]byte(strings.Repeat("9", 2<<20)))
	case h.is("answers the wrong id") && measure && first:
		h.answer(id-1, object{"done": object{}})
	case h.is("closes stdout") && measure && first:
		h.out.Close()
		forever()
	case h.is("answers late") && measure && first, h.is("slow") && measure && h.calls[do] == 1:
		time.Sleep(600 * time.Millisecond)
	}
	return -1
}

func (h *helper) hello() object {
	serial := "A-17"
	if h.is("comes back as another") && h.life > 1 {
		serial = "B-4"
	}
	offer := object{
		"version": 1, "program": "helper", "clock": !h.is("real", "vanishes"),
		"screen": object{
			"name": "Panel", "bits": 10, "window_share": 0.04, "surround": 0.2, "limited": true, "settle_ms": 1,
			"curves": true, "check": !h.is("vanishes"), "simulated": true,
		},
		"instrument": object{
			"name": "Eye", "serial": serial, "use": "contact", "whole_refresh": true, "lowest_cd_m2": 0.05, "spectral": true,
			"spectrum": h.is("spectrum", "lies about its spectrum"), "certificate": "C 2026-3", "certificate_uv": 0.0005, "certificate_luminance_share": 0.01,
			"noise": object{"chromaticity_xy": 0.001, "luminance_share": 0.002, "floor_cd_m2": 0.003}, "dark_calibration": object{},
		},
		"controls": []object{{"name": "brightness", "min": 0, "max": 100, "now": h.step}, {"name": "red gain", "min": -5, "max": 5, "now": 0}},
	}
	switch {
	case h.is("wrong version"):
		offer["version"] = 2
	case h.is("lies about its noise"):
		offer["instrument"].(object)["noise"] = object{"chromaticity_xy": -1, "luminance_share": 0, "floor_cd_m2": 0}
	case h.is("offers nothing"):
		return object{"version": 1, "program": "helper"}
	case h.is("has no name"):
		offer["screen"].(object)["name"] = "a\x07b"
	}
	return offer
}

func (h *helper) measure(repeat int) object {
	h.now = h.now.Add(time.Second)
	done := object{"xyz": []any{95.5, 100.0 + float64(repeat)/3, 108.8}, "took_ns": 1_000_000}
	switch {
	case h.is("spectrum"):
		done["spectrum"] = object{"nm": []float64{400, 500, 700}, "values": []float64{0.1, 0.2, 1.0 / 3}}
	case h.is("says NaN"):
		done["xyz"] = []any{"NaN", 1, 2}
	case h.is("forgets a number"):
		done["xyz"] = []any{1, 2}
	case h.is("says null"):
		done["xyz"] = nil
	case h.is("measures the sun twice"):
		done["xyz"] = []any{1e11, 1e11, 1e11}
	case h.is("passing") && h.calls["measure"] <= 2:
		return object{"failed": object{"kind": "passing", "text": "the line is busy\n", "remedy": "wait"}}
	case h.is("fails"):
		return object{"failed": object{"kind": "failure", "text": "the lamp is broken"}}
	}
	return object{"done": done}
}
