package plug_test

import (
	"context"
	"fmt"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/colorimetry"
)

// A screen and an instrument that are named by the same command are one
// process.
func ExamplePrograms() {
	ctx := context.Background()
	read := func(screenCommand, instrumentCommand string) ([]measure.Reading, error) {
		var programs plug.Programs
		defer programs.Close()
		process := func(command string) (*plug.Process, error) {
			c, err := plug.ParseCommand(command)
			if err != nil {
				return nil, err
			}
			return programs.Start(ctx, c, plug.Options{})
		}
		shows, err := process(screenCommand)
		if err != nil {
			return nil, err
		}
		reads, err := process(instrumentCommand)
		if err != nil {
			return nil, err
		}
		screen, err := shows.Screen()
		if err != nil {
			return nil, err
		}
		instrument, err := reads.Instrument()
		if err != nil {
			return nil, err
		}
		setup := measure.Setup{Screen: screen, Instrument: instrument}
		if clock, err := reads.Clock(); err == nil { // a simulated device has its own time
			setup.Clock = clock
		}
		session, err := measure.Open(ctx, setup)
		if err != nil {
			return nil, err
		}
		defer session.Close(ctx)
		return session.ReadSet(ctx, measure.StageCharts, chart.Ramp(colorimetry.Gray(1), 5), 1)
	}
	_, err := read(`process:driver -display "oled`, "process:driver")
	fmt.Println(err)
	// Output:
	// plug: the quote " in "\"oled" is not closed
}
