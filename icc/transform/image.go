package transform

import (
	"context"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"sync"

	"example.org/primaries/icc"
)

// Image sends a picture of the standard library's kinds through the transform, in
// parallel where that pays and the kinds allow it. dst and src are of one size; their
// upper left corners meet, wherever their bounds lie. dst may be src, and must not
// overlap it otherwise. When ctx is cancelled, Image ends with its error and dst is
// partly written.
//
// RGBA, NRGBA, RGBA64, NRGBA64, Gray, Gray16 and CMYK are read and written in their
// own memory, YCbCr and NYCbCrA read row by row (by JPEG's matrix), of Paletted the
// palette alone is computed: nothing is allocated per row. Any other kind passes
// through At and Set, pixel by pixel and on one goroutine.
//
// The numbers of a picture are the channels of the device: in CMYK 255 is full
// ink. Gray pictures are taken by a transform from RGB with equal channels, and a
// transform to gray writes equal channels into RGB pictures. Opacity is kept, and
// dropped where dst has none; colours multiplied by it are divided first.
//
// It is an error if sizes differ, if a picture does not hold its own pixels, or if
// the transform's spaces are not those of the pictures: CMYK for an RGB device, or
// L*a*b*, for which [Apply] takes a [Raster].
func (t *Transform) Image(ctx context.Context, dst draw.Image, src image.Image) error {
	size := src.Bounds().Size()
	if got := dst.Bounds().Size(); got != size {
		return fmt.Errorf("transform: a picture of %d × %d pixels cannot become one of %d × %d", size.X, size.Y, got.X, got.Y)
	}
	from, err := t.source(src)
	if err != nil {
		return err
	}
	to, err := t.sink(dst, opaque(src))
	if err != nil {
		return err
	}
	if m, ok := src.(*image.Paletted); ok {
		if from, err = t.looked(ctx, m, to.layout); err != nil {
			return err
		}
		return transfer(ctx, t, to, from, size, nil)
	}
	k, err := t.Between(from.layout, to.layout)
	if err != nil {
		return err
	}
	return transfer(ctx, t, to, from, size, k)
}

// Convert returns what a picture becomes, with the same bounds, as the kind that
// fits: Gray or Gray16 for a gray device, RGBA or RGBA64 for RGB, NRGBA or NRGBA64
// where there is opacity, CMYK; 16 bits where the picture has more than 8, except in
// CMYK, of which the standard library has 8 only. RGBA and RGBA64 stay themselves, and
// Paletted stays Paletted where it becomes RGB. Gray with opacity becomes NRGBA or
// NRGBA64 with equal channels.
//
// Errors are those of [Transform.Image], and that opacity would be lost in CMYK.
func (t *Transform) Convert(ctx context.Context, src image.Image) (image.Image, error) {
	if err := bounded(src.Bounds()); err != nil {
		return nil, err
	}
	if m, ok := src.(*image.Paletted); ok && t.To() == icc.SpaceRGB {
		return t.paletted(ctx, m)
	}
	if _, err := t.source(src); err != nil {
		return nil, err
	}
	dst, err := t.allocate(src)
	if err != nil {
		return nil, err
	}
	if err := t.Image(ctx, dst, src); err != nil {
		return nil, err
	}
	return dst, nil
}

// mostPixels bounds what is allocated: image.Uniform, for one, is 2e9 pixels wide and
// high. An int counts the eight bytes of each.
const mostPixels = math.MaxInt / 8

// bounded returns the error of a picture that is too large.
func bounded(r image.Rectangle) error {
	if r.Dx() > 0 && r.Dy() > mostPixels/r.Dx() {
		return fmt.Errorf("transform: a picture of %d × %d pixels; at most %d are taken in one piece", r.Dx(), r.Dy(), mostPixels)
	}
	return nil
}

// allocate returns an empty picture of the kind that src becomes.
func (t *Transform) allocate(src image.Image) (draw.Image, error) {
	r, deep, solid := src.Bounds(), deep(src), opaque(src)
	_, rgba := src.(*image.RGBA)
	_, rgba64 := src.(*image.RGBA64)
	switch to := t.To(); {
	case to == icc.SpaceCMYK && !solid:
		return nil, fmt.Errorf("transform: the picture has opacity, for which CMYK pictures have no room; put it on a background first")
	case to == icc.SpaceCMYK:
		return image.NewCMYK(r), nil
	case to == icc.SpaceGray && solid && deep:
		return image.NewGray16(r), nil
	case to == icc.SpaceGray && solid:
		return image.NewGray(r), nil
	case to != icc.SpaceRGB && to != icc.SpaceGray:
		return nil, noPicture(to)
	case deep && (solid || rgba64):
		return image.NewRGBA64(r), nil
	case deep:
		return image.NewNRGBA64(r), nil
	case solid || rgba:
		return image.NewRGBA(r), nil
	}
	return image.NewNRGBA(r), nil
}

// noPicture is the error of a space that pictures do not have.
func noPicture(space icc.Signature) error {
	return fmt.Errorf("transform: the standard library has no pictures of %v; use Apply with a Raster, or join the profile of a gray, RGB or CMYK device", space)
}

// opaque says that a picture is known to have no transparent pixel.
func opaque(m image.Image) bool {
	o, ok := m.(interface{ Opaque() bool })
	return ok && o.Opaque()
}

// deep says that a picture has more than 8 bits a channel, as far as its model tells.
func deep(m image.Image) bool {
	switch m := m.(type) {
	case *image.Paletted:
		return deepPalette(m.Palette)
	case *image.RGBA, *image.NRGBA, *image.Gray, *image.CMYK, *image.YCbCr, *image.NYCbCrA:
		return false
	}
	switch model := m.ColorModel(); model {
	case color.RGBAModel, color.NRGBAModel, color.GrayModel, color.CMYKModel, color.YCbCrModel, color.NYCbCrAModel:
		return false
	default:
		p, ok := model.(color.Palette)
		return !ok || deepPalette(p)
	}
}

// lines are the two rows that a goroutine works with.
type lines[D, S Sample] struct {
	dst []D
	src []S
}

// transfer sends all rows of a picture through a kernel, or copies them as they are
// where that is nil.
func transfer(ctx context.Context, t *Transform, to, from pixels, size image.Point, k *Kernel) error {
	switch {
	case to.words.ok() && from.words.ok():
		return move(ctx, t, to, from, to.words, from.words, size, k)
	case to.words.ok():
		return move(ctx, t, to, from, to.words, from.bytes, size, k)
	case from.words.ok():
		return move(ctx, t, to, from, to.bytes, from.words, size, k)
	}
	return move(ctx, t, to, from, to.bytes, from.bytes, size, k)
}

func move[D, S Sample](ctx context.Context, t *Transform, to, from pixels, dst access[D], src access[S], size image.Point, k *Kernel) error {
	var row func([]D, []S, int)
	if k != nil {
		row = k.row.(func([]D, []S, int))
	} else {
		row = func(d []D, s []S, _ int) { copy(d, any(s).([]D)) }
	}
	pool := sync.Pool{New: func() any {
		return &lines[D, S]{make([]D, size.X*to.step), make([]S, size.X*from.step)}
	}}
	return rows(ctx, t, size, to.shared && from.shared, func(y int) {
		l := pool.Get().(*lines[D, S])
		defer pool.Put(l)
		d, s := l.dst, src.read(l.src, y)
		if dst.own != nil {
			row(dst.own(y), s, size.X)
			return
		}
		row(d, s, size.X)
		dst.copy(d, y)
	})
}

// rows calls row for each row of a picture, one after the other where they must not
// be shared among goroutines.
func rows(ctx context.Context, t *Transform, size image.Point, shared bool, row func(y int)) error {
	if size.X <= 0 || size.Y <= 0 {
		return ctx.Err()
	}
	if shared {
		return t.share(ctx, size.X, size.Y, row)
	}
	for y := range size.Y {
		if err := ctx.Err(); err != nil {
			return err
		}
		row(y)
	}
	return nil
}
