package pictures

import (
	"cmp"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"slices"

	"example.org/primaries/colorimetry"
)

// sample calls use for the opaque ones of at most most pixels, all of them
// where the image has no more. Else the image is cut into as many equal
// fields, and one pixel is drawn in each: fixed steps
// would fall in with stripes, screens and dithering.
func sample(m image.Image, most int, seed uint64, use func(colorimetry.RGB)) {
	b := m.Bounds()
	w, h := b.Dx(), b.Dy()
	across, down := fields(w, h, most)
	at := func(x, y int) color.RGBA64 {
		r, g, bl, a := m.At(x, y).RGBA()
		return color.RGBA64{R: uint16(r), G: uint16(g), B: uint16(bl), A: uint16(a)}
	}
	if fast, ok := m.(image.RGBA64Image); ok {
		at = fast.RGBA64At
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	draw := func(i, n, size int) int { // in field i of n
		if n == size {
			return i
		}
		// Fields begin between pixels, so that every pixel has the same chance.
		return min(int((float64(i)+rng.Float64())*float64(size)/float64(n)), size-1)
	}
	for j := range down {
		for i := range across {
			c := at(b.Min.X+draw(i, across, w), b.Min.Y+draw(j, down, h))
			if c.A < 0x8000 {
				continue
			}
			a := float64(c.A) // undo the premultiplication
			use(colorimetry.RGB{R: float64(c.R) / a, G: float64(c.G) / a, B: float64(c.B) / a}.Clamp())
		}
	}
}

// fields returns how many fields across and down a w × h image is cut into: at
// most most, as square as can be, none without a pixel.
func fields(w, h, most int) (across, down int) {
	if int64(w)*int64(h) <= int64(most) {
		return w, h
	}
	side := math.Sqrt(float64(w) * float64(h) / float64(most))
	across = min(max(1, int(float64(w)/side)), w, most)
	down = min(most/across, h)
	return min(most/down, w), down
}

// key names a cell of CIELAB, cellSize a side.
type key [3]int16

const cellSize = 4

// cell is what was counted in one cell.
type cell struct {
	signal colorimetry.RGB // mean
	lab    colorimetry.Lab // of the mean signal
	count  float64
	crowd  float64         // count of this cell and the 26 around it
	from   map[int]float64 // count by picture
}

type histogram map[key]*cell

func (h histogram) add(picture int, s colorimetry.RGB, lab colorimetry.Lab) {
	k := key{int16(math.Floor(lab.L / cellSize)), int16(math.Floor(lab.A / cellSize)), int16(math.Floor(lab.B / cellSize))}
	c := h[k]
	if c == nil {
		c = &cell{from: map[int]float64{}}
		h[k] = c
	}
	c.count++
	c.from[picture]++
	f := 1 / c.count
	c.signal.R += f * (s.R - c.signal.R)
	c.signal.G += f * (s.G - c.signal.G)
	c.signal.B += f * (s.B - c.signal.B)
}

// cells completes the cells and returns them in the order of their keys.
func (h histogram) cells(t taker) []*cell {
	keys := make([]key, 0, len(h))
	for k := range h {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1]), cmp.Compare(a[2], b[2]))
	})
	out := make([]*cell, len(keys))
	for i, k := range keys {
		c := h[k]
		c.lab, c.crowd = t.lab(c.signal), h.crowd(k)
		out[i] = c
	}
	return out
}

// crowd returns the count of cell k and its neighbours.
func (h histogram) crowd(k key) float64 {
	var sum float64
	for l := k[0] - 1; l <= k[0]+1; l++ {
		for a := k[1] - 1; a <= k[1]+1; a++ {
			for b := k[2] - 1; b <= k[2]+1; b++ {
				if c := h[key{l, a, b}]; c != nil {
					sum += c.count
				}
			}
		}
	}
	return sum
}
