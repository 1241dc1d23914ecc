package verify

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"example.org/primaries/chart/keep"
)

// limitsVersion is the version of the limits file.
const limitsVersion = 1

// maxLimitsBytes bounds a limits file: a set of limits fills a few kB.
const maxLimitsBytes = 1 << 20

//go:embed data/*.json
var files embed.FS

// Limits is a named set of limits, as a file holds it.
type Limits struct {
	Version int     `json:"version"` // 1
	Name    string  `json:"name"`
	Limits  []Limit `json:"limits"`
}

// Limit is the most (with AtLeast: the least) that one figure may be. Source
// and Sure say where the value comes from and how far it can be relied on, and
// are printed beside every verdict.
type Limit struct {
	Name    string  `json:"name"`
	Figure  string  `json:"figure"` // path in report.json, such as "white.delta_uv"
	Value   float64 `json:"value"`  // in the figure's unit
	AtLeast bool    `json:"at_least,omitempty"`
	Source  string  `json:"source"`
	Sure    string  `json:"sure"`
}

// Default returns the limits that a display is judged by where its owner
// states none: common practice, and this project's own target for the white.
func Default() Limits { return embedded("default") }

// Bench returns the limits that this project holds its own simulated displays
// to. They suit no display in use.
func Bench() Limits { return embedded("bench") }

// embedded reads a set that the tests have read before.
func embedded(name string) Limits {
	b, err := files.ReadFile("data/" + name + ".json")
	if err != nil {
		panic(err)
	}
	l, err := ReadLimits(bytes.NewReader(b))
	if err != nil {
		panic(err)
	}
	return l
}

// ReadLimits reads a set of limits, at most 1 MiB of JSON. An unknown field, an
// unknown version, a value that is no finite number and a limit that lacks
// its name, figure, source or sureness are errors that say which.
func ReadLimits(r io.Reader) (Limits, error) {
	var l Limits
	if err := keep.StrictJSON(r, &l, maxLimitsBytes); err != nil {
		return Limits{}, fmt.Errorf("verify: limits: %w", err)
	}
	if l.Version != limitsVersion {
		return Limits{}, fmt.Errorf("verify: limits have version %d; this program reads version %d", l.Version, limitsVersion)
	}
	if l.Name == "" {
		return Limits{}, fmt.Errorf("verify: the set of limits has no name; give it one, it is printed beside every verdict")
	}
	for i, m := range l.Limits {
		for _, f := range [...]struct{ field, value string }{{"name", m.Name}, {"figure", m.Figure}, {"source", m.Source}, {"sure", m.Sure}} {
			if strings.TrimSpace(f.value) == "" {
				return Limits{}, fmt.Errorf("verify: limit %d (%q) has no %s", i+1, m.Name, f.field)
			}
		}
		if math.IsNaN(m.Value) || math.IsInf(m.Value, 0) {
			return Limits{}, fmt.Errorf("verify: limit %d (%q) is not a number", i+1, m.Name)
		}
	}
	return l, nil
}

// Write writes l as ReadLimits reads it.
func (l Limits) Write(w io.Writer) error {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	return e.Encode(l)
}

// Under returns the limits whose figure is one of the given paths or lies
// below one: Under("profile_accuracy") judges a profile alone, where an aim is
// only compared.
func (l Limits) Under(paths ...string) Limits {
	kept := Limits{Version: l.Version, Name: l.Name}
	for _, m := range l.Limits {
		for _, p := range paths {
			if m.Figure == p || strings.HasPrefix(m.Figure, p+".") {
				kept.Limits = append(kept.Limits, m)
				break
			}
		}
	}
	return kept
}
