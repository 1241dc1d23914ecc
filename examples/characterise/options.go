package main

import (
	"cmp"
	"io"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/chart/plug"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
)

const synopsis = `characterise walks the whole way from a cold display to a proven profile.

Without options it does so on a simulated display made from the measured
spectra and tone of a real one; -display takes another one, or one that is
invented, such as those whose channels disturb each other. With -screen and
-instrument it works on a real one: the screen is a page in your browser or
driven by a program, the instrument is driven by a program
(chart/plug/PROTOCOL.md says how). With -readings it works on readings that you
already have and adjusts nothing.
Results go into the folder named by -out.

Exit status: 0 done, 1 judged and failed, 2 bad input or use, 3 undecided,
4 device, disk or run failure, 130 interrupted.`

// options are the command line, read and checked.
type options struct {
	out, history, aimFile, saveAim string
	from                           string // document of the aim
	force, resume                  bool
	seed                           uint64
	start                          time.Time
	bits, patches, proof           int
	icc, controls, correction      string
	source, name, spectra, tones   string
	shown                          string // which simulated display
	screen, instrument, reference  string // "simulated", "browser" or a command
	menu                           []measure.Control
	window                         int // area of the patch on the page, %
	selfLit, handOver              bool
	readings, verify, curves, xyz  string
	signalMax, share, enough       float64
	chart, saved                   string
	earlier, earlierCurves         string
	table                          int // nodes along an edge; 0 = none
	tablePrimaries                 string
	aim                            aim.Aim
	given                          characterise.Given
	profile                        profile.Options
	correctedBy                    *mismatch.Saved
	earlierRun                     *characterise.Earlier
	inputs                         cli.Inputs
	digest                         string // of all that the results follow from
	display                        simulate.Spec
	scenario                       string               // what the display stands for
	brought                        characterise.Brought // in its place, where -readings is given
}

// parse reads the command line. Every error is one sentence and bad use.
func parse(args []string, std cli.IO) (*options, error) {
	o := &options{}
	var words aim.Words
	var menu, kind, mapping, black string
	f := cli.NewFlags("characterise", synopsis, std)
	f.StringVar(&o.aimFile, "aim", "", "saved aim to follow (JSON `file`); single values below change it")
	f.StringVar(&words.Ambient, "ambient", "", "light that the screen reflects in its room, in `cd/m²`, as measured; \"0.4 estimated\" where it was not")
	f.Whole(&o.bits, "bits", 10, 8, 16, "depth of the simulated path in `bits` a channel")
	f.StringVar(&words.Black, "black", "native", "luminance of black in `cd/m²`, a ratio such as 1000:1, or native")
	f.Choice(&words.Policy, "black-policy", "stretch", "what the tone does above a black that is not dark", "stretch", "lift")
	f.BoolVar(&o.profile.BlackPoint, "black-point", false, "with -icc 2 and tables: the perceptual ones put the display's black at 0")
	f.Choice(&o.chart, "chart", fixed, "patches of the chart: one set beforehand, or chosen as readings come in, -patches at most", fixed, planned)
	f.Choice(&o.controls, "controls", "guided", "the display's own controls", "guided", "none")
	f.Choice(&o.correction, "correction", characterise.FromPairs, "what corrects the instrument", characterise.FromPairs, characterise.FromSource, characterise.Uncorrected)
	f.StringVar(&o.saved, "correction-file", "", "correct the instrument by this `file`, correction.json of an earlier run with the same instrument and display, in place of -correction")
	f.StringVar(&o.curves, "curves", "", "with -readings: the curves that were in force (CSV `file`)")
	f.Choice(&o.shown, "display", displays[0].name, "simulated display; oled, lcd and crt have measured spectra and tone, the others are invented", displayNames()...)
	f.StringVar(&o.name, "display-name", "", "`name` of the display, for report, history and profile (with -readings: default the file's)")
	f.StringVar(&o.spectra, "display-spectra", "", "measured primaries (CSV `file`: wavelength_nm,R,G,B in W/sr/m²/nm)")
	f.StringVar(&o.tones, "display-tones", "", "measured tone (CSV `file`: input_level,R,G,B, relative light)")
	f.StringVar(&o.earlier, "earlier", "", "readings of an earlier run of the same display (`file` readings.csv), by which plan and model are helped")
	f.StringVar(&o.earlierCurves, "earlier-curves", "", "with -earlier: the curves that it wrote beside them (`file` curves.csv)")
	f.Number(&o.enough, "enough", 0, 0, 10, "with -chart planned: it ends where the `error` that the model is expected to have, ΔE00 in the mean, is no more than this; 0 goes on until patches gain little")
	f.StringVar(&o.from, "from", "", "`document` to take the aim from: "+strings.Join(starts(), ", ")+"; single values change it")
	f.BoolVar(&o.force, "force", false, "replace an earlier result")
	f.BoolVar(&o.handOver, "hand-over", false, "with -screen browser: at the end have the system take over the curves, and measure that it does")
	f.StringVar(&o.history, "history", "", "history `file` (default history.jsonl beside -out)")
	f.Choice(&o.icc, "icc", "4", "version of the profile", "2", "4")
	f.StringVar(&o.instrument, "instrument", simulated, "who reads: simulated, or process:`command` that drives an instrument")
	f.Number(&o.profile.Knee, "knee", 0.8, 0.05, 1, "profile with tables: `share` of the display's chroma up to which the perceptual ones leave colours alone")
	f.StringVar(&words.Luminance, "luminance", "100", "luminance of white in `cd/m²`, native, or that of paper, such as paper 0.85 in 500 lx")
	f.Choice(&mapping, "mapping", "nearest", "profile with tables: what stands for a colour beyond the display, of the same hue", "nearest", "to-grey")
	f.StringVar(&menu, "menu", "", "`controls` that you set by hand when asked, such as: brightness 80 of 0 to 100, red gain 50 of 0 to 100")
	f.StringVar(&o.out, "out", "characterised", "`folder` of the results")
	f.Whole(&o.patches, "patches", 175, 40, 2800, "patches of the chart, a `number`")
	f.Choice(&kind, "profile", "automatic", "form of the profile: a matrix where the model has one and tables else, or always tables", "automatic", "table")
	f.Choice(&black, "profile-black", "measured", "how the matrix of the profile holds the black, as it is, at 0, or in the white's colour; tables hold it as it is", "measured", "zero", "neutral")
	f.Whole(&o.proof, "proof", 120, 100, 2000, "patches of the proof, a `number`")
	f.StringVar(&o.readings, "readings", "", "work on these readings (CSV or CGATS.17 `file`)")
	f.StringVar(&o.reference, "reference", "", "process:`command` that drives a better instrument, for -correction pairs")
	f.BoolVar(&o.resume, "resume", false, "go on with the run in -out")
	f.StringVar(&o.saveAim, "save-aim", "", "save the aim to this `file` as well")
	f.StringVar(&o.screen, "screen", simulated, "what shows the patches: simulated, browser (a page), or process:`command`")
	f.Uint64Var(&o.seed, "seed", 1, "`number` that fixes noise and choice of patches")
	f.BoolVar(&o.selfLit, "self-luminous", false, "with -screen browser: the panel makes its own light")
	f.Number(&o.share, "share", 0.2, 0.01, 0.5, "with -readings and no -verify: `share` held back for the proof")
	f.Number(&o.signalMax, "signal-max", 0, 0, 65535, "with -readings: `number` that stands for full signal; 0 is 1, or what the file says")
	f.Choice(&o.source, "source", "", "with -correction source: the panel's light, unknown where not said", characterise.Sources()...)
	f.Moment(&o.start, "start", "`time` at which the run starts, as RFC 3339")
	f.BoolVar(&o.profile.SystemCalibration, "system-calibration", false, "profile: carry the curves in the tag MHC2 too; only one of the two may be loaded")
	f.Whole(&o.table, "table", 0, 0, 65, "make a table of this many `nodes` along an edge for a display that holds one; it takes the curves' place; 0 makes none, else 2 or more")
	f.Choice(&o.tablePrimaries, "table-primaries", own, "with -table: primaries that its signals mean; white and tone are the aim's", tablePrimaries()...)
	f.StringVar(&words.Tone, "tone", "power 2.2", "`tone` of the greys: a power such as 2.2, srgb or any curve that package tone parses")
	f.StringVar(&o.verify, "verify", "", "with -readings: independent readings for the proof (CSV or CGATS.17 `file`)")
	f.StringVar(&words.White, "white", "D65", "`white`: D50, D55, D65, D75, a colour temperature, x,y or native")
	f.Whole(&o.window, "window", 10, 1, 100, "with -screen browser: area of the patch in `percent` of the screen")
	f.Choice(&o.xyz, "xyz", "absolute", "with -readings: what X, Y and Z are", "absolute", "relative")
	f.Exclude("readings come from one display, not from two", "readings", "display", "display-spectra", "display-tones")
	f.Exclude("a run has one display", "display", "display-spectra", "display-tones")
	f.Exclude("readings are taken as they are", "readings", "bits", "chart", "controls", "correction", "correction-file", "earlier", "hand-over", "instrument", "menu", "patches", "proof", "reference", "screen", "self-luminous", "source", "window")
	f.Exclude("the path is what the screen says", "screen", "bits", "display", "display-spectra", "display-tones", "start")
	f.Exclude("one is turned, the other leaves them alone", "menu", "controls")
	f.Exclude("an aim comes from one place", "aim", "from")
	f.Exclude("one begins anew, the other goes on", "force", "resume")
	f.Exclude("nothing is held back from independent readings", "verify", "share")
	f.Exclude("it was made already", "correction-file", "correction", "reference", "source")
	f.Need("earlier", "earlier-curves")
	f.Need("readings", "curves", "share", "signal-max", "verify", "xyz")
	f.Need("screen", "hand-over", "instrument", "menu", "reference", "self-luminous", "window")
	f.Need("instrument", "screen")
	f.Need("display-spectra", "display-tones")
	f.Need("display-tones", "display-spectra")
	err := f.Parse(args)
	if err != nil {
		return nil, err
	}
	o.history = cmp.Or(o.history, filepath.Join(filepath.Dir(filepath.Clean(o.out)), "history.jsonl"))
	if o.icc == "2" {
		o.profile.Version = profile.V2
	}
	if err := o.checkOffers(kind, mapping, black, f.Given()); err != nil {
		return nil, err
	}
	if o.source != "" && o.correction != characterise.FromSource {
		return nil, cli.Bad("-source goes with -correction source: give both")
	}
	if o.menu, err = parseMenu(menu); err != nil {
		return nil, err
	}
	if err := o.checkDevices(f.Given()); err != nil {
		return nil, err
	}
	return o, o.load(words, f.Given())
}

// real says that the devices are real, or stand for real ones.
func (o *options) real() bool { return o.screen != simulated }

// checkDevices tests what the options say of the devices, before any is touched.
func (o *options) checkDevices(given map[string]bool) error {
	for _, d := range []struct {
		name, value string
		words       []string
	}{
		{"screen", o.screen, []string{simulated, browser}},
		{"instrument", o.instrument, []string{simulated}},
		{"reference", o.reference, []string{""}},
	} {
		if slices.Contains(d.words, d.value) {
			continue
		}
		if !strings.HasPrefix(d.value, plug.CommandPrefix) {
			return cli.Bad("-%s %q is no device; write %s", d.name, d.value, strings.Join(append(d.words, plug.CommandPrefix+"COMMAND"), ", "))
		}
		if _, err := plug.ParseCommand(d.value); err != nil {
			return cli.Bad("-%s: %w", d.name, err)
		}
	}
	if !o.real() && o.instrument == simulated {
		return nil
	}
	switch {
	case !o.real() || o.instrument == simulated:
		return cli.Bad("-screen %s with -instrument %s: a simulated instrument sees a simulated screen alone; give both, or neither", o.screen, o.instrument)
	case o.screen == browser && o.name == "":
		return cli.Bad("-screen browser needs -display-name: a page does not know what display it is on")
	case o.screen != browser && (given["self-luminous"] || given["window"] || o.handOver):
		return cli.Bad("-hand-over, -self-luminous and -window go with -screen browser: a program sees to that itself")
	case o.correction == characterise.FromSource:
		return cli.Bad("-correction source needs the instrument's sensitivities, which a program does not state")
	case !given["correction"]:
		o.correction = "" // pairs where there is a reference, else none
	}
	return nil
}

// starts are the names that -from takes.
func starts() (names []string) {
	for _, s := range aim.Starts() {
		names = append(names, s.Name)
	}
	return names
}

// load puts the aim together, the saved one or the defaults and the single
// values that were given, and reads all other inputs: whatever is wrong with
// them is found before anything is written.
func (o *options) load(words aim.Words, given map[string]bool) (err error) {
	saved := o.aimFile != "" || o.from != ""
	if o.from != "" {
		start, err := aim.StartNamed(o.from)
		if err != nil {
			return cli.Bad("-from: %w", err)
		}
		o.aim = start.Aim
	}
	if saved {
		words = words.Only(func(part string) bool { return given[part] })
	} else if o.readings != "" && !given["luminance"] {
		words.Luminance = "native" // readings are only compared: their own luminance will do
	}
	if err := o.inputs.Read(o.aimFile, func(r io.Reader) (err error) { o.aim, err = aim.Read(r); return err }); err != nil {
		return err
	}
	o.given = characterise.Given{White: saved || given["white"], Luminance: saved || given["luminance"], Black: saved || given["black"]}
	if o.aim, err = o.aim.With(words); err == nil {
		err = o.aim.Judgeable()
	}
	if err != nil {
		return cli.Give(cli.BadInput, err)
	}
	if err := o.loadEarlier(); err != nil {
		return err
	}
	switch {
	case o.readings != "":
		err = o.loadReadings()
	case o.spectra != "":
		err = o.inputs.Read(o.spectra, func(spectra io.Reader) error {
			return o.inputs.Read(o.tones, func(tones io.Reader) (err error) {
				o.display, err = simulate.ReadSpec(spectra, tones, cmp.Or(o.name, "measured display"))
				return err
			})
		})
	case o.real():
	default:
		d := displays[slices.IndexFunc(displays, func(d shown) bool { return d.name == o.shown })]
		o.display, o.scenario = d.spec(), d.scenario
		o.display.Name = cmp.Or(o.name, o.display.Name)
	}
	if err != nil {
		return err
	}
	o.digest, err = o.inputs.Digest(1, o.bits, o.patches, o.proof, o.icc, o.name, o.shown, o.controls, o.correction, o.source, o.aim, o.given, o.share, o.signalMax, o.xyz, o.screen, o.instrument, o.reference, o.menu, o.window, o.selfLit, o.handOver,
		o.chart, o.enough, o.saved != "", o.earlier != "", o.table, o.tablePrimaries, o.profile)
	return err
}

// loadReadings reads the user's own readings.
func (o *options) loadReadings() error {
	in := &o.brought
	in.HoldBack, in.Relative, in.Seed, in.Aim, in.Profile = o.share, o.xyz == "relative", o.seed, o.aim, o.profile
	in.HardwareTable = o.hardwareTable()
	in.Screen = measure.ScreenInfo{Name: cmp.Or(o.name, strings.TrimSuffix(filepath.Base(o.readings), filepath.Ext(o.readings))), Mode: "native"}
	in.NoiseStated = true
	table := func(path string, to *[]measure.Reading) error {
		return o.inputs.Read(path, func(r io.Reader) error {
			read, err := characterise.ReadTable(r, path, o.signalMax, in.Relative)
			in.NoiseStated = in.NoiseStated && read.NoiseStated
			*to, in.Warnings, in.Stated = read.Readings, append(in.Warnings, read.Warnings...), cmp.Or(in.Stated, read.Curves)
			return err
		})
	}
	return cmp.Or(table(o.readings, &in.Readings), table(o.verify, &in.Verify),
		o.inputs.Read(o.curves, func(r io.Reader) (err error) { in.InForce, err = tone.ReadCSV(r); return err }))
}
