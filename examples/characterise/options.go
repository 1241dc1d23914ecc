package main

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
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
	out, history                 string
	force, resume                bool
	seed                         uint64
	start                        time.Time
	bits, patches, proof         int
	icc, controls, correction    string
	source, name, spectra, tones string
	readings, verify             string
	curves, xyz                  string
	signalMax, share             float64
	aim                          aim.Aim
	given                        characterise.Given
	inputs                       []string // digests of the files read
}

// parse reads the command line. Every error is one sentence and bad use.
func parse(args []string, std cli.IO) (*options, error) {
	o := &options{}
	var aimFile, saveAim string
	var words aim.Words
	f := cli.NewFlags("characterise", synopsis, std)
	f.StringVar(&aimFile, "aim", "", "saved aim to follow (JSON `file`); single values below change it")
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
	f.StringVar(&saveAim, "save-aim", "", "save the aim to this `file` as well")
	f.Uint64Var(&o.seed, "seed", 1, "`number` that fixes noise and choice of patches")
	f.Float64Var(&o.share, "share", 0.2, "with -readings and no -verify: `share` held back for the proof, up to 0.5")
	f.Float64Var(&o.signalMax, "signal-max", 0, "with -readings: `number` that stands for full signal (default 1, or what the file says)")
	f.StringVar(&o.source, "source", "", "with -correction source: `key` of the panel's light source (default unknown)")
	f.Moment(&o.start, "start", "`time` at which the run starts, as RFC 3339 (default now)")
	f.StringVar(&words.Tone, "tone", "power 2.2", "`tone` of the greys: a power such as 2.2, srgb, lstar or bt1886")
	f.StringVar(&o.verify, "verify", "", "with -readings: independent readings for the proof (CSV or CGATS.17 `file`)")
	f.StringVar(&words.White, "white", "D65", "`white`: D50, D55, D65, D75, a colour temperature, x,y or native")
	f.Choice(&o.xyz, "xyz", "absolute", "with -readings: what X, Y and Z are", "absolute", "relative")
	if err := f.Parse(args); err != nil {
		return nil, err
	}
	given := f.Given()
	if err := o.check(given, f.Args()); err != nil {
		return nil, err
	}
	if err := o.readAim(aimFile, words, given); err != nil {
		return nil, err
	}
	if saveAim != "" {
		err := keep.ReplaceFile(saveAim, func(w io.Writer) error { return o.aim.Write(w) })
		if err != nil {
			return nil, cli.Bad("the aim cannot be saved: %w", err)
		}
	}
	if o.history == "" {
		o.history = filepath.Join(filepath.Dir(filepath.Clean(o.out)), "history.jsonl")
	}
	return o, nil
}

// check refuses options that do not go together.
func (o *options) check(given map[string]bool, rest []string) error {
	switch {
	case len(rest) > 0:
		return cli.Bad("%q is no option; -h lists the options", rest[0])
	case (o.spectra == "") != (o.tones == ""):
		return cli.Bad("-display-spectra and -display-tones describe one display: give both")
	case o.readings != "" && o.spectra != "":
		return cli.Bad("-readings and -display-spectra exclude each other: readings come from one display, not from two")
	case o.force && o.resume:
		return cli.Bad("-force begins anew and -resume goes on: give one of them")
	case !(o.share > 0 && o.share <= 0.5):
		return cli.Bad("-share %g; above 0 and at most 0.5 can be held back", o.share)
	case !(o.signalMax >= 0 && o.signalMax <= 65535):
		return cli.Bad("-signal-max %g; give the number that stands for full signal, such as 1, 100 or 255", o.signalMax)
	}
	for _, name := range []string{"curves", "share", "signal-max", "verify", "xyz"} {
		if given[name] && o.readings == "" {
			return cli.Bad("-%s goes with -readings", name)
		}
	}
	return nil
}

// readAim puts the aim together: the saved one, or the defaults, and the
// single values that were given.
func (o *options) readAim(path string, words aim.Words, given map[string]bool) error {
	if path != "" {
		if err := o.read(path, func(r io.Reader) (err error) { o.aim, err = aim.Read(r); return err }); err != nil {
			return err
		}
		for flag, word := range map[string]*string{
			"white": &words.White, "luminance": &words.Luminance, "tone": &words.Tone, "black": &words.Black, "black-policy": &words.Policy,
		} {
			if !given[flag] {
				*word = ""
			}
		}
	} else if o.readings != "" && !given["luminance"] {
		words.Luminance = "native" // readings are only compared: their own luminance will do
	}
	saved := path != ""
	o.given = characterise.Given{White: saved || given["white"], Luminance: saved || given["luminance"], Black: saved || given["black"]}
	var err error
	o.aim, err = o.aim.With(words)
	return cli.Give(cli.BadInput, err)
}

// read reads a file that the user named and keeps its digest for the journal.
func (o *options) read(path string, use func(io.Reader) error) error {
	digest, err := cli.ReadFile(path, use)
	o.inputs = append(o.inputs, digest)
	return err
}

// digest names everything that decides what the run reads and computes.
func (o *options) digest() string {
	b, err := json.Marshal([]any{1, o.bits, o.patches, o.proof, o.icc, o.name, o.controls, o.correction, o.source, o.aim, o.given, o.inputs})
	if err != nil {
		panic(err) // plain values: cannot happen
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:8])
}

func (o *options) scenario() string {
	if o.readings != "" || o.spectra != "" {
		return ""
	}
	return scenario
}

func (o *options) profile() profile.Options {
	if o.icc == "2" {
		return profile.Options{Version: profile.V2}
	}
	return profile.Options{}
}

// display returns the display to work on.
func (o *options) display(start time.Time) (*simulate.Display, error) {
	spec := simulate.ReferenceOLED.Spec()
	if o.spectra != "" {
		err := o.read(o.spectra, func(spectra io.Reader) error {
			return o.read(o.tones, func(tones io.Reader) (err error) {
				spec, err = simulate.ReadSpec(spectra, tones, "measured display")
				return err
			})
		})
		if err != nil {
			return nil, err
		}
	}
	if o.name != "" {
		spec.Name = o.name
	}
	d, err := simulate.New(spec, simulate.Options{Seed: o.seed, Start: start, Bits: o.bits, Cold: true, NoControls: o.controls == "none"})
	return d, cli.Give(cli.BadInput, err)
}

// brought reads the user's own readings.
func (o *options) brought() (characterise.Brought, error) {
	in := characterise.Brought{
		HoldBack: o.share, Relative: o.xyz == "relative", Seed: o.seed, Start: o.start, Aim: o.aim,
		Screen: measure.ScreenInfo{Name: "display", Mode: "native"}, Profile: o.profile(),
	}
	if o.name != "" {
		in.Screen.Name = o.name
	}
	if in.Start.IsZero() {
		in.Start = time.Now().UTC().Truncate(time.Second)
	}
	table := func(path string, to *[]measure.Reading) error {
		return o.read(path, func(r io.Reader) error {
			readings, warnings, err := characterise.ReadTable(r, path, o.signalMax, in.Relative)
			*to, in.Warnings = readings, append(in.Warnings, warnings...)
			return err
		})
	}
	if err := table(o.readings, &in.Readings); err != nil {
		return in, err
	}
	if o.verify != "" {
		if err := table(o.verify, &in.Verify); err != nil {
			return in, err
		}
	}
	if o.curves != "" {
		if err := o.read(o.curves, func(r io.Reader) (err error) { in.InForce, err = tone.ReadCSV(r); return err }); err != nil {
			return in, err
		}
	}
	in.RunID = o.digest()
	return in, nil
}
