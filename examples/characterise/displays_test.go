package main

import (
	"io"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/examples/internal/cli"
)

// Every name leads to a display of its own that can be switched on, and what is
// invented is said to be; -h lists them all.
func TestDisplays(t *testing.T) {
	var help strings.Builder
	if _, err := parse([]string{"-h"}, cli.IO{Out: &help, Err: &help, In: strings.NewReader("")}); err == nil {
		t.Error("-h is no end")
	}
	told := strings.Join(strings.Fields(help.String()), " ")
	seen := map[string]bool{}
	for i, d := range displays {
		o, err := parse([]string{"-display", d.name}, cli.IO{Out: io.Discard, Err: io.Discard, In: strings.NewReader("")})
		if err != nil {
			t.Fatal(err)
		}
		name := o.display.Name
		if seen[name] {
			t.Errorf("%s is %s again", d.name, name)
		}
		seen[name] = true
		if _, err := simulate.New(o.display, simulate.Options{Seed: 1, Bits: 10, Cold: true}); err != nil {
			t.Errorf("%s: %v", d.name, err)
		}
		invented := i > 2
		if strings.Contains(name, "(invented)") != invented || strings.Contains(o.scenario, "The display is invented") != invented {
			t.Errorf("%s: %s, %q", d.name, name, o.scenario)
		}
		if !strings.Contains(told, d.name) {
			t.Errorf("-h does not list %s", d.name)
		}
	}
	if !strings.Contains(told, "the others are invented") {
		t.Error("-h does not say what is invented")
	}
}

// A display whose channels disturb each other is taken all the way: its model is
// one that knows of it, and its report says that it is invented.
func TestInteractingDisplay(t *testing.T) {
	if testing.Short() {
		t.Skip("a whole run")
	}
	dir := t.TempDir()
	outcomeOf(t, dir, short("-display", "sagging")...)
	report := read(t, filepath.Join(dir, "o"))
	if s, _ := value(report, "scenario").(string); !strings.Contains(s, "The display is invented") {
		t.Errorf("the scenario is %q", s)
	}
	if name, _ := value(report, "model.name").(string); !strings.Contains(name, "interaction") && !strings.Contains(name, "masking") {
		t.Errorf("the model is %q", name)
	}
}
