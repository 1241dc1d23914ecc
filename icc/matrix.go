package icc

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

const (
	// maxCurveEntries is as many as display paths use; some readers refuse
	// curves of 32768 entries and more.
	maxCurveEntries = 4096
	// maxWhiteError is how far the colorants' sum may lie from D50 in X, Y or
	// Z. What measurement and model leave is far less, what a forgotten
	// adaptation leaves far more (0.26 in Z from D65).
	maxWhiteError = 0.01
	// noCopyright is written where the caller states nothing, since ICC.1
	// requires the tag.
	noCopyright = "Copyright not stated"
)

// MatrixSpec says what MatrixProfile writes. Description, Colorants and the
// curves are needed; every other zero field means what its comment says.
type MatrixSpec struct {
	Version     Version // V2, V4 or V4Dot4; 0 means V4, and V4 becomes V4Dot4 with a CICP
	Description string
	Copyright   string // "" writes "Copyright not stated"

	// Colorants are the tristimulus values of red, green and blue at full
	// signal, adapted to D50, on the scale on which the white's Y is 1. Their
	// sum must be D50 within 0.01 in X, Y and Z; what it lacks is spread over
	// them in proportion, so that the encoded numbers add up to the encoded
	// D50 exactly and greys stay neutral.
	Colorants [3]colorimetry.XYZ

	// Curves lead from the signals of red, green and blue to relative light:
	// 2 to 4096 equally spaced samples in [0, 1] that never fall. They are
	// stored with 16 bits.
	Curves [3][]float64
	// Parametric replaces Curves where it is not nil. Version 2 knows no
	// parametric curves: there an exact power of a multiple of 1/256 is
	// stored as such and everything else as 4096 samples.
	Parametric [3]*ParametricCurve

	// Chad leads from the white as measured to D50; zero writes no chad tag,
	// which is right only for a display whose white is D50.
	Chad colorimetry.Matrix
	// LuminanceCdM2 is that of the white in cd/m²; 0 writes no lumi tag.
	LuminanceCdM2 float64
	// InForce is what the display path held during the measurements; the zero
	// Channels write no vcgt tag.
	InForce tone.Channels
	// Created is written in UTC; the zero time writes zeros.
	Created time.Time
	// Targ is the characterisation data as 7-bit text, such as CGATS.17; nil
	// writes no targ tag.
	Targ []byte
	// Meta becomes a dictionary, its names in sorted order; empty writes no
	// meta tag. Version 2 knows no such tag and its readers pass over it.
	Meta map[string]string
	// CICP states the coding of a signal by ITU-T H.273, in version 4 only;
	// nil writes no cicp tag.
	CICP *CICP

	Intent              Intent // in the header; Perceptual is customary
	Manufacturer, Model Signature
}

// MatrixProfile returns a matrix/TRC display profile as ICC.1:2022, 8.4.3,
// asks for, or for version 2 as ICC.1:2001-04, 6.3.2.1, with the practice that
// the ICC recommends there: media white D50, the adaptation in chad. Its
// profile ID is set. Characters that version 2 cannot hold in a plain text are
// written as '?'; a description has its Unicode form besides.
//
// The error says which field is unusable and why.
func MatrixProfile(spec MatrixSpec) (*Profile, error) {
	p := &Profile{Header: Header{
		Version:      spec.Version,
		Class:        ClassDisplay,
		Space:        SpaceRGB,
		PCS:          SpaceXYZ,
		Intent:       spec.Intent,
		Illuminant:   encodedD50(),
		Manufacturer: spec.Manufacturer,
		Model:        spec.Model,
	}}
	if !spec.Created.IsZero() {
		p.Header.Created = dateTime(spec.Created)
	}
	if err := spec.setVersion(p); err != nil {
		return nil, err
	}
	if err := spec.setTexts(p); err != nil {
		return nil, err
	}
	if err := spec.setModel(p); err != nil {
		return nil, err
	}
	if err := spec.setExtras(p); err != nil {
		return nil, err
	}
	b, err := p.Encode()
	if err != nil {
		return nil, err
	}
	p.Header.ID, err = ProfileID(b)
	return p, err
}

func (spec *MatrixSpec) setVersion(p *Profile) error {
	switch spec.Version {
	case 0, V4:
		p.Header.Version = V4
		if spec.CICP != nil {
			p.Header.Version = V4Dot4
		}
	case V2:
		if spec.CICP != nil {
			return errors.New("icc: MatrixSpec.CICP with version 2, which has no such tag; use V4")
		}
	case V4Dot4:
	default:
		return fmt.Errorf("icc: MatrixSpec.Version is %v; V2 and V4 are written", spec.Version)
	}
	return nil
}

func (spec *MatrixSpec) setTexts(p *Profile) error {
	if spec.Description == "" {
		return errors.New("icc: MatrixSpec.Description is empty; the profile needs a name that people can read")
	}
	right := spec.Copyright
	if right == "" {
		right = noCopyright
	}
	if p.Header.Version.Major() == 2 {
		d := TextDescription{ASCII: asASCII(spec.Description)}
		if d.ASCII != spec.Description {
			d.Unicode = spec.Description
		}
		p.Set(TagDescription, d)
		p.Set(TagCopyright, Text(asASCII(right)))
		return nil
	}
	p.Set(TagDescription, LocalizedText{{"en", "US", spec.Description}})
	p.Set(TagCopyright, LocalizedText{{"en", "US", right}})
	return nil
}

// asASCII writes '?' for every character outside printable ASCII and line
// ends.
func asASCII(s string) string {
	return strings.Map(func(c rune) rune {
		if c > 0x7e || c < ' ' && c != '\n' && c != '\r' && c != '\t' {
			return '?'
		}
		return c
	}, s)
}

// setModel writes what a colour is computed from.
func (spec *MatrixSpec) setModel(p *Profile) error {
	p.Set(TagMediaWhite, XYZArray{encodedD50()})
	if spec.Chad != (colorimetry.Matrix{}) {
		if _, err := spec.Chad.Inverse(); err != nil {
			return fmt.Errorf("icc: MatrixSpec.Chad: %w", err)
		}
		m := spec.Chad
		p.Set(TagChromaticAdaptation, FixedArray{m[0][0], m[0][1], m[0][2], m[1][0], m[1][1], m[1][2], m[2][0], m[2][1], m[2][2]})
	}
	colorants, err := balance(spec.Colorants)
	if err != nil {
		return err
	}
	for i, sig := range []Signature{TagRedColorant, TagGreenColorant, TagBlueColorant} {
		p.Set(sig, XYZArray{colorants[i]})
	}
	for i, sig := range []Signature{TagRedCurve, TagGreenCurve, TagBlueCurve} {
		v, err := spec.curve(i, p.Header.Version)
		if err != nil {
			return fmt.Errorf("icc: MatrixSpec, channel %d: %w", i, err)
		}
		p.Set(sig, v)
	}
	return nil
}

// balance returns the colorants as s15Fixed16 numbers hold them, their sum
// being the encoded D50. Each row is scaled to that sum, rounded down, and the
// units that are then missing go to the numbers that lost most by rounding.
func balance(c [3]colorimetry.XYZ) ([3]colorimetry.XYZ, error) {
	m := colorimetry.Columns(c[0], c[1], c[2])
	d := encodedD50()
	for row, want := range []float64{d.X, d.Y, d.Z} {
		sum := m[row][0] + m[row][1] + m[row][2]
		if !(math.Abs(sum-want) <= maxWhiteError) {
			return c, fmt.Errorf("icc: MatrixSpec.Colorants add up to %.4f in %c, D50 has %.4f; adapt them to D50 and scale their white to Y = 1", sum, "XYZ"[row], want)
		}
		missing := want * 65536
		var lost [3]float64
		for j, v := range m[row] {
			v *= want / sum * 65536
			m[row][j] = math.Floor(v)
			lost[j] = v - m[row][j]
			missing -= m[row][j]
		}
		for ; missing > 0.5; missing-- {
			j := 0
			for k := range lost {
				if lost[k] > lost[j] {
					j = k
				}
			}
			m[row][j]++
			lost[j]--
		}
		for j := range m[row] {
			m[row][j] /= 65536
			if _, err := toFixed(m[row][j]); err != nil {
				return c, fmt.Errorf("icc: MatrixSpec.Colorants: %w", err)
			}
		}
	}
	return [3]colorimetry.XYZ{m.Column(0), m.Column(1), m.Column(2)}, nil
}

func (spec *MatrixSpec) curve(i int, version Version) (Value, error) {
	f := spec.Parametric[i]
	switch {
	case f == nil:
		return sampled(spec.Curves[i])
	case f.Function < 0 || f.Function > 4:
		return nil, fmt.Errorf("parametric function %d; 0 to 4 are defined", f.Function)
	case version.Major() >= 4:
		return *f, nil
	}
	if g := f.G * 256; f.Function == 0 && g == math.Trunc(g) && g >= 1 && g <= 65535 {
		return SampledCurve{uint16(g)}, nil
	}
	t := make([]float64, maxCurveEntries)
	for k := range t {
		t[k] = f.At(float64(k) / (maxCurveEntries - 1))
	}
	return sampled(t)
}

func sampled(t []float64) (SampledCurve, error) {
	if len(t) < 2 || len(t) > maxCurveEntries {
		return nil, fmt.Errorf("curve has %d samples; 2 to %d are possible", len(t), maxCurveEntries)
	}
	v := make(SampledCurve, len(t))
	for k, y := range t {
		if !(y >= 0 && y <= 1) {
			return nil, fmt.Errorf("curve sample %d is %g; relative light runs from 0 to 1", k, y)
		}
		if k > 0 && y < t[k-1] {
			return nil, fmt.Errorf("curve falls at sample %d, from %g to %g; smooth it first", k, t[k-1], y)
		}
		v[k] = uint16(math.Round(y * 65535))
	}
	return v, nil
}

// setExtras writes the tags that describe without taking part in the
// computation.
func (spec *MatrixSpec) setExtras(p *Profile) error {
	if l := spec.LuminanceCdM2; l != 0 {
		if !(l > 0 && l < 32768) {
			return fmt.Errorf("icc: MatrixSpec.LuminanceCdM2 is %g; the tag holds more than 0 and less than 32768 cd/m²", l)
		}
		p.Set(TagLuminance, XYZArray{{Y: l}})
	}
	if spec.InForce.Len() > 0 {
		p.Set(TagVideoCurves, NewVideoCurves(spec.InForce))
	}
	if spec.Targ != nil {
		p.Set(TagCharTarget, Text(spec.Targ))
	}
	if len(spec.Meta) > 0 {
		var d Dict
		for _, name := range slices.Sorted(maps.Keys(spec.Meta)) {
			d = append(d, DictEntry{Name: name, Value: spec.Meta[name], HasValue: true})
		}
		p.Set(TagMetadata, d)
	}
	if spec.CICP != nil {
		p.Set(TagCICP, *spec.CICP)
	}
	return nil
}
