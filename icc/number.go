package icc

import (
	"encoding/binary"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// toFixed returns v as an s15Fixed16Number, halves rounded up.
// Source: ICC.1:2022, 4.6.
func toFixed(v float64) (int32, error) {
	f := math.Floor(v*65536 + 0.5)
	if !(f >= math.MinInt32 && f <= math.MaxInt32) {
		return 0, fmt.Errorf("%g is outside the range of s15Fixed16Number, -32768 to 32767.99998", v)
	}
	return int32(f), nil
}

func appendFixed(b []byte, values ...float64) ([]byte, error) {
	for _, v := range values {
		f, err := toFixed(v)
		if err != nil {
			return nil, err
		}
		b = binary.BigEndian.AppendUint32(b, uint32(f))
	}
	return b, nil
}

// appendUFixed appends v as a u16Fixed16Number. Source: ICC.1:2022, 4.7.
func appendUFixed(b []byte, v float64) ([]byte, error) {
	f := math.Floor(v*65536 + 0.5)
	if !(f >= 0 && f <= math.MaxUint32) {
		return nil, fmt.Errorf("%g is outside the range of u16Fixed16Number, 0 to 65535.99998", v)
	}
	return binary.BigEndian.AppendUint32(b, uint32(f)), nil
}

// appendType appends a type signature and the four reserved bytes after it.
func appendType(b []byte, s Signature) []byte {
	b = binary.BigEndian.AppendUint32(b, uint32(s))
	return append(b, 0, 0, 0, 0)
}

// Type returns TypeXYZ.
func (XYZArray) Type() Signature { return TypeXYZ }

func (v XYZArray) appendTo(b []byte) ([]byte, error) {
	b = appendType(b, TypeXYZ)
	var err error
	for _, c := range v {
		if b, err = appendFixed(b, c.X, c.Y, c.Z); err != nil {
			return nil, err
		}
	}
	return b, nil
}

func readXYZ(r *reader) Value {
	n := r.room(uint32(r.left()/12), "XYZ values", 12, 24)
	v := make(XYZArray, n)
	for i := range v {
		v[i] = colorimetry.XYZ{X: r.fixed(), Y: r.fixed(), Z: r.fixed()}
	}
	return v
}

// Type returns TypeFixedArray.
func (FixedArray) Type() Signature { return TypeFixedArray }

func (v FixedArray) appendTo(b []byte) ([]byte, error) {
	return appendFixed(appendType(b, TypeFixedArray), v...)
}

func readFixedArray(r *reader) Value {
	n := r.room(uint32(r.left()/4), "numbers", 4, 8)
	v := make(FixedArray, n)
	for i := range v {
		v[i] = r.fixed()
	}
	return v
}

// Type returns TypeSignature.
func (SignatureValue) Type() Signature { return TypeSignature }

func (v SignatureValue) appendTo(b []byte) ([]byte, error) {
	return binary.BigEndian.AppendUint32(appendType(b, TypeSignature), uint32(v)), nil
}

func readSignature(r *reader) Value { return SignatureValue(r.u32()) }

// Type returns TypeDateTime.
func (DateTimeValue) Type() Signature { return TypeDateTime }

func (v DateTimeValue) appendTo(b []byte) ([]byte, error) {
	return DateTime(v).appendTo(appendType(b, TypeDateTime)), nil
}

func (d DateTime) appendTo(b []byte) []byte {
	for _, f := range []uint16{d.Year, d.Month, d.Day, d.Hour, d.Minute, d.Second} {
		b = binary.BigEndian.AppendUint16(b, f)
	}
	return b
}

func readDateTimeValue(r *reader) Value { return DateTimeValue(readDateTime(r)) }

func readDateTime(r *reader) DateTime {
	return DateTime{r.u16(), r.u16(), r.u16(), r.u16(), r.u16(), r.u16()}
}

// Type returns TypeChromaticity.
func (ChromaticityValue) Type() Signature { return TypeChromaticity }

func (v ChromaticityValue) appendTo(b []byte) ([]byte, error) {
	if len(v.Channels) > math.MaxUint16 {
		return nil, fmt.Errorf("%d channels; 65535 are possible", len(v.Channels))
	}
	b = binary.BigEndian.AppendUint16(appendType(b, TypeChromaticity), uint16(len(v.Channels)))
	b = binary.BigEndian.AppendUint16(b, v.Colorant)
	var err error
	for _, c := range v.Channels {
		for _, f := range []float64{c.X, c.Y} {
			if b, err = appendUFixed(b, f); err != nil {
				return nil, err
			}
		}
	}
	return b, nil
}

func readChromaticity(r *reader) Value {
	count := r.u16()
	v := ChromaticityValue{Colorant: r.u16()}
	v.Channels = make([]colorimetry.Chromaticity, r.room(uint32(count), "chromaticities", 8, 16))
	for i := range v.Channels {
		v.Channels[i] = colorimetry.Chromaticity{X: r.ufixed(), Y: r.ufixed()}
	}
	return v
}

// Type returns TypeCICP.
func (CICP) Type() Signature { return TypeCICP }

func (v CICP) appendTo(b []byte) ([]byte, error) {
	return append(appendType(b, TypeCICP), v.Primaries, v.Transfer, v.Matrix, v.FullRange), nil
}

func readCICP(r *reader) Value { return CICP{r.u8(), r.u8(), r.u8(), r.u8()} }
