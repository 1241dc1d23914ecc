package icc

import (
	"fmt"
	"slices"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Tag is one tag of a profile.
type Tag struct {
	Signature Signature
	Value     Value

	// raw is what Value was decoded from and offset where that lay: both let
	// an untouched tag go back as it came. Zero in a tag that was not decoded.
	raw    []byte
	offset uint32
}

// Profile is an ICC profile. It may be changed freely by one goroutine, and
// read by many while nobody changes it. Tags that shared their data in the
// bytes share their Value: give such a tag a new value by Set rather than
// writing into the one it has.
type Profile struct {
	Header Header
	Tags   []Tag // in the order of the tag table

	source []byte // the decoded bytes, nil in a profile that was built
}

// Value returns the value of tag sig, or nil if there is no such tag.
func (p *Profile) Value(sig Signature) Value {
	for _, t := range p.Tags {
		if t.Signature == sig {
			return t.Value
		}
	}
	return nil
}

// Set gives tag sig the value v, adding the tag at the end if it is new.
func (p *Profile) Set(sig Signature, v Value) {
	for i := range p.Tags {
		if p.Tags[i].Signature == sig {
			p.Tags[i] = Tag{Signature: sig, Value: v}
			return
		}
	}
	p.Tags = append(p.Tags, Tag{Signature: sig, Value: v})
}

// Remove drops tag sig if there is one.
func (p *Profile) Remove(sig Signature) {
	p.Tags = slices.DeleteFunc(p.Tags, func(t Tag) bool { return t.Signature == sig })
}

// value returns the value of tag sig as type T.
func value[T Value](p *Profile, sig Signature) (T, error) {
	var zero T
	v := p.Value(sig)
	if v == nil {
		return zero, fmt.Errorf("icc: the profile has no tag %v", sig)
	}
	t, ok := v.(T)
	if !ok {
		return zero, fmt.Errorf("icc: tag %v is of type %v, which it cannot have", sig, v.Type())
	}
	return t, nil
}

// Description returns the profile's description, in English if there are
// several languages, and "" if there is none.
func (p *Profile) Description() string { return text(p.Value(TagDescription)) }

// Copyright returns the copyright text in the same way.
func (p *Profile) Copyright() string { return text(p.Value(TagCopyright)) }

func text(v Value) string {
	switch v := v.(type) {
	case LocalizedText:
		return v.String()
	case Text:
		return string(v)
	case TextDescription:
		if v.Unicode != "" {
			return v.Unicode
		}
		return v.ASCII
	}
	return ""
}

// MediaWhite returns the media white point tag: D50 in a version 4 display
// profile and in version 2 profiles made by the same rules. It is an error if
// the tag is missing or no XYZ.
func (p *Profile) MediaWhite() (colorimetry.XYZ, error) { return p.xyz(TagMediaWhite) }

func (p *Profile) xyz(sig Signature) (colorimetry.XYZ, error) {
	v, err := value[XYZArray](p, sig)
	if err == nil && len(v) == 0 {
		err = fmt.Errorf("icc: tag %v is empty", sig)
	}
	if err != nil {
		return colorimetry.XYZ{}, err
	}
	return v[0], nil
}

// Luminance returns the luminance of the white in cd/m²; ok is false if the
// profile does not say.
func (p *Profile) Luminance() (cdM2 float64, ok bool) {
	c, err := p.xyz(TagLuminance)
	return c.Y, err == nil
}

// Colorants returns the tristimulus values of red, green and blue adapted to
// D50, whose sum is the white's (Y = 1). It is an error if a tag is missing.
func (p *Profile) Colorants() ([3]colorimetry.XYZ, error) {
	var c [3]colorimetry.XYZ
	for i, sig := range []Signature{TagRedColorant, TagGreenColorant, TagBlueColorant} {
		var err error
		if c[i], err = p.xyz(sig); err != nil {
			return c, err
		}
	}
	return c, nil
}

// Adaptation returns the chromatic adaptation matrix, which leads from
// colours under the white as measured to D50; the identity if the profile has
// none. Its inverse takes what an Evaluator's ToPCS returns back to colours as
// an instrument sees them, relative to the white's Y = 1. It is an error if
// the tag does not hold nine numbers or the matrix is singular.
//
// Source: ICC.1:2022, 9.2.15 and annex E.
func (p *Profile) Adaptation() (colorimetry.Matrix, error) {
	if p.Value(TagChromaticAdaptation) == nil {
		return colorimetry.Identity(), nil
	}
	v, err := value[FixedArray](p, TagChromaticAdaptation)
	if err != nil {
		return colorimetry.Matrix{}, err
	}
	if len(v) != 9 {
		return colorimetry.Matrix{}, fmt.Errorf("icc: tag chad holds %d numbers; 9 make a matrix", len(v))
	}
	m := colorimetry.Matrix{{v[0], v[1], v[2]}, {v[3], v[4], v[5]}, {v[6], v[7], v[8]}}
	if _, err := m.Inverse(); err != nil {
		return colorimetry.Matrix{}, fmt.Errorf("icc: tag chad: %w", err)
	}
	return m, nil
}

// CurvesInForce returns the correction curves that the profile carries in its
// vcgt tag, those that were in force while the display was measured. Without
// the tag they are the zero Channels. Errors are those of
// VideoCurves.Channels.
func (p *Profile) CurvesInForce() (tone.Channels, error) {
	if p.Value(TagVideoCurves) == nil {
		return tone.Channels{}, nil
	}
	v, err := value[VideoCurves](p, TagVideoCurves)
	if err != nil {
		return tone.Channels{}, err
	}
	return v.Channels()
}
