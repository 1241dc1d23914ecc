// Command sets compares ways to fill the space of colours with patches: how well
// a model that was fitted to each set predicts the colours of displays whose
// channels interact.
//
// It shows the generators of package chart, a Session without hardware, and
// fit.Residual.
package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"runtime"
	"strconv"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/examples/internal/cli"
)

const synopsis = `sets [options]

sets prints, for two simulated displays whose channels interact and for each way
to make a set of patches, how far a model fitted to readings of the set is from
what the display shows: ΔE00 relative to its white, in the mean, at 95 % and at
most of many colours that no set was made from, all of them medians over seeds.
Those colours are even in the volume of the display's gamut in CAM16-UCS.

All sets are of one size and begin with the same patches: ramps of white, red,
green and blue, and the corners of the signal cube. The rest are, by name: random
signals; signals of the Halton sequence; random, and sequences of Halton and
Sobol', even in CAM16-UCS; maximin and farthest-point sets, which keep their
distance there. The seed varies them, and the noise of the readings: 0.001 in x
and y, 0.5 % of Y and 0.005 cd/m² in X, Y and Z for one integration. The displays
are invented.

Exit status: 0 done, 2 bad input or use, 4 run or output failed, 130 interrupted.`

func main() { cli.Program{Name: "sets", Run: run}.Main() }

// displays are those that the sets are compared on.
var displays = []simulate.Example{simulate.CoupledLCD, simulate.SaggingPanel}

func run(ctx context.Context, args []string, std cli.IO) error {
	var s settings
	f := cli.NewFlags("sets", synopsis, std)
	f.Whole(&s.averages, "averages", 4, 1, 100, "`number` of integrations of a reading")
	f.Whole(&s.colours, "colours", 800, 20, 100000, "`number` of colours that a model is judged on")
	f.Whole(&s.levels, "levels", 8, 3, 40, "`number` of levels of the ramps that every set begins with")
	f.Whole(&s.seeds, "seeds", 20, 1, 1000, "`number` of seeds")
	f.Whole(&s.size, "size", 96, 24, 1000, "`number` of patches of a set")
	f.Whole(&s.workers, "workers", 0, 0, 1024, "`number` of sets at work at a time; 0 is one for each processor")
	if err := f.Parse(args); err != nil {
		return err
	}
	if n := len(s.start()); n >= s.size {
		return cli.Bad("ramps of %d levels and the corners are %d patches already; give more than that by -size, or fewer -levels", s.levels, n)
	}
	if s.workers == 0 {
		s.workers = runtime.GOMAXPROCS(0)
	}
	var rows []row
	for _, d := range displays {
		more, err := s.compare(ctx, d, kinds)
		if err != nil {
			return err
		}
		rows = append(rows, more...)
		best := more[0]
		for _, r := range more {
			if r.mean < best.mean {
				best = r
			}
		}
		fmt.Fprintf(std.Err, "%v: the smallest mean is that of %s, %.3f ΔE00\n", d, best.set, best.mean)
	}
	if err := write(std.Out, rows); err != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing the table: %w", err))
	}
	return nil
}

// write prints the table.
func write(w io.Writer, rows []row) error {
	out := csv.NewWriter(w)
	out.Write([]string{"display", "set", "patches", "mean_dE00", "p95_dE00", "max_dE00"})
	for _, r := range rows {
		line := []string{r.display, r.set, strconv.Itoa(r.patches)}
		for _, v := range []float64{r.mean, r.p95, r.most} {
			line = append(line, strconv.FormatFloat(v, 'f', 4, 64))
		}
		out.Write(line)
	}
	out.Flush()
	return out.Error()
}
