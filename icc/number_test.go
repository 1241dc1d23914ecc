package icc

import (
	"encoding/binary"
	"math"
	"strconv"
	"testing"

	"example.org/primaries/colorimetry"
)

func TestFixedPoint(t *testing.T) {
	seen := 0
	for _, r := range readTable(t, "fixed_point.csv") {
		v := r.num("value")
		want, err := strconv.ParseUint(r.m["hex_big_endian"], 16, 32)
		if err != nil {
			t.Fatal(err)
		}
		var b []byte
		switch r.m["type"] {
		case "s15Fixed16Number":
			b, err = appendFixed(nil, v)
		case "u16Fixed16Number":
			b, err = appendUFixed(nil, v)
		default: // not used in this package
			continue
		}
		seen++
		if err != nil || binary.BigEndian.Uint32(b) != uint32(want) {
			t.Errorf("%s of %g is %X, %v; want %08X", r.m["type"], v, b, err, want)
		}
	}
	if seen < 20 {
		t.Errorf("only %d rows were checked", seen)
	}
}

func TestFixedPointRange(t *testing.T) {
	for _, v := range []float64{32768, -32768.00002, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if _, err := appendFixed(nil, v); err == nil {
			t.Errorf("s15Fixed16 took %g", v)
		}
	}
	for _, v := range []float64{65536, -0.00002, math.NaN()} {
		if _, err := appendUFixed(nil, v); err == nil {
			t.Errorf("u16Fixed16 took %g", v)
		}
	}
}

// ICC.1:2022, 7.2.16 prints the header's illuminant as F6D6h, 10000h, D32Dh.
func TestEncodedD50(t *testing.T) {
	want := colorimetry.XYZ{X: 0xF6D6 / 65536.0, Y: 1, Z: 0xD32D / 65536.0}
	if got := encodedD50(); got != want {
		t.Errorf("D50 encodes as %v, want %v", got, want)
	}
}

func TestSignatureString(t *testing.T) {
	for s, want := range map[Signature]string{TagRedCurve: "rTRC", SpaceRGB: "RGB", TagAToB0: "A2B0", 0: "0x00000000", 0x00414243: "0x00414243"} {
		if s.String() != want {
			t.Errorf("%08X is %q, want %q", uint32(s), s, want)
		}
	}
}

func TestVersionString(t *testing.T) {
	for v, want := range map[Version]string{V2: "2.4.0", V4: "4.3.0", V4Dot4: "4.4.0", 0x02100000: "2.1.0"} {
		if v.String() != want {
			t.Errorf("%08X is %v, want %s", uint32(v), v, want)
		}
	}
}
