// Command present shows patches, or pictures to look at, in a page in a browser
// on this machine.
//
// It shows plug.Browser: OpenBrowser, Address, Show, ShowFields,
// Step, Finish.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/examples/internal/cli"
)

const synopsis = `present [options] [FILE]

present prints an address. Open it in a browser on the display that is to show,
and click Start: the page fills the screen and shows the patches of FILE, a table
(CGATS.17 or CSV), those of -set, or pictures to look at (-look): a grey ramp,
steps near black, even fields.

By hand: the right arrow, the space bar or a click goes on, the left arrow goes
back, q ends. With -seconds it goes on by itself. No change comes sooner than
0.35 s after another: at most three flashes a second are held to be safe (WCAG
2.3.1, ITU-R BT.1702), and people who are sensitive to them should not watch.
Fields that stand for long wear panels whose pixels make their own light.

A line is printed for what is shown. Nothing is measured.

Exit status: 0 done, 2 bad input or use, 4 the page failed, 130 interrupted.`

func main() { cli.Program{Name: "present", Run: run}.Main() }

// options are the command line.
type options struct {
	address, look, name, set string
	size                     int
	diagonal, seconds        float64
	signalMax                float64
	surround, window         float64
	files                    []string
}

func parse(args []string, std cli.IO) (*options, error) {
	o := &options{}
	f := cli.NewFlags("present", synopsis, std)
	f.StringVar(&o.address, "address", "127.0.0.1:0", "`address` of the page, 127.0.0.1 or [::1] with a port; port 0 is a free one")
	f.Number(&o.diagonal, "diagonal", 0, 0, 2000, "the display's diagonal in `cm`, to write the field's size beside it; 0 writes none")
	f.Choice(&o.look, "look", "none", "pictures to look at: a grey ramp, steps near black, even fields, all of them, none", "ramp", "near-black", "uniformity", "all", "none")
	f.StringVar(&o.name, "name", "this display", "`name` of the display, for the page")
	f.Number(&o.seconds, "seconds", 0, 0, 3600, "`seconds` that each is shown; 0 goes on by hand")
	f.Choice(&o.set, "set", "none", "patches that are made: greys, ramps of white and the primaries, ramps of the secondaries, a lattice, none", "neutral", "ramps", "secondaries", "lattice", "none")
	f.Number(&o.signalMax, "signal-max", 0, 0, 65536, "`number` that stands for full signal in FILE; 0 is 1, or what the file says")
	f.Whole(&o.size, "size", 11, 2, 40, "with -set: `number` of levels")
	f.Number(&o.surround, "surround", 0, 0, 1, "`signal` around the patch")
	f.Number(&o.window, "window", 0.1, 0.001, 1, "area of the patch as a `share` of the screen: 0.04, 0.1 and 1 are usual")
	f.Exclude("each says what is shown", "look", "set")
	f.Need("set", "size")
	var err error
	if o.files, err = f.ParseAny(args); err != nil {
		return nil, err
	}
	given := 0
	for _, yes := range []bool{o.look != "none", o.set != "none", len(o.files) > 0} {
		if yes {
			given++
		}
	}
	switch {
	case len(o.files) > 1:
		return nil, cli.Bad("%d files are named; give one", len(o.files))
	case given == 0:
		return nil, cli.Bad("nothing is asked for: give a file, -set or -look")
	case given > 1:
		return nil, cli.Bad("a file, -set and -look exclude each other: each says what is shown")
	case o.diagonal > 0 && o.diagonal < 5:
		return nil, cli.Bad("a display with a diagonal of %g cm; give 5 to 2000", o.diagonal)
	}
	return o, nil
}

func run(ctx context.Context, args []string, std cli.IO) (err error) {
	o, err := parse(args, std)
	if err != nil {
		return err
	}
	scenes, err := o.scenes(std)
	if err != nil {
		return err
	}
	b, err := plug.OpenBrowser(plug.BrowserOptions{
		Screen:  measure.ScreenInfo{Name: o.name, WindowShare: o.window, Surround: o.surround},
		Address: o.address, DiagonalCM: o.diagonal, Looking: true, Timed: o.seconds > 0,
	})
	if err != nil {
		return cli.Give(cli.BadInput, err)
	}
	defer func() { err = errors.Join(err, b.Close()) }()
	if _, err := fmt.Fprintf(std.Out, "open %s\n", b.Address()); err != nil {
		return err
	}
	if err := b.Wait(ctx); err != nil {
		return err
	}
	if err := o.present(ctx, b, scenes, std); err != nil {
		return err
	}
	b.Finish("That was all. You may close this page.")
	return nil
}

// scenes returns what is to be shown.
func (o *options) scenes(std cli.IO) ([]scene, error) {
	if o.look != "none" {
		return pictures(o.look), nil
	}
	var set chart.Set
	switch o.set {
	case "neutral":
		set = chart.Number(chart.Neutral(o.size), "n")
	case "ramps":
		set = chart.Number(chart.Ramps(o.size), "r")
	case "secondaries":
		set = chart.Number(chart.Secondaries(o.size), "s")
	case "lattice":
		set = chart.Number(chart.Lattice(o.size), "l")
	default:
		inputs := cli.Inputs{In: std.In}
		err := inputs.Read(o.files[0], func(r io.Reader) error {
			t, err := chart.Read(r, o.files[0], chart.ReadOptions{PatchesOnly: true, SignalMax: o.signalMax})
			set = t.Patches()
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	if len(set) == 0 {
		return nil, cli.Bad("%s holds no patch", o.files[0])
	}
	var out []scene
	for _, p := range set {
		s := p.Signal
		name := fmt.Sprintf("%s\t%.4f\t%.4f\t%.4f", cli.Printable(p.ID), s.R, s.G, s.B)
		out = append(out, scene{name, func(ctx context.Context, b *plug.Browser) error { return b.Show(ctx, s) }})
	}
	return out, nil
}

// dwell is the shortest time between two changes; a session keeps the same.
const dwell = 350 * time.Millisecond

// present shows scene after scene, as a person or the time says.
func (o *options) present(ctx context.Context, b *plug.Browser, scenes []scene, std cli.IO) error {
	clock := measure.SystemClock{}
	for i := 0; i >= 0 && i < len(scenes); {
		err := scenes[i].show(ctx, b)
		step := 1
		if err == nil {
			if _, err := fmt.Fprintf(std.Out, "%d/%d\t%s\n", i+1, len(scenes), scenes[i].name); err != nil {
				return err
			}
			if err := clock.Sleep(ctx, max(dwell, time.Duration(o.seconds*float64(time.Second)))); err != nil {
				return err
			}
			if o.seconds == 0 {
				step, err = b.Step(ctx)
			}
		}
		var spoiled *measure.ConditionError
		switch {
		case ctx.Err() != nil:
			return ctx.Err()
		case errors.Is(err, plug.ErrPageAway), errors.As(err, &spoiled):
			// A person can mend it: the same is shown when the page is back.
			fmt.Fprintln(std.Err, cli.Printable(err.Error()))
		case err != nil:
			return cli.Give(cli.RunFailure, err)
		case step == 0:
			return nil
		default:
			i = max(i+step, 0)
		}
	}
	return nil
}
