package main

import (
	"fmt"
	"io"
	"math"
)

// writeOverall prints, for each model, what all cells together say: the geometric
// means of its errors, so that every display counts alike, and the means of the
// shares within limits. Cells in which a model was never fitted are left out of
// its line; their number is given.
func writeOverall(w io.Writer, results []result) {
	fmt.Fprintf(w, "\n%s: geometric means of ΔE00 on all colours; %% within 95 %%\n\n", count(len(results), "cell", "cells together"))
	fmt.Fprintf(w, "      %s   mean  95 %%   max   truth     new reading  not fitted\n", padded("model"))
	for i, m := range results[0].Models {
		var sum figures
		cells := 0.0
		for _, r := range results {
			f, ok := r.Models[i].Regions[regionNames[all]]
			if !ok {
				continue
			}
			cells++
			for k, v := range f.fields() {
				if k < errorFields {
					*v = math.Log(*v)
				}
				*sum.fields()[k] += *v
			}
		}
		for k, v := range sum.fields() {
			if *v /= cells; k < errorFields {
				*v = math.Exp(*v)
			}
		}
		line := "never fitted"
		if cells > 0 {
			line = fmt.Sprintf(" %s %s %s  %3.0f/%3.0f     %3.0f/%3.0f      %5d", figure(sum.Mean), figure(sum.P95), figure(sum.Max),
				100*sum.TruthComponents, 100*sum.TruthJointly, 100*sum.ReadingComponents, 100*sum.ReadingJointly, len(results)-int(cells))
		}
		fmt.Fprintf(w, "      %s %s\n", padded(m.Name), line)
	}
	lapses, of := 0, 0
	for _, r := range results {
		if r.Lapses != nil {
			lapses, of = lapses+*r.Lapses, of+len(r.Chosen)
		}
	}
	if of > 0 {
		fmt.Fprintf(w, "\nThe choice lapses in %d of %s.\n", lapses, count(of, "cell and seed", "cells and seeds"))
	}
}
