// Command driver is a small program that plugs a screen, an instrument and
// controls into the library by the line protocol of chart/plug/PROTOCOL.md. The
// devices are simulated, so that it can be tried without any. With -check it
// holds another program against that protocol instead.
//
// serve.go is written from the protocol's page alone and imports nothing of
// chart/plug: it is what a driver's author writes, in any language.
package main

import (
	"context"
	"time"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/examples/internal/cli"
)

const synopsis = `driver [options]

driver answers the messages of chart/plug/PROTOCOL.md on standard input and
output: a display with its controls, a colorimeter and a reference instrument,
all simulated, in their own time. Options of other programs start it by
process:driver and its options.

driver -check 'COMMAND ARGUMENT ...'

starts a program of yours and holds it against the protocol: what passed, and
where something did not, what was sent, what came back and what to do.

Exit status: 0 done or conforming, 1 not conforming, 2 bad input or use,
4 input or output failed, 130 interrupted.`

func main() { cli.Program{Name: "driver", Run: run}.Main() }

// panels are the displays by the names that -display takes.
func panels() map[string]simulate.Panel {
	return map[string]simulate.Panel{"oled": simulate.ReferenceOLED, "lcd": simulate.WideGamutLCD, "crt": simulate.CRT}
}

func run(ctx context.Context, args []string, std cli.IO) error {
	var command, display, start string
	var person bool
	var o simulate.Options
	f := cli.NewFlags("driver", synopsis, std)
	f.Whole(&o.Bits, "bits", 10, 8, 16, "depth of the simulated path in `bits` a channel")
	f.StringVar(&command, "check", "", "hold this `command` against the protocol; quotes keep words with spaces together")
	f.BoolVar(&o.Cold, "cold", false, "switch the display on at the start, so that it warms up")
	f.Choice(&display, "display", "oled", "the simulated display", "crt", "lcd", "oled")
	f.BoolVar(&o.NoControls, "no-controls", false, "leave the display without controls")
	f.BoolVar(&person, "person", false, "with -check: somebody is there who covers the instrument")
	f.Uint64Var(&o.Seed, "seed", 1, "`number` that varies the simulated noise")
	f.StringVar(&start, "start", "2026-01-05T09:00:00Z", "simulated `time` at the start, as RFC 3339")
	f.Need("check", "person")
	for _, option := range []string{"bits", "cold", "display", "no-controls", "seed", "start"} {
		f.Exclude("the command has its own options", "check", option)
	}
	if err := f.Parse(args); err != nil {
		return err
	}
	if f.Given()["check"] {
		return check(ctx, command, person, std)
	}
	var err error
	if o.Start, err = time.Parse(time.RFC3339, start); err != nil {
		return cli.Bad("-start %q: write it as 2026-01-05T09:00:00Z", start)
	}
	return cli.Give(cli.RunFailure, serve(ctx, panels()[display].Spec(), o, std.In, std.Out))
}
