// Command bench tries every kind of model, and the choice among them, on
// simulated displays of many kinds, and judges them on what the displays really
// show.
//
// It shows package simulate as the measuring stick of package fit.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"time"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit"
)

const synopsis = `bench [options]

bench fits every kind of model to readings of simulated displays and prints how
far each is from what the displays show without noise: on 1000 colours that are
even in the volume of the gamut in CAM16-UCS and that no set was made from, and
apart on 300 greys, 500 dark colours (L* below 20) and 500 on the surface of the
gamut. ΔE00 and ΔE*ab are relative to the display's white; each figure is the
median over the seeds, which vary patches and noise. "choice" is the kind that
fit.Best takes from the readings alone.

A reading is one integration of an instrument with the noise 0.001 in x and y,
0.5 % of Y and 0.005 cd/m² in X, Y and Z, and nothing else amiss. Averages count:
N readings are N/averages patches of the set that -set names, each read that
often.

Beside it stands how often truth lies within the limits of 95 % that the model
states for it, and a new reading within those and its own noise, on a quarter of
the colours: of X, Y and Z each / of the three together. The choice lapses where
its mean exceeds that of the best kind by 10 % or 0.03 ΔE00, whichever is more;
with 300 readings and more by 5 % or 0.02.

Exit status: 0 done, 2 bad input or use, 4 run or output failed or
no model fitted, 130 interrupted.`

func main() { cli.Program{Name: "bench", Run: run}.Main() }

// options are the command line.
type options struct {
	averages, seeds, workers           int
	csv, displays, json, kinds, n, set string
	targets                            bool
}

func run(ctx context.Context, args []string, std cli.IO) error {
	var o options
	f := cli.NewFlags("bench", synopsis, std)
	f.Whole(&o.averages, "averages", 1, 1, 100, "`number` of readings of a patch")
	f.StringVar(&o.csv, "csv", "", "`file` for the figures as CSV")
	f.StringVar(&o.displays, "displays", "all", "`names` of the displays, with commas: "+strings.Join(displayKeys(), ", ")+"; all are those before "+firstApart())
	f.StringVar(&o.json, "json", "", "`file` for the figures as JSON, seed by seed where they are means")
	f.StringVar(&o.kinds, "kinds", "all", "`parts` of the names of kinds of model, with commas; the names are "+modelNames())
	f.StringVar(&o.n, "n", "60,300", fmt.Sprintf("`numbers` of readings, with commas, %d to %d, and %d and more for each of -averages", leastReadings, mostReadings, leastReadings))
	f.Whole(&o.seeds, "seeds", 3, 1, 1000, "`number` of seeds")
	var names []string
	for _, d := range designs {
		names = append(names, d.name)
	}
	f.Choice(&o.set, "set", designs[0].name, "the set of patches", names...)
	f.BoolVar(&o.targets, "targets", false, "try what the targets speak of, and print them beside what was reached")
	f.Whole(&o.workers, "workers", 0, 0, 1024, "`number` of fits at work at a time; 0 is one for each processor")
	f.Exclude("the targets say how many readings", "targets", "n")
	if err := f.Parse(args); err != nil {
		return err
	}
	b, cells, err := o.plan()
	if err != nil {
		return err
	}
	progress := cli.NewProgress(std)
	b.progress = func(done, total int, left time.Duration) { progress.Update("sets of readings", done, total, left) }
	results, err := b.run(ctx, cells)
	progress.Clear()
	if err != nil {
		return err
	}
	if err := o.write(std.Out, b, results); err != nil {
		return err
	}
	if !slices.ContainsFunc(results, result.fitted) {
		return cli.Give(cli.RunFailure, errors.New("no model could be fitted at all; take more readings, or fewer averages of them"))
	}
	return nil
}

// plan returns what to run.
func (o *options) plan() (*bench, []cell, error) {
	kinds, err := pickDisplays(o.displays)
	if err != nil {
		return nil, nil, err
	}
	b := &bench{seeds: o.seeds, workers: o.workers}
	b.spend.averages = o.averages
	for _, d := range designs {
		if d.name == o.set {
			b.spend.design = d
		}
	}
	if b.workers == 0 {
		b.workers = runtime.GOMAXPROCS(0)
	}
	if b.models, err = pickModels(o.kinds); err != nil {
		return nil, nil, err
	}
	cells, err := o.cells(kinds)
	return b, cells, err
}

// cells returns the displays, each with the numbers of readings to try on it.
func (o *options) cells(kinds []kind) ([]cell, error) {
	var cells []cell
	if o.targets {
		cells = targetCells(kinds)
	} else {
		counts, err := numbers(o.n)
		if err != nil {
			return nil, err
		}
		for _, k := range kinds {
			for _, n := range counts {
				cells = append(cells, cell{k, n})
			}
		}
	}
	for _, c := range cells {
		if patches := c.readings / o.averages; patches < leastReadings {
			return nil, cli.Bad("-averages %d of %d readings leaves %s; no model is fitted to fewer than %d: take fewer averages or more readings", o.averages, c.readings, count(patches, "patch", "patches"), leastReadings)
		}
	}
	return cells, nil
}

// How few patches and how many of them package fit takes.
const leastReadings, mostReadings = 8, 3000

// count is a number with the word for what it counts.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// modelNames lists the names of the kinds of model, and of the choice.
func modelNames() string { return strings.Join(append(fit.Kinds(), choice), ", ") }

func displayKeys() []string {
	var keys []string
	for _, k := range displays {
		keys = append(keys, k.key)
	}
	return keys
}

// firstApart returns the first display that is tried only where it is named.
func firstApart() string {
	return displays[slices.IndexFunc(displays, func(k kind) bool { return k.apart })].key
}

// pickDisplays returns the displays that were named, "all" among them, in the
// order of the tables.
func pickDisplays(names string) ([]kind, error) {
	const every = "all"
	wanted := map[string]bool{}
	for _, name := range strings.Split(names, ",") {
		name = strings.TrimSpace(name)
		if name != every && !slices.Contains(displayKeys(), name) {
			return nil, cli.Bad("there is no display %q; there are %s", name, strings.Join(displayKeys(), ", "))
		}
		wanted[name] = true
	}
	var out []kind
	for _, k := range displays {
		if wanted[k.key] || wanted[every] && !k.apart {
			out = append(out, k)
		}
	}
	return out, nil
}

// pickModels returns the names of the models of which parts were given.
func pickModels(parts string) ([]string, error) {
	names := append(fit.Kinds(), choice)
	if parts == "all" {
		return names, nil
	}
	wanted := map[string]bool{}
	for _, part := range strings.Split(parts, ",") {
		part = strings.ToLower(strings.TrimSpace(part))
		found := false
		for _, name := range names {
			if part != "" && strings.Contains(strings.ToLower(name), part) {
				wanted[name], found = true, true
			}
		}
		if !found {
			return nil, cli.Bad("no kind of model has %q in its name; there are %s", part, modelNames())
		}
	}
	var out []string
	for _, name := range names {
		if wanted[name] {
			out = append(out, name)
		}
	}
	return out, nil
}

// numbers returns the numbers of a list.
func numbers(list string) ([]int, error) {
	var out []int
	for _, text := range strings.Split(list, ",") {
		n, err := strconv.Atoi(strings.TrimSpace(text))
		if err != nil || n < leastReadings || n > mostReadings {
			return nil, cli.Bad("-n %s: %q is no number of readings from %d to %d", list, text, leastReadings, mostReadings)
		}
		out = append(out, n)
	}
	slices.Sort(out)
	return slices.Compact(out), nil
}

// write prints the tables, which a file that cannot be written leaves unharmed, and
// writes the files.
func (o *options) write(w io.Writer, b *bench, results []result) error {
	var text strings.Builder
	fmt.Fprintf(&text, "Medians over %s; set %q, %s of a patch.\n", count(o.seeds, "seed", "seeds"), o.set, count(o.averages, "reading", "readings"))
	writeTables(&text, results)
	writeOverall(&text, results)
	if o.targets {
		writeTargets(&text, results)
	}
	if _, err := io.WriteString(w, text.String()); err != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing the tables: %w", err))
	}
	if err := cli.Save("csv", o.csv, func(w io.Writer) error { return o.writeCSV(w, results) }); err != nil {
		return err
	}
	return cli.Save("json", o.json, func(w io.Writer) error { return o.writeJSON(w, results) })
}
