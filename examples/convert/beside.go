package main

import (
	"context"
	"errors"
	"image"
	"image/draw"

	"example.org/primaries/icc"
)

// before returns a picture in the target's colours as it was: converted without the
// proof, or, where there is none, with its numbers as they are.
func (o *options) before(ctx context.Context, w *ways, p *picture, source device) (image.Image, error) {
	if o.proof != "" {
		t, err := w.way(source, toTarget)
		if err != nil {
			return nil, err
		}
		return t.Convert(ctx, p.image)
	}
	target := w.target.profile.Header.Space
	switch m := p.image.(type) {
	case *image.RGBA, *image.NRGBA, *image.RGBA64, *image.NRGBA64:
		if target == icc.SpaceRGB {
			return m, nil
		}
	case *image.Gray, *image.Gray16:
		if target == icc.SpaceGray {
			return m, nil
		}
		if target == icc.SpaceRGB {
			var out draw.Image = image.NewRGBA(m.Bounds())
			if _, deep := m.(*image.Gray16); deep {
				out = image.NewRGBA64(m.Bounds())
			}
			draw.Draw(out, m.Bounds(), m, m.Bounds().Min, draw.Src)
			return out, nil
		}
	case *image.CMYK:
		if target == icc.SpaceCMYK {
			return m, nil
		}
	default: // Y'CbCr
		if target == icc.SpaceRGB {
			out := image.NewRGBA(m.Bounds())
			draw.Draw(out, m.Bounds(), m, m.Bounds().Min, draw.Src)
			return out, nil
		}
	}
	return nil, errors.New("its numbers as they are mean nothing to the target, which has other channels; give -beside with -proof, or leave it out")
}

// beside returns two pictures of one size and kind side by side, with a gap in the
// target's grey between them.
func beside(before, after image.Image, grey []uint8) (image.Image, error) {
	left, right := samplesOf(before), samplesOf(after)
	gap := max(right.width/40, 4)
	m := like(after, 2*right.width+gap, right.height)
	if left.size != right.size {
		return nil, errors.New("before and after differ in bits; leave -beside out")
	}
	wide := samplesOf(m)
	between := wide.of(grey)
	for y := range right.height {
		copy(wide.row(y), left.row(y))
		for x := range gap {
			copy(wide.pixel(right.width+x, y), between)
		}
		copy(wide.row(y)[(right.width+gap)*right.size:], right.row(y))
	}
	return m, nil
}
