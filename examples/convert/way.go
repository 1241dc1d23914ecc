package main

import (
	"context"
	"errors"
	"fmt"
	"image"
	"io"
	"slices"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// encodingNames are what encoding takes.
const encodingNames = "adobe-rgb, display-p3 and srgb"

// encoding returns the profile of an encoding by its name, nil where there is none. The
// curves are those of IEC 61966-2-1:1999 and of the standard of AdobeRGB (1998), which
// SMPTE EG 432-1 and package rgb have the primaries of.
func encoding(name string) (*icc.Profile, error) {
	// The curve of sRGB, as ICC.1:2022, table 68, writes it.
	curve := &icc.ParametricCurve{Function: 3, G: 2.4, A: 1 / 1.055, B: 0.055 / 1.055, C: 1 / 12.92, D: 0.04045}
	var s rgb.Space
	switch name {
	case "srgb":
		s = rgb.SRGB()
	case "display-p3":
		s = rgb.DisplayP3()
	case "adobe-rgb":
		s, curve = rgb.AdobeRGB(), &icc.ParametricCurve{G: 563.0 / 256}
	default:
		return nil, nil
	}
	m, err := s.Matrix()
	if err != nil {
		return nil, err
	}
	chad, err := colorimetry.Bradford(s.White.XYZ(1), colorimetry.D50())
	if err != nil {
		return nil, err
	}
	m = chad.Mul(m)
	return icc.MatrixProfile(icc.MatrixSpec{
		Description: s.Name, Colorants: [3]colorimetry.XYZ{m.Column(0), m.Column(1), m.Column(2)},
		Parametric: [3]*icc.ParametricCurve{curve, curve, curve}, Chad: chad,
	})
}

// device is a profile and its bytes.
type device struct {
	profile *icc.Profile
	bytes   []byte
}

// ways are the profiles of the command line and the transforms that were made of them.
type ways struct {
	o                           *options
	target, proof, stated, srgb device  // profile nil where it was not given
	grey                        []uint8 // L* of 50 in the target's channels
	made                        map[key]*transform.Transform
}

// key is what a transform depends on besides the options: the bytes of the source, and
// what it is for.
type key struct {
	source string
	end    end
}

// end is where a transform leads from a picture's colours.
type end uint8

const (
	toTarget   end = iota
	toProof        // by way of the simulated device to the target
	asked          // to L*a*b*
	reproduced     // by way of the simulated device to L*a*b*
)

// ways reads the profiles of the command line.
func (o *options) ways() (*ways, error) {
	w := &ways{o: o, made: map[key]*transform.Transform{}}
	for _, x := range []struct {
		option, path string
		to           *device
	}{{"to", o.to, &w.target}, {"from", o.from, &w.stated}, {"proof", o.proof, &w.proof}, {"", "srgb", &w.srgb}} {
		if x.path == "" {
			continue
		}
		var err error
		if *x.to, err = open(x.path); err != nil {
			return nil, err
		}
		h := x.to.profile.Header
		switch h.Class {
		case icc.ClassLink, icc.ClassAbstract, icc.ClassNamedColor:
			return nil, cli.Bad("-%s %s: a profile of class %v is of no device; give that of a display, a printer or a camera", x.option, x.path, h.Class)
		}
		if x.option != "proof" && !slices.Contains([]icc.Signature{icc.SpaceGray, icc.SpaceRGB, icc.SpaceCMYK}, h.Space) {
			return nil, cli.Bad("-%s %s: a device of %v; pictures are gray, RGB or CMYK", x.option, x.path, h.Space)
		}
	}
	for _, j := range o.jobs {
		if w.target.profile.Header.Space == icc.SpaceCMYK && j.format.name != "TIFF" {
			return nil, cli.Bad("%s: CMYK is written as TIFF only; end the name in .tif", j.out)
		}
	}
	// Whether the target can be reached shows before a picture is read.
	first := w.srgb
	if o.from != "" {
		first = w.stated
	}
	if _, err := w.way(first, o.end()); err != nil {
		return nil, cli.Give(cli.BadInput, err)
	}
	return w, w.setGrey()
}

// setGrey computes the target's grey of L* 50, which paints alarms and the gap between
// before and after.
func (w *ways) setGrey() error {
	c, err := icc.FromPCS(w.target.profile, icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab})
	if err != nil {
		return cli.Give(cli.BadInput, err)
	}
	v := make([]float64, c.Outputs())
	c.Eval(v, []float64{50, 0, 0})
	for _, x := range v {
		w.grey = append(w.grey, uint8(255*x+0.5))
	}
	return nil
}

// open reads the profile in a file, or makes that of an encoding.
func open(path string) (device, error) {
	p, err := encoding(path)
	if err != nil || p != nil {
		if err != nil {
			return device{}, err
		}
		b, err := p.Encode()
		return device{p, b}, err
	}
	var d device
	var inputs cli.Inputs
	return d, inputs.Read(path, func(r io.Reader) error {
		b, err := cli.All(r, 64, "no profile is")
		if err != nil {
			return err
		}
		p, err := icc.Decode(b)
		d = device{p, b}
		return err
	})
}

// source returns the profile that a picture's numbers are for, and a note where it was
// not the picture that said so.
func (w *ways) source(p *picture) (device, string, error) {
	space := icc.SpaceRGB
	switch p.image.(type) {
	case *image.CMYK:
		space = icc.SpaceCMYK
	case *image.Gray, *image.Gray16:
		space = icc.SpaceGray
	}
	d, note := w.stated, ""
	if d.profile == nil && p.cicp != nil {
		name := map[[2]uint8]string{{1, 13}: "srgb", {12, 13}: "display-p3"}[[2]uint8{p.cicp.Primaries, p.cicp.Transfer}]
		if name == "" || !p.rgbCodes() {
			return d, "", fmt.Errorf("its colours are stated by code points (primaries %d, transfer %d, matrix %d), which are not known here; say with -from what they are", p.cicp.Primaries, p.cicp.Transfer, p.cicp.Matrix)
		}
		var err error
		d, err = open(name)
		if err != nil {
			return d, "", err
		}
	} else if d.profile == nil && p.profile != nil {
		known, err := icc.Decode(p.profile)
		if err != nil {
			return d, "", fmt.Errorf("its profile is damaged: %w; say with -from what its numbers are for", err)
		}
		d = device{known, p.profile}
	}
	if d.profile == nil {
		if space == icc.SpaceCMYK {
			return d, "", errors.New("it is CMYK without a profile, which could be any ink on any paper; say with -from which")
		}
		d, note = w.srgb, "no profile inside; its numbers are taken for sRGB"
	}
	if have := d.profile.Header.Space; have != space && !(space == icc.SpaceGray && have == icc.SpaceRGB) {
		return d, "", fmt.Errorf("its pixels are %v and the profile is for %v; say with -from what they are", space, have)
	}
	return d, note, nil
}

// end is where the pictures go.
func (o *options) end() end {
	if o.proof != "" {
		return toProof
	}
	return toTarget
}

// way returns the transform from a profile.
func (w *ways) way(from device, to end) (*transform.Transform, error) {
	k := key{string(from.bytes), to}
	if t := w.made[k]; t != nil {
		return t, nil
	}
	o := transform.Options{BlackPoint: w.o.blackPoint}
	for i := range icc.Absolute + 1 {
		if i.String() == w.o.intent {
			o.Intent = i
		}
	}
	chain := []*icc.Profile{from.profile}
	if to == toProof || to == reproduced {
		chain = append(chain, w.proof.profile, w.proof.profile)
	}
	if to == toProof {
		o.Intents = []icc.Intent{o.Intent, icc.Absolute}
	}
	if to == toProof || to == toTarget {
		chain = append(chain, w.target.profile)
	}
	t, err := transform.New(o, chain...)
	if err != nil {
		return nil, err
	}
	w.made[k] = t
	return t, nil
}

// alarm paints the pixels of m, which p has become, that the simulated device cannot
// reproduce.
func (w *ways) alarm(ctx context.Context, m image.Image, p *picture, source device) error {
	from, err := w.way(source, asked)
	if err != nil {
		return err
	}
	back, err := w.way(source, reproduced)
	if err != nil {
		return err
	}
	mask, err := from.Alarm(ctx, back, p.image, transform.AlarmOptions{})
	if err != nil {
		return err
	}
	s := samplesOf(m)
	paint := s.of(w.grey)
	for y := range s.height {
		for x := range s.width {
			if mask.Pix[y*mask.Stride+x] != 0 {
				copy(s.pixel(x, y), paint)
			}
		}
	}
	return nil
}
