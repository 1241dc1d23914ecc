package main

import (
	"fmt"
	"io"
	"math"
	"slices"
)

// target is a line of what the choice should reach.
type target struct {
	what     string
	readings int
	region   int
	unit     string
	most     float64
	figure   func(figures) float64
	holds    func(kind) bool // for which displays
	// published is the figure that gave orientation, and its source; "" is none.
	published string
}

func mean(f figures) float64   { return f.Mean }
func p95(f figures) float64    { return f.P95 }
func most(f figures) float64   { return f.Max }
func meanAB(f figures) float64 { return f.MeanAB }
func mostAB(f figures) float64 { return f.MaxAB }

func called(keys ...string) func(kind) bool {
	return func(k kind) bool { return slices.Contains(keys, k.key) }
}

var measured = called("measured-oled", "measured-lcd", "measured-crt")

// Published figures that gave orientation.
const (
	day      = "0.1 to 0.4: Day, Taplin and Berns 2004, doi:10.1002/col.20046"
	wu       = "0.34: Wu, Wei, Yang and Wang 2023, doi:10.1002/col.22875"
	wen      = "about 2.0: Wen and Wu 2006, doi:10.1002/col.20187"
	poljicak = "0.87: Poljičak et al. 2016"
)

// targets are all lines.
var targets = []target{
	{"smooth additive, mean", 60, all, "ΔE00", 0.12, mean, called("smooth"), day},
	{"smooth additive, 95 %", 60, all, "ΔE00", 0.35, p95, called("smooth"), ""},
	{"smooth additive, max", 60, all, "ΔE00", 0.8, most, called("smooth"), ""},
	{"measured, mean", 60, all, "ΔE00", 0.35, mean, measured, ""},
	{"measured, 95 %", 60, all, "ΔE00", 0.9, p95, measured, ""},
	{"measured, max", 300, all, "ΔE00", 0.8, most, measured, ""},
	{"crosstalking, mean", 64, all, "ΔE00", 0.34, mean, called("crosstalk"), wu},
	{"crosstalking, 95 %", 64, all, "ΔE00", 1.0, p95, called("crosstalk"), ""},
	{"crosstalking, mean", 300, all, "ΔE00", 0.20, mean, called("crosstalk"), ""},
	{"interacting LCD, mean", 49, all, "ΔE*ab", 0.8, meanAB, called("crossing"), wen},
	{"surface, additive, max", 300, surface, "ΔE*ab", 0.8, mostAB, func(k kind) bool { return !k.interacts }, poljicak},
	{"surface, interacting, max", 300, surface, "ΔE*ab", 1.5, mostAB, func(k kind) bool { return k.interacts }, poljicak},
}

// targetCells returns the cells that the targets speak of.
func targetCells(kinds []kind) []cell {
	var cells []cell
	for _, k := range kinds {
		var counts []int
		for _, t := range targets {
			if t.holds(k) {
				counts = append(counts, t.readings)
			}
		}
		slices.Sort(counts)
		for _, n := range slices.Compact(counts) {
			cells = append(cells, cell{k, n})
		}
	}
	return cells
}

// writeTargets prints the targets beside what the choice and the best kind
// reached.
func writeTargets(w io.Writer, results []result) {
	fmt.Fprint(w, "\nTargets: published figures are those of real panels, judged by noisy instruments on\n"+
		"few colours; ours are simulations, judged on what they truly show.\n\n")
	fmt.Fprintf(w, "%-27s %4s %-14s %-6s %7s  %-14s %s\n", "target", "N", "display", "", "at most", "choice", "best kind")
	for _, t := range targets {
		tried := false
		for _, r := range results {
			if r.Readings == t.readings && t.holds(r.ground.kind) {
				t.write(w, r)
				tried = true
			}
		}
		if tried && t.published != "" {
			fmt.Fprintf(w, "    published: %s\n", t.published)
		}
	}
}

// write prints one target of one display.
func (t target) write(w io.Writer, r result) {
	chosen, best, name := math.NaN(), math.Inf(1), ""
	for _, m := range r.Models {
		f, ok := m.Regions[regionNames[t.region]]
		if !ok {
			continue
		}
		if v := t.figure(f); m.Name == choice {
			chosen = v
		} else if v < best {
			best, name = v, m.Name
		}
	}
	reached, kindReached := "not tried", "not tried"
	if !math.IsNaN(chosen) {
		reached = verdict(chosen, t.most)
	}
	if name != "" {
		kindReached = verdict(best, t.most) + ": " + name
	}
	fmt.Fprintf(w, "%-27s %4d %-14s %-6s %7.2f  %-14s %s\n", t.what, t.readings, r.Display, t.unit, t.most, reached, kindReached)
}

// verdict writes a figure and whether it is within its limit.
func verdict(v, most float64) string {
	if v <= most {
		return figure(v) + " met"
	}
	return figure(v) + " missed"
}
