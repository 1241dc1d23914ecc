package report

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
	"example.org/primaries/verify"
)

// Options steer FromRun. The zero value is the default.
type Options struct {
	Scenario string        // printed with the report
	Limits   verify.Limits // to judge by; without limits, verify.Default
}

// FromRun reports what a run found and judges it. The profile is judged
// through its bytes. Report.Remember and Report.Output are what is left to do.
//
// The error is one of reading those bytes back, or of readings that no white
// can be found in.
func FromRun(run *characterise.Result, o Options) (*Report, error) {
	if len(o.Limits.Limits) == 0 {
		o.Limits = verify.Default()
	}
	own, err := instrumentOf(run)
	if err != nil {
		return nil, fmt.Errorf("report: %w", err)
	}
	r := &Report{
		Version: Version,
		Run: Run{ID: run.RunID, Start: run.Start, End: run.End, Seed: run.Seed,
			Simulated: run.Screen.Simulated, Adjusted: run.Adjusted, Relative: run.RelativeXYZ},
		Scenario:        o.Scenario,
		Display:         Display{Name: run.Screen.Name, Mode: run.Screen.Mode, Bits: run.Screen.Bits},
		Instrument:      Instrument{Name: run.Instrument.Name, Serial: run.Instrument.Serial},
		Aim:             aimOf(run),
		White:           whiteOf(run),
		LuminanceCdM2:   run.ProofWhite.XYZ.Y,
		BlackCdM2:       math.Max(run.Black.Y, 0),
		BlackSpreadCdM2: math.Sqrt(math.Max(run.Model.Covariance(colorimetry.RGB{})[1][1], 0)),
		Model:           modelOf(run),
		Readings:        len(run.Readings),
		Profile:         run.Profile.FileName,
		Written:         writtenOf(run),
		Warnings:        slices.Clone(run.Warnings),
	}
	if run.HardwareTable != nil {
		r.Table = tableFile
	}
	r.Instrument.ReferenceScale, r.Instrument.ErrorKnown = own.paired, own.known
	if c := run.Correction; c != nil {
		r.Instrument.Correction, r.Instrument.CorrectionUncertaintyUV = c.Note, c.UncertaintyUV
	}
	if err := r.uncertain(run, own); err != nil {
		return nil, fmt.Errorf("report: %w", err)
	}
	r.SeenRatio = r.seenRatio(run.Asked.Ambient)
	r.stages(run)
	if err := r.compare(run, own); err != nil {
		return nil, fmt.Errorf("report: %w", err)
	}
	r.Judge(o.Limits)
	r.Conclude()
	return r, nil
}

func whiteOf(run *characterise.Result) White {
	c := run.ProofWhite.XYZ.Chromaticity()
	w := White{X: c.X, Y: c.Y, DeltaUV: c.UV().Distance(run.Aim.White.At.UV())}
	// A white far from the locus has a temperature of doubtful meaning; the
	// number comes with that error and is still the nearest.
	w.CCT, _, _ = spectrum.CCT(c)
	if run.Truth != nil {
		d := run.Truth(colorimetry.Gray(1)).UV().Distance(run.Aim.White.At.UV())
		w.TrueDeltaUV = &d
	}
	return w
}

// target returns the colours that the aim asks for on the display's own
// primaries: with curves, those that the curves were made for, which no channel
// has to go below its own black for.
func target(run *characterise.Result) (verify.Predict, error) {
	if run.Curves != nil {
		return run.Curves.Wanted, nil
	}
	primaries, black, white := run.Settled.Primaries, run.Settled.Black, run.Aim.White.XYZ(run.Aim.Luminance)
	if _, err := run.Aim.Colour(colorimetry.RGB{}, primaries, black, white); err != nil {
		return nil, err
	}
	return func(s colorimetry.RGB) colorimetry.XYZ {
		c, _ := run.Aim.Colour(s, primaries, black, white)
		return c
	}, nil
}

// compare fills in the accuracies, the greys and the primaries.
func (r *Report) compare(run *characterise.Result, own instrument) error {
	want, err := target(run)
	if err != nil {
		return err
	}
	last, found := run.After, run.Before
	if !run.Adjusted {
		last, found = run.Before, nil
	}
	r.Greys = Greys(want, last, found, r.FloorSignal)
	r.Primaries = append(PrimariesOf(AsFound, run.Before), PrimariesOf(WithCurves, run.After)...)

	o := verify.Options{Seed: run.Seed, Correction: own.matrix, Shared: own.beyond}
	if r.AimAccuracy.Before, err = against(want, run.Before, o); err != nil {
		return err
	}
	if r.AimAccuracy.After, err = against(want, run.After, o); err != nil {
		return err
	}
	white := 0.0 // as the profile states it
	if run.RelativeXYZ {
		white = run.White.XYZ.Y
	}
	predict, err := profile.PredictorAt(run.Profile.Bytes, white)
	if err != nil {
		return err
	}
	o.White = &run.ProofWhite
	if r.ProfileAccuracy, err = verify.Profile(predict, run.Proof, o); err != nil || run.Truth == nil {
		return err
	}
	var signals []colorimetry.RGB
	for _, p := range run.Proof {
		signals = append(signals, p.Patch.Signal)
	}
	relative, absolute, err := verify.Truth(predict, run.Truth, signals, o)
	r.ProfileAccuracy.True, r.ProfileAccuracy.TrueAbsolute = &relative, &absolute
	return err
}

// against compares readings with the aim, nil where there are none.
func against(want verify.Predict, readings []measure.Reading, o verify.Options) (*verify.Accuracy, error) {
	if len(readings) == 0 {
		return nil, nil
	}
	a, err := verify.Aim(want, readings, o)
	return &a, err
}
