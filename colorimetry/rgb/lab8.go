package rgb

import (
	"fmt"

	"example.org/primaries/colorimetry"
)

// Lab8 leads 8-bit signals to CIELAB quickly: a table holds what each code of
// each channel adds to the tristimulus values, so that a colour takes nine
// look-ups, six sums and three cube roots. [NewLab8] makes one. It is
// immutable and safe for concurrent use.
type Lab8 struct {
	r, g, b [256]colorimetry.XYZ // relative to the white
}

// NewLab8 returns the way from 8-bit signals of an encoding to CIELAB under
// white, relative with Y = 1: the encoding's own white for plain CIELAB, or
// another, to which a adapts completely. colorimetry.D50() and the Bradford
// adaptation give the CIELAB of ICC profiles. Errors are those of [NewCodec]
// and of the adaptation.
func NewLab8(s Space, a colorimetry.Adaptation, white colorimetry.XYZ) (*Lab8, error) {
	c, err := NewCodec(s)
	if err != nil {
		return nil, err
	}
	if own := s.White.XYZ(1); own != white {
		adapt, err := a.Complete(own, white)
		if err != nil {
			return nil, fmt.Errorf("%w (encoding %q)", err, s.Name)
		}
		c.toXYZ = adapt.Mul(c.toXYZ)
	}
	relative := colorimetry.Diagonal(1/white.X, 1/white.Y, 1/white.Z).Mul(c.toXYZ)
	if !relative.Apply(colorimetry.XYZ{X: 1, Y: 1, Z: 1}).Finite() {
		return nil, fmt.Errorf("rgb: the white %v has no CIELAB: every component must be above 0", white)
	}
	var t Lab8
	for i := range 256 {
		light := s.Curve.Light(float64(i) / 255)
		t.r[i] = relative.Column(0).Scale(light)
		t.g[i] = relative.Column(1).Scale(light)
		t.b[i] = relative.Column(2).Scale(light)
	}
	return &t, nil
}

// Lab returns the CIELAB of an 8-bit signal.
func (t *Lab8) Lab(r, g, b uint8) colorimetry.Lab {
	x, y, z := &t.r[r], &t.g[g], &t.b[b]
	return colorimetry.XYZ{X: x.X + y.X + z.X, Y: x.Y + y.Y + z.Y, Z: x.Z + y.Z + z.Z}.Lab(colorimetry.XYZ{X: 1, Y: 1, Z: 1})
}

// Row sets dst to the CIELAB of the pixels in pix, which lie step bytes apart
// and begin with their R, G and B: step is 3 for packed RGB and 4 for the Pix
// of an image.NRGBA, whose alpha is passed over. It panics if step is below 3,
// pix is no whole number of pixels or dst is shorter than they are many.
func (t *Lab8) Row(dst []colorimetry.Lab, pix []byte, step int) {
	if step < 3 || len(pix)%step != 0 {
		panic(fmt.Sprintf("rgb: %d bytes are no whole number of pixels of %d bytes, 3 or more", len(pix), step))
	}
	dst = dst[: len(pix)/step : len(dst)] // panics here, not past the end
	for i := range dst {
		p := pix[i*step : i*step+3 : i*step+3]
		dst[i] = t.Lab(p[0], p[1], p[2])
	}
}
