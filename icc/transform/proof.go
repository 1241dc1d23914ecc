// # Proofs
//
// A proof shows a picture on a display as another device, paper for instance, would
// have it. The paper's profile stands twice in it, and each meeting has its intent:
//
//	o := transform.Options{Intents: []icc.Intent{icc.Relative, icc.Absolute}}
//	proof, err := transform.New(o, photograph, paper, paper, display)
//
// By the first the picture comes to the paper as it would be printed. By the second
// the print is looked at. Absolute shows the paper's white, darker and perhaps yellow
// beside the display's, and the ink's black, lighter than the display's; of a paper
// that is bluer than the display's white that display shows what it can. Relative in
// the second place makes the paper's white the display's, with the ink's black as much
// lighter than its own as on paper; with BlackPoint that is taken away too, and only
// what the paper does to colours is left.
//
// [Transform.Alarm] tells which pixels the paper cannot have, [Transform.Differences]
// how far each is off, by two ways into L*a*b*: the colour that is asked for, and the
// colour that comes back from the paper.
//
//	o := transform.Options{Intent: icc.Relative}
//	asked, err := transform.New(o, photograph)
//	printed, err := transform.New(o, photograph, paper, paper)
//	mask, err := asked.Alarm(ctx, printed, picture, transform.AlarmOptions{})
package transform

import (
	"context"
	"fmt"
	"image"
	"sync"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/icc"
)

// Metric says how far two colours are apart, CIELAB under D50. nil stands for
// [difference.CIEDE2000]; [difference.AB] is ΔE*ab.
type Metric func(a, b colorimetry.Lab) float64

// AlarmOptions say when a colour counts as one that cannot be reproduced. The zero
// value is the default.
type AlarmOptions struct {
	// Tolerance is the difference that is let pass; 0 means 3, about what the
	// interpolation of tables may cost colours that the device has (common practice, no
	// source). Closer ones are for devices without tables.
	Tolerance float64
	Metric    Metric
}

// Alarm returns which pixels of a picture a simulated device cannot reproduce: opaque
// (255) where the colours by t and by reproduced are further apart than the tolerance,
// transparent (0) elsewhere. The mask has the picture's bounds; image/draw takes it as
// one.
//
// t leads to the colour that is asked for, New(o, photograph), and reproduced to the
// one that comes back from the device, New(o, photograph, paper, paper). With the
// intent Relative in both, which is usual, white is compared with white; with Absolute
// the paper's own white counts too. The other intents move colours by design, and the
// alarm tells which.
//
// It is an error if the tolerance is negative or NaN, and otherwise as for
// [Transform.Differences].
func (t *Transform) Alarm(ctx context.Context, reproduced *Transform, src image.Image, o AlarmOptions) (*image.Alpha, error) {
	if !(o.Tolerance >= 0) {
		return nil, fmt.Errorf("transform: a tolerance of %g; give a difference above 0, or 0 for the default of 3", o.Tolerance)
	}
	if o.Tolerance == 0 {
		o.Tolerance = 3
	}
	c, err := t.comparison(reproduced, src, o.Metric)
	if err != nil {
		return nil, err
	}
	mask := image.NewAlpha(src.Bounds())
	err = c.run(ctx, func(x, y int, d float64) {
		if d > o.Tolerance {
			mask.Pix[y*mask.Stride+x] = 255
		}
	})
	if err != nil {
		return nil, err
	}
	return mask, nil
}

// Differences returns how far the colours of a picture's pixels by t are from those by
// another transform: a raster of the picture's size without gaps. Both end in L*a*b*
// and take the picture's pixels. A pixel without any opacity has no colour, and no
// difference.
//
// It is an error if a transform does not end in L*a*b*, and otherwise as for
// [Transform.Image].
func (t *Transform) Differences(ctx context.Context, other *Transform, src image.Image, metric Metric) (Raster[float32], error) {
	c, err := t.comparison(other, src, metric)
	if err != nil {
		return Raster[float32]{}, err
	}
	out := Raster[float32]{Width: c.size.X, Height: c.size.Y, Stride: c.size.X}
	out.Samples = make([]float32, out.Width*out.Height)
	err = c.run(ctx, func(x, y int, d float64) { out.Samples[y*out.Stride+x] = float32(d) })
	if err != nil {
		return Raster[float32]{}, err
	}
	return out, nil
}

// comparison is a picture on two ways into L*a*b*.
type comparison struct {
	t      *Transform
	a, b   *Kernel
	from   pixels
	size   image.Point
	metric Metric
}

func (t *Transform) comparison(other *Transform, src image.Image, metric Metric) (*comparison, error) {
	for i, x := range []*Transform{t, other} {
		if x.To() != icc.SpaceLab {
			return nil, fmt.Errorf("transform: way %d of 2 ends in %v; let it end in L*a*b*, behind the device's own profile", i+1, x.To())
		}
	}
	if t.From() != other.From() {
		return nil, fmt.Errorf("transform: one way begins in %v and the other in %v; begin both with the picture's profile", t.From(), other.From())
	}
	c := &comparison{t: t, size: src.Bounds().Size(), metric: metric}
	if c.metric == nil {
		c.metric = difference.CIEDE2000
	}
	if err := bounded(src.Bounds()); err != nil {
		return nil, err
	}
	var err error
	if c.from, err = t.source(src); err != nil {
		return nil, err
	}
	if c.a, err = t.Between(c.from.layout, Alpha32F); err != nil {
		return nil, err
	}
	c.b, err = other.Between(c.from.layout, Alpha32F)
	return c, err
}

// run calls use with the difference of each pixel, by several goroutines, each of
// which has a row.
func (c *comparison) run(ctx context.Context, use func(x, y int, d float64)) error {
	if c.from.words.ok() {
		return compare(ctx, c, c.from.words, use)
	}
	return compare(ctx, c, c.from.bytes, use)
}

// strip is the most pixels that are compared at once.
const strip = 1024

// colours are a strip of pixels on both ways, L*, a*, b* and opacity.
type colours[S Sample] struct {
	src  []S
	a, b [4 * strip]float32
}

func compare[S Sample](ctx context.Context, c *comparison, src access[S], use func(x, y int, d float64)) error {
	first, second := c.a.row.(func([]float32, []S, int)), c.b.row.(func([]float32, []S, int))
	pool := sync.Pool{New: func() any { return &colours[S]{src: make([]S, c.size.X*c.from.step)} }}
	return rows(ctx, c.t, c.size, c.from.shared, func(y int) {
		v := pool.Get().(*colours[S])
		defer pool.Put(v)
		s := src.read(v.src, y)
		for x := 0; x < c.size.X; x += strip {
			n := min(strip, c.size.X-x)
			first(v.a[:], s[x*c.from.step:], n)
			second(v.b[:], s[x*c.from.step:], n)
			for i := range n {
				a, b := (*[4]float32)(v.a[4*i:]), (*[4]float32)(v.b[4*i:])
				d := 0.0
				if a[3] > 0 {
					d = c.metric(lab(a), lab(b))
				}
				use(x+i, y, d)
			}
		}
	})
}

func lab(v *[4]float32) colorimetry.Lab {
	return colorimetry.Lab{L: float64(v[0]), A: float64(v[1]), B: float64(v[2])}
}
