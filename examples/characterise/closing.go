package main

import (
	"fmt"
	"io"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify/report"
)

// writeClosing writes what nobody should have to look for in a full last screen:
// how well the profile tells the truth, and what to load.
func writeClosing(w io.Writer, rep *report.Report, result *characterise.Result) error {
	if a := rep.ProfileAccuracy.Relative; a.DeltaE2000.Count > 0 {
		if _, err := fmt.Fprintf(w, "Profile: ΔE00 mean %.2f, max %.2f; %s %s, %d patches\n",
			a.DeltaE2000.Mean, a.DeltaE2000.Max, a.Reference, a.Basis, a.DeltaE2000.Count); err != nil {
			return err
		}
	}
	load := result.Profile.FileName
	curves := result.InForce.Len() > 0
	switch table := result.HardwareTable != nil; {
	case table && curves:
		load += " with its curves, or table.clf without any; never both"
	case table:
		load += " or table.clf; never both"
	case curves:
		load += " with its curves"
	}
	_, err := fmt.Fprintln(w, "Load: "+cli.Printable(load))
	return err
}
