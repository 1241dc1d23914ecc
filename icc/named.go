package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// NamedColor is one colour of NamedColors.
type NamedColor struct {
	Name string // without prefix and suffix; at most 31 bytes of 7-bit ASCII
	// PCS is the colour relative to the medium, in the profile's connection
	// space: Lab or XYZ decode it.
	PCS [3]uint16
	// Device holds the device's coordinates, from 0 to 65535, in the order of
	// the profile's device colour space.
	Device []uint16
}

// NamedColors is a namedColor2Type: a list of colours that have names.
// Source: ICC.1:2022, 10.17.
type NamedColors struct {
	VendorFlag     uint32 // the lower 16 bits are the ICC's
	Prefix, Suffix string // around each name; at most 31 bytes of 7-bit ASCII
	// Channels is the number of device coordinates of each colour: 0 where
	// there are none, else that of the device colour space.
	Channels int
	Colors   []NamedColor
}

// Lab returns the colour in a profile whose connection space is SpaceLab. In
// both versions it is stored in the encoding of version 2, where 0xFF00 is
// L* = 100 and 0x8000 is a* = 0. Source: ICC.1:2022, 10.17.
func (c NamedColor) Lab() colorimetry.Lab { return decodeLab16(c.PCS, stepLegacyLab) }

// XYZ returns the colour in a profile whose connection space is SpaceXYZ: Y of
// the white is 1, under D50. Source: ICC.1:2022, 6.3.4.2.
func (c NamedColor) XYZ() colorimetry.XYZ { return decodeXYZ16(c.PCS) }

// Color returns the colour under D50 with Y of the white 1, whichever of the
// two connection spaces pcs is. It is an error if it is neither.
func (c NamedColor) Color(pcs Signature) (colorimetry.XYZ, error) {
	return decodePCS16(c.PCS, pcs, stepLegacyLab)
}

// SetLab sets PCS to the nearest encoding of lab for a profile whose
// connection space is SpaceLab. It is an error, and c is unchanged, if L* is
// outside [0, 100] or a* or b* outside [−128, 127].
func (c *NamedColor) SetLab(lab colorimetry.Lab) error {
	return encodeLab16(&c.PCS, lab, stepLegacyLab)
}

// SetXYZ sets PCS to the nearest encoding of xyz for a profile whose
// connection space is SpaceXYZ. It is an error, and c is unchanged, if a value
// is outside [0, 1.99997].
func (c *NamedColor) SetXYZ(xyz colorimetry.XYZ) error { return encodeXYZ16(&c.PCS, xyz) }

// FullName returns the name of c between prefix and suffix.
func (v NamedColors) FullName(c NamedColor) string { return v.Prefix + c.Name + v.Suffix }

// Find returns the first colour whose full name is name, or else the first
// whose name without prefix and suffix is.
func (v NamedColors) Find(name string) (c NamedColor, ok bool) {
	for _, full := range []bool{true, false} {
		for _, c := range v.Colors {
			if full && v.FullName(c) == name || !full && c.Name == name {
				return c, true
			}
		}
	}
	return NamedColor{}, false
}

// Type returns TypeNamedColors.
func (NamedColors) Type() Signature { return TypeNamedColors }

func (v NamedColors) appendTo(b []byte) ([]byte, error) {
	if v.Channels < 0 || v.Channels > maxChannels {
		return nil, fmt.Errorf("%d device coordinates; 0 to %d are possible", v.Channels, maxChannels)
	}
	if uint64(len(v.Colors)) > math.MaxUint32 {
		return nil, errors.New("more colours than a count of 32 bits holds")
	}
	b = binary.BigEndian.AppendUint32(appendType(b, TypeNamedColors), v.VendorFlag)
	b = binary.BigEndian.AppendUint32(b, uint32(len(v.Colors)))
	b = binary.BigEndian.AppendUint32(b, uint32(v.Channels))
	b, err := appendName(b, v.Prefix)
	if err != nil {
		return nil, fmt.Errorf("prefix: %w", err)
	}
	if b, err = appendName(b, v.Suffix); err != nil {
		return nil, fmt.Errorf("suffix: %w", err)
	}
	for i, c := range v.Colors {
		if len(c.Device) != v.Channels {
			return nil, fmt.Errorf("colour %d has %d device coordinates, the list states %d; make them agree", i, len(c.Device), v.Channels)
		}
		if b, err = appendName(b, c.Name); err != nil {
			return nil, fmt.Errorf("colour %d: %w", i, err)
		}
		b = appendWords(appendWords(b, c.PCS[:]), c.Device)
	}
	return b, nil
}

func readNamedColors(r *reader) Value {
	v := NamedColors{VendorFlag: r.u32()}
	count, channels := r.u32(), r.u32()
	if r.err == nil && channels > maxChannels {
		r.fail(16, fmt.Errorf("%d device coordinates; %d are possible", channels, maxChannels))
		return nil
	}
	v.Channels = int(channels)
	v.Prefix, v.Suffix = readASCII(r, nameSize), readASCII(r, nameSize)
	n := r.room(count, "named colours", nameSize+6+2*v.Channels, 48+2*v.Channels)
	v.Colors = make([]NamedColor, n)
	device := make([]uint16, n*v.Channels)
	for i := range v.Colors {
		c := &v.Colors[i]
		c.Name, c.PCS = readASCII(r, nameSize), r.pcs16()
		if v.Channels == 0 {
			continue
		}
		c.Device, device = device[:v.Channels:v.Channels], device[v.Channels:]
		for k := range c.Device {
			c.Device[k] = r.u16()
		}
	}
	return v
}
