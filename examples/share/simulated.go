package main

import (
	"context"
	"fmt"
	"io"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/fit/aim"
)

// room are displays of many kinds, as they gather in a place over the years. A
// desk has the first two.
var room = []simulate.Spec{
	simulate.ReferenceOLED.Spec(), simulate.CoupledLCD.Spec(), simulate.WideGamutLCD.Spec(), simulate.SmoothLCD.Spec(),
	simulate.OfficePanel.Spec(), simulate.SaggingPanel.Spec(), simulate.CrossingLCD.Spec(), simulate.DriftingLCD.Spec(),
	simulate.CrosstalkPanel.Spec(), simulate.OldCRT.Spec(),
}

// simulated reads the first displays of the room by a simulated
// spectroradiometer.
func simulated(ctx context.Context, count int, seed uint64, errs io.Writer) ([]aim.Display, error) {
	start := time.Date(2026, 1, 1, 9, 0, 0, 0, time.UTC)
	var list []aim.Display
	for i, spec := range room[:count] {
		on, err := simulate.New(spec, simulate.Options{Seed: seed + uint64(i), Start: start})
		if err != nil {
			return nil, err
		}
		s, err := measure.Open(ctx, measure.Setup{Screen: on, Instrument: on.Spectroradiometer(), Clock: on.Clock(), Seed: seed, Start: start, RunID: "share"})
		if err != nil {
			return nil, err
		}
		d := display{name: spec.Name, white: true}
		for n, signal := range signals {
			r, err := s.Read(ctx, measure.ReadRequest{Stage: "share", Patch: chart.Patch{ID: shown[n], Signal: signal}, Averages: 4})
			if err != nil {
				return nil, err
			}
			d.light[n] = r.XYZ
		}
		if err := s.Close(ctx); err != nil {
			return nil, err
		}
		shape, err := d.shape()
		if err != nil {
			return nil, err
		}
		for _, note := range d.notes {
			fmt.Fprintf(errs, "%s: %s\n", d.name, note)
		}
		list = append(list, shape)
	}
	return list, nil
}
