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
	watch(t)
	return startBeside(t, fault, o)
}

// startBeside is start in a test that runs beside others, whose goroutines are
// its parent's to watch.
func startBeside(t *testing.T, fault string, o plug.Options) (*plug.Process, string) {
	t.Helper()
	dir := folder(t)
	p, err := plug.Start(context.Background(), command(t, fault, dir), o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { p.Close() })
	return p, dir
}

// folder returns a folder for a helper. When the test ends, its processes have
// to be gone.
func folder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	t.Cleanup(func() {
		var alive []string
		if !soon(func() bool { alive = survivors(dir); return len(alive) == 0 }) {
			t.Errorf("processes %v live on", alive)
		}
	})
	return dir
}

// watch looks, when the test ends, for goroutines that are left, and lets the
// helper end at once under the race detector.
func watch(t *testing.T) {
	t.Helper()
	t.Setenv("GORACE", "atexit_sleep_ms=0")
	before := runtime.NumGoroutine()
	t.Cleanup(func() {
		if !soon(func() bool { return runtime.NumGoroutine() <= before }) {
			stacks := make([]byte, 1<<16)
			t.Errorf("%d goroutines where there were %d\n%s", runtime.NumGoroutine(), before, stacks[:runtime.Stack(stacks, true)])
		}
	})
}

// soon waits up to three seconds for something to become true.
func soon(is func() bool) bool {
	for range 300 {
		if is() {
			return true
		}
		time.Sleep(10 * time.Millisecond)
	}
	return false
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

// toldHelper is any line that the helper gets.
type toldHelper struct {
	ID      int
	Do      string
	Control string
	Step    int
	ForNS   int64     `json:"for_ns"`
	Time    time.Time `json:"time"`
	Repeat  int
	Signal  [3]float64
}

type helper struct {
	fault, dir string
	life       int // from 1
	now        time.Time
	step       int
	black      bool // what is shown
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
	switch {
	case h.is("sleep"):
		forever()
	case h.is("script"):
		return h.script()
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
		var m toldHelper
		if err := json.Unmarshal(line, &m); err != nil {
			return 6
		}
		_, rest, _ := strings.Cut(strings.TrimSpace(string(line)), ",")
		h.note("log", fmt.Sprintf("%d: {%s", h.life, rest))
		h.calls[m.Do]++
		if status := h.misbehave(m.ID, m.Do); status >= 0 {
			return status
		}
		answer := h.reply(m)
		h.answer(m.ID, answer)
		if h.is("says more than asked") {
			h.answer(m.ID, answer)
		}
	}
}

// reply does what a message asks and returns the answer.
func (h *helper) reply(m toldHelper) object {
	answer := object{"done": object{}}
	switch m.Do {
	case "hello":
		switch answer["done"] = h.hello(); {
		case h.is("needs a moment") && h.life < 3, h.is("is never ready"):
			answer = object{"failed": object{"kind": "passing", "text": "the lamp warms up"}}
		case h.is("has no device"):
			answer = object{"failed": object{"kind": "failure", "text": "no device is connected"}}
		}
	case "measure":
		answer = h.measure(m.Repeat)
	case "calibrate_dark":
		h.answer(m.ID, object{"say": "Put the cap on.\a"})
		answer["done"] = object{"until": h.now.Add(time.Hour)}
	case "set":
		switch {
		case m.Control == "brightness" && m.Step >= 0 && m.Step <= 100:
			h.step = m.Step
		case m.Control == "red gain" && m.Step >= -5 && m.Step <= 5:
		default:
			answer = object{"failed": object{"kind": "failure", "text": "no such control or step"}}
		}
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
		h.black = m.Signal[1] == 0
	default:
		answer = object{"failed": object{"kind": "unknown", "text": "no such message"}}
	}
	return answer
}

// script plays the program's part of the session in its folder, to the letter.
func (h *helper) script() int {
	session, err := os.ReadFile(filepath.Join(h.dir, "session"))
	if err != nil {
		return 8
	}
	in := bufio.NewReader(os.Stdin)
	for l := range strings.Lines(string(session)) {
		if said, ok := strings.CutPrefix(l, "< "); ok {
			h.out.WriteString(said)
		} else if line, err := in.ReadString('\n'); "> "+line != l {
			fmt.Fprintf(os.Stderr, "%v: got %s, the page has %s\n", err, line, l)
			return 9
		}
	}
	in.ReadString('\n') // until the end
	return 0
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
	case h.is("hangs") && measure && first, h.is("always hangs") && measure, h.is("hangs in show") && do == "show" && first,
		h.is("hangs in check") && do == "check" && first:
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
		h.is("crashes in set") && do == "set" && h.calls[do] == 2 && first, h.is("crashes in check") && do == "check" && first:
		return 3
	case h.is("vanishes") && do == "show" && first:
		h.answer(id, object{"done": object{}})
		return 3
	case h.is("prints garbage") && measure && first, h.is("garbles its check") && do == "check" && first:
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
	case h.is("answers late") && measure && first:
		time.Sleep(1500 * time.Millisecond)
	case h.is("slow") && measure && h.calls[do] == 1:
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
			"noise": object{"chromaticity_xy": 0.001, "luminance_share": 0.004, "floor_cd_m2": 0.003}, "dark_calibration": object{},
		},
		"controls": []object{{"name": "brightness", "min": 0, "max": 100, "now": h.step}, {"name": "red gain", "min": -5, "max": 5, "now": 0}},
	}
	switch {
	case h.is("changes its mind"):
		offer["screen"].(object)["bits"] = 7 + h.life
	case h.is("understates its noise"):
		offer["instrument"].(object)["noise"] = object{"chromaticity_xy": 0.001, "luminance_share": 0.0001, "floor_cd_m2": 0.003}
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
	took := time.Second
	if h.is("real", "vanishes") {
		took = time.Millisecond
	}
	h.now = h.now.Add(took)
	done := object{"xyz": []any{95.5, 100.0 + float64(repeat)/3, 108.8}, "took_ns": took.Nanoseconds()}
	if h.is("spectrum") {
		done["spectrum"] = object{"nm": []float64{400, 500, 700}, "values": []float64{0.1, 0.2, 1.0 / 3}}
	}
	switch {
	case h.black && !h.is("never dark"):
		done["xyz"] = []any{0.01, 0.01, 0.01}
	case whites[h.fault] != nil:
		done["xyz"] = whites[h.fault]
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
