package main

import (
	"bufio"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// object is a JSON object.
type object = map[string]any

// message is any line that comes in.
type message struct {
	ID       int        `json:"id"`
	Do       string     `json:"do"`
	Versions []int      `json:"versions"`
	Channel  string     `json:"channel"`
	Reading  int        `json:"reading"`
	Repeat   int        `json:"repeat"`
	Signal   [3]float64 `json:"signal"`
	Red      []uint16   `json:"red"`
	Green    []uint16   `json:"green"`
	Blue     []uint16   `json:"blue"`
	Control  string     `json:"control"`
	Step     int        `json:"step"`
	ForNS    int64      `json:"for_ns"`
	Time     time.Time  `json:"time"`
}

// answer is a line that goes out: what was done, or why it failed.
type answer struct {
	ID     int       `json:"id"`
	Now    time.Time `json:"now"`
	Done   object    `json:"done,omitzero"`
	Failed object    `json:"failed,omitzero"`
}

// device is what the program drives.
type device struct {
	display  *simulate.Display
	eyes     map[string]measure.Instrument // by channel
	spectrum map[string]bool               // whether each gives spectra
}

// serve answers messages until in ends.
func serve(ctx context.Context, spec simulate.Spec, o simulate.Options, in io.Reader, out io.Writer) error {
	d, err := newDevice(ctx, spec, o)
	if err != nil {
		return err
	}
	lines := bufio.NewScanner(in)
	lines.Buffer(nil, 1<<20)
	for lines.Scan() {
		var m message
		var a answer
		err := json.Unmarshal(lines.Bytes(), &m)
		if err == nil {
			a.Done, err = d.do(ctx, m)
		}
		if err != nil {
			a.Done, a.Failed = nil, failed(err)
		}
		a.ID, a.Now = m.ID, d.display.Clock().Now()
		line, err := json.Marshal(a)
		if err != nil {
			return err
		}
		if _, err := out.Write(append(line, '\n')); err != nil {
			return err
		}
	}
	return lines.Err()
}

// newDevice switches on a display and finds out on another of its kind which
// instruments give spectra.
func newDevice(ctx context.Context, spec simulate.Spec, o simulate.Options) (*device, error) {
	d := &device{spectrum: map[string]bool{}}
	for range 2 {
		var err error
		if d.display, err = simulate.New(spec, o); err != nil {
			return nil, err
		}
		d.eyes = map[string]measure.Instrument{"": d.display.Colorimeter(), "reference": d.display.Spectroradiometer()}
		if len(d.spectrum) > 0 {
			break
		}
		if err := d.display.Show(ctx, colorimetry.Gray(1)); err != nil {
			return nil, err
		}
		for channel, eye := range d.eyes {
			s, err := eye.Measure(ctx, measure.Request{})
			if err != nil {
				return nil, err
			}
			d.spectrum[channel] = s.Spectrum.Len() > 0
		}
	}
	return d, nil
}

// Errors that have a kind of their own.
var (
	errUnknown = errors.New("this program does not know the message")
	errVersion = errors.New("this program speaks version 1 alone")
)

// failed returns an error as the protocol has it.
func failed(err error) object {
	kind := "failure"
	switch {
	case errors.Is(err, errUnknown):
		kind = "unknown"
	case errors.Is(err, errVersion):
		kind = "version"
	case errors.Is(err, measure.ErrTransient):
		kind = "passing"
	}
	return object{"kind": kind, "text": err.Error()}
}

// do does what a message asks.
func (d *device) do(ctx context.Context, m message) (object, error) {
	switch m.Do {
	case "hello":
		return d.hello(m)
	case "show":
		return object{}, d.display.Show(ctx, colorimetry.RGB{R: m.Signal[0], G: m.Signal[1], B: m.Signal[2]})
	case "curves":
		return object{}, d.curves(ctx, m)
	case "measure":
		return d.measure(ctx, m)
	case "set":
		return object{}, d.display.Set(ctx, m.Control, m.Step)
	case "sleep":
		return object{}, d.display.Clock().Sleep(ctx, time.Duration(m.ForNS))
	case "restore":
		return object{}, d.restore(ctx, measure.Reading{Index: m.Reading, Time: m.Time})
	}
	return nil, fmt.Errorf("%q: %w", m.Do, errUnknown)
}

func (d *device) hello(m message) (object, error) {
	if !slices.Contains(m.Versions, 1) {
		return nil, errVersion
	}
	s := d.display.Screen()
	offer := object{
		"version": 1, "program": "driver of a simulated display", "clock": true,
		"screen": object{
			"name": s.Name, "mode": s.Mode, "bits": s.Bits, "window_share": s.WindowShare, "surround": s.Surround,
			"self_luminous": s.SelfLit, "settle_ms": s.SettleMS, "limited": s.Limited, "simulated": s.Simulated, "curves": true,
		},
		"instrument": d.instrument(""), "reference": d.instrument("reference"),
	}
	var list []object
	for _, c := range d.display.Controls() {
		list = append(list, object{"name": c.Name, "min": c.Min, "max": c.Max, "now": c.Now})
	}
	if len(list) > 0 {
		offer["controls"] = list
	}
	return offer, nil
}

func (d *device) instrument(channel string) object {
	i := d.eyes[channel].Instrument()
	return object{
		"name": i.Name, "serial": i.Serial, "spectral": i.Spectral, "spectrum": d.spectrum[channel], "lowest_cd_m2": i.LowestCdM2,
		"use": i.Use, "whole_refresh": i.WholeRefresh, "certificate": i.Certificate,
		"certificate_uv": i.CertificateUV, "certificate_luminance_share": i.CertificateLuminance,
		"noise": object{"chromaticity_xy": i.Noise.Chromaticity, "luminance_share": i.Noise.Luminance, "floor_cd_m2": i.Noise.FloorCdM2},
	}
}

// curves puts curves in force; empty lists take them away.
func (d *device) curves(ctx context.Context, m message) error {
	if len(m.Red) == 0 {
		return d.display.LoadCurves(ctx, tone.Channels{})
	}
	var lists [3][]float64
	for i, codes := range [][]uint16{m.Red, m.Green, m.Blue} {
		for _, c := range codes {
			lists[i] = append(lists[i], float64(c)/65535)
		}
	}
	curves, err := tone.NewChannels(lists[0], lists[1], lists[2])
	if err != nil {
		return err
	}
	return d.display.LoadCurves(ctx, curves)
}

// restore sets everything that has a memory to the end of a reading.
func (d *device) restore(ctx context.Context, last measure.Reading) error {
	for _, part := range []any{d.display.Clock(), d.display, d.eyes[""], d.eyes["reference"]} {
		if r, ok := part.(measure.Restorer); ok {
			if err := r.Restore(ctx, last); err != nil {
				return err
			}
		}
	}
	return nil
}

func (d *device) measure(ctx context.Context, m message) (object, error) {
	eye, ok := d.eyes[m.Channel]
	if !ok {
		return nil, fmt.Errorf("there is no channel %q", m.Channel)
	}
	s, err := eye.Measure(ctx, measure.Request{
		Reading: m.Reading, Repeat: m.Repeat, Signal: colorimetry.RGB{R: m.Signal[0], G: m.Signal[1], B: m.Signal[2]},
	})
	if err != nil {
		return nil, err
	}
	done := object{"xyz": []float64{s.XYZ.X, s.XYZ.Y, s.XYZ.Z}, "took_ns": s.Duration.Nanoseconds()}
	if d.spectrum[m.Channel] {
		nm, values := s.Spectrum.Samples()
		done["spectrum"] = object{"nm": nm, "values": values}
	}
	return done, nil
}
