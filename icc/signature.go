package icc

import (
	"fmt"
	"strings"
)

// Signature is a four-byte code: of a tag, a type, a profile class, a colour
// space, a device maker. The first letter is the highest byte.
type Signature uint32

// String returns the four letters of s without trailing spaces, or hexadecimal
// where a byte is not printable ASCII or all are spaces.
func (s Signature) String() string {
	b := [4]byte{byte(s >> 24), byte(s >> 16), byte(s >> 8), byte(s)}
	for _, c := range b {
		if c < 0x20 || c > 0x7e || s == 0x20202020 {
			return fmt.Sprintf("0x%08X", uint32(s))
		}
	}
	return strings.TrimRight(string(b[:]), " ")
}

// Profile classes. Source: ICC.1:2022, table 18.
const (
	ClassInput      Signature = 0x73636e72 // scnr
	ClassDisplay    Signature = 0x6d6e7472 // mntr
	ClassOutput     Signature = 0x70727472 // prtr
	ClassLink       Signature = 0x6c696e6b // link
	ClassSpace      Signature = 0x73706163 // spac
	ClassAbstract   Signature = 0x61627374 // abst
	ClassNamedColor Signature = 0x6e6d636c // nmcl
)

// Colour spaces that this package needs by name. Source: ICC.1:2022, table 19.
const (
	SpaceRGB  Signature = 0x52474220 // RGB
	SpaceGray Signature = 0x47524159 // GRAY
	SpaceXYZ  Signature = 0x58595a20 // XYZ
	SpaceLab  Signature = 0x4c616220 // Lab
	SpaceCMYK Signature = 0x434d594b // CMYK
)

// Tag signatures. Source: ICC.1:2022, clause 9.2; TagVideoCurves is a private
// tag in the ICC's signature registry, TagHardwareCalibration one that its maker
// documents.
const (
	TagDescription         Signature = 0x64657363 // desc
	TagCopyright           Signature = 0x63707274 // cprt
	TagMediaWhite          Signature = 0x77747074 // wtpt
	TagChromaticAdaptation Signature = 0x63686164 // chad
	TagRedColorant         Signature = 0x7258595a // rXYZ
	TagGreenColorant       Signature = 0x6758595a // gXYZ
	TagBlueColorant        Signature = 0x6258595a // bXYZ
	TagRedCurve            Signature = 0x72545243 // rTRC
	TagGreenCurve          Signature = 0x67545243 // gTRC
	TagBlueCurve           Signature = 0x62545243 // bTRC
	TagGrayCurve           Signature = 0x6b545243 // kTRC
	TagLuminance           Signature = 0x6c756d69 // lumi
	TagChromaticity        Signature = 0x6368726d // chrm
	TagCharTarget          Signature = 0x74617267 // targ
	TagCICP                Signature = 0x63696370 // cicp
	TagMetadata            Signature = 0x6d657461 // meta
	TagVideoCurves         Signature = 0x76636774 // vcgt
	TagDeviceMaker         Signature = 0x646d6e64 // dmnd
	TagDeviceModel         Signature = 0x646d6464 // dmdd
	TagTechnology          Signature = 0x74656368 // tech
	TagAToB0               Signature = 0x41324230 // A2B0
	TagAToB1               Signature = 0x41324231 // A2B1
	TagAToB2               Signature = 0x41324232 // A2B2
	TagBToA0               Signature = 0x42324130 // B2A0
	TagBToA1               Signature = 0x42324131 // B2A1
	TagBToA2               Signature = 0x42324132 // B2A2
	TagDToB0               Signature = 0x44324230 // D2B0
	TagDToB1               Signature = 0x44324231 // D2B1
	TagDToB2               Signature = 0x44324232 // D2B2
	TagDToB3               Signature = 0x44324233 // D2B3
	TagBToD0               Signature = 0x42324430 // B2D0
	TagBToD1               Signature = 0x42324431 // B2D1
	TagBToD2               Signature = 0x42324432 // B2D2
	TagBToD3               Signature = 0x42324433 // B2D3
	TagCalibrationDate     Signature = 0x63616c74 // calt
	TagColorantOrder       Signature = 0x636c726f // clro
	TagColorantTable       Signature = 0x636c7274 // clrt
	TagColorantTableOut    Signature = 0x636c6f74 // clot
	TagGamut               Signature = 0x67616d74 // gamt
	TagHardwareCalibration Signature = 0x4d484332 // MHC2
	TagImageState          Signature = 0x63696973 // ciis
	TagMeasurement         Signature = 0x6d656173 // meas
	TagNamedColors         Signature = 0x6e636c32 // ncl2
	TagOutputResponse      Signature = 0x72657370 // resp
	TagPerceptualGamut     Signature = 0x72696730 // rig0
	TagPreview0            Signature = 0x70726530 // pre0
	TagPreview1            Signature = 0x70726531 // pre1
	TagPreview2            Signature = 0x70726532 // pre2
	TagProfileSequence     Signature = 0x70736571 // pseq
	TagProfileSequenceIDs  Signature = 0x70736964 // psid
	TagSaturationGamut     Signature = 0x72696732 // rig2
	TagViewingConditions   Signature = 0x76696577 // view
	TagViewingDescription  Signature = 0x76756564 // vued
)

// Type signatures of tag values. Source: ICC.1:2022, clause 10;
// TypeTextDescription is ICC.1:2001-04, 6.5.17.
const (
	TypeChromaticity        Signature = 0x6368726d // chrm
	TypeCICP                Signature = 0x63696370 // cicp
	TypeColorantOrder       Signature = 0x636c726f // clro
	TypeColorantTable       Signature = 0x636c7274 // clrt
	TypeCurve               Signature = 0x63757276 // curv
	TypeData                Signature = 0x64617461 // data
	TypeDateTime            Signature = 0x6474696d // dtim
	TypeDict                Signature = 0x64696374 // dict
	TypeFixedArray          Signature = 0x73663332 // sf32
	TypeHardwareCalibration Signature = 0x4d484332 // MHC2
	TypeLocalized           Signature = 0x6d6c7563 // mluc
	TypeLut16               Signature = 0x6d667432 // mft2
	TypeLut8                Signature = 0x6d667431 // mft1
	TypeLutAToB             Signature = 0x6d414220 // mAB
	TypeLutBToA             Signature = 0x6d424120 // mBA
	TypeMeasurement         Signature = 0x6d656173 // meas
	TypeMultiProcess        Signature = 0x6d706574 // mpet
	TypeNamedColors         Signature = 0x6e636c32 // ncl2
	TypeParametricCurve     Signature = 0x70617261 // para
	TypeProfileSequence     Signature = 0x70736571 // pseq
	TypeProfileSequenceIDs  Signature = 0x70736964 // psid
	TypeResponseCurves      Signature = 0x72637332 // rcs2
	TypeSignature           Signature = 0x73696720 // sig
	TypeText                Signature = 0x74657874 // text
	TypeTextDescription     Signature = 0x64657363 // desc
	TypeUFixedArray         Signature = 0x75663332 // uf32
	TypeUint16Array         Signature = 0x75693136 // ui16
	TypeUint32Array         Signature = 0x75693332 // ui32
	TypeUint64Array         Signature = 0x75693634 // ui64
	TypeUint8Array          Signature = 0x75693038 // ui08
	TypeVideoCurves         Signature = 0x76636774 // vcgt
	TypeViewingConditions   Signature = 0x76696577 // view
	TypeXYZ                 Signature = 0x58595a20 // XYZ
)
