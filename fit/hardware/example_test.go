package hardware_test

import (
	"bytes"
	"context"
	"fmt"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/hardware"
)

// A display is read, described by a model, and given the table that makes it show
// sRGB. The display is invented.
func ExampleBuild() {
	ctx := context.Background()
	display := simulate.Invented(simulate.CoupledLCD, simulate.Options{Bits: 10, Seed: 1})
	run, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: display.Spectroradiometer(), Clock: display.Clock()})
	if err != nil {
		fmt.Println(err)
		return
	}
	readings, err := run.ReadSet(ctx, measure.StageCharts, chart.Default(100, chart.Options{Bits: 10}), 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	model, err := fit.Residual(readings, nil, fit.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	want := hardware.Want{Space: rgb.SRGB(), Aim: aim.Aim{Luminance: 100}}
	table, told, err := hardware.Build(ctx, model, want, hardware.Options{Bits: 12, Nodes: 17, PathBits: 10, Display: "the display"})
	if err != nil {
		fmt.Println(err)
		return
	}
	var file bytes.Buffer
	if err := hardware.WriteCLF(&file, table); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%d nodes along an edge, %d bits, %.0f cd/m² of %.0f\n", table.Nodes(), table.Bits(), told.White.Y, told.Reachable)
	fmt.Println("colours by the model within 0.3 ΔE00 in the mean:", told.Chromatic.Mean < 0.3)
	fmt.Println("the file is longer than 50 kB:", file.Len() > 50_000)
	// Output:
	// 17 nodes along an edge, 12 bits, 100 cd/m² of 200
	// colours by the model within 0.3 ΔE00 in the mean: true
	// the file is longer than 50 kB: true
}

// Video of the limited range at 10 bits: black is 64 and white 940.
func ExampleTable_Through() {
	c := hardware.Identity(2, 12).Contents()
	c.In, c.Out, c.Path = hardware.Limited, hardware.Limited, 10
	table, err := hardware.NewTable(c)
	if err != nil {
		fmt.Println(err)
		return
	}
	black, white := hardware.Limited.Codes(10)
	s := table.Through(colorimetry.Gray(0.5001))
	fmt.Printf("from %d to %d; a middle grey leaves on code %.0f\n", black, white, float64(black)+s.G*float64(white-black))
	// Output:
	// from 64 to 940; a middle grey leaves on code 502
}

// A table comes back from its file to the bit.
func ExampleReadCLF() {
	var file bytes.Buffer
	table := hardware.Identity(17, 10)
	if err := hardware.WriteCLF(&file, table); err != nil {
		fmt.Println(err)
		return
	}
	again, err := hardware.ReadCLF(&file)
	fmt.Println(again.Digest() == table.Digest(), err)
	// Output:
	// true <nil>
}

// slot is a box that keeps the table it is given, before a simulated display.
type slot struct {
	*simulate.Display
	table hardware.Table
}

func (s *slot) Load(_ context.Context, t hardware.Table) error { s.table = t; return nil }

func (s *slot) Show(ctx context.Context, signal colorimetry.RGB) error {
	return s.Display.Show(ctx, s.table.Apply(signal))
}

// The loop reads colours through the table and makes it better.
func ExampleCorrect() {
	ctx := context.Background()
	display := simulate.Invented(simulate.SaggingPanel, simulate.Options{Bits: 10, Seed: 1})
	bare, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: display.Spectroradiometer(), Clock: display.Clock()})
	if err != nil {
		fmt.Println(err)
		return
	}
	readings, err := bare.ReadSet(ctx, measure.StageCharts, chart.Default(60, chart.Options{Bits: 10}), 2)
	if err != nil {
		fmt.Println(err)
		return
	}
	model, err := fit.Additive(readings, fit.Options{}) // knows nothing of what channels do to each other
	if err != nil {
		fmt.Println(err)
		return
	}
	box := &slot{Display: display}
	run, err := measure.Open(ctx, measure.Setup{Screen: box, Instrument: display.Spectroradiometer(), Clock: display.Clock()})
	if err != nil {
		fmt.Println(err)
		return
	}
	want := hardware.Want{Space: rgb.BT709(), Aim: aim.Aim{Luminance: 100, Black: aim.BlackLift}}
	result, err := hardware.Correct(ctx, run, box, model, want, hardware.LoopOptions{
		Options: hardware.Options{Bits: 12, Nodes: 9}, Passes: 2, Readings: readings,
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	first, kept := result.Passes[0].InReach.Mean, result.Passes[result.Kept].InReach.Mean
	fmt.Println("the loop has at least halved the mean difference:", kept < first/2)
	fmt.Println("its table is in force:", box.table.Digest() == result.Table.Digest())
	// Output:
	// the loop has at least halved the mean difference: true
	// its table is in force: true
}
