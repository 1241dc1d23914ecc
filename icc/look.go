package icc

import (
	"fmt"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

// In returns the text in a language, given as "de" or with a country as
// "de-AT": that of the country if there is one, else any of the language, else
// what String returns.
func (v LocalizedText) In(language string) string {
	code, country, _ := strings.Cut(language, "-")
	found := -1
	for i, s := range v {
		if !strings.EqualFold(s.Language, code) {
			continue
		}
		if strings.EqualFold(s.Country, country) {
			return s.Text
		}
		if found < 0 {
			found = i
		}
	}
	if found >= 0 {
		return v[found].Text
	}
	return v.String()
}

// DescriptionIn returns the profile's description in a language, as
// [LocalizedText.In] finds it.
func (p *Profile) DescriptionIn(language string) string {
	if v, ok := p.Value(TagDescription).(LocalizedText); ok {
		return v.In(language)
	}
	return p.Description()
}

// Stored returns where the tag's data begins in the bytes that were decoded, and
// how long it is; zeros for a tag that was not decoded.
func (t Tag) Stored() (offset, size int) { return int(t.offset), len(t.raw) }

// White returns the white as measured, relative with Y = 1: the media white with
// its adaptation to D50 undone. Without a tag chad the media white is taken for
// the measured one, as version 2 has it. It is an error if there is no media
// white, or if the adaptation cannot be undone.
func (p *Profile) White() (colorimetry.XYZ, error) {
	w, err := p.MediaWhite()
	if err != nil {
		return w, err
	}
	back, err := p.unadapt()
	if err != nil {
		return w, err
	}
	if w == encodedD50() {
		w = colorimetry.D50()
	}
	if w = back.Apply(w); !(w.Y > 0) {
		return w, fmt.Errorf("icc: media white %.4f %.4f %.4f has no luminance", w.X, w.Y, w.Z)
	}
	return w.Scale(1 / w.Y), nil
}

// unadapt returns the inverse of Adaptation.
func (p *Profile) unadapt() (colorimetry.Matrix, error) {
	m, err := p.Adaptation()
	if err != nil {
		return m, err
	}
	return m.Inverse()
}

// measured returns the matrix from colours under D50 to those as measured:
// Adaptation undone or, without a tag chad, Bradford's from D50 to the media
// white.
func (p *Profile) measured() (colorimetry.Matrix, error) {
	if p.Value(TagChromaticAdaptation) != nil || p.Value(TagMediaWhite) == nil {
		return p.unadapt()
	}
	w, err := p.White()
	if err != nil {
		return colorimetry.Matrix{}, err
	}
	return colorimetry.Bradford(colorimetry.D50(), w)
}

// Primaries returns the chromaticities of red, green and blue as measured: those
// of the colours at full signal with their adaptation to D50 undone, by the tag
// chad or, where there is none, by Bradford's transform to the media white. It is
// an error if the profile is not for RGB or has no way to the connection space.
func (p *Profile) Primaries() ([3]colorimetry.Chromaticity, error) {
	var out [3]colorimetry.Chromaticity
	if p.Header.Space != SpaceRGB {
		return out, fmt.Errorf("icc: primaries of a device of %v: %w", p.Header.Space, ErrUnsupported)
	}
	to, err := ToPCS(p, Options{Intent: Relative, PCS: SpaceXYZ})
	if err != nil {
		return out, err
	}
	back, err := p.measured()
	if err != nil {
		return out, err
	}
	for i := range out {
		var v [3]float64
		v[i] = 1
		to.Eval(v[:], v[:])
		out[i] = back.Apply(colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}).Chromaticity()
	}
	return out, nil
}

// Black returns the device's darkest colour as measured, relative to the white's
// Y = 1: no light, or all inks. Luminance times it is in cd/m². It is an error if
// the profile has no device or no way to the connection space.
func (p *Profile) Black() (colorimetry.XYZ, error) {
	if p.Header.Class == ClassAbstract || isPCS(p.Header.Space) {
		return colorimetry.XYZ{}, fmt.Errorf("icc: black of a profile from %v to %v, which has no device: %w", p.Header.Space, p.Header.PCS, ErrUnsupported)
	}
	to, err := ToPCS(p, Options{Intent: Relative, PCS: SpaceXYZ})
	if err != nil {
		return colorimetry.XYZ{}, err
	}
	back, err := p.measured()
	if err != nil {
		return colorimetry.XYZ{}, err
	}
	device, n := darkest(p.Header.Space)
	var v [3]float64
	to.Eval(v[:], device[:n])
	return back.Apply(colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}), nil
}

// ToneCurves returns the curves from signal to light of a matrix profile, red,
// green and blue, or the one of a monochrome profile whose connection space is
// XYZ. It is an error if a curve is missing; errors.Is finds ErrUnsupported in it
// where the profile has tables alone, or where its curve leads to L*.
func (p *Profile) ToneCurves() ([]Curve, error) {
	tags := []Signature{TagRedCurve, TagGreenCurve, TagBlueCurve}
	switch h := p.Header; {
	case h.PCS != SpaceXYZ && p.Value(TagAToB0) == nil:
		return nil, fmt.Errorf("icc: curves of a profile from %v to %v lead to no light: %w", h.Space, h.PCS, ErrUnsupported)
	case h.Space == SpaceGray:
		tags = []Signature{TagGrayCurve}
	case h.Space != SpaceRGB:
		return nil, fmt.Errorf("icc: tone curves of a device of %v: %w", h.Space, ErrUnsupported)
	}
	var out []Curve
	for _, sig := range tags {
		v := p.Value(sig)
		if v == nil && p.choose(toElements, toTables, Relative).value != nil {
			return nil, fmt.Errorf("icc: tone curves of a profile of tables: %w", ErrUnsupported)
		}
		c, ok := v.(Curve)
		if !ok {
			return nil, fmt.Errorf("icc: tag %v is no curve, or missing", sig)
		}
		out = append(out, c)
	}
	return out, nil
}

// Gamut returns all colours that an RGB profile's device makes, in CIELAB under
// D50, relative to its white. It is an error if the profile is not for RGB, has
// no way to the connection space or makes no solid.
func (p *Profile) Gamut(o gamut.Options) (*gamut.Solid, error) {
	if p.Header.Space != SpaceRGB {
		return nil, fmt.Errorf("icc: gamut of a device of %v: %w", p.Header.Space, ErrUnsupported)
	}
	to, err := ToPCS(p, Options{Intent: Relative, PCS: SpaceXYZ})
	if err != nil {
		return nil, err
	}
	solid, err := gamut.New(func(s colorimetry.RGB) colorimetry.XYZ {
		v := [3]float64{s.R, s.G, s.B}
		to.Eval(v[:], v[:])
		return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}
	}, gamut.CIELAB(colorimetry.D50()), o)
	if err != nil {
		return nil, fmt.Errorf("icc: %w", err)
	}
	return solid, nil
}

// NamedColor returns the colour of a name, with or without the profile's prefix
// and suffix: relative XYZ under D50, and the device's values from 0 to 1, nil
// where there are none. It is an error if the profile has no named colours or not
// this one.
func (p *Profile) NamedColor(name string) (colorimetry.XYZ, []float64, error) {
	v, err := value[NamedColors](p, TagNamedColors)
	if err != nil {
		return colorimetry.XYZ{}, nil, err
	}
	c, ok := v.Find(name)
	if !ok {
		return colorimetry.XYZ{}, nil, fmt.Errorf("icc: the profile has no colour called %.40q", name)
	}
	xyz, err := c.Color(p.Header.PCS)
	if err != nil {
		return xyz, nil, err
	}
	var device []float64
	for _, w := range c.Device {
		device = append(device, float64(w)/65535)
	}
	return xyz, device, nil
}
