package main

import (
	"io"
	"slices"

	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/fit/profile"
)

// Words for how the patches of the chart are chosen.
const (
	fixed   = "fixed"
	planned = "planned"
)

// own stands for the display's own primaries in a table.
const own = "own"

// spaces are the encodings whose primaries -table-primaries names.
var spaces = map[string]func() rgb.Space{
	"srgb": rgb.SRGB, "bt2020": rgb.BT2020, "display-p3": rgb.DisplayP3, "adobe-rgb": rgb.AdobeRGB,
}

// tablePrimaries are the words that -table-primaries takes.
func tablePrimaries() []string {
	names := []string{own}
	for name := range spaces {
		names = append(names, name)
	}
	slices.Sort(names[1:])
	return names
}

// checkOffers takes over the words for the profile, and tests what only makes
// sense together.
func (o *options) checkOffers(kind, mapping, black string, given map[string]bool) error {
	if kind == "table" {
		o.profile.Kind = profile.KindTable
	}
	if mapping == "to-grey" {
		o.profile.Mapping = profile.MappingToGrey
	}
	if !given["knee"] {
		o.profile.Knee = 0 // the usual one
	}
	o.profile.Black = map[string]profile.Black{"measured": profile.BlackMeasured, "zero": profile.BlackZero, "neutral": profile.BlackNeutral}[black]
	switch {
	case o.profile.BlackPoint && o.icc != "2":
		return cli.Bad("-black-point goes with -icc 2: perceptual tables of version 4 put the black at the reference medium's")
	case given["enough"] && o.chart != planned:
		return cli.Bad("-enough goes with -chart planned: a fixed set has no end of its own")
	case o.table == 1:
		return cli.Bad("-table 1: 2 to 65 nodes are possible, 0 makes no table")
	case given["table-primaries"] && o.table == 0:
		return cli.Bad("-table-primaries goes with a -table of 2 nodes or more")
	case o.table != 0 && o.readings != "" && o.xyz == "relative":
		return cli.Bad("-table meets a luminance, and that of -xyz relative is not known; give absolute readings")
	}
	return nil
}

// loadEarlier reads what earlier runs left: a correction of the instrument, and
// readings with their curves.
func (o *options) loadEarlier() error {
	err := o.inputs.Read(o.saved, func(r io.Reader) error {
		saved, err := mismatch.Read(r)
		o.correctedBy = &saved
		return err
	})
	if err != nil || o.earlier == "" {
		return err
	}
	var curves tone.Channels
	err = o.inputs.Read(o.earlierCurves, func(r io.Reader) (err error) { curves, err = tone.ReadCSV(r); return err })
	if err != nil {
		return err
	}
	return o.inputs.Read(o.earlier, func(r io.Reader) error {
		read, err := characterise.ReadTable(r, o.earlier, 0, false)
		if err != nil {
			return err
		}
		o.earlierRun, err = characterise.NewEarlier(read, curves)
		return err
	})
}

// plan returns the plan of a chart whose patches are chosen while reading.
func (o *options) plan() *fit.Adaptive {
	if o.chart != planned {
		return nil
	}
	return &fit.Adaptive{Aim: o.enough}
}

// corrects returns how the instrument is corrected, by d's sensitivities where
// it has any.
func (o *options) corrects(d *devices) characterise.Correction {
	if o.correctedBy != nil {
		return characterise.Correction{Kind: characterise.FromSaved, Saved: o.correctedBy}
	}
	return characterise.Correction{Kind: o.correction, Source: o.source, Sensitivities: d.sensitivities}
}

// hardwareTable returns the table that is asked for, nil for none.
func (o *options) hardwareTable() *characterise.HardwareTable {
	if o.table == 0 {
		return nil
	}
	t := &characterise.HardwareTable{Nodes: o.table}
	if space := spaces[o.tablePrimaries]; space != nil {
		t.Source = space()
	}
	return t
}
