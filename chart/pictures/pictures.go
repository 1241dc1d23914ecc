package pictures

import (
	"errors"
	"fmt"
	"image/color"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/icc"
)

// Meaning says what an image's numbers mean: the colour of a signal, relative,
// and the white that it is relative to, Y = 1. The zero value stands for sRGB.
// It is safe for concurrent use where XYZ is.
type Meaning struct {
	XYZ   func(colorimetry.RGB) colorimetry.XYZ
	White colorimetry.XYZ
}

// Encoded returns the meaning of an image in an RGB encoding. The error is that
// of an encoding without curve or whose primaries span no triangle.
func Encoded(s rgb.Space) (Meaning, error) {
	c, err := rgb.NewCodec(s)
	if err != nil {
		return Meaning{}, fmt.Errorf("pictures: %w", err)
	}
	return Meaning{c.XYZ, s.White.XYZ(1)}, nil
}

// Profiled returns the meaning of an image in the device space of a profile,
// prepared for any intent but the absolute one, under which white is not D50.
func Profiled(e *icc.Evaluator) Meaning { return Meaning{e.ToPCS, colorimetry.D50()} }

// meaning returns what the numbers of a picture with a profile of its own mean.
func (p Picture) meaning() (Meaning, error) {
	fail := func(err error) (Meaning, error) {
		return Meaning{}, fmt.Errorf("pictures: %s: its profile is unusable: %w; state Options.Source", p.Name, err)
	}
	profile, err := icc.Decode(p.Profile)
	if err != nil {
		return fail(err)
	}
	gray := profile.Header.Space == icc.SpaceGray
	if !gray && profile.Header.Space != icc.SpaceRGB {
		return fail(fmt.Errorf("it is for %v", profile.Header.Space))
	}
	to, err := icc.ToPCS(profile, icc.Options{Intent: icc.Relative, PCS: icc.SpaceXYZ})
	if err != nil {
		return fail(err)
	}
	return Meaning{func(c colorimetry.RGB) colorimetry.XYZ {
		v := [3]float64{c.R, c.G, c.B}
		to.Eval(v[:], v[:])
		return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
	}, colorimetry.D50()}, nil
}

// Options steer Patches. The zero value is the default.
type Options struct {
	// Source is what the images' numbers mean. The zero value is what each
	// image's own profile says, in the relative intent, and sRGB where it has
	// none.
	Source Meaning
	// Target is the encoding nearest to the display's own signals; the zero
	// value is the nominal display that [chart.Nominal] describes. Colours that
	// it cannot hold are clipped to it, channel by channel.
	Target rgb.Space
	// Bits puts signals on the codes of a path, 1 to 16; 0 leaves them as they
	// are.
	Bits int
	// Seed varies the choice. Equal seeds give equal patches.
	Seed uint64
}

// Pick is a patch and what it stands for.
type Pick struct {
	chart.Patch
	Picture string  // name of the picture that most pixels of its colour come from
	Share   float64 // of all opaque pixels sampled, that it stands for, 0 to 1
}

// maxPixels is the number of pixels sampled from all pictures together: enough
// for a colour on one pixel in ten thousand to be met about twenty times.
const maxPixels = 200_000

// Patches returns at most n patches that stand for the colours of the pictures,
// the largest share first, named picture1, picture2, …. There are fewer where
// the pictures, or the codes of a path of o.Bits, have fewer different colours.
// Pixels that are more than half transparent are passed over. At most 200,000
// pixels are looked at, each picture having an equal part of them. Equal input
// gives equal output. Time grows with n; sets of up to some hundreds are meant.
//
// Pixels are counted in cells of CIELAB. Every second part starts at the colour
// furthest from all others that one pixel in two thousand comes near, so that
// what is rare but different has a patch of its own; the rest start as
// k-means++ does (Arthur and Vassilvitskii, SODA 2007). k-means then moves all
// of them, cells weighing by the square root of their count. A patch is the
// mean of the cell nearest to the middle of its part: within a cell, 4 units of
// CIELAB a side, of colours that the pictures hold.
//
// It is an error if there is nothing to pick from, n is below 1, an image is
// CMYK, or an option or a profile is unusable.
func Patches(pictures []Picture, n int, o Options) ([]Pick, error) {
	switch {
	case n < 1:
		return nil, fmt.Errorf("pictures: %d patches are asked for; ask for 1 or more", n)
	case len(pictures) == 0 || len(pictures) > maxPixels:
		return nil, fmt.Errorf("pictures: %d pictures are given; give 1 to %d", len(pictures), maxPixels)
	case o.Bits < 0 || o.Bits > 16:
		return nil, fmt.Errorf("pictures: a path of %d bits a channel; give 1 to 16, or 0 for no rounding", o.Bits)
	}
	t, err := o.taker()
	if err != nil {
		return nil, err
	}
	h := histogram{}
	for i, p := range pictures {
		if p.Image == nil || p.Image.Bounds().Empty() {
			return nil, fmt.Errorf("pictures: %s has no pixels; leave it out", p.Name)
		}
		if p.Image.ColorModel() == color.CMYKModel {
			return nil, fmt.Errorf("pictures: %s: %w; save it as RGB", p.Name, errCMYK)
		}
		own := t
		if o.Source.XYZ == nil && p.Profile != nil {
			m, err := p.meaning()
			if err != nil {
				return nil, err
			}
			if own, err = t.from(m); err != nil {
				return nil, err
			}
		}
		sample(p.Image, maxPixels/len(pictures), o.Seed, func(c colorimetry.RGB) {
			s := own.signal(c)
			h.add(i, s, t.lab(s))
		})
	}
	cells := h.cells(t)
	if len(cells) == 0 {
		return nil, errors.New("pictures: all pixels are transparent; give a picture that is not")
	}
	return picks(cells, n, pictures, o), nil
}

// errCMYK says why amounts of ink are refused: package image turns them into
// RGB by subtraction, which is no colour that anybody meant.
var errCMYK = errors.New("its numbers are amounts of ink (CMYK)")

// taker takes an image's numbers to the display's signals.
type taker struct {
	source Meaning
	adapt  colorimetry.Matrix // to the target's white
	target rgb.Codec
	white  colorimetry.XYZ // the target's
}

func (o Options) taker() (taker, error) {
	t := taker{source: o.Source}
	var err error
	if t.source.XYZ == nil {
		if t.source, err = Encoded(rgb.SRGB()); err != nil {
			return t, err
		}
	}
	target := o.Target
	if target == (rgb.Space{}) {
		target = nominal()
	}
	if t.target, err = rgb.NewCodec(target); err != nil {
		return t, fmt.Errorf("pictures: the target is unusable: %w", err)
	}
	t.white = target.White.XYZ(1)
	return t.from(t.source)
}

// from returns t for pictures of another meaning.
func (t taker) from(m Meaning) (taker, error) {
	var err error
	t.source = m
	if t.adapt, err = colorimetry.Bradford(m.White, t.white); err != nil {
		return t, fmt.Errorf("pictures: the white of source or target is unusable: %w", err)
	}
	return t, nil
}

// nominal returns the display of chart.Nominal as an encoding.
func nominal() rgb.Space {
	s := rgb.DisplayP3()
	s.Name = "nominal display"
	s.Curve = tone.Power{Gamma: 2.2}
	return s
}

// signal returns the display's signal for an image's numbers.
func (t taker) signal(c colorimetry.RGB) colorimetry.RGB {
	s, _ := t.target.Signal(t.adapt.Apply(t.source.XYZ(c)))
	return s.Clamp()
}

func (t taker) lab(signal colorimetry.RGB) colorimetry.Lab {
	return t.target.XYZ(signal).Lab(t.white)
}
