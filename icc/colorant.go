package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// ColorantOrder is a colorantOrderType: the numbers of the device's colorants
// in the order in which they are laid down. Source: ICC.1:2022, 10.4.
type ColorantOrder []uint8

// Colorant is one entry of a ColorantTable.
type Colorant struct {
	Name string // at most 31 bytes of 7-bit ASCII
	// PCS is the colour of the colorant alone at its maximum, relative to the
	// medium, in the profile's connection space: Lab or XYZ decode it.
	PCS [3]uint16
}

// ColorantTable is a colorantTableType: name and colour of each colorant, in
// the order of the device's channels. Source: ICC.1:2022, 10.5.
type ColorantTable []Colorant

// Lab returns the colour in a profile whose connection space is SpaceLab, in
// the 16-bit encoding of version 4, where 0xFFFF is L* = 100 and 0x8080 is
// a* = 0. Source: ICC.1:2022, 6.3.4.2.
func (c Colorant) Lab() colorimetry.Lab { return decodeLab16(c.PCS, stepLab) }

// XYZ returns the colour in a profile whose connection space is SpaceXYZ: Y of
// the white is 1, under D50. Source: ICC.1:2022, 6.3.4.2.
func (c Colorant) XYZ() colorimetry.XYZ { return decodeXYZ16(c.PCS) }

// Color returns the colour under D50 with Y of the white 1, whichever of the
// two connection spaces pcs is. It is an error if it is neither.
func (c Colorant) Color(pcs Signature) (colorimetry.XYZ, error) {
	return decodePCS16(c.PCS, pcs, stepLab)
}

// SetLab sets PCS to the nearest encoding of lab for a profile whose
// connection space is SpaceLab. It is an error, and c is unchanged, if L* is
// outside [0, 100] or a* or b* outside [−128, 127].
func (c *Colorant) SetLab(lab colorimetry.Lab) error { return encodeLab16(&c.PCS, lab, stepLab) }

// SetXYZ sets PCS to the nearest encoding of xyz for a profile whose
// connection space is SpaceXYZ. It is an error, and c is unchanged, if a value
// is outside [0, 1.99997].
func (c *Colorant) SetXYZ(xyz colorimetry.XYZ) error { return encodeXYZ16(&c.PCS, xyz) }

// Codes per unit of a* and b* in the two 16-bit encodings of CIELAB; L* has
// 2.55 times as many. Source: ICC.1:2022, 6.3.4.2 and 10.10 (legacy encoding of
// version 2, kept by lut16Type and namedColor2Type).
const (
	stepLab       = 257
	stepLegacyLab = 256
)

func decodeLab16(c [3]uint16, step float64) colorimetry.Lab {
	return colorimetry.Lab{L: float64(c[0]) * 100 / (255 * step), A: float64(c[1])/step - 128, B: float64(c[2])/step - 128}
}

func encodeLab16(dst *[3]uint16, lab colorimetry.Lab, step float64) error {
	if !(lab.L >= 0 && lab.L <= 100) {
		return fmt.Errorf("icc: L* of %g cannot be encoded, 0 to 100 can; clip it", lab.L)
	}
	for _, v := range []float64{lab.A, lab.B} {
		if !(v >= -128 && v <= 127) {
			return fmt.Errorf("icc: a* or b* of %g cannot be encoded, -128 to 127 can; clip it", v)
		}
	}
	round := func(v float64) uint16 { return uint16(math.Floor(v + 0.5)) }
	*dst = [3]uint16{round(lab.L / 100 * 255 * step), round((lab.A + 128) * step), round((lab.B + 128) * step)}
	return nil
}

func decodeXYZ16(c [3]uint16) colorimetry.XYZ {
	return colorimetry.XYZ{X: float64(c[0]) / 32768, Y: float64(c[1]) / 32768, Z: float64(c[2]) / 32768}
}

func encodeXYZ16(dst *[3]uint16, c colorimetry.XYZ) error {
	var out [3]uint16
	for i, v := range []float64{c.X, c.Y, c.Z} {
		f := math.Floor(v*32768 + 0.5)
		if !(f >= 0 && f <= math.MaxUint16) {
			return fmt.Errorf("icc: X, Y or Z of %g cannot be encoded, 0 to 1.99997 can; clip it", v)
		}
		out[i] = uint16(f)
	}
	*dst = out
	return nil
}

func decodePCS16(c [3]uint16, pcs Signature, step float64) (colorimetry.XYZ, error) {
	switch pcs {
	case SpaceLab:
		return decodeLab16(c, step).XYZ(colorimetry.D50()), nil
	case SpaceXYZ:
		return decodeXYZ16(c), nil
	}
	return colorimetry.XYZ{}, fmt.Errorf("icc: connection space %v: Lab and XYZ are defined", pcs)
}

// Type returns TypeColorantOrder.
func (ColorantOrder) Type() Signature { return TypeColorantOrder }

func (v ColorantOrder) appendTo(b []byte) ([]byte, error) {
	if uint64(len(v)) > math.MaxUint32 {
		return nil, errors.New("more colorants than a count of 32 bits holds")
	}
	b = binary.BigEndian.AppendUint32(appendType(b, TypeColorantOrder), uint32(len(v)))
	return append(b, v...), nil
}

func readColorantOrder(r *reader) Value {
	n := r.room(r.u32(), "colorants", 1, 1)
	return append(ColorantOrder{}, r.take(n)...)
}

// Type returns TypeColorantTable.
func (ColorantTable) Type() Signature { return TypeColorantTable }

func (v ColorantTable) appendTo(b []byte) ([]byte, error) {
	if uint64(len(v)) > math.MaxUint32 {
		return nil, errors.New("more colorants than a count of 32 bits holds")
	}
	b = binary.BigEndian.AppendUint32(appendType(b, TypeColorantTable), uint32(len(v)))
	var err error
	for i, c := range v {
		if b, err = appendName(b, c.Name); err != nil {
			return nil, fmt.Errorf("colorant %d: %w", i, err)
		}
		b = appendWords(b, c.PCS[:])
	}
	return b, nil
}

func readColorantTable(r *reader) Value {
	v := make(ColorantTable, r.room(r.u32(), "colorants", nameSize+6, 24))
	for i := range v {
		v[i] = Colorant{readASCII(r, nameSize), r.pcs16()}
	}
	return v
}

func (r *reader) pcs16() [3]uint16 { return [3]uint16{r.u16(), r.u16(), r.u16()} }

// nameSize is the fixed room for a name and its NUL.
const nameSize = 32

// appendName appends a name of fixed room.
func appendName(b []byte, name string) ([]byte, error) {
	if err := onlyASCII(name); err != nil {
		return nil, fmt.Errorf("name %q: %w", name, err)
	}
	if len(name) >= nameSize {
		return nil, fmt.Errorf("name %q has %d bytes; shorten it to 31", name, len(name))
	}
	return append(append(b, name...), make([]byte, nameSize-len(name))...), nil
}
