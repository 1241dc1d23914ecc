package characterise

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/profile"
)

// Brought is a job whose readings somebody already has. Nothing is adjusted:
// the readings describe the state that they were taken in.
type Brought struct {
	Readings []measure.Reading
	// Verify are readings that the fit must not see. Without them HoldBack is
	// the share of Readings that is held back for the proof; 0 means 0.2.
	Verify   []measure.Reading
	HoldBack float64
	// InForce are the curves that were in force while reading. Readings taken
	// without curves must never meet curves in a profile: leave it zero then.
	InForce tone.Channels
	// Stated is the digest of the curves that the readings say they were taken
	// through, as ReadTable returns it; "" where they say nothing.
	Stated string
	// NoiseStated says that the readings' covariances are what their tables said,
	// as ReadTable returns it, and not assumed.
	NoiseStated bool
	// Relative says that the readings' luminance is unknown.
	Relative bool

	RunID  string
	Seed   uint64
	Start  time.Time
	Screen measure.ScreenInfo
	Aim    aim.Aim // only compared
	// Warnings are taken over into the result.
	Warnings []string
	// HardwareTable asks for a table, as in Setup.
	HardwareTable *HardwareTable
	// Profile and Fit are as in Setup; Log too.
	Profile profile.Options
	Fit     fit.Options
	Log     func(sentence string)
}

// FromReadings fits, proves and writes a profile from readings that somebody
// brought. They must hold black, white and the full primaries.
func FromReadings(ctx context.Context, in Brought) (*Result, error) {
	if in.Log == nil {
		in.Log = func(string) {}
	}
	if err := in.check(); err != nil {
		return nil, err
	}
	r := &Result{
		RunID: in.RunID, Seed: in.Seed, Start: in.Start, End: in.Start, Screen: in.Screen,
		RelativeXYZ: in.Relative, Asked: in.Aim, InForce: in.InForce,
		Chart: in.Readings, Proof: in.Verify, Warnings: slices.Clone(in.Warnings),
	}
	r.Readings = append(append(r.Readings, in.Readings...), in.Verify...)
	var err error
	if r.Found, err = native(in.Readings); err != nil {
		return nil, err
	}
	r.Settled = r.Found
	switch given := in.InForce.Digest(); {
	case in.Stated == "" || in.Stated == given:
	case in.InForce.Len() == 0:
		r.Warnings = append(r.Warnings, fmt.Sprintf("The readings were taken through the curves %s, which were not given: the profile carries none and is true only while those are loaded by other means.", in.Stated))
	default:
		return nil, fmt.Errorf("characterise: the readings were taken through the curves %s, and those given are %s; give the curves that were in force", in.Stated, given)
	}
	if !in.NoiseStated {
		r.Warnings = append(r.Warnings, "The tables state no noise: floors and spreads of the figures assume single readings of a middling instrument (0.001 in x and y, 0.5 % of luminance, 0.005 cd/m²). Averaged readings are better than that.")
	}
	if in.Relative {
		r.Warnings = append(r.Warnings, "The readings are relative: their white counts as 100 cd/m², whatever it was. Luminance, black and absolute figures are on that scale and say nothing of the display's own.")
	}
	if r.White, err = meanOf(in.Readings, white); err != nil {
		return nil, err
	}
	if len(in.Verify) > 0 {
		if r.Proof = unseen(in.Readings, in.Verify); len(r.Proof) < leastProof {
			return nil, fmt.Errorf("characterise: %d of the %d readings given for the proof are not among those given for the fit; a proof needs at least %d that the fit has not seen", len(r.Proof), len(in.Verify), leastProof)
		}
		if n := len(in.Verify) - len(r.Proof); n > 0 {
			r.Warnings = append(r.Warnings, fmt.Sprintf("%d of the %d readings given for the proof were given to the fit as well: they prove nothing and were left out.", n, len(in.Verify)))
		}
	}
	if len(in.Verify) == 0 {
		if r.Chart, r.Proof, err = holdBack(in.Readings, in.HoldBack); err != nil {
			return nil, err
		}
		r.Warnings = append(r.Warnings, fmt.Sprintf("No independent readings were given: %d of %d were held back from the fit for the proof.", len(r.Proof), len(in.Readings)))
	}
	r.ProofWhite = r.White
	if m, err := meanOf(r.Proof, white); err == nil {
		r.ProofWhite = m
	}
	r.Before = r.Readings
	r.Aim = in.Aim.Resolved(r.White.XYZ)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	w := &Walk{setup: Setup{Profile: in.Profile, Fit: in.Fit, Log: in.Log, HardwareTable: in.HardwareTable}, result: r}
	if err := w.fitModel(); err != nil {
		return nil, err
	}
	w.setup.Profile.Aim = "as-read"
	if in.InForce.Len() > 0 {
		w.setup.Profile.Aim += "-curves-" + in.InForce.Digest()[:8]
	}
	if err := w.WriteProfile(ctx); err != nil {
		return nil, err
	}
	return r, w.makeTable(ctx)
}

// check says what cannot be meant, whatever the readings are.
func (in Brought) check() error {
	if err := checkName(in.Screen.Name); err != nil {
		return err
	}
	o := in.Profile
	o.Relative = o.Relative || in.Relative
	if err := o.Check(); err != nil {
		return err
	}
	missing := in.Stated != "" && in.Stated != in.InForce.Digest()
	if o.SystemCalibration && missing {
		return fmt.Errorf("characterise: the tag MHC2 has to hold the curves %s that the readings were taken through, else a system that follows it takes them away; give those, or leave the tag off", in.Stated)
	}
	if in.HardwareTable == nil {
		return nil
	}
	if missing {
		return fmt.Errorf("characterise: a table has to take in the curves %s that the readings were taken through; give those", in.Stated)
	}
	if in.Relative {
		return errors.New("characterise: a table meets a luminance, and that of the readings is not known; give absolute readings")
	}
	_, err := in.HardwareTable.options(in.Screen)
	return err
}

// ReadTable reads a CSV or CGATS.17 table of readings that somebody brought:
// name names it in errors, signalMax is the number that stands for full signal
// (0: 1, or what the file says), relative says that its luminance is unknown.
// Bad input is a *chart.InputError.
//
// A table as [Table] writes it states its noise, and that is the readings'; those
// of another have the noise that measure.FromTable assumes. Repeats are then as
// many as were averaged, each of them the mean, which is all that a table keeps.
func ReadTable(r io.Reader, name string, signalMax float64, relative bool) (Read, error) {
	scale := chart.ScaleAbsolute
	if relative {
		scale = chart.ScaleRelative
	}
	t, err := chart.Read(r, name, chart.ReadOptions{File: name, SignalMax: signalMax, Scale: scale})
	if err != nil {
		return Read{}, err
	}
	out := Read{Display: t.Descriptor}
	for _, k := range t.Keywords {
		if k.Name == curvesKeyword {
			out.Curves = k.Value
		}
	}
	readings, warnings, err := measure.FromTable(t, measure.TableOptions{File: name})
	out.Readings = readings
	if err == nil {
		out.NoiseStated, err = takeNoise(readings, t, name)
	}
	for _, w := range warnings {
		out.Warnings = append(out.Warnings, w.Text)
	}
	return out, err
}

// Read is what ReadTable read.
type Read struct {
	Readings []measure.Reading
	Warnings []string // sentences about what is not as it should be
	Curves   string   // digest of the curves in force, where the table names it
	// NoiseStated says that the table stated the noise of its readings.
	NoiseStated bool
	Display     string // what the table describes: with tables of this package display and mode
}

// leastProof is the fewest readings that a proof may rest on.
const leastProof = 4

// unseen returns the readings of b that are not in a too, signal and light.
func unseen(a, b []measure.Reading) []measure.Reading {
	type same struct {
		signal colorimetry.RGB
		xyz    colorimetry.XYZ
	}
	seen := map[same]bool{}
	for _, r := range a {
		seen[same{r.Patch.Signal, r.Raw}] = true
	}
	var out []measure.Reading
	for _, r := range b {
		if !seen[same{r.Patch.Signal, r.Raw}] {
			out = append(out, r)
		}
	}
	return out
}

// holdBack parts readings into those to fit and those to prove by. What spans
// the display (any channel at an end, so black, white, the primaries and the
// gamut's edges) stays with the fit; of the rest an even choice in the order
// given is held back.
func holdBack(all []measure.Reading, share float64) (keep, held []measure.Reading, err error) {
	if share == 0 {
		share = 0.2
	}
	if !(share > 0 && share <= 0.5) {
		return nil, nil, fmt.Errorf("characterise: a share of %g cannot be held back; above 0 and at most 0.5 can", share)
	}
	inside := func(s colorimetry.RGB) bool { return s.Min() > 0 && s.Max() < 1 }
	free := 0
	for _, r := range all {
		if inside(r.Patch.Signal) {
			free++
		}
	}
	want := int(share*float64(len(all)) + 0.5)
	want = min(want, free/2)
	if want < leastProof {
		return nil, nil, fmt.Errorf("characterise: of %d readings %d have every channel above 0 and below full signal, too few to hold %d back for a proof: measure more, or give an independent set", len(all), free, leastProof)
	}
	due := 0
	for _, r := range all {
		if inside(r.Patch.Signal) {
			due += want
			if due >= free {
				due -= free
				held = append(held, r)
				continue
			}
		}
		keep = append(keep, r)
	}
	return keep, held, nil
}
