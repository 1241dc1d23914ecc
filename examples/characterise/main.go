// Command characterise does the whole job on a simulated display made from a
// real one's measurements, on a real display and instrument, or on readings
// that somebody brings: warm up, correct the instrument, set the controls, make
// correction curves, measure, fit, write a profile, prove it, and report.
//
// It shows how an application is built on the library: the walk is
// fit/characterise, judging is verify, the files are chart/keep's.
package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify"
	"example.org/primaries/verify/history"
	"example.org/primaries/verify/report"
)

func main() {
	cli.Program{Name: "characterise", Run: run, Kept: "what was read is kept: -resume goes on"}.Main()
}

func run(ctx context.Context, args []string, std cli.IO) error {
	o, err := parse(args, std)
	if err != nil {
		return err
	}
	folder, err := cli.OpenFolder(o.out, cli.FolderOptions{
		Force: o.force, Resume: o.resume, Last: report.LastFile, Same: o.same, Notes: std.Err,
	})
	if err != nil {
		return err
	}
	defer folder.Close()
	if err := cmp.Or(history.Check(o.history), cli.Save("save-aim", o.saveAim, o.aim.Write)); err != nil {
		return cli.Give(cli.BadInput, err)
	}
	show := cli.NewProgress(std)
	work := o.walk
	if o.readings != "" {
		work = o.fromReadings
	}
	result, err := work(ctx, folder, std, show)
	show.Clear()
	if err != nil {
		return status(folder, err)
	}
	return finish(o, folder, result, std)
}

// same reports whether a journal's first line is of a run with these options.
func (o *options) same(line []byte) bool {
	if o.readings != "" {
		digest, err := cli.WithoutDigest(line)
		return err == nil && digest == o.withSeed()
	}
	record, err := measure.ReadJournal([][]byte{line})
	return err == nil && record.Header.Digest == o.digest && record.Header.Seed == o.seed
}

// withSeed is the digest of a run on readings, which has no other place for the
// seed.
func (o *options) withSeed() string { return fmt.Sprintf("%s seed %d", o.digest, o.seed) }

// walk takes every stage, on the simulated display or on real devices.
func (o *options) walk(ctx context.Context, folder *cli.Folder, std cli.IO, show *cli.Progress) (_ *characterise.Result, err error) {
	journal, lines, err := folder.Begin()
	if err != nil {
		return nil, err
	}
	var d *devices
	if o.real() {
		d, err = o.connect(ctx, std, show)
	} else {
		var start time.Time
		if start, err = measure.StartOf(lines, o.start); err == nil {
			d, err = o.simulate(start)
		}
	}
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, d.close()) }()
	if o.spectra != "" {
		show.Line("Display: " + strings.Join(o.display.Notes, "; "))
	}
	d.Journal, d.Replay, d.Digest, d.Seed = journal, lines, o.digest, o.seed
	d.Progress = func(p measure.Progress) { show.Update(part(p), p.Done, p.Total, p.Left) }
	return characterise.Run(ctx, characterise.Setup{
		Measure: d.Setup, Before: d.before(show), After: o.after(d, folder, show),
		Truth: d.truth, Aim: o.aim, Given: o.given, NoControls: o.controls == "none",
		Correction: o.corrects(d), Plan: o.plan(), Earlier: o.earlierRun, HardwareTable: o.hardwareTable(),
		Patches: o.patches, ProofPatches: o.proof, Profile: o.profile, Log: show.Line,
	})
}

// part names what p counts the readings of: the stage or, of the curves, a pass.
func part(p measure.Progress) string {
	if p.Stage == measure.StageCurves && p.Text != "" {
		return p.Stage + ", " + p.Text
	}
	return p.Stage
}

// fromReadings does what can be done with the user's own readings. The folder
// stays as it was until they turn out to be of use.
func (o *options) fromReadings(ctx context.Context, folder *cli.Folder, _ cli.IO, show *cli.Progress) (*characterise.Result, error) {
	in := o.brought
	in.Start, in.Log = o.start, show.Line
	result, err := characterise.FromReadings(ctx, in)
	if ctx.Err() != nil {
		return nil, ctx.Err()
	}
	if err != nil {
		return nil, cli.Bad("%s: %w", o.readings, err)
	}
	id, start, err := folder.BeginWithout(o.withSeed(), o.start)
	if err == nil && !start.Equal(o.start) { // it goes on with an earlier run
		in.Start = start
		result, err = characterise.FromReadings(ctx, in)
	}
	if err != nil {
		return nil, err
	}
	result.RunID = id
	return result, nil
}

// status tells an interrupt and bad input from a failed run.
func status(folder *cli.Folder, err error) error {
	var reach *characterise.ReachError
	var journal *measure.JournalError
	switch {
	case errors.Is(err, context.Canceled):
		return err
	case errors.As(err, &reach), errors.Is(err, characterise.ErrName), errors.Is(err, characterise.ErrOtherDisplay), errors.Is(err, mismatch.ErrOtherInstrument): // no -resume would change that
		return cli.Give(cli.BadInput, errors.Join(err, folder.Discard()))
	case errors.As(err, &journal):
		return cli.Bad("%s: %w", folder.Path(cli.JournalFile), err)
	}
	return cli.Give(cli.RunFailure, err)
}

// finish judges the result, adds it to the history and writes the folder.
func finish(o *options, folder *cli.Folder, result *characterise.Result, std cli.IO) error {
	rep, err := report.FromRun(result, report.Options{Scenario: o.scenario})
	if err != nil {
		return err
	}
	if err := rep.Remember(o.history); err != nil {
		return cli.Bad("%w; the readings are kept: -resume goes on", err)
	}
	for _, f := range rep.Output(result) {
		if err := folder.Write(f.Name, f.Write); err != nil {
			return err
		}
	}
	return cmp.Or(report.WriteText(std.Out, rep), cli.Judged(string(verify.Overall(rep.Verdicts)), folder.Path("report.html")))
}
