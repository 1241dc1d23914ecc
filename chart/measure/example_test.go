package measure_test

import (
	"context"
	"errors"
	"fmt"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// A chart on a display that drifts, read by an instrument that is now and then
// far off: inspected first, watched, corrected.
func ExampleSession_ReadChart() {
	ctx := context.Background()
	spec := simulate.Invented(simulate.CoupledLCD, simulate.Options{}).Spec().Troubled()
	display, err := simulate.New(spec, simulate.Options{Seed: 2})
	if err != nil {
		fmt.Println(err)
		return
	}
	instrument, err := display.ColorimeterWith(simulate.FilterMeter{Traits: simulate.Traits{Outliers: simulate.Outliers{Probability: 0.01}}})
	if err != nil {
		fmt.Println(err)
		return
	}
	run, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: instrument, Clock: display.Clock(), Journal: &measure.Memory{}, Seed: 2})
	if err != nil {
		fmt.Println(err)
		return
	}
	sound, err := measure.Inspect(ctx, run, measure.InspectOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	anchors := chart.Set{{ID: "red", Signal: colorimetry.RGB{R: 1}}, {ID: "green", Signal: colorimetry.RGB{G: 1}}, {ID: "blue", Signal: colorimetry.RGB{B: 1}}}
	set := chart.Order(chart.Sobol(400, chart.Options{Bits: 10}), chart.OrderOptions{Anchors: anchors})
	got, err := run.ReadChart(ctx, measure.StageCharts, set, measure.ChartOptions{Watch: &sound})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d readings of %d patches, outliers read again: %v\n", len(got.Readings), len(set), len(got.Again) > 0)
	fmt.Printf("white lost %.0f %% of its luminance\n", -100*got.Drift.Luminance)
	// Output:
	// 446 readings of 446 patches, outliers read again: true
	// white lost 1 % of its luminance
}

// A night mode that has come on since last month.
func ExampleInspect() {
	ctx := context.Background()
	open := func(o simulate.Options) *measure.Session {
		display := simulate.Measured(simulate.WideGamutLCD, o)
		run, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: display.Colorimeter(), Clock: display.Clock()})
		if err != nil {
			panic(err)
		}
		return run
	}
	lastMonth, err := measure.Inspect(ctx, open(simulate.Options{Seed: 1}), measure.InspectOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	today := open(simulate.Options{Seed: 2, Mishaps: []simulate.Mishap{{Kind: simulate.NightWarmed}}})
	_, err = measure.Inspect(ctx, today, measure.InspectOptions{Known: lastMonth.Readings})
	var found *measure.ConditionError
	if errors.As(err, &found) {
		fmt.Println(found.Condition)
		fmt.Println(found.Remedy)
	}
	// Output:
	// automatic brightness or night mode at work
	// switch night modes and whatever else tints the picture off, see that no controls were changed, then resume
}

// As many integrations as each patch needs.
func ExampleReadRequest_precision() {
	ctx := context.Background()
	display := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: 1})
	run, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: display.Colorimeter(), Clock: display.Clock()})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, v := range []float64{1, 0} {
		r, err := run.Read(ctx, measure.ReadRequest{
			Patch: chart.Patch{Signal: colorimetry.Gray(v)}, Precision: measure.Precision{Luminance: 0.003, UV: 0.002},
		})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("signal %g: %d integrations\n", v, len(r.Repeats))
	}
	// Output:
	// signal 1: 3 integrations
	// signal 0: 4 integrations
}

// A run's journal in the place of its devices.
func ExampleReplay() {
	ctx := context.Background()
	display := simulate.Measured(simulate.ReferenceOLED, simulate.Options{Seed: 1})
	journal := &measure.Memory{}
	run, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: display.Colorimeter(), Clock: display.Clock(), Journal: journal})
	if err != nil {
		fmt.Println(err)
		return
	}
	white := measure.ReadRequest{Patch: chart.Patch{Signal: colorimetry.Gray(1)}}
	first, err := run.Read(ctx, white)
	if err != nil {
		fmt.Println(err)
		return
	}
	devices, err := measure.NewReplay(journal.Lines())
	if err != nil {
		fmt.Println(err)
		return
	}
	again, err := measure.Open(ctx, measure.Setup{Screen: devices.Screen(), Instrument: devices, Clock: devices.Clock()})
	if err != nil {
		fmt.Println(err)
		return
	}
	second, err := again.Read(ctx, white)
	fmt.Println(second.XYZ == first.XYZ, second.Time.Equal(first.Time), err)
	// Output:
	// true true <nil>
}

// Readings in the place of an instrument.
func ExampleTable() {
	read := []measure.Reading{{Patch: chart.Patch{Signal: colorimetry.Gray(1)}, XYZ: colorimetry.XYZ{X: 95, Y: 100, Z: 109}}}
	table, err := measure.NewTable(read, measure.InstrumentInfo{Name: "last year's table"})
	if err != nil {
		fmt.Println(err)
		return
	}
	sample, err := table.Measure(context.Background(), measure.Request{Signal: colorimetry.Gray(1)})
	fmt.Println(sample.XYZ.Y, err)
	_, err = table.Measure(context.Background(), measure.Request{Signal: colorimetry.Gray(0.5)})
	fmt.Println(err)
	// Output:
	// 100 <nil>
	// measure: table: signal (0.5, 0.5, 0.5) is not among the 1 that were read; ask for those alone
}
