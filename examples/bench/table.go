package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"example.org/primaries/fit"
)

// nameWidth is the room for a model's name in a table: the longest has it.
var nameWidth = utf8.RuneCountInString(slices.MaxFunc(append(fit.Kinds(), choice), func(a, b string) int {
	return cmp.Compare(utf8.RuneCountInString(a), utf8.RuneCountInString(b))
}))

// padded returns the name of a model or the head of its column in nameWidth
// characters.
func padded(name string) string {
	return name + strings.Repeat(" ", max(0, nameWidth-utf8.RuneCountInString(name)))
}

// writeTables prints two tables for each display, whose results are in a row.
func writeTables(w io.Writer, results []result) {
	for len(results) > 0 {
		g, n := results[0].ground, 1
		for n < len(results) && results[n].Display == g.key {
			n++
		}
		fmt.Fprintf(w, "\n%s: %s. A plain matrix misses it by %.2f ΔE00 in the mean, %.2f at most.\n\n",
			g.key, g.name, g.matrix.Mean, g.matrix.Max)
		writeErrors(w, results[:n])
		writeLimits(w, results[:n])
		writeChoice(w, results[:n])
		results = results[n:]
	}
}

// eachModel calls f for every model of a table with the head of its line; a
// model that was never fitted gets a line that says so.
func eachModel(w io.Writer, list []result, f func(m model) string) {
	for _, r := range list {
		for i, m := range r.Models {
			n := ""
			if i == 0 {
				n = fmt.Sprint(r.Readings)
			}
			line := "not fitted: " + m.Failure
			if len(m.Regions) > 0 {
				line = f(m)
			}
			fmt.Fprintf(w, "%5s %s %s\n", n, padded(m.Name), line)
		}
	}
	fmt.Fprintln(w)
}

// writeErrors prints ΔE00 region by region.
func writeErrors(w io.Writer, list []result) {
	fmt.Fprintf(w, "%5s %s", "", padded("ΔE00"))
	for _, name := range regionNames {
		fmt.Fprintf(w, "  %-17s", name)
	}
	fmt.Fprintf(w, "\n%5s %s%s\n", "N", padded("model"), strings.Repeat("   mean  95 %   max", regions))
	eachModel(w, list, func(m model) string {
		var b strings.Builder
		for _, name := range regionNames {
			f := m.Regions[name]
			fmt.Fprintf(&b, " %s %s %s", figure(f.Mean), figure(f.P95), figure(f.Max))
		}
		return b.String()
	})
}

// figure writes a difference in five characters.
func figure(v float64) string {
	switch {
	case v < 9.9995:
		return fmt.Sprintf("%5.3f", v)
	case v < 99.995:
		return fmt.Sprintf("%5.2f", v)
	}
	return fmt.Sprintf("%5.0f", v)
}

// limited are the regions whose shares within limits are printed.
var limited = []int{all, neutrals, dark}

// writeLimits prints ΔE*ab, and the shares within the limits of 95 %.
func writeLimits(w io.Writer, list []result) {
	head := fmt.Sprintf("%5s %s  %-11s  %-11s", "", padded("ΔE*ab; % within 95 %"), regionNames[all], regionNames[surface])
	for _, of := range []string{"truth:", "new reading:"} {
		head += "   " + of + strings.Repeat(" ", 3*9-3-len(of))
	}
	fmt.Fprintln(w, strings.TrimRight(head, " "))
	line := fmt.Sprintf("%5s %s   mean   max   mean   max ", "N", padded("model"))
	for range 2 {
		line += fmt.Sprintf("  %-8s %-8s %-8s", "all", "neutral", "dark")
	}
	fmt.Fprintln(w, strings.TrimRight(line, " "))
	eachModel(w, list, func(m model) string {
		var b strings.Builder
		for _, r := range []int{all, surface} {
			f := m.Regions[regionNames[r]]
			fmt.Fprintf(&b, "  %s %s", figure(f.MeanAB), figure(f.MaxAB))
		}
		b.WriteString(" ")
		for _, share := range []func(f figures) (float64, float64){
			func(f figures) (float64, float64) { return f.TruthComponents, f.TruthJointly },
			func(f figures) (float64, float64) { return f.ReadingComponents, f.ReadingJointly },
		} {
			for _, r := range limited {
				parts, whole := share(m.Regions[regionNames[r]])
				fmt.Fprintf(&b, " %3.0f/%3.0f ", 100*parts, 100*whole)
			}
			b.WriteString(" ")
		}
		return strings.TrimRight(b.String(), " ")
	})
}

// writeChoice prints what the choice took.
func writeChoice(w io.Writer, list []result) {
	for _, r := range list {
		if len(r.Chosen) == 0 {
			continue
		}
		times := map[string]int{}
		for _, name := range r.Chosen {
			times[cmp.Or(name, "none")]++
		}
		var names []string
		for name := range times {
			names = append(names, name)
		}
		slices.SortFunc(names, func(a, b string) int { return cmp.Or(times[b]-times[a], cmp.Compare(a, b)) })
		for i, name := range names {
			names[i] = fmt.Sprintf("%s %d×", name, times[name])
		}
		lapses := "no kind beside it"
		if r.Lapses != nil {
			lapses = fmt.Sprintf("lapses in %d of %s", *r.Lapses, count(len(r.Chosen), "seed", "seeds"))
		}
		fmt.Fprintf(w, "%5d chosen: %s; %s\n", r.Readings, strings.Join(names, ", "), lapses)
	}
}
