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

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
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
	var result *characterise.Result
	if o.readings != "" {
		result, err = o.fromReadings(ctx, show)
	} else {
		result, err = o.walk(ctx, folder, show)
	}
	show.Clear()
	if err != nil {
		return status(err)
	}
	return finish(o, folder, result, std)
}

// walk takes every stage on the simulated display.
func (o *options) walk(ctx context.Context, folder *cli.Folder, show *cli.Progress) (*characterise.Result, error) {
	spec, err := o.spec()
	if err != nil {
		return nil, err
	}
	digest, err := o.inputs.Digest(1, o.bits, o.patches, o.proof, o.icc, o.name, o.controls, o.correction, o.source, o.aim, o.given)
	if err != nil {
		return nil, err
	}
	journal, lines := folder.Journal()
	start, err := measure.StartOf(lines, o.start)
	if err != nil {
		return nil, err
	}
	display, err := simulate.New(spec, simulate.Options{Seed: o.seed, Start: start, Bits: o.bits, Cold: true, NoControls: o.controls == "none"})
	if err != nil {
		return nil, cli.Give(cli.BadInput, err)
	}
	for _, note := range spec.Notes {
		show.Line("Display: " + note)
	}
	sensitivities := display.Sensitivities()
	return characterise.Run(ctx, characterise.Setup{
		Measure: measure.Setup{
			Screen: display, Instrument: display.Colorimeter(), Reference: display.Spectroradiometer(),
			Controls: display, Clock: display.Clock(), Journal: journal, Replay: lines,
			Digest: digest, Seed: o.seed, Start: start,
			Progress: func(p measure.Progress) { show.Update(p.Stage, p.Done, p.Total, p.Left) },
		},
		Truth: display.Truth, Aim: o.aim, Given: o.given, NoControls: o.controls == "none",
		Correction: characterise.Correction{Kind: o.correction, Source: o.source, Sensitivities: &sensitivities},
		Patches:    o.patches, ProofPatches: o.proof, Profile: o.profile, Log: show.Line,
	})
}

// status tells an interrupt and bad input from a failed run.
func status(err error) error {
	var reach *characterise.ReachError
	var journal *measure.JournalError
	var input *chart.InputError
	switch {
	case errors.Is(err, context.Canceled):
		return fmt.Errorf("interrupted (%w); everything read so far is kept: the same command with -resume goes on from there", err)
	case errors.As(err, &reach), errors.As(err, &journal), errors.As(err, &input):
		return cli.Give(cli.BadInput, err)
	}
	return cli.Give(cli.RunFailure, err)
}

// finish judges the result, adds it to the history and writes the folder.
func finish(o *options, folder *cli.Folder, result *characterise.Result, std cli.IO) error {
	about := scenario
	if o.readings != "" || o.spectra != "" {
		about = ""
	}
	rep, err := report.FromRun(result, report.Options{Scenario: about})
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
	return cli.Judged(string(verify.Overall(rep.Verdicts)), folder.Path("report.html"))
}
