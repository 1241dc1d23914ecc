package icc

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// fromLight returns the stages from RGB by matrix and curves to XYZ.
func (p *Profile) fromLight() ([]stage, error) {
	curves, m, err := p.light()
	if err != nil {
		return nil, err
	}
	return []stage{curves, affine(m, [3]float64{})}, nil
}

// toLight returns the inverse of fromLight. Light is inverted channel by
// channel, so that colours outside the gamut come to its surface.
func (p *Profile) toLight() ([]stage, error) {
	curves, m, err := p.light()
	if err != nil {
		return nil, err
	}
	if m, err = m.Inverse(); err != nil {
		return nil, fmt.Errorf("icc: the colorants of red, green and blue are not independent: %w", err)
	}
	curves.op = opInverseCurves
	return []stage{affine(m, [3]float64{}), curves}, nil
}

// light returns the curves and the colorants of a matrix profile.
func (p *Profile) light() (stage, colorimetry.Matrix, error) {
	s := stage{op: opCurves, in: 3, out: 3}
	if p.Header.PCS != SpaceXYZ {
		return s, colorimetry.Matrix{}, fmt.Errorf("icc: a matrix leads to XYZ, and the connection space is %v: %w", p.Header.PCS, ErrUnsupported)
	}
	for _, sig := range []Signature{TagRedCurve, TagGreenCurve, TagBlueCurve} {
		c, err := p.channel(sig)
		if err != nil {
			return s, colorimetry.Matrix{}, err
		}
		s.curves = append(s.curves, c)
	}
	c, err := p.Colorants()
	if err != nil {
		return s, colorimetry.Matrix{}, err
	}
	for i, x := range c {
		if !x.Finite() {
			return s, colorimetry.Matrix{}, fmt.Errorf("icc: colorant %d of the matrix, %v, is not finite", i+1, x)
		}
	}
	return s, colorimetry.Columns(c[0], c[1], c[2]), nil
}

// channel returns the curve that a tag holds.
func (p *Profile) channel(sig Signature) (channel, error) {
	v := p.Value(sig)
	if v == nil {
		return channel{}, fmt.Errorf("icc: the profile has no tag %v", sig)
	}
	c, ok := v.(Curve)
	if !ok {
		return channel{}, fmt.Errorf("icc: tag %v is of type %v, which is no curve", sig, v.Type())
	}
	out, err := newChannel(c)
	if err != nil {
		return out, fmt.Errorf("icc: tag %v: %w", sig, err)
	}
	return out, nil
}

// grey returns the curve of a monochrome profile and what its value 1 stands
// for in the connection space's own units.
//
// Source: ICC.1:2022, annex F.2 (number from memory).
func (p *Profile) grey() (stage, colorimetry.XYZ, error) {
	c, err := p.channel(TagGrayCurve)
	d := colorimetry.D50()
	if p.Header.PCS == SpaceLab {
		d = colorimetry.XYZ{X: 100} // L*, a* and b*
	}
	return stage{op: opCurves, in: 1, out: 1, curves: []channel{c}}, d, err
}

func (p *Profile) fromGray() ([]stage, error) {
	s, one, err := p.grey()
	if err != nil {
		return nil, err
	}
	spread := stage{op: opMatrix, in: 1, out: 3, matrix: []float64{one.X, one.Y, one.Z, 0, 0, 0}}
	return append([]stage{s, spread}, toXYZ(p.Header.PCS)...), nil
}

func (p *Profile) toGray() ([]stage, error) {
	s, _, err := p.grey()
	if err != nil {
		return nil, err
	}
	s.op = opInverseCurves
	pick := stage{op: opMatrix, in: 3, out: 1, matrix: []float64{0, 1, 0, 0}}
	if p.Header.PCS == SpaceLab {
		pick.matrix = []float64{0.01, 0, 0, 0}
	}
	return append(fromXYZ(p.Header.PCS), pick, s), nil
}

// absoluteScale returns the media white over D50. The media white that is
// encoded as D50 is D50, without the rounding of its encoding.
func absoluteScale(p *Profile) (colorimetry.Matrix, error) {
	w, err := p.MediaWhite()
	if err != nil {
		return colorimetry.Matrix{}, err
	}
	if !(w.X > 0 && w.Y > 0 && w.Z > 0) || !w.Finite() {
		return colorimetry.Matrix{}, fmt.Errorf("icc: media white %.4f %.4f %.4f cannot be: every value is above 0 and finite", w.X, w.Y, w.Z)
	}
	if w == encodedD50() {
		return colorimetry.Identity(), nil
	}
	d := colorimetry.D50()
	return colorimetry.Diagonal(w.X/d.X, w.Y/d.Y, w.Z/d.Z), nil
}

// encodedD50 returns D50 as s15Fixed16 numbers hold it.
func encodedD50() colorimetry.XYZ {
	d := colorimetry.D50()
	q := func(v float64) float64 { return math.Floor(v*65536+0.5) / 65536 }
	return colorimetry.XYZ{X: q(d.X), Y: q(d.Y), Z: q(d.Z)}
}
