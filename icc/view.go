package icc

import (
	"encoding/binary"
	"fmt"

	"example.org/primaries/colorimetry"
)

// ObserverCode names the observer of a Measurement.
// Source: ICC.1:2022, 10.14.
type ObserverCode uint32

// The observers that are defined; other codes are kept as they come.
const (
	ObserverUnknown ObserverCode = 0
	Observer1931    ObserverCode = 1 // CIE 1931 standard colorimetric observer, 2°
	Observer1964    ObserverCode = 2 // CIE 1964 standard colorimetric observer, 10°
)

// String returns the observer's name, or the number of an undefined code.
func (o ObserverCode) String() string {
	return codeName(uint32(o), "unknown", "CIE 1931", "CIE 1964")
}

// Geometry names how a sample is lit and seen.
// Source: ICC.1:2022, 10.14.
type Geometry uint32

// The geometries that are defined; other codes are kept as they come.
const (
	GeometryUnknown Geometry = 0
	Geometry45      Geometry = 1 // 0°:45° or 45°:0°
	GeometryDiffuse Geometry = 2 // 0°:d or d:0°
)

// String returns the geometry's name, or the number of an undefined code.
func (g Geometry) String() string {
	return codeName(uint32(g), "unknown", "0°:45° or 45°:0°", "0°:d or d:0°")
}

// IlluminantCode names a standard illuminant. Source: ICC.1:2022, 10.14.
type IlluminantCode uint32

// The illuminants that are defined; other codes are kept as they come.
const (
	IlluminantUnknown IlluminantCode = 0
	IlluminantD50     IlluminantCode = 1
	IlluminantD65     IlluminantCode = 2
	IlluminantD93     IlluminantCode = 3
	IlluminantF2      IlluminantCode = 4
	IlluminantD55     IlluminantCode = 5
	IlluminantA       IlluminantCode = 6
	IlluminantE       IlluminantCode = 7 // equal energy
	IlluminantF8      IlluminantCode = 8
)

// String returns the illuminant's name, or the number of an undefined code.
func (i IlluminantCode) String() string {
	return codeName(uint32(i), "unknown", "D50", "D65", "D93", "F2", "D55", "A", "E", "F8")
}

func codeName(code uint32, names ...string) string {
	if uint64(code) < uint64(len(names)) {
		return names[code]
	}
	return fmt.Sprintf("code %d", code)
}

// Measurement is a measurementType: how the colours that a profile was made
// from were measured, where that differs from the usual way.
// Source: ICC.1:2022, 10.14.
type Measurement struct {
	Observer   ObserverCode
	Backing    colorimetry.XYZ // of what lay behind the sample
	Geometry   Geometry
	Flare      float64 // share of the light that is stray, 1 meaning 100 %
	Illuminant IlluminantCode
}

// ViewingConditions is a viewingConditionsType: the conditions for which the
// profile's colours are meant. Both colours are absolute, in cd/m².
// Source: ICC.1:2022, 10.30.
type ViewingConditions struct {
	Illuminant, Surround colorimetry.XYZ
	IlluminantCode       IlluminantCode // what kind of light Illuminant is
}

// Type returns TypeMeasurement.
func (Measurement) Type() Signature { return TypeMeasurement }

func (v Measurement) appendTo(b []byte) ([]byte, error) {
	b = binary.BigEndian.AppendUint32(appendType(b, TypeMeasurement), uint32(v.Observer))
	b, err := appendFixed(b, v.Backing.X, v.Backing.Y, v.Backing.Z)
	if err != nil {
		return nil, fmt.Errorf("backing: %w", err)
	}
	b = binary.BigEndian.AppendUint32(b, uint32(v.Geometry))
	if b, err = appendUFixed(b, v.Flare); err != nil {
		return nil, fmt.Errorf("flare: %w", err)
	}
	return binary.BigEndian.AppendUint32(b, uint32(v.Illuminant)), nil
}

func readMeasurement(r *reader) Value {
	return Measurement{ObserverCode(r.u32()), r.xyz(), Geometry(r.u32()), r.ufixed(), IlluminantCode(r.u32())}
}

// Type returns TypeViewingConditions.
func (ViewingConditions) Type() Signature { return TypeViewingConditions }

func (v ViewingConditions) appendTo(b []byte) ([]byte, error) {
	b = appendType(b, TypeViewingConditions)
	b, err := appendFixed(b, v.Illuminant.X, v.Illuminant.Y, v.Illuminant.Z)
	if err != nil {
		return nil, fmt.Errorf("illuminant: %w", err)
	}
	if b, err = appendFixed(b, v.Surround.X, v.Surround.Y, v.Surround.Z); err != nil {
		return nil, fmt.Errorf("surround: %w", err)
	}
	return binary.BigEndian.AppendUint32(b, uint32(v.IlluminantCode)), nil
}

func readViewingConditions(r *reader) Value {
	return ViewingConditions{r.xyz(), r.xyz(), IlluminantCode(r.u32())}
}

// xyz reads an XYZNumber.
func (r *reader) xyz() colorimetry.XYZ {
	return colorimetry.XYZ{X: r.fixed(), Y: r.fixed(), Z: r.fixed()}
}
