// Command study tells how well an instrument repeats itself, from the journal of
// a run or from greys that it reads on a simulated display.
//
// It shows measure.ReadJournal, a Session without hardware, and
// measure.Repeatability.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
)

const synopsis = `study [options] [JOURNAL]

study prints, for every signal that an instrument read, how far its integrations
lie apart (repeat) and how far readings of the signal do (reproduce): standard
deviations of one integration in cd/m², and mean ΔE00 relative to the brightest
signal. What the readings cannot tell is left empty. Standard error tells the
noise that explains the repeats best, with the uncertainty of its figures.

JOURNAL is journal.jsonl of a run. Of its readings those count that the instrument
took through the curves that were in force most often, after the display had
warmed up and its controls were set. Without a journal greys are read on a
simulated display, whose instrument is invented.

Exit status: 0 done, 2 bad input or use, 4 output failed, 130 interrupted.`

func main() { cli.Program{Name: "study", Run: run}.Main() }

func run(ctx context.Context, args []string, std cli.IO) error {
	var integrations, levels, readings, seed int
	f := cli.NewFlags("study", synopsis, std)
	f.Whole(&integrations, "integrations", 6, 2, 100, "without a journal: `number` of integrations of each reading")
	f.Whole(&levels, "levels", 12, 3, 100, "without a journal: `number` of greys")
	f.Whole(&readings, "readings", 5, 1, 100, "without a journal: `number` of times that each grey is read")
	f.Whole(&seed, "seed", 1, 0, 1<<31-1, "without a journal: `number` that varies the simulated noise")
	files, err := f.ParseAny(args)
	if err != nil {
		return err
	}
	var taken []measure.Reading
	switch len(files) {
	case 0:
		taken, err = simulated(ctx, levels, readings, integrations, uint64(seed))
	case 1:
		inputs := cli.Inputs{In: std.In}
		err = inputs.Read(files[0], func(r io.Reader) (err error) { taken, err = journal(r); return err })
	default:
		return cli.Bad("%d files are named; give one journal or none", len(files))
	}
	if err != nil {
		return err
	}
	state := inOneState(taken)
	if n := len(taken) - len(state); n > 0 {
		fmt.Fprintf(std.Err, "%d of %d readings were taken in other states of the display, or by another instrument, and are left out\n", n, len(taken))
	}
	s, err := measure.Repeatability(state)
	if err != nil {
		return cli.Give(cli.BadInput, err)
	}
	if err := write(std.Out, s); err != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing the study: %w", err))
	}
	n, u := s.Noise, s.Uncertainty
	fmt.Fprintf(std.Err, "one integration: %.5f ± %.5f in x and y, %.2f ± %.2f %% of Y, and %.4g ± %.2g cd/m²\n",
		n.Chromaticity, u.Chromaticity, 100*n.Luminance, 100*u.Luminance, n.FloorCdM2, u.FloorCdM2)
	return nil
}

// inOneState keeps the readings of the state that most were taken in.
func inOneState(all []measure.Reading) []measure.Reading {
	by := map[string][]measure.Reading{}
	var most string
	for _, r := range all {
		if r.Channel == measure.ChannelReference || r.Stage == measure.StageWarmUp || r.Stage == measure.StageControls {
			continue
		}
		by[r.Curves] = append(by[r.Curves], r)
		if len(by[r.Curves]) > len(by[most]) {
			most = r.Curves
		}
	}
	return by[most]
}

// maxJournal bounds a journal's lines, and a line.
const (
	maxJournal = 1 << 20
	maxLine    = 1 << 20
)

// journal returns the readings of a journal.
func journal(r io.Reader) ([]measure.Reading, error) {
	var lines [][]byte
	in := bufio.NewScanner(r)
	in.Buffer(nil, maxLine)
	for in.Scan() {
		if len(lines) == maxJournal {
			return nil, fmt.Errorf("more than %d lines", maxJournal)
		}
		lines = append(lines, append([]byte(nil), in.Bytes()...))
	}
	if err := in.Err(); err != nil {
		return nil, err
	}
	record, err := measure.ReadJournal(lines)
	return record.Readings, err
}

// simulated reads greys over and over, a round of all after another, so that
// what drifts shows between readings and not within them.
func simulated(ctx context.Context, levels, readings, integrations int, seed uint64) ([]measure.Reading, error) {
	start := time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)
	display := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: seed, Start: start})
	s, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: display.Colorimeter(), Clock: display.Clock(), Seed: seed, Start: start, RunID: "study"})
	if err != nil {
		return nil, err
	}
	var out []measure.Reading
	for range readings {
		for _, p := range chart.Number(chart.Ramp(colorimetry.Gray(1), levels), "g") {
			r, err := s.Read(ctx, measure.ReadRequest{Stage: "study", Patch: p, Averages: integrations})
			if err != nil {
				return nil, err
			}
			out = append(out, r)
		}
	}
	return out, s.Close(ctx)
}

// write prints a line a level.
func write(w io.Writer, s measure.Study) error {
	out := csv.NewWriter(w)
	out.Write([]string{"R", "G", "B", "X", "Y", "Z", "readings", "integrations",
		"repeat_X", "repeat_Y", "repeat_Z", "reproduce_X", "reproduce_Y", "reproduce_Z", "repeat_dE00", "reproduce_dE00"})
	text := func(v float64) string {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return ""
		}
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	for _, l := range s.Levels {
		row := []string{text(l.Signal.R), text(l.Signal.G), text(l.Signal.B), text(l.Mean.X), text(l.Mean.Y), text(l.Mean.Z), strconv.Itoa(l.Readings), strconv.Itoa(l.Integrations)}
		for _, v := range []float64{l.Repeat.X, l.Repeat.Y, l.Repeat.Z, l.Reproduce.X, l.Reproduce.Y, l.Reproduce.Z} {
			row = append(row, text(v))
		}
		out.Write(append(row, text(l.RepeatDE), text(l.ReproduceDE)))
	}
	out.Flush()
	return out.Error()
}
