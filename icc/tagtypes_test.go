package icc

import (
	"bytes"
	"testing"

	"example.org/primaries/colorimetry"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// name32 is a name in its 32 bytes.
func name32(s string) string { return string(append([]byte(s), make([]byte, 32-len(s))...)) }

// layout is a value and the bytes that the standard's table gives it. The
// bytes are written by hand, field by field.
type layout struct {
	v    Value
	want string
	// prefix says that the type has no count, so that a shorter element is a
	// shorter value.
	prefix bool
}

// Arrays and dataType: ICC.1:2022, 10.7 and 10.25 to 10.29; the tables as
// ICC.1:2010, 10.6 and 10.23 to 10.27, has them.
var arrayLayouts = map[string]layout{
	"uf32":         {UFixedArray{0, 1, 0.5, 65535.5}, "uf32\x00\x00\x00\x00" + "\x00\x00\x00\x00" + "\x00\x01\x00\x00" + "\x00\x00\x80\x00" + "\xff\xff\x80\x00", true},
	"ui08":         {Uint8Array{1, 2, 255}, "ui08\x00\x00\x00\x00" + "\x01\x02\xff", true},
	"ui16":         {Uint16Array{1, 0x1234}, "ui16\x00\x00\x00\x00" + "\x00\x01\x12\x34", true},
	"ui32":         {Uint32Array{1, 0x12345678}, "ui32\x00\x00\x00\x00" + "\x00\x00\x00\x01\x12\x34\x56\x78", true},
	"ui64":         {Uint64Array{0x123456789abcdef0}, "ui64\x00\x00\x00\x00" + "\x12\x34\x56\x78\x9a\xbc\xde\xf0", true},
	"ui64, none":   {Uint64Array{}, "ui64\x00\x00\x00\x00", true},
	"data, ASCII":  {Data{DataASCII, []byte("ab")}, "data\x00\x00\x00\x00" + "\x00\x00\x00\x00" + "ab\x00", true},
	"data, binary": {Data{DataBinary, []byte("a\x00\xff")}, "data\x00\x00\x00\x00" + "\x00\x00\x00\x01" + "a\x00\xff", true},
	"data, other":  {Data{2, []byte{0}}, "data\x00\x00\x00\x00" + "\x00\x00\x00\x02" + "\x00", true},
}

// Types with a count or a fixed size.
var layouts = map[string]layout{
	// ICC.1:2010, table 32: count, numbers.
	"clro": {ColorantOrder{3, 0, 1, 2}, "clro\x00\x00\x00\x00" + "\x00\x00\x00\x04" + "\x03\x00\x01\x02", false},
	// ICC.1:2010, table 33: count; name of 32 bytes, three 16-bit numbers.
	"clrt": {
		ColorantTable{{"Cyan", [3]uint16{0x8000, 0x0102, 0xffff}}, {"Spot 1", [3]uint16{1, 2, 3}}},
		"clrt\x00\x00\x00\x00" + "\x00\x00\x00\x02" + name32("Cyan") + "\x80\x00\x01\x02\xff\xff" + name32("Spot 1") + "\x00\x01\x00\x02\x00\x03", false,
	},
	// ICC.1:2010, table 46: observer, backing, geometry, flare, illuminant.
	"meas": {
		Measurement{Observer1931, colorimetry.XYZ{X: 0.5, Y: 1, Z: 0.25}, GeometryDiffuse, 0.5, IlluminantD65},
		"meas\x00\x00\x00\x00" + "\x00\x00\x00\x01" + "\x00\x00\x80\x00\x00\x01\x00\x00\x00\x00\x40\x00" + "\x00\x00\x00\x02" + "\x00\x00\x80\x00" + "\x00\x00\x00\x02", false,
	},
	// ICC.1:2010, table 81: illuminant, surround, kind of illuminant.
	"view": {
		ViewingConditions{colorimetry.XYZ{X: 96, Y: 100, Z: 82.5}, colorimetry.XYZ{X: 19, Y: 20, Z: 16.5}, IlluminantD50},
		"view\x00\x00\x00\x00" + "\x00\x60\x00\x00\x00\x64\x00\x00\x00\x52\x80\x00" + "\x00\x13\x00\x00\x00\x14\x00\x00\x00\x10\x80\x00" + "\x00\x00\x00\x01", false,
	},
	// ICC.1:2010, table 63: vendor flag, count, device coordinates; prefix,
	// suffix; name, connection space, device.
	"ncl2": {
		NamedColors{0x00010000, "House ", " matt", 2, []NamedColor{{"Rust", [3]uint16{0x8000, 0x8100, 0x7f00}, []uint16{1, 0xffff}}, {"Reed", [3]uint16{1, 2, 3}, []uint16{4, 5}}}},
		"ncl2\x00\x00\x00\x00" + "\x00\x01\x00\x00" + "\x00\x00\x00\x02" + "\x00\x00\x00\x02" + name32("House ") + name32(" matt") +
			name32("Rust") + "\x80\x00\x81\x00\x7f\x00" + "\x00\x01\xff\xff" + name32("Reed") + "\x00\x01\x00\x02\x00\x03" + "\x00\x04\x00\x05", false,
	},
	"ncl2, no device": {
		NamedColors{Colors: []NamedColor{{Name: "Rust", PCS: [3]uint16{1, 2, 3}}}},
		"ncl2\x00\x00\x00\x00" + "\x00\x00\x00\x00" + "\x00\x00\x00\x01" + "\x00\x00\x00\x00" + name32("") + name32("") + name32("Rust") + "\x00\x01\x00\x02\x00\x03", false,
	},
	// ICC.1:2010, tables 66 and 67: count; maker, model, attributes,
	// technology, two descriptions with their types.
	"pseq, version 4": {
		ProfileSequence{{0x61616161, 0x62626262, 2, 0x43525420, LocalizedText{{"en", "US", "ab"}}, LocalizedText{}}},
		"pseq\x00\x00\x00\x00" + "\x00\x00\x00\x01" + "aaaabbbb" + "\x00\x00\x00\x00\x00\x00\x00\x02" + "CRT " +
			"mluc\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x0cenUS\x00\x00\x00\x04\x00\x00\x00\x1c\x00a\x00b" + "mluc\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x0c", false,
	},
	"pseq, version 2": {
		ProfileSequence{{Manufacturer: 0x61616161, Model: 0x62626262, ManufacturerName: TextDescription{ASCII: "a"}, ModelName: TextDescription{}}},
		"pseq\x00\x00\x00\x00" + "\x00\x00\x00\x01" + "aaaabbbb" + "\x00\x00\x00\x00\x00\x00\x00\x00" + "\x00\x00\x00\x00" +
			"desc\x00\x00\x00\x00\x00\x00\x00\x02a\x00" + string(make([]byte, 4+4+2+1+67)) + "desc\x00\x00\x00\x00\x00\x00\x00\x01\x00" + string(make([]byte, 4+4+2+1+67)), false,
	},
	// ICC.1:2010, tables 68 and 69: count; offset and size; ID, description.
	// Each structure starts on a 4-byte boundary.
	"psid": {
		ProfileSequenceIDs{{[16]byte{1, 15: 16}, LocalizedText{{"en", "US", "a"}}}, {[16]byte{2}, LocalizedText{}}},
		"psid\x00\x00\x00\x00" + "\x00\x00\x00\x02" + "\x00\x00\x00\x1c\x00\x00\x00\x2e" + "\x00\x00\x00\x4c\x00\x00\x00\x20" +
			"\x01\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x10" + "mluc\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00\x00\x0cenUS\x00\x00\x00\x02\x00\x00\x00\x1c\x00a" + "\x00\x00" +
			"\x02\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00" + "mluc\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x0c", false,
	},
	// ICC.1:2010, tables 70 and 71: channels, units, offsets; unit, counts,
	// colours, points (code, reserved, measurement).
	"rcs2": {
		ResponseCurves{2, []ResponseSet{{StatusT, []ChannelResponse{
			{colorimetry.XYZ{X: 0.5, Y: 0.25}, []ResponsePoint{{0, 0.125}, {0xffff, 1.5}}},
			{colorimetry.XYZ{Z: 1}, []ResponsePoint{{0x8000, -1}}},
		}}}},
		"rcs2\x00\x00\x00\x00" + "\x00\x02\x00\x01" + "\x00\x00\x00\x10" + "StaT" + "\x00\x00\x00\x02\x00\x00\x00\x01" +
			"\x00\x00\x80\x00\x00\x00\x40\x00\x00\x00\x00\x00" + "\x00\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00" +
			"\x00\x00\x00\x00\x00\x00\x20\x00" + "\xff\xff\x00\x00\x00\x01\x80\x00" + "\x80\x00\x00\x00\xff\xff\x00\x00", false,
	},
	// Layout as the public documentation and Little CMS have it: entries,
	// luminances, four offsets; matrix without a header; sf32 curves.
	"MHC2": {
		HardwareCalibration{0.25, 400, true, [3][4]float64{{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 0.5, 0}}, [3][]float64{{0, 1}, nil, {0.5, 1}}},
		"MHC2\x00\x00\x00\x00" + "\x00\x00\x00\x02" + "\x00\x00\x40\x00\x01\x90\x00\x00" + "\x00\x00\x00\x24" + "\x00\x00\x00\x54\x00\x00\x00\x00\x00\x00\x00\x64" +
			"\x00\x01\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00" + "\x00\x00\x00\x00\x00\x01\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00" + "\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x80\x00\x00\x00\x00\x00" +
			"sf32\x00\x00\x00\x00\x00\x00\x00\x00\x00\x01\x00\x00" + "sf32\x00\x00\x00\x00\x00\x00\x80\x00\x00\x01\x00\x00", false,
	},
	"MHC2, identity": {
		HardwareCalibration{PeakCdM2: 1},
		"MHC2\x00\x00\x00\x00" + "\x00\x00\x00\x00" + "\x00\x00\x00\x00\x00\x01\x00\x00" + string(make([]byte, 16)), false,
	},
}

// Every type is written as the standard lays it out, and read back; what is
// cut off anywhere is an error where the type states its length.
func TestTagTypeLayouts(t *testing.T) {
	for _, set := range []map[string]layout{arrayLayouts, layouts} {
		for name, l := range set {
			t.Run(name, func(t *testing.T) { l.check(t) })
		}
	}
}

func (l layout) check(t *testing.T) {
	b, err := l.v.appendTo([]byte("before"))
	if err != nil {
		t.Fatal(err)
	}
	if b = b[6:]; string(b) != l.want {
		t.Fatalf("written as\n% x\nwant\n% x", b, l.want)
	}
	if Signature(uint32(b[0])<<24|uint32(b[1])<<16|uint32(b[2])<<8|uint32(b[3])) != l.v.Type() {
		t.Errorf("type is %v", l.v.Type())
	}
	v, err := decodeOne(b)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(l.v, v); d != "" {
		t.Error(d)
	}
	for n := 8; n < len(b); n++ {
		if v, err := decodeOne(b[:n:n]); err == nil && (v == nil || !l.prefix) {
			t.Errorf("the first %d of %d bytes were read as %+v", n, len(b), v)
		}
	}
	// In a profile it comes back byte for byte, and so it does when the value
	// is set anew.
	p, err := Decode(element(b))
	if err != nil {
		t.Fatal(err)
	}
	p.Set(p.Tags[0].Signature, v)
	_, q := mustEncode(t, p)
	if d := cmp.Diff(l.v, q.Tags[0].Value); d != "" || !bytes.Equal(q.Tags[0].raw, b) {
		t.Errorf("in a profile it became % x\n%s", q.Tags[0].raw, d)
	}
}

// Encodings of connection spaces. The points are those of ICC.1:2010, tables
// 11 to 13 (XYZ and Lab of 16 bits), and of tables 39 and 40 (legacy Lab).
func TestPCSCoordinates(t *testing.T) {
	white, low, high := colorimetry.Lab{L: 100}, colorimetry.Lab{A: -128, B: -128}, colorimetry.Lab{L: 100, A: 127, B: 127}
	for _, c := range []struct {
		lab         colorimetry.Lab
		new, legacy [3]uint16
	}{
		{white, [3]uint16{0xffff, 0x8080, 0x8080}, [3]uint16{0xff00, 0x8000, 0x8000}},
		{low, [3]uint16{}, [3]uint16{}},
		{high, [3]uint16{0xffff, 0xffff, 0xffff}, [3]uint16{0xff00, 0xff00, 0xff00}},
	} {
		var k Colorant
		var n NamedColor
		if err1, err2 := k.SetLab(c.lab), n.SetLab(c.lab); err1 != nil || err2 != nil || k.PCS != c.new || n.PCS != c.legacy {
			t.Errorf("%v is %04x and %04x (%v, %v), want %04x and %04x", c.lab, k.PCS, n.PCS, err1, err2, c.new, c.legacy)
		}
		if k.Lab() != c.lab || n.Lab() != c.lab {
			t.Errorf("%v comes back as %v and %v", c.lab, k.Lab(), n.Lab())
		}
	}
	for code, want := range map[uint16]float64{0: 0, 0x8000: 1, 0xffff: 1 + 32767.0/32768} {
		var k Colorant
		var n NamedColor
		xyz := colorimetry.XYZ{X: want, Y: want, Z: want}
		if err1, err2 := k.SetXYZ(xyz), n.SetXYZ(xyz); err1 != nil || err2 != nil || k.PCS != [3]uint16{code, code, code} || n.PCS != k.PCS || k.XYZ() != xyz || n.XYZ() != xyz {
			t.Errorf("%g is %04x and %04x (%v, %v), want %04x", want, k.PCS, n.PCS, err1, err2, code)
		}
	}
	n := NamedColor{PCS: [3]uint16{0xff00, 0x8000, 0x8000}}
	k := Colorant{PCS: [3]uint16{0xffff, 0x8080, 0x8080}}
	for what, color := range map[string]func(Signature) (colorimetry.XYZ, error){"named colour": n.Color, "colorant": k.Color} {
		got, err := color(SpaceLab)
		if d := cmp.Diff(colorimetry.D50(), got, cmpopts.EquateApprox(0, 1e-12)); d != "" || err != nil {
			t.Errorf("white of a %s: %v\n%s", what, err, d)
		}
		if _, err := color(SpaceRGB); err == nil {
			t.Errorf("a %s has a colour in RGB", what)
		}
	}
	if got, err := k.Color(SpaceXYZ); err != nil || got != k.XYZ() {
		t.Errorf("XYZ of the colorant is %v, %v", got, err)
	}
}

func TestNamedColorsFind(t *testing.T) {
	v := NamedColors{Prefix: "A ", Suffix: " z", Colors: []NamedColor{{Name: "A one z"}, {Name: "one"}, {Name: "two"}}}
	for name, want := range map[string]string{"A one z": "one", "one": "one", "two": "two", "A two z": "two", "three": "", "": ""} {
		if c, ok := v.Find(name); c.Name != want || ok != (want != "") {
			t.Errorf("%q finds %q, %v; want %q", name, c.Name, ok, want)
		}
	}
	if got := v.FullName(v.Colors[2]); got != "A two z" {
		t.Errorf("full name is %q", got)
	}
}

func TestCodeNames(t *testing.T) {
	for want, got := range map[string]string{
		"CIE 1964": Observer1964.String(), "0°:45° or 45°:0°": Geometry45.String(), "F8": IlluminantF8.String(), "D50": IlluminantD50.String(),
		"code 9": IlluminantCode(9).String(), "unknown": ObserverUnknown.String(), "code 4294967295": Geometry(0xffffffff).String(),
		"ASCII": DataASCII.String(), "binary": DataBinary.String(), "kind 2": DataKind(2).String(),
		"status T": StatusT.String(), "DIN 16536-2": ResponseUnit(0x434e2020).String(),
		"DIN 16536-2, narrow band, polarised": DINNarrowPolarised.String(), "abcd": ResponseUnit(0x61626364).String(),
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func TestHardwareCalibrationMatrix(t *testing.T) {
	v := HardwareCalibration{Matrix: [3][4]float64{{1, 2, 3, 9}, {4, 5, 6, 9}, {7, 8, 10, 9}}}
	if v.XYZMatrix() != colorimetry.Identity() {
		t.Errorf("without a matrix it is %v", v.XYZMatrix())
	}
	v.HasMatrix = true
	if want := (colorimetry.Matrix{{1, 2, 3}, {4, 5, 6}, {7, 8, 10}}); v.XYZMatrix() != want {
		t.Errorf("matrix is %v", v.XYZMatrix())
	}
}
