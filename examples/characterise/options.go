package main

import (
	"cmp"
	"context"
	"io"
	"path/filepath"
	"time"

	"example.org/primaries/chart/keep"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
)

const synopsis = `characterise walks the whole way from a cold display to a proven profile.

Without options it does so on a simulated display made from the measured
spectra and tone of a real one. With -readings it works on readings that you
already have and adjusts nothing. Results go into the folder named by -out.

Exit status: 0 done, 1 judged and failed, 2 bad input or use, 3 undecided,
4 device, disk or run failure, 130 interrupted.`

// options are the command line, read and checked.
type options struct {
	out, history                  string
	force, resume                 bool
	seed                          uint64
	start                         time.Time
	bits, patches, proof          int
	icc, controls, correction     string
	source, name, spectra, tones  string
	readings, verify, curves, xyz string
	aimFile, saveAim              string
	signalMax, share              float64
	aim                           aim.Aim
	given                         characterise.Given
	profile                       profile.Options
	inputs                        cli.Inputs
}

// parse reads the command line. Every error is one sentence and bad use.
func parse(args []string, std cli.IO) (*options, error) {
	o := &options{}
	var words aim.Words
	f := cli.NewFlags("characterise", synopsis, std)
	f.StringVar(&o.aimFile, "aim", "", "saved aim to follow (JSON `file`); single values below change it")
	f.Whole(&o.bits, "bits", 10, 8, 16, "depth of the simulated path in `bits` a channel")
	f.StringVar(&words.Black, "black", "native", "luminance of black in `cd/m²`, or native")
	f.Choice(&words.Policy, "black-policy", "stretch", "what the tone does above a black that is not dark", "stretch", "lift")
	f.Choice(&o.controls, "controls", "guided", "the display's own controls", "guided", "none")
	f.Choice(&o.correction, "correction", characterise.FromPairs, "what corrects the instrument", characterise.FromPairs, characterise.FromSource, characterise.Uncorrected)
	f.StringVar(&o.curves, "curves", "", "with -readings: the curves that were in force (CSV `file`)")
	f.StringVar(&o.name, "display-name", "", "`name` of the display, for the report and the profile's file")
	f.StringVar(&o.spectra, "display-spectra", "", "measured primaries (CSV `file`: wavelength_nm,R,G,B in W/sr/m²/nm)")
	f.StringVar(&o.tones, "display-tones", "", "measured tone (CSV `file`: input_level,R,G,B, relative light)")
	f.BoolVar(&o.force, "force", false, "replace an earlier result")
	f.StringVar(&o.history, "history", "", "history `file` (default history.jsonl beside -out)")
	f.Choice(&o.icc, "icc", "4", "version of the profile", "2", "4")
	f.StringVar(&words.Luminance, "luminance", "100", "luminance of white in `cd/m²`, or native")
	f.StringVar(&o.out, "out", "characterised", "`folder` of the results")
	f.Whole(&o.patches, "patches", 175, 40, 5000, "patches of the chart, a `number`")
	f.Whole(&o.proof, "proof", 120, 100, 2000, "patches of the proof, a `number`")
	f.StringVar(&o.readings, "readings", "", "work on these readings (CSV or CGATS.17 `file`)")
	f.BoolVar(&o.resume, "resume", false, "go on with the run in -out")
	f.StringVar(&o.saveAim, "save-aim", "", "save the aim to this `file` as well")
	f.Uint64Var(&o.seed, "seed", 1, "`number` that fixes noise and choice of patches")
	f.Number(&o.share, "share", 0.2, 0.01, 0.5, "with -readings and no -verify: `share` held back for the proof")
	f.Number(&o.signalMax, "signal-max", 0, 0, 65535, "with -readings: `number` that stands for full signal; 0 is 1, or what the file says")
	f.StringVar(&o.source, "source", "", "with -correction source: `key` of the panel's light source (default unknown)")
	f.Moment(&o.start, "start", "`time` at which the run starts, as RFC 3339 (default now)")
	f.StringVar(&words.Tone, "tone", "power 2.2", "`tone` of the greys: a power such as 2.2, srgb, lstar or bt1886")
	f.StringVar(&o.verify, "verify", "", "with -readings: independent readings for the proof (CSV or CGATS.17 `file`)")
	f.StringVar(&words.White, "white", "D65", "`white`: D50, D55, D65, D75, a colour temperature, x,y or native")
	f.Choice(&o.xyz, "xyz", "absolute", "with -readings: what X, Y and Z are", "absolute", "relative")
	f.Exclude("readings", "display-spectra", "readings come from one display, not from two")
	f.Exclude("readings", "display-tones", "readings come from one display, not from two")
	f.Exclude("force", "resume", "one begins anew, the other goes on")
	f.Need("readings", "curves", "share", "signal-max", "verify", "xyz")
	f.Need("display-spectra", "display-tones")
	f.Need("display-tones", "display-spectra")
	if err := f.Parse(args); err != nil {
		return nil, err
	}
	if o.history == "" {
		o.history = filepath.Join(filepath.Dir(filepath.Clean(o.out)), "history.jsonl")
	}
	if o.icc == "2" {
		o.profile.Version = profile.V2
	}
	if o.start.IsZero() {
		o.start = time.Now().UTC().Truncate(time.Second)
	}
	return o, o.readAim(words, f.Given())
}

// readAim puts the aim together: the saved one, or the defaults, and the
// single values that were given.
func (o *options) readAim(words aim.Words, given map[string]bool) error {
	saved := o.aimFile != ""
	if saved {
		if err := o.inputs.Read(o.aimFile, func(r io.Reader) (err error) { o.aim, err = aim.Read(r); return err }); err != nil {
			return err
		}
		words = words.Only(func(part string) bool { return given[part] })
	} else if o.readings != "" && !given["luminance"] {
		words.Luminance = "native" // readings are only compared: their own luminance will do
	}
	o.given = characterise.Given{White: saved || given["white"], Luminance: saved || given["luminance"], Black: saved || given["black"]}
	var err error
	if o.aim, err = o.aim.With(words); err != nil {
		return cli.Give(cli.BadInput, err)
	}
	if o.saveAim == "" {
		return nil
	}
	return cli.Give(cli.BadInput, keep.ReplaceFile(o.saveAim, o.aim.Write))
}

// spec returns the display to work on.
func (o *options) spec() (simulate.Spec, error) {
	spec := simulate.ReferenceOLED.Spec()
	if o.spectra != "" {
		err := o.inputs.Read(o.spectra, func(spectra io.Reader) error {
			return o.inputs.Read(o.tones, func(tones io.Reader) (err error) {
				spec, err = simulate.ReadSpec(spectra, tones, "measured display")
				return err
			})
		})
		if err != nil {
			return spec, err
		}
	}
	spec.Name = cmp.Or(o.name, spec.Name)
	return spec, nil
}

// fromReadings does what can be done with the user's own readings.
func (o *options) fromReadings(ctx context.Context, show *cli.Progress) (*characterise.Result, error) {
	in := characterise.Brought{
		HoldBack: o.share, Relative: o.xyz == "relative", Seed: o.seed, Start: o.start, Aim: o.aim, Log: show.Line,
		Screen: measure.ScreenInfo{Name: cmp.Or(o.name, "display"), Mode: "native"}, Profile: o.profile,
	}
	var err error
	table := func(path string, to *[]measure.Reading) {
		if path == "" || err != nil {
			return
		}
		err = o.inputs.Read(path, func(r io.Reader) error {
			readings, warnings, err := characterise.ReadTable(r, path, o.signalMax, in.Relative)
			*to, in.Warnings = readings, append(in.Warnings, warnings...)
			return err
		})
	}
	table(o.readings, &in.Readings)
	table(o.verify, &in.Verify)
	if o.curves != "" && err == nil {
		err = o.inputs.Read(o.curves, func(r io.Reader) (err error) { in.InForce, err = tone.ReadCSV(r); return err })
	}
	if err != nil {
		return nil, err
	}
	if in.RunID, err = o.inputs.Digest("readings", o.out, in.Start); err != nil {
		return nil, err
	}
	return characterise.FromReadings(ctx, in)
}
