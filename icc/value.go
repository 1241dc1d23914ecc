package icc

import (
	"example.org/primaries/colorimetry"
)

// Value is the value of a tag: one of the types of this package, as a value and
// not as a pointer. Raw stands for every type that has no Go type here.
type Value interface {
	// Type returns the type signature.
	Type() Signature
	// appendTo appends the encoded value, type signature and reserved word
	// included, without padding.
	appendTo(b []byte) ([]byte, error)
}

// Raw is a value of a type that this package does not interpret.
type Raw struct {
	TypeSignature Signature
	// Data is everything after the type signature, the four reserved bytes
	// included. It belongs to the profile: replace it, don't write into it.
	Data []byte
}

// XYZArray is an XYZType: tristimulus values, whose scale the tag defines
// (cd/m² for the luminance tag, relative for all else).
// Source: ICC.1:2022, 10.31.
type XYZArray []colorimetry.XYZ

// FixedArray is an s15Fixed16ArrayType, such as the nine elements, row by
// row, of the chromatic adaptation matrix. Source: ICC.1:2022, 10.22.
type FixedArray []float64

// SignatureValue is a signatureType. Source: ICC.1:2022, 10.23.
type SignatureValue Signature

// DateTimeValue is a dateTimeType. Source: ICC.1:2022, 10.8.
type DateTimeValue DateTime

// ChromaticityValue is a chromaticityType: the chromaticities of the device's
// channels. Colorant is the code of a standard phosphor set, 0 where the
// coordinates stand for themselves. Source: ICC.1:2022, 10.2.
type ChromaticityValue struct {
	Colorant uint16
	Channels []colorimetry.Chromaticity
}

// CICP is a cicpType: coding-independent code points of ITU-T H.273.
// Source: ICC.1:2022, 10.3.
type CICP struct {
	Primaries, Transfer, Matrix uint8
	FullRange                   uint8 // 1 for full range, 0 for narrow
}

// Text is a textType: 7-bit ASCII. Bytes above that, which some profiles
// hold, are read as UTF-8 if they are valid and as ISO 8859-1 if not; they
// are an error when written. Source: ICC.1:2022, 10.24.
type Text string

// TextDescription is the textDescriptionType of version 2.
// Source: ICC.1:2001-04, 6.5.17.
type TextDescription struct {
	ASCII           string
	UnicodeLanguage uint32
	Unicode         string
	ScriptCode      uint16
	Script          []byte // at most 67 bytes, in the encoding ScriptCode names
}

// LocalizedString is one record of a LocalizedText.
type LocalizedString struct {
	Language string // two letters, ISO 639-1, "en"
	Country  string // two letters, ISO 3166-1, "US"; may be two NUL bytes
	Text     string
}

// LocalizedText is a multiLocalizedUnicodeType: a text in any number of
// languages, the first being the default. Source: ICC.1:2022, 10.15.
type LocalizedText []LocalizedString

// DictEntry is one name-value pair of a Dict.
type DictEntry struct {
	Name, Value string
	// HasValue is false where the name stands alone, which differs from an
	// empty value.
	HasValue                  bool
	DisplayName, DisplayValue LocalizedText // optional translations
}

// Dict is a dictType: name-value pairs. Source: ICC.1:2022, 10.9, and the
// ICC's dictType specification.
type Dict []DictEntry

// SampledCurve is a curveType: no entries are the identity, one is a power
// whose exponent is the entry divided by 256, more are equally spaced samples
// over the domain [0, 1], 65535 meaning 1, with straight lines between them.
// Source: ICC.1:2022, 10.6.
type SampledCurve []uint16

// ParametricCurve is a parametricCurveType. With the parameters named as the
// standard names them, x and y in [0, 1]:
//
//	0  y = x^G
//	1  y = (A·x+B)^G            for x ≥ −B/A, else 0
//	2  y = (A·x+B)^G + C        for x ≥ −B/A, else C
//	3  y = (A·x+B)^G            for x ≥ D, else C·x
//	4  y = (A·x+B)^G + E        for x ≥ D, else C·x + F
//
// Results are clipped to [0, 1]. Parameters that the function does not use are
// ignored. Source: ICC.1:2022, 10.18.
type ParametricCurve struct {
	Function            int // 0 to 4
	G, A, B, C, D, E, F float64
}

// VideoFormula is one channel of a VideoCurves formula:
// y = (Max−Min)·x^Gamma + Min.
type VideoFormula struct{ Gamma, Min, Max float64 }

// VideoCurves is the registered private type 'vcgt': the correction curves that
// are loaded into the display path. Either Table or Formula is set.
//
// Source: layout as Little CMS, which is open source, reads and writes it.
type VideoCurves struct {
	// Table holds one or three channels of equally many entries (at most
	// 65535), 65535 meaning 1.
	Table [][]uint16
	// Bits is the width of the stored entries, 8 or 16; 0 means 16. With 8,
	// entries are multiples of 257.
	Bits int
	// Formula is used where Table is nil.
	Formula [3]VideoFormula
}
