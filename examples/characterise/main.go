// Command characterise does the whole job on a simulated display made from a
// real one's measurements, or on readings that somebody brings: warm up,
// correct the instrument, set the controls, make correction curves, measure,
// fit, write a profile, prove it, and report.
//
// It shows how an application is built on the library: the walk is
// fit/characterise, judging is verify, the files are chart/keep's.
package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify"
	"example.org/primaries/verify/report"
)

// scenario is what the built-in display stands for.
const scenario = "Invented for this example: a print studio prepares a travelling exhibition of textile photographs and judges " +
	"its proofs on this display. The display's primary spectra and tone are a real one's, measured and published; everything around them is made up."

func main() { cli.Main("characterise", run) }

func run(ctx context.Context, args []string, std cli.IO) error {
	o, err := parse(args, std)
	if err != nil {
		return err
	}
	folder, err := cli.OpenFolder(o.out, cli.FolderOptions{Force: o.force, Resume: o.resume, Last: report.LastFile})
	if errors.Is(err, cli.ErrFinished) {
		fmt.Fprintf(std.Err, "The run in %s is finished; nothing was changed.\n", o.out)
		return nil
	}
	if err != nil {
		return err
	}
	defer folder.Close()
	show := cli.NewProgress(std)
	result, err := work(ctx, o, folder, show)
	show.Clear()
	if errors.Is(err, context.Canceled) {
		return fmt.Errorf("interrupted (%w); everything read so far is kept: the same command with -resume goes on from there", err)
	}
	if err != nil {
		return status(err)
	}
	return finish(o, folder, result, std)
}

// work does the job, on the user's readings or on a display.
func work(ctx context.Context, o *options, folder *cli.Folder, show *cli.Progress) (*characterise.Result, error) {
	if o.readings != "" {
		brought, err := o.brought()
		if err != nil {
			return nil, err
		}
		brought.Log = show.Line
		return characterise.FromReadings(ctx, brought)
	}
	journal, lines := folder.Journal()
	start, err := startOf(o, lines)
	if err != nil {
		return nil, err
	}
	display, err := o.display(start)
	if err != nil {
		return nil, err
	}
	sensitivities := display.Sensitivities()
	setup := characterise.Setup{
		Measure: measure.Setup{
			Screen: display, Instrument: display.Colorimeter(), Reference: display.Spectroradiometer(),
			Controls: display, Clock: display.Clock(), Journal: journal, Replay: lines,
			Digest: o.digest(), Seed: o.seed, Start: start,
			Progress: func(p measure.Progress) { show.Update(p.Stage, p.Done, p.Total, p.Left) },
		},
		Truth: display.Truth, Aim: o.aim, Given: o.given, NoControls: o.controls == "none",
		Correction: characterise.Correction{Kind: o.correction, Source: o.source, Sensitivities: &sensitivities},
		Patches:    o.patches, ProofPatches: o.proof, Profile: o.profile(), Log: show.Line,
	}
	for _, c := range characterise.Checklist(display.Screen(), setup.Measure.Instrument.Instrument()) {
		show.Line("[" + c.State + "] " + c.Text)
	}
	result, err := characterise.Run(ctx, setup)
	if err != nil {
		return nil, err
	}
	result.Warnings = append(display.Spec().Notes, result.Warnings...)
	return result, nil
}

// startOf returns when the run begins: as given, as its journal says, or now.
func startOf(o *options, lines [][]byte) (time.Time, error) {
	record, err := measure.ReadJournal(lines)
	if err != nil {
		return time.Time{}, err
	}
	switch {
	case !o.start.IsZero():
		return o.start, nil
	case !record.Header.Start.IsZero():
		return record.Header.Start, nil
	}
	return time.Now().UTC().Truncate(time.Second), nil
}

// status tells bad input from a failed run.
func status(err error) error {
	var reach *characterise.ReachError
	var journal *measure.JournalError
	var input *chart.InputError
	if errors.As(err, &reach) || errors.As(err, &journal) || errors.As(err, &input) {
		return cli.Give(cli.BadInput, err)
	}
	return cli.Give(cli.RunFailure, err)
}

// finish judges the result, adds it to the history and writes the folder.
func finish(o *options, folder *cli.Folder, result *characterise.Result, std cli.IO) error {
	rep, err := report.FromRun(result, report.Options{Scenario: o.scenario()})
	if err != nil {
		return err
	}
	if err := rep.Remember(o.history); err != nil {
		return cli.Give(cli.BadInput, err)
	}
	for _, f := range rep.Output(result) {
		if err := folder.Write(f.Name, f.Write); err != nil {
			return err
		}
	}
	if err := report.WriteText(std.Out, rep); err != nil {
		return err
	}
	switch verify.Overall(rep.Verdicts) {
	case verify.Failed:
		return cli.Give(cli.Failed, fmt.Errorf("judged and failed: %s says what", folder.Path("report.html")))
	case verify.Undecided:
		return cli.Give(cli.Undecided, fmt.Errorf("undecided, since the readings' noise leaves a limit open: %s says which", folder.Path("report.html")))
	}
	return nil
}
