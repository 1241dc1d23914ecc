package main

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strconv"
	"strings"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit/characterise"
)

// Words for the devices of a run, beside a command.
const (
	simulated = "simulated"
	browser   = "browser"
)

// devices is what a run is made with.
type devices struct {
	measure.Setup
	truth         func(colorimetry.RGB) colorimetry.XYZ // nil where nobody knows
	sensitivities *[3]spectrum.Spectrum                 // of the instrument; nil where it does not say
	page          *plug.Browser                         // the screen, where it is a page
	programs      plug.Programs
}

// close ends the programs and the page.
func (d *devices) close() error {
	err := d.programs.Close()
	if d.page != nil {
		err = errors.Join(err, d.page.Close())
	}
	return err
}

// simulate switches on a display that needs no hardware.
func (o *options) simulate(start time.Time) (*devices, error) {
	display, err := simulate.New(o.display, simulate.Options{Seed: o.seed, Start: start, Bits: o.bits, Cold: true, NoControls: o.controls == "none"})
	if err != nil {
		return nil, cli.Give(cli.BadInput, err)
	}
	sensitivities := display.Sensitivities()
	return &devices{
		Setup: measure.Setup{
			Screen: display, Instrument: display.Colorimeter(), Reference: display.Spectroradiometer(),
			Controls: display, Clock: display.Clock(),
		},
		truth: display.Truth, sensitivities: &sensitivities,
	}, nil
}

// connect starts the programs that drive the devices, and serves the page.
func (o *options) connect(ctx context.Context, std cli.IO, show *cli.Progress) (d *devices, err error) {
	d = &devices{}
	defer func() {
		if err != nil {
			err = errors.Join(err, d.close())
		}
	}()
	p, err := d.program(ctx, o.instrument, show)
	if err != nil {
		return d, err
	}
	if d.Instrument, err = p.Instrument(); err != nil {
		return d, cli.Give(cli.BadInput, err)
	}
	if clock, err := p.Clock(); err == nil {
		d.Clock = clock
	}
	if ref, err := p.Reference(); err == nil {
		d.Reference = ref
	}
	if o.reference != "" {
		r, err := d.program(ctx, o.reference, show)
		if err != nil {
			return d, err
		}
		if d.Reference, err = r.Instrument(); err != nil {
			return d, cli.Give(cli.BadInput, err)
		}
	}
	if err := o.connectScreen(ctx, d, show); err != nil {
		return d, err
	}
	if len(o.menu) > 0 {
		d.Controls, err = measure.NewPerson(o.menu, asking(std, show))
	}
	return d, cli.Give(cli.BadInput, err)
}

func (o *options) connectScreen(ctx context.Context, d *devices, show *cli.Progress) (err error) {
	if o.screen == browser {
		d.page, err = plug.OpenBrowser(plug.BrowserOptions{Screen: measure.ScreenInfo{
			Name: o.name, WindowShare: float64(o.window) / 100, SelfLit: o.selfLit,
		}})
		if err != nil {
			return cli.Give(cli.RunFailure, err)
		}
		d.Screen = d.page
		show.Line("Open this page in the browser on the display that is to be measured, and follow it: " + d.page.Address())
		return nil
	}
	p, err := d.program(ctx, o.screen, show)
	if err != nil {
		return err
	}
	if d.Screen, err = p.Screen(); err != nil {
		return cli.Give(cli.BadInput, err)
	}
	if controls, err := p.Controls(); err == nil && len(o.menu) == 0 {
		d.Controls = controls
	}
	if clock, err := p.Clock(); err == nil {
		d.Clock = cmp.Or(d.Clock, clock)
	}
	return nil
}

// program starts the program that a command names.
func (d *devices) program(ctx context.Context, text string, show *cli.Progress) (*plug.Process, error) {
	command, err := plug.ParseCommand(text)
	if err != nil {
		return nil, cli.Give(cli.BadInput, err)
	}
	p, err := d.programs.Start(ctx, command, plug.Options{Say: show.Line})
	return p, cli.Give(cli.RunFailure, err)
}

// asking puts an instruction before the person at the terminal and waits for
// the end of a line.
func asking(std cli.IO, show *cli.Progress) func(context.Context, string) error {
	in := bufio.NewReader(std.In)
	return func(ctx context.Context, instruction string) error {
		show.Line("Please set " + instruction + ". Press Enter when it is done.")
		answered := make(chan error, 1)
		go func() {
			_, err := in.ReadString('\n')
			answered <- err
		}()
		select {
		case err := <-answered:
			if err != nil {
				return fmt.Errorf("nobody answered: %w; run it where somebody can press Enter, or leave the controls alone with -controls none", err)
			}
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

var menuItem = regexp.MustCompile(`^([a-z ]+[a-z]) (-?\d{1,5}) of (-?\d{1,5}) to (-?\d{1,5})$`)

// parseMenu reads the controls that a person sets: "brightness 80 of 0 to 100,
// red gain 50 of 0 to 100".
func parseMenu(text string) ([]measure.Control, error) {
	var list []measure.Control
	if text == "" {
		return nil, nil
	}
	for item := range strings.SplitSeq(text, ",") {
		m := menuItem.FindStringSubmatch(strings.TrimSpace(item))
		if m == nil {
			return nil, cli.Bad("-menu: %q names no control; write such as brightness 80 of 0 to 100, red gain 50 of 0 to 100", item)
		}
		c := measure.Control{Name: m[1]}
		for i, to := range []*int{&c.Now, &c.Min, &c.Max} {
			*to, _ = strconv.Atoi(m[2+i]) // five digits at most
		}
		list = append(list, c)
	}
	if _, err := measure.NewPerson(list, func(context.Context, string) error { return nil }); err != nil {
		return nil, cli.Bad("-menu: %w", err)
	}
	return list, nil
}

// before waits for the page, where the screen is one, and sees how its colours
// reach the display.
func (d *devices) before(show *cli.Progress) func(context.Context, *measure.Session) error {
	if d.page == nil {
		return nil
	}
	return func(ctx context.Context, s *measure.Session) error {
		if !s.Replaying() {
			if err := d.page.Wait(ctx); err != nil {
				return err
			}
		}
		route, err := plug.CheckRoute(ctx, s, d.page, plug.RouteOptions{})
		if err == nil {
			show.Line(route.Sentence)
		}
		return err
	}
}

// after hands the curves to the system, where that is wanted, and tells the
// page that all is done: where this is not reached it says that the run stopped.
func (o *options) after(d *devices, folder *cli.Folder, show *cli.Progress) func(context.Context, *measure.Session, *characterise.Result) error {
	if d.page == nil {
		return nil
	}
	return func(ctx context.Context, s *measure.Session, result *characterise.Result) error {
		if o.handOver && result.InForce.Len() > 0 {
			if err := o.handTo(ctx, d, s, result, folder, show); err != nil {
				return err
			}
		}
		// A run that is resumed at its very end shows its last patch once more.
		if err := s.Ready(ctx); err != nil {
			return err
		}
		d.page.Finish("All was measured. The program writes the profile and the report; you may close this page.")
		return nil
	}
}

// handTo hands the curves to the system.
func (o *options) handTo(ctx context.Context, d *devices, s *measure.Session, result *characterise.Result, folder *cli.Folder, show *cli.Progress) error {
	name := result.Profile.FileName
	if err := folder.Write(name, func(w io.Writer) error { _, err := w.Write(result.Profile.Bytes); return err }); err != nil {
		return err
	}
	show.Line("Give " + folder.Path(name) + " to the system as the display's profile, see that its curves are loaded, and say so at the page.")
	handed, err := plug.HandOver(ctx, s, d.page, plug.HandOverOptions{Advice: "Give " + name + " to the system as the display's profile, and see that its curves are loaded."})
	var condition *measure.ConditionError
	if errors.As(err, &condition) { // the profile is what it is; the report tells what the system does
		result.Warnings = append(result.Warnings, handed.Sentence)
		err = nil
	}
	if err == nil {
		show.Line(handed.Sentence)
	}
	return err
}
