package icc

import (
	"bytes"
	"encoding/binary"
	"fmt"
)

// UFixedArray is a u16Fixed16ArrayType: numbers from 0 to 65535.99998 in steps
// of 1/65536. Source: ICC.1:2022, 10.25.
type UFixedArray []float64

// Uint16Array is a uInt16ArrayType. Source: ICC.1:2022, 10.26.
type Uint16Array []uint16

// Uint32Array is a uInt32ArrayType. Source: ICC.1:2022, 10.27.
type Uint32Array []uint32

// Uint64Array is a uInt64ArrayType. Source: ICC.1:2022, 10.28.
type Uint64Array []uint64

// Uint8Array is a uInt8ArrayType. Source: ICC.1:2022, 10.29.
type Uint8Array []uint8

// DataKind says what the bytes of a Data are.
type DataKind uint32

// The kinds that are defined; others are kept as they come.
const (
	DataASCII  DataKind = 0 // 7-bit ASCII
	DataBinary DataKind = 1 // anything else
)

// String returns "ASCII", "binary" or the number of an undefined kind.
func (k DataKind) String() string {
	switch k {
	case DataASCII:
		return "ASCII"
	case DataBinary:
		return "binary"
	}
	return fmt.Sprintf("kind %d", uint32(k))
}

// Data is a dataType: bytes that some program understands. Those of DataASCII
// are without the NUL that ends them in the profile; bytes above 0x7E, which
// some profiles hold, are kept when read and an error when written.
// Source: ICC.1:2022, 10.7.
type Data struct {
	Kind  DataKind
	Bytes []byte
}

// Type returns TypeUFixedArray.
func (UFixedArray) Type() Signature { return TypeUFixedArray }

func (v UFixedArray) appendTo(b []byte) ([]byte, error) {
	b = appendType(b, TypeUFixedArray)
	var err error
	for i, f := range v {
		if b, err = appendUFixed(b, f); err != nil {
			return nil, fmt.Errorf("number %d: %w", i, err)
		}
	}
	return b, nil
}

func readUFixedArray(r *reader) Value {
	v := make(UFixedArray, r.room(uint32(r.left()/4), "numbers", 4, 8))
	for i := range v {
		v[i] = r.ufixed()
	}
	return v
}

// Type returns TypeUint8Array.
func (Uint8Array) Type() Signature { return TypeUint8Array }

func (v Uint8Array) appendTo(b []byte) ([]byte, error) {
	return append(appendType(b, TypeUint8Array), v...), nil
}

func readUint8Array(r *reader) Value { return Uint8Array(readBytes(r)) }

// readBytes copies what is left.
func readBytes(r *reader) []byte {
	if !r.charge(int64(r.left())) {
		return nil
	}
	return append([]byte{}, r.take(r.left())...)
}

// Type returns TypeUint16Array.
func (Uint16Array) Type() Signature { return TypeUint16Array }

func (v Uint16Array) appendTo(b []byte) ([]byte, error) {
	return appendWords(appendType(b, TypeUint16Array), v), nil
}

func readUint16Array(r *reader) Value {
	return Uint16Array(r.words(r.room(uint32(r.left()/2), "numbers", 2, 2)))
}

// Type returns TypeUint32Array.
func (Uint32Array) Type() Signature { return TypeUint32Array }

func (v Uint32Array) appendTo(b []byte) ([]byte, error) {
	b = appendType(b, TypeUint32Array)
	for _, w := range v {
		b = binary.BigEndian.AppendUint32(b, w)
	}
	return b, nil
}

func readUint32Array(r *reader) Value {
	v := make(Uint32Array, r.room(uint32(r.left()/4), "numbers", 4, 4))
	for i := range v {
		v[i] = r.u32()
	}
	return v
}

// Type returns TypeUint64Array.
func (Uint64Array) Type() Signature { return TypeUint64Array }

func (v Uint64Array) appendTo(b []byte) ([]byte, error) {
	b = appendType(b, TypeUint64Array)
	for _, w := range v {
		b = binary.BigEndian.AppendUint64(b, w)
	}
	return b, nil
}

func readUint64Array(r *reader) Value {
	v := make(Uint64Array, r.room(uint32(r.left()/8), "numbers", 8, 8))
	for i := range v {
		v[i] = uint64(r.u32())<<32 | uint64(r.u32())
	}
	return v
}

// Type returns TypeData.
func (Data) Type() Signature { return TypeData }

func (v Data) appendTo(b []byte) ([]byte, error) {
	b = binary.BigEndian.AppendUint32(appendType(b, TypeData), uint32(v.Kind))
	b = append(b, v.Bytes...)
	if v.Kind != DataASCII {
		return b, nil
	}
	if err := onlyASCII(string(v.Bytes)); err != nil {
		return nil, fmt.Errorf("%w; DataBinary holds any bytes", err)
	}
	return append(b, 0), nil
}

func readData(r *reader) Value {
	v := Data{Kind: DataKind(r.u32())}
	v.Bytes = readBytes(r)
	if v.Kind == DataASCII {
		if i := bytes.IndexByte(v.Bytes, 0); i >= 0 {
			v.Bytes = v.Bytes[:i:i]
		}
	}
	return v
}
