package icc

import "fmt"

// Channels returns how many channels a colour space has, 0 where it is not one
// that ICC.1 defines. Source: ICC.1:2022, table 19.
func Channels(space Signature) int {
	switch space {
	case SpaceGray:
		return 1
	case SpaceXYZ, SpaceLab, SpaceRGB, 0x4c757620, 0x59436272, 0x59787920, 0x48535620, 0x484c5320, 0x434d5920: // Luv YCbr Yxy HSV HLS CMY
		return 3
	case SpaceCMYK:
		return 4
	}
	// 2CLR to FCLR count in hexadecimal.
	if space&0xffffff == 0x434c52 {
		switch d := byte(space >> 24); {
		case d >= '2' && d <= '9':
			return int(d - '0')
		case d >= 'A' && d <= 'F':
			return int(d-'A') + 10
		}
	}
	return 0
}

// isPCS reports whether a space is one of the two connection spaces.
func isPCS(s Signature) bool { return s == SpaceXYZ || s == SpaceLab }

// toXYZ leads from a connection space's own units to XYZ, which all stages
// between profiles hold.
func toXYZ(space Signature) []stage {
	if space == SpaceLab {
		return []stage{{op: opLabToXYZ, in: 3, out: 3}}
	}
	return nil
}

func fromXYZ(space Signature) []stage {
	if space == SpaceLab {
		return []stage{{op: opXYZToLab, in: 3, out: 3}}
	}
	return nil
}

// modelTags are the tags of tables by direction and intent.
var (
	toTables     = [4]Signature{TagAToB0, TagAToB1, TagAToB2, TagAToB1}
	fromTables   = [4]Signature{TagBToA0, TagBToA1, TagBToA2, TagBToA1}
	toElements   = [4]Signature{TagDToB0, TagDToB1, TagDToB2, TagDToB3}
	fromElements = [4]Signature{TagBToD0, TagBToD1, TagBToD2, TagBToD3}
)

// choice is the tag that a direction is computed by.
type choice struct {
	tag      Signature
	value    Value
	absolute bool // its colours are ICC-absolute already
}

// choose returns the table of one direction: multiprocess elements of the
// intent, the table of the intent, then any other table, the perceptual one
// first. The value is nil where there is none.
//
// Source: ICC.1:2022, 8.10.2 (number from memory).
func (p *Profile) choose(elements, tables [4]Signature, intent Intent) choice {
	if v, ok := p.Value(elements[intent]).(MultiProcess); ok && v.Inputs <= maxChannels && v.Outputs <= maxChannels && v.evaluable() {
		return choice{elements[intent], v, intent == Absolute}
	}
	for _, tag := range []Signature{tables[intent], tables[Perceptual], tables[Relative], tables[Saturation]} {
		if v := p.Value(tag); v != nil {
			return choice{tag, v, false}
		}
	}
	return choice{}
}

// evaluable reports whether no element has more channels than a vec.
func (v MultiProcess) evaluable() bool {
	for _, e := range v.Elements {
		if e == nil { // stages tells
			continue
		}
		if in, out := e.Channels(); in > maxChannels || out > maxChannels {
			return false
		}
	}
	return true
}

// toPCS returns the stages from the device's channels to XYZ under D50.
func (p *Profile) toPCS(o Options) ([]stage, error) {
	if err := p.hasDevice(); err != nil {
		return nil, err
	}
	var out []stage
	var err error
	c := p.choose(toElements, toTables, o.Intent)
	switch {
	case c.value != nil:
		if out, err = p.through(c, p.Header.Space, p.Header.PCS, o); err == nil {
			out = append(out, toXYZ(p.Header.PCS)...)
		}
	case p.Header.Space == SpaceGray:
		out, err = p.fromGray()
	case p.Header.Space == SpaceRGB:
		out, err = p.fromLight()
	default:
		err = fmt.Errorf("icc: the profile has no table from %v to the connection space: %w", p.Header.Space, ErrUnsupported)
	}
	if err != nil || o.Intent != Absolute || c.absolute {
		return out, err
	}
	m, err := absoluteScale(p)
	return append(out, affine(m, [3]float64{})), err
}

// fromPCS returns the stages from XYZ under D50 to the device's channels.
func (p *Profile) fromPCS(o Options) ([]stage, error) {
	if err := p.hasDevice(); err != nil {
		return nil, err
	}
	var out []stage
	var err error
	c := p.choose(fromElements, fromTables, o.Intent)
	if o.Intent == Absolute && !c.absolute {
		m, err := absoluteScale(p)
		if err != nil {
			return nil, err
		}
		if m, err = m.Inverse(); err != nil {
			return nil, fmt.Errorf("icc: media white: %w", err)
		}
		out = append(out, affine(m, [3]float64{}))
	}
	var more []stage
	switch {
	case c.value != nil:
		out = append(out, fromXYZ(p.Header.PCS)...)
		more, err = p.through(c, p.Header.PCS, p.Header.Space, o)
	case p.choose(toElements, toTables, o.Intent).value != nil && !p.isMatrix():
		more, err = p.search(o)
	case p.Header.Space == SpaceGray:
		more, err = p.toGray()
	case p.Header.Space == SpaceRGB:
		more, err = p.toLight()
	default:
		err = fmt.Errorf("icc: the profile has no table from the connection space to %v: %w", p.Header.Space, ErrUnsupported)
	}
	return append(out, more...), err
}

// hasDevice tells why p does not join a device with a connection space.
func (p *Profile) hasDevice() error {
	switch p.Header.Class {
	case ClassLink:
		return fmt.Errorf("icc: a device link has no connection space; use Join: %w", ErrUnsupported)
	case ClassNamedColor:
		return fmt.Errorf("icc: a profile of named colours holds no way to compute others: %w", ErrUnsupported)
	}
	if !isPCS(p.Header.PCS) {
		return fmt.Errorf("icc: connection space %v; XYZ and Lab are defined: %w", p.Header.PCS, ErrUnsupported)
	}
	if Channels(p.Header.Space) == 0 {
		return fmt.Errorf("icc: colour space %v is not known: %w", p.Header.Space, ErrUnsupported)
	}
	return nil
}

// isMatrix reports whether p holds all of the matrix and curves.
func (p *Profile) isMatrix() bool {
	for _, sig := range []Signature{TagRedColorant, TagGreenColorant, TagBlueColorant, TagRedCurve, TagGreenCurve, TagBlueCurve} {
		if p.Value(sig) == nil {
			return false
		}
	}
	return p.Header.Space == SpaceRGB && p.Header.PCS == SpaceXYZ
}
