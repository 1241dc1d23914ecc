// Command difference prints how far apart the colours of two tables are, row by
// row, by any of the metrics of colorimetry/difference.
//
// It shows how colours are read, converted under a stated white, and compared:
// the metrics are in metrics.go, each one call of the library.
package main

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/verify"
)

func main() { cli.Program{Name: "difference", Run: run}.Main() }

func run(ctx context.Context, args []string, std cli.IO) error {
	o, err := parse(args, std)
	if err != nil {
		return err
	}
	var first, second table
	inputs := cli.Inputs{In: std.In}
	for _, in := range []struct {
		path string
		into *table
	}{{o.first, &first}, {o.second, &second}} {
		if err := inputs.Read(in.path, func(r io.Reader) error { return in.into.read(r) }); err != nil {
			return err
		}
	}
	if a, b := len(first.colours), len(second.colours); a != b {
		return cli.Bad("%s has %d colours and %s has %d; give two tables of the same length", o.first, a, o.second, b)
	}
	m, err := o.prepare(first.kind, second.kind)
	if err != nil {
		return err
	}
	if err := o.scale(first, second); err != nil {
		return err
	}
	values := make([]float64, len(first.colours))
	parts := make([]difference.Parts, len(first.colours))
	for i, a := range first.colours {
		if i%4096 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		b := second.colours[i]
		if values[i] = m.difference(a, b); o.parts {
			parts[i] = m.parts(a, b)
		}
	}
	if err := write(std.Out, values, parts, o.parts); err != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing the differences: %w", err))
	}
	summary(std.Err, o, m, values)
	return nil
}

// write prints one line a pair, at full precision.
func write(w io.Writer, values []float64, parts []difference.Parts, withParts bool) error {
	out := bufio.NewWriter(w)
	head := "difference"
	if withParts {
		head += ",lightness,chroma,hue,sl,sc,sh,rt"
	}
	fmt.Fprintln(out, head)
	var line []byte
	for i, v := range values {
		line = strconv.AppendFloat(line[:0], v, 'g', -1, 64)
		if withParts {
			for _, p := range []float64{parts[i].L, parts[i].C, parts[i].H, parts[i].SL, parts[i].SC, parts[i].SH, parts[i].RT} {
				line = strconv.AppendFloat(append(line, ','), p, 'g', -1, 64)
			}
		}
		out.Write(append(line, '\n'))
	}
	return out.Flush()
}

// summary says what was computed, under which conditions, and the statistics.
func summary(w io.Writer, o *options, m *metric, values []float64) {
	fmt.Fprintf(w, "%s: %s\n", o.metric, strings.Join(append([]string{m.says}, m.conditions...), "; "))
	known := make([]float64, 0, len(values))
	worst, none := 0, 0
	for i, v := range values {
		if math.IsNaN(v) {
			if none == 0 {
				none = i + 1
			}
			continue
		}
		known = append(known, v)
		if v > values[worst] || math.IsNaN(values[worst]) {
			worst = i
		}
	}
	if n := len(values) - len(known); n > 0 {
		fmt.Fprintf(w, "%d of %d pairs have none (printed NaN), the first in row %d: a colour is none, or outside the metric's domain\n", n, len(values), none)
	}
	if len(known) == 0 {
		return
	}
	s := verify.Summarise(known)
	fmt.Fprintf(w, "count %d, mean %.4f, median %.4f, 95th percentile %.4f, max %.4f (row %d)\n", s.Count, s.Mean, s.Median, s.P95, s.Max, worst+1)
}

// words prints a white as people write it.
func words(c colorimetry.XYZ) string { return fmt.Sprintf("%.6g,%.6g,%.6g", c.X, c.Y, c.Z) }
