package pictures

import (
	"cmp"
	"errors"
	"fmt"
	"image"
	"image/color"
	"math"
	"slices"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/icc"
)

// Meaning says what an image's numbers mean: the colour of a signal, relative,
// and the white that it is relative to.
type Meaning struct {
	XYZ   func(colorimetry.RGB) colorimetry.XYZ
	White colorimetry.XYZ
}

// Encoded returns the meaning of an image in an RGB encoding. The error is that
// of primaries that span no triangle.
func Encoded(s rgb.Space) (Meaning, error) {
	m, err := s.Matrix()
	if err != nil {
		return Meaning{}, fmt.Errorf("pictures: %w", err)
	}
	return Meaning{func(c colorimetry.RGB) colorimetry.XYZ { return m.FromLinear(s.Linear(c)) }, s.White.XYZ(1)}, nil
}

// Profiled returns the meaning of an image in the device space of a profile.
func Profiled(e *icc.Evaluator) Meaning { return Meaning{e.ToPCS, colorimetry.D50()} }

// Options steer Patches. The zero value is the default.
type Options struct {
	// Source is what the images' numbers mean; the zero value is sRGB.
	Source Meaning
	// Target is the encoding nearest to the display's own signals; the zero
	// value is Display P3. Colours that it cannot hold are clipped to it.
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
	Picture string  // name of the picture that most of its pixels come from
	Share   float64 // of all pixels sampled, that it stands for
}

// maxPixels is the number of pixels sampled from all pictures together: enough
// for a cell of one in ten thousand pixels to be found by twenty of them.
const maxPixels = 200000

// Patches returns at most n patches that stand for the colours of the pictures,
// the largest share first, named picture1, picture2, …: fewer where the
// pictures have fewer different colours. Pixels that are more than half
// transparent are passed over. Equal input gives equal output.
//
// Pixels are counted in cells of CIELAB; cells weigh by the fourth root of
// their count, and weighted k-means (Arthur and Vassilvitskii, SODA 2007, for
// its start) parts them. Each part is represented by the cell nearest to its
// centre, which is a colour that the pictures really hold.
func Patches(pictures []Picture, n int, o Options) ([]Pick, error) {
	if n < 1 || len(pictures) == 0 {
		return nil, errors.New("pictures: no pictures, or no patches, are asked for")
	}
	t, err := o.taker()
	if err != nil {
		return nil, err
	}
	h := histogram{}
	for i, p := range pictures {
		if p.Image == nil || p.Image.Bounds().Empty() {
			return nil, fmt.Errorf("pictures: %s has no pixels", p.Name)
		}
		sample(p.Image, maxPixels/len(pictures), func(c colorimetry.RGB) { h.add(i, t.signal(c), t) })
	}
	cells := h.cells()
	if len(cells) == 0 {
		return nil, errors.New("pictures: all pixels are transparent")
	}
	return picks(cells, n, pictures, o), nil
}

// taker takes an image's numbers to the display's signals.
type taker struct {
	source        Meaning
	target        rgb.Space
	adapt, linear colorimetry.Matrix // to the target's white; to its linear amounts
	forward       colorimetry.Matrix
	white         colorimetry.XYZ
}

func (o Options) taker() (taker, error) {
	t := taker{source: o.Source, target: o.Target}
	if t.target.Name == "" {
		t.target = rgb.DisplayP3()
	}
	var err error
	if t.source.XYZ == nil {
		if t.source, err = Encoded(rgb.SRGB()); err != nil {
			return t, err
		}
	}
	if t.forward, err = t.target.Matrix(); err != nil {
		return t, fmt.Errorf("pictures: %w", err)
	}
	if t.linear, err = t.forward.Inverse(); err != nil {
		return t, fmt.Errorf("pictures: %w", err)
	}
	t.white = t.target.White.XYZ(1)
	if t.adapt, err = colorimetry.Bradford(t.source.White, t.white); err != nil {
		return t, fmt.Errorf("pictures: %w", err)
	}
	return t, nil
}

// signal returns the display's signal for an image's numbers.
func (t taker) signal(c colorimetry.RGB) colorimetry.RGB {
	return t.target.Signal(t.linear.ToLinear(t.adapt.Apply(t.source.XYZ(c))).Clamp()).Clamp()
}

func (t taker) lab(signal colorimetry.RGB) colorimetry.Lab {
	return t.forward.FromLinear(t.target.Linear(signal)).Lab(t.white)
}

// sample calls use for at most about most pixels, evenly spread over rows and
// columns.
func sample(m image.Image, most int, use func(colorimetry.RGB)) {
	b := m.Bounds()
	step := max(1, int(math.Ceil(math.Sqrt(float64(b.Dx())*float64(b.Dy())/float64(max(most, 1))))))
	at := func(x, y int) color.RGBA64 {
		r, g, bl, a := m.At(x, y).RGBA()
		return color.RGBA64{R: uint16(r), G: uint16(g), B: uint16(bl), A: uint16(a)}
	}
	if fast, ok := m.(image.RGBA64Image); ok {
		at = fast.RGBA64At
	}
	for y := b.Min.Y + step/2; y < b.Max.Y || y == b.Min.Y+step/2; y += step {
		row := min(y, b.Max.Y-1)
		for x := b.Min.X + step/2; x < b.Max.X || x == b.Min.X+step/2; x += step {
			c := at(min(x, b.Max.X-1), row)
			if c.A < 0x8000 {
				continue
			}
			a := float64(c.A) // undo the premultiplication
			use(colorimetry.RGB{R: float64(c.R) / a, G: float64(c.G) / a, B: float64(c.B) / a}.Clamp())
		}
	}
}

// key names a cell of CIELAB, cellSize a side.
type key [3]int16

const cellSize = 4

// cell is what was counted in one cell.
type cell struct {
	signal colorimetry.RGB // mean
	lab    colorimetry.Lab // of the mean signal
	count  float64
	from   map[int]float64 // count by picture
}

type histogram map[key]*cell

func (h histogram) add(picture int, s colorimetry.RGB, t taker) {
	lab := t.lab(s)
	k := key{int16(math.Floor(lab.L / cellSize)), int16(math.Floor(lab.A / cellSize)), int16(math.Floor(lab.B / cellSize))}
	c := h[k]
	if c == nil {
		c = &cell{from: map[int]float64{}, lab: lab}
		h[k] = c
	}
	c.count++
	c.from[picture]++
	f := 1 / c.count
	c.signal.R += f * (s.R - c.signal.R)
	c.signal.G += f * (s.G - c.signal.G)
	c.signal.B += f * (s.B - c.signal.B)
}

// cells returns the cells in the order of their keys.
func (h histogram) cells() []*cell {
	keys := make([]key, 0, len(h))
	for k := range h {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]), cmp.Compare(a[2], b[2]))
	})
	out := make([]*cell, len(keys))
	for i, k := range keys {
		out[i] = h[k]
	}
	return out
}
