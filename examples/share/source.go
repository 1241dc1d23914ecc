package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify/report"
)

const (
	mostMiB = 64  // of a report or a description; a report of 1,000 readings has one
	maxName = 200 // bytes of a display's name
)

// adding is the share of the white from which channels that do not add up to it
// are told: more than readings of one hour disagree by (invented).
const adding = 0.02

// display is what was learned of one display.
type display struct {
	name  string
	light [5]colorimetry.XYZ // cd/m², in the order of signals
	white bool               // light has one
	notes []string           // what a reader of the result should know
}

func (d *display) note(text string) { d.notes = append(d.notes, text) }

// signals are what a display must have been read at, the white where it can.
var signals = [5]colorimetry.RGB{{}, {R: 1}, {G: 1}, {B: 1}, {R: 1, G: 1, B: 1}}

// shown are the words for signals.
var shown = [5]string{"black", "full red", "full green", "full blue", "white"}

// displays reads the displays that files name, or simulated ones.
func (o *options) displays(ctx context.Context, in *cli.Inputs, files []string, errs io.Writer) ([]aim.Display, error) {
	if len(files) == 0 {
		return simulated(ctx, o.simulated, uint64(o.seed), errs)
	}
	var list []aim.Display
	named := map[string]bool{}
	for _, arg := range files {
		name, path, ok := strings.Cut(arg, "=")
		if !ok {
			name, path = "", arg
		}
		var d display
		if err := in.Read(path, func(r io.Reader) (err error) { d, err = read(r, path); return err }); err != nil {
			return nil, err
		}
		if name != "" {
			d.name = name
		}
		if d.name == "" || len(d.name) > maxName {
			return nil, cli.Bad("%s names its display by %d bytes; give it a name of up to %d: NAME=%s", path, len(d.name), maxName, path)
		}
		if d.name = cli.Printable(d.name); named[d.name] {
			return nil, cli.Bad("two displays are called %q; give each a name: NAME=%s", d.name, path)
		}
		named[d.name] = true
		shape, err := d.shape()
		if err != nil {
			return nil, cli.Bad("%s: %w", path, err)
		}
		for _, note := range d.notes {
			fmt.Fprintf(errs, "%s: %s\n", d.name, note)
		}
		list = append(list, shape)
	}
	return list, nil
}

// read reads a display from a file of any kind.
func read(r io.Reader, path string) (display, error) {
	in := bufio.NewReader(r)
	for {
		b, err := in.Peek(1)
		if err != nil || b[0] > ' ' {
			break
		}
		in.Discard(1)
	}
	if b, _ := in.Peek(1); string(b) != "{" {
		return fromTable(in, path)
	}
	b, err := cli.All(in, mostMiB, "give a report or a description of a display")
	if err != nil {
		return display{}, err
	}
	var kind struct {
		Kind   string          `json:"kind"`
		Header json.RawMessage `json:"header"`
	}
	if err := json.NewDecoder(bytes.NewReader(b)).Decode(&kind); err != nil {
		return display{}, fmt.Errorf("no JSON: %w; give a report or a description of a display, whole", err)
	}
	switch {
	case kind.Header != nil:
		return display{}, fmt.Errorf("this is the journal of a run, whose readings are raw; give report.json beside it")
	case kind.Kind != "":
		return fromDescription(b)
	}
	return fromReport(b)
}

// fromTable reads a display from readings.
func fromTable(r io.Reader, path string) (display, error) {
	t, err := characterise.ReadTable(r, path, 0, false)
	if err != nil {
		return display{}, err
	}
	d := display{name: path}
	if t.Curves != "" {
		d.note("it was read through curves, so that it counts as it was set, not as it could be; the report of its run has it as it was found")
	}
	for i, signal := range signals {
		found := false
		for _, x := range t.Readings {
			if x.Patch.Signal == signal {
				d.light[i], found = x.XYZ, true
			}
		}
		if d.white = found; !found && i < 4 {
			return display{}, fmt.Errorf("no reading of %s; a shared aim needs black and full red, green and blue", shown[i])
		}
	}
	return d, nil
}

// fromReport reads a display from the report of a run.
func fromReport(b []byte) (display, error) {
	var from report.Report
	if err := json.Unmarshal(b, &from); err != nil {
		return display{}, fmt.Errorf("no report: %w; give report.json of a run", err)
	}
	d := display{name: from.Display.Name}
	for i, name := range [5]string{"", "red", "green", "blue", "white"} {
		found := i == 0 // which a report has among its greys
		for _, p := range from.Primaries {
			if p.Name == name && p.When == report.AsFound {
				d.light[i], found = colorimetry.Chromaticity{X: p.X, Y: p.Y}.XYZ(p.LuminanceCdM2), true
			}
		}
		if !found {
			return display{}, fmt.Errorf("the report has no %s as found; give report.json of a run that measured the display, or its readings", shown[i])
		}
	}
	d.white = true
	for _, g := range from.Greys {
		if g.Signal == 0 {
			d.light[0] = d.light[4].Scale(math.Max(g.FoundCdM2, 0) / d.light[4].Y)
		}
	}
	return d, nil
}

// fromDescription takes the truth of a simulated display.
func fromDescription(b []byte) (display, error) {
	spec, err := simulate.ReadJSON(bytes.NewReader(b))
	if err != nil {
		return display{}, err
	}
	on, err := simulate.New(spec, simulate.Options{})
	if err != nil {
		return display{}, err
	}
	d := display{name: spec.Name, white: true, notes: []string{"simulated: its light is known without any reading"}}
	for i, signal := range signals {
		d.light[i] = on.Truth(signal)
	}
	return d, nil
}

// shape returns d as a shared aim must know it: the channels' own light, scaled
// so that it adds up to the white.
func (d *display) shape() (aim.Display, error) {
	black := d.light[0]
	// Noise around no light at all is no light below 0.
	black = colorimetry.XYZ{X: math.Max(black.X, 0), Y: math.Max(black.Y, 0), Z: math.Max(black.Z, 0)}
	for i, c := range d.light[1:] {
		if !c.Finite() || !(c.Y > black.Y) {
			if i == 3 && !d.white {
				continue
			}
			return aim.Display{}, fmt.Errorf("%s gives %g cd/m², black %g; are these readings of a display?", shown[1+i], c.Y, black.Y)
		}
	}
	m := colorimetry.Columns(d.light[1].Sub(black), d.light[2].Sub(black), d.light[3].Sub(black))
	if !d.white {
		return aim.Display{Name: d.name, Primaries: m, Black: black}, nil
	}
	inverse, err := m.Inverse()
	if err != nil {
		return aim.Display{}, fmt.Errorf("the primaries do not span the colours: %w", err)
	}
	white := d.light[4].Sub(black)
	if apart := (m[1][0]+m[1][1]+m[1][2])/white.Y - 1; math.Abs(apart) > adding {
		word := "more"
		if apart < 0 {
			word = "less"
		}
		d.note(fmt.Sprintf("its channels together give %.0f %% %s light than its white, so that its luminance at another white is an estimate", 100*math.Abs(apart), word))
	}
	k := inverse.ToLinear(white)
	if !(math.Min(k.R, math.Min(k.G, k.B)) > 0) {
		return aim.Display{}, fmt.Errorf("the white %v lies outside the primaries; are these readings of one display?", d.light[4])
	}
	return aim.Display{Name: d.name, Primaries: colorimetry.Columns(m.Column(0).Scale(k.R), m.Column(1).Scale(k.G), m.Column(2).Scale(k.B)), Black: black}, nil
}
