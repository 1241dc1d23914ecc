package icc

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
)

// noText is an empty LocalizedText as it lies in other types.
var noText = words(uint32(TypeLocalized), 0, 0, 12)

func join(parts ...[]byte) []byte { return bytes.Join(parts, nil) }

// Counts and offsets that lie.
func TestBadTagTypes(t *testing.T) {
	big := uint32(math.MaxUint32)
	names := make([]byte, 64) // prefix and suffix
	cases := map[string][]byte{
		"4 billion colorants in order":  words(uint32(TypeColorantOrder), 0, big),
		"one number too few in order":   words(uint32(TypeColorantOrder), 0, 5, 0),
		"4 billion colorants":           join(words(uint32(TypeColorantTable), 0, big), make([]byte, 380)),
		"count times 38 wraps to 4":     join(words(uint32(TypeColorantTable), 0, 0x86bca1b), make([]byte, 64)),
		"data without kind":             words(uint32(TypeData), 0),
		"4 billion named colours":       join(words(uint32(TypeNamedColors), 0, 0, big, 0), names),
		"4 billion device coordinates":  join(words(uint32(TypeNamedColors), 0, 0, 1, big), names, make([]byte, 100)),
		"17 device coordinates":         join(words(uint32(TypeNamedColors), 0, 0, 0, 17), names),
		"count and coordinates wrap":    join(words(uint32(TypeNamedColors), 0, 0, 0x08000000, 16), names, make([]byte, 100)),
		"4 billion profiles":            words(uint32(TypeProfileSequence), 0, big),
		"profile without descriptions":  join(words(uint32(TypeProfileSequence), 0, 1), make([]byte, 20)),
		"description of another type":   join(words(uint32(TypeProfileSequence), 0, 1), make([]byte, 20), words(uint32(TypeText), 0, 0, 0), noText),
		"description that nests":        join(words(uint32(TypeProfileSequence), 0, 1), make([]byte, 20), words(uint32(TypeProfileSequence), 0, 1), noText, noText),
		"description of 4 billion":      join(words(uint32(TypeProfileSequence), 0, 1), make([]byte, 20), words(uint32(TypeLocalized), 0, big, 12), noText),
		"description that wraps":        join(words(uint32(TypeProfileSequence), 0, 1), make([]byte, 20), words(uint32(TypeLocalized), 0, 1, 12, 0, 8, big-3), noText),
		"description takes the next":    join(words(uint32(TypeProfileSequence), 0, 1), make([]byte, 20), words(uint32(TypeLocalized), 0, 1, 12, 0, 16, 28), noText),
		"plain text of 4 GiB":           join(words(uint32(TypeProfileSequence), 0, 1), make([]byte, 20), words(uint32(TypeTextDescription), 0, big), make([]byte, 100)),
		"Unicode text of 8 GiB":         join(words(uint32(TypeProfileSequence), 0, 1), make([]byte, 20), words(uint32(TypeTextDescription), 0, 0, 0, big), make([]byte, 100)),
		"4 billion identifiers":         words(uint32(TypeProfileSequenceIDs), 0, big),
		"identifier outside":            words(uint32(TypeProfileSequenceIDs), 0, 1, 20, 1),
		"identifier that wraps":         words(uint32(TypeProfileSequenceIDs), 0, 1, big-15, 32),
		"identifier too short":          join(words(uint32(TypeProfileSequenceIDs), 0, 1, 20, 16), make([]byte, 16)),
		"identifier of itself":          words(uint32(TypeProfileSequenceIDs), 0, 1, 0, 20),
		"65535 channels":                words(uint32(TypeResponseCurves), 0, 0xffff0000),
		"65535 units":                   words(uint32(TypeResponseCurves), 0, 0x0001ffff),
		"set in the head":               join(words(uint32(TypeResponseCurves), 0, 1<<16|1, 8), make([]byte, 20)),
		"set outside":                   join(words(uint32(TypeResponseCurves), 0, 1<<16|1, 37), make([]byte, 20)),
		"set far away":                  join(words(uint32(TypeResponseCurves), 0, 1<<16|1, big), make([]byte, 20)),
		"4 billion points":              join(words(uint32(TypeResponseCurves), 0, 1<<16|1, 16, 0, big), make([]byte, 12)),
		"points that wrap to none":      join(words(uint32(TypeResponseCurves), 0, 1<<16|1, 16, 0, 0x20000000), make([]byte, 12)),
		"4097 samples":                  join(words(uint32(TypeHardwareCalibration), 0, 4097, 0, 0, 0, 0, 0, 0), make([]byte, 20000)),
		"matrix outside":                words(uint32(TypeHardwareCalibration), 0, 0, 0, 0, 4, 0, 0, 0),
		"matrix that wraps":             words(uint32(TypeHardwareCalibration), 0, 0, 0, 0, big-3, 0, 0, 0),
		"matrix of 24 bytes":            join(words(uint32(TypeHardwareCalibration), 0, 0, 0, 0, 36, 0, 0, 0), make([]byte, 24)),
		"calibration outside":           words(uint32(TypeHardwareCalibration), 0, 2, 0, 0, 0, 36, 0, 0),
		"calibration that wraps":        words(uint32(TypeHardwareCalibration), 0, 2, 0, 0, 0, 0, big-7, 0),
		"calibration curve of no type":  join(words(uint32(TypeHardwareCalibration), 0, 2, 0, 0, 0, 0, 0, 36), make([]byte, 16)),
		"calibration curve of its type": words(uint32(TypeHardwareCalibration), 0, 2, 0, 0, 0, 0, 0, 4),
	}
	for name, e := range cases {
		t.Run(name, func(t *testing.T) {
			b := element(words(0, 0), e)
			mustFail(t, b, name)
			var f *FormatError
			if _, err := Decode(b); !errors.As(err, &f) || f.Tag != "0x61616101" || f.Offset < int64(tableStart+24+8) {
				t.Errorf("error is %v", err)
			}
		})
	}
}

// What a form cannot hold is an error that says what to do.
func TestTagTypesRefused(t *testing.T) {
	long := strings.Repeat("x", 32)
	text := LocalizedText{}
	cases := map[string]Value{
		"negative":               UFixedArray{-0.5},
		"65536":                  UFixedArray{65536},
		"not a number":           UFixedArray{math.NaN()},
		"umlaut in data":         Data{DataASCII, []byte("ä")},
		"NUL in ASCII data":      Data{DataASCII, []byte("a\x00b")},
		"infinite backing":       Measurement{Backing: colorimetry.XYZ{X: math.Inf(1)}},
		"negative flare":         Measurement{Flare: -0.01},
		"100,000 cd/m2":          ViewingConditions{Illuminant: colorimetry.XYZ{Y: 1e5}},
		"surround not a number":  ViewingConditions{Surround: colorimetry.XYZ{Y: math.NaN()}},
		"name of 32 bytes":       ColorantTable{{Name: long}},
		"umlaut in name":         ColorantTable{{Name: "Grün"}},
		"prefix of 32 bytes":     NamedColors{Prefix: long},
		"suffix of 32 bytes":     NamedColors{Suffix: long},
		"colour of 32 bytes":     NamedColors{Colors: []NamedColor{{Name: long}}},
		"17 coordinates":         NamedColors{Channels: 17},
		"-1 coordinates":         NamedColors{Channels: -1},
		"coordinates not stated": NamedColors{Colors: []NamedColor{{Device: []uint16{1}}}},
		"coordinates missing":    NamedColors{Channels: 3, Colors: []NamedColor{{}}},
		"no description":         ProfileSequence{{ManufacturerName: text}},
		"plain description":      ProfileSequence{{ManufacturerName: Text("x"), ModelName: text}},
		"unwritable description": ProfileSequence{{ManufacturerName: TextDescription{ASCII: "ä"}, ModelName: text}},
		"identifier without":     ProfileSequenceIDs{{}},
		"identifier of a curve":  ProfileSequenceIDs{{Description: SampledCurve{}}},
		"channels disagree":      ResponseCurves{1, []ResponseSet{{}}},
		"17 channels":            ResponseCurves{Channels: 17},
		"too many units":         ResponseCurves{Sets: make([]ResponseSet, 65536)},
		"density not a number":   ResponseCurves{1, []ResponseSet{{Channels: []ChannelResponse{{Points: []ResponsePoint{{0, math.NaN()}}}}}}},
		"maximum too large":      ResponseCurves{1, []ResponseSet{{Channels: []ChannelResponse{{Maximum: colorimetry.XYZ{X: 1e6}}}}}},
		"one sample":             HardwareCalibration{Curves: [3][]float64{{1}}},
		"no sample":              HardwareCalibration{Curves: [3][]float64{{}}},
		"4097 samples":           HardwareCalibration{Curves: [3][]float64{nil, make([]float64, 4097)}},
		"uneven curves":          HardwareCalibration{Curves: [3][]float64{{0, 1}, {0, 0.5, 1}}},
		"sample above 1":         HardwareCalibration{Curves: [3][]float64{{0, 1.01}}},
		"sample not a number":    HardwareCalibration{Curves: [3][]float64{{0, math.NaN()}}},
		"luminance too high":     HardwareCalibration{PeakCdM2: 40000},
		"matrix not a number":    HardwareCalibration{HasMatrix: true, Matrix: [3][4]float64{{math.NaN()}}},
	}
	for name, v := range cases {
		t.Run(name, func(t *testing.T) {
			if b, err := v.appendTo(nil); err == nil {
				t.Errorf("was written as % x", b)
			}
		})
	}
	for _, lab := range []colorimetry.Lab{{L: -1}, {L: 100.1}, {A: 128}, {B: -129}, {L: math.NaN()}, {A: math.NaN()}} {
		c, n := Colorant{PCS: [3]uint16{1, 2, 3}}, NamedColor{PCS: [3]uint16{1, 2, 3}}
		if c.SetLab(lab) == nil || n.SetLab(lab) == nil || c.PCS != [3]uint16{1, 2, 3} || n.PCS != c.PCS {
			t.Errorf("%v was encoded as %04x, %04x", lab, c.PCS, n.PCS)
		}
	}
	for _, xyz := range []colorimetry.XYZ{{X: -0.1}, {Y: 2}, {Z: math.NaN()}} {
		c, n := Colorant{PCS: [3]uint16{1, 2, 3}}, NamedColor{PCS: [3]uint16{1, 2, 3}}
		if c.SetXYZ(xyz) == nil || n.SetXYZ(xyz) == nil || c.PCS != [3]uint16{1, 2, 3} || n.PCS != c.PCS {
			t.Errorf("%v was encoded as %04x, %04x", xyz, c.PCS, n.PCS)
		}
	}
}

const mhc2WordMore = "MHC2\x00\x00\x00\x00" + "\x00\x00\x00\x00" + "\x00\x00\x00\x02" + "\x00\x00\x40\x00\x01\x90\x00\x00" +
	"\x00\x00\x00\x00" + "\x00\x00\x00\x28\x00\x00\x00\x30\x00\x00\x00\x38" +
	"\x00\x00\x00\x00\x00\x01\x00\x00" + "\x00\x00\x00\x00\x00\x01\x00\x00" + "\x00\x00\x00\x00\x00\x01\x00\x00"

// Departures that nothing depends on are read; untouched, they go back.
func TestToleratedTagTypes(t *testing.T) {
	full := strings.Repeat("n", 32)
	padded := "aaaabbbb" + string(make([]byte, 12)) + "desc\x00\x00\x00\x00\x00\x00\x00\x04abc\x00" + string(make([]byte, 78+2)) + "desc\x00\x00\x00\x00\x00\x00\x00\x02d\x00" + string(make([]byte, 78))
	cases := map[string]struct {
		e    string
		want Value
	}{
		"name without NUL":          {"clrt\x00\x00\x00\x00\x00\x00\x00\x01" + full + "\x00\x01\x00\x02\x00\x03", ColorantTable{{full, [3]uint16{1, 2, 3}}}},
		"bytes behind the name":     {"clrt\x00\x00\x00\x00\x00\x00\x00\x01" + "ab\x00" + full[3:] + "\x00\x01\x00\x02\x00\x03", ColorantTable{{"ab", [3]uint16{1, 2, 3}}}},
		"name in ISO 8859-1":        {"clrt\x00\x00\x00\x00\x00\x00\x00\x01" + "Gr\xfcn\x00" + full[5:] + "\x00\x01\x00\x02\x00\x03", ColorantTable{{"Grün", [3]uint16{1, 2, 3}}}},
		"colorants in order, more":  {"clro\x00\x00\x00\x00\x00\x00\x00\x01\x00\x07", ColorantOrder{0}},
		"data without NUL":          {"data\x00\x00\x00\x00\x00\x00\x00\x00ab", Data{DataASCII, []byte("ab")}},
		"measurement, unknown code": {"meas\x00\x00\x00\x00\x00\x00\x00\x09" + string(make([]byte, 24)), Measurement{Observer: 9}},
		"odd byte behind numbers":   {"ui16\x00\x00\x00\x00\x00\x01\x02", Uint16Array{1}},
		// As Little CMS 2.16 writes it: a word more, and curves without a type.
		"MHC2 with a word more": {mhc2WordMore, Raw{TypeHardwareCalibration, []byte(mhc2WordMore[4:])}},
		// As Little CMS writes it into version 2: descriptions filled up to four bytes.
		"padded descriptions": {
			"pseq\x00\x00\x00\x00\x00\x00\x00\x02" + padded + padded,
			ProfileSequence{{0x61616161, 0x62626262, 0, 0, TextDescription{ASCII: "abc"}, TextDescription{ASCII: "d"}}, {0x61616161, 0x62626262, 0, 0, TextDescription{ASCII: "abc"}, TextDescription{ASCII: "d"}}},
		},
		"curves of no samples": {"MHC2\x00\x00\x00\x00" + string(make([]byte, 24)) + "\x00\x00\x00\x24", HardwareCalibration{}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			b := element([]byte(c.e))
			p, err := Decode(b)
			if err != nil {
				t.Fatal(err)
			}
			if got := p.Tags[0].Value; fmt.Sprintf("%#v", got) != fmt.Sprintf("%#v", c.want) {
				t.Errorf("read as %#v, want %#v", got, c.want)
			}
			if out, err := p.Encode(); err != nil || !bytes.Equal(out[4:len(b)], b[4:]) {
				t.Errorf("came back as % x, %v", out, err)
			}
		})
	}
}

// brokenVideo is a vcgt with the size that writers get wrong: 256 entries of
// two bytes that are said to take one.
func brokenVideo() string {
	e := "vcgt\x00\x00\x00\x00\x00\x00\x00\x00\x00\x03\x01\x00\x00\x01" + strings.Repeat("\x12\x34", 768)
	return e + strings.Repeat("\x00", brokenSize-len(e))
}

// The size that writers get wrong stays as it came while it is untouched, and
// becomes right when the tag is set.
func TestBrokenVideoCurvesKept(t *testing.T) {
	b := element([]byte(brokenVideo()))
	p, err := Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	if out, err := p.Encode(); err != nil || !bytes.Equal(out, b) {
		t.Errorf("untouched, %d bytes became %d, %v", len(b), len(out), err)
	}
	p.Set(p.Tags[0].Signature, p.Tags[0].Value)
	if _, q := mustEncode(t, p); q.Tags[0].raw[17] != 2 || len(q.Tags[0].raw) != 18+1536 {
		t.Errorf("set anew, it has %d bytes an entry and %d in all", q.Tags[0].raw[17], len(q.Tags[0].raw))
	}
}

// Decoding stays within the bound that TestMemoryBound states, whatever
// overlaps.
func TestTagTypesMemory(t *testing.T) {
	cases := map[string][]byte{
		"fixed":       join(words(uint32(TypeUFixedArray), 0), make([]byte, 4*65536)),
		"bytes":       join(words(uint32(TypeUint8Array), 0), make([]byte, 1<<20)),
		"ASCII":       join(words(uint32(TypeData), 0, 0), bytes.Repeat([]byte{'x'}, 1<<20)),
		"colorants":   join(words(uint32(TypeColorantTable), 0, 60000), bytes.Repeat(append([]byte{'x'}, make([]byte, 37)...), 60000)),
		"latin names": join(words(uint32(TypeColorantTable), 0, 60000), bytes.Repeat([]byte{0xe4}, 38*60000)),
		"named":       join(words(uint32(TypeNamedColors), 0, 0, 60000, 0), make([]byte, 64), bytes.Repeat([]byte{0xe4}, 38*60000)),
		"16 channels": join(words(uint32(TypeNamedColors), 0, 0, 30000, 16), make([]byte, 64), bytes.Repeat([]byte{'x'}, 70*30000)),
		"sequence":    join(words(uint32(TypeProfileSequence), 0, 30000), bytes.Repeat(join(make([]byte, 20), noText, noText), 30000)),
		"old texts":   join(words(uint32(TypeProfileSequence), 0, 8000), bytes.Repeat(join(make([]byte, 20), words(uint32(TypeTextDescription), 0, 0, 0, 0), make([]byte, 70), noText), 8000)),
	}
	// 2,000 identifiers that share one structure of many empty texts, and
	// sets, channels and curves that all lie in one place.
	ids := words(uint32(TypeProfileSequenceIDs), 0, 2000)
	sets := words(uint32(TypeResponseCurves), 0, 16<<16|60000)
	for range 2000 {
		ids = append(ids, words(12+8*2000, 16+16+12*5000)...)
	}
	for range 60000 {
		sets = append(sets, words(12+4*60000)...)
	}
	ids = join(ids, make([]byte, 16), words(uint32(TypeLocalized), 0, 5000, 12), make([]byte, 12*5000))
	sets = append(sets, words(uint32(StatusT))...)
	for range 16 {
		sets = append(sets, words(1000)...)
	}
	cases["overlapping identifiers"] = ids
	cases["overlapping sets"] = append(sets, make([]byte, 12*16+16*8*1000)...)
	cases["sets"] = join(words(uint32(TypeResponseCurves), 0, 1<<16|1, 16, uint32(StatusT), 65536), make([]byte, 12+8*65536))
	cases["overlapping calibration"] = join(words(uint32(TypeHardwareCalibration), 0, 4096, 0, 0, 36, 36, 36, 36, uint32(TypeFixedArray), 0), make([]byte, 4*4096))
	for name, e := range cases {
		t.Run(name, func(t *testing.T) {
			b := element(e)
			got, bound := allocated(b), uint64(8*len(b)+1<<20)
			_, err := Decode(b)
			t.Logf("%d bytes allocate %d, %.2f times as much (%v)", len(b), got, float64(got)/float64(len(b)), err)
			if got > bound {
				t.Errorf("%d bytes allocate %d, more than %d", len(b), got, bound)
			}
			if lies := strings.HasPrefix(name, "overlapping"); lies == (err == nil) && name != "overlapping calibration" {
				t.Errorf("error is %v", err)
			}
		})
	}
}

// Every word of every type set to values that hurt, and random damage: a typed
// error or a value that goes back, within the memory bound.
func TestDamagedTagTypes(t *testing.T) {
	count, accepted := 0, 0
	try := func(e []byte) {
		b := element(e)
		count++
		if check(t, b) {
			accepted++
		}
		if got := allocated(b); got > uint64(8*len(b)+1<<20) {
			t.Errorf("%d bytes allocate %d", len(b), got)
		}
	}
	rnd := rand.New(rand.NewPCG(5, 5))
	for _, l := range layouts {
		e := []byte(l.want)
		for off := 8; off+4 <= len(e); off += 2 {
			for _, v := range []uint32{0, 1, 0x7fffffff, 0x80000000, math.MaxUint32, uint32(len(e)), uint32(off)} {
				try(put(e, off, v))
			}
		}
		for range 100 {
			c := bytes.Clone(e)
			for range 1 + rnd.IntN(6) {
				c[8+rnd.IntN(len(c)-8)] = byte(rnd.Uint32())
			}
			try(c)
		}
	}
	t.Logf("%d damaged elements, %d accepted", count, accepted)
	if count < 2000 || accepted == 0 || accepted == count {
		t.Errorf("%d damaged elements, %d accepted", count, accepted)
	}
}

// A value that appendTo writes is what reading gave, for damaged elements too,
// unless it holds what the type cannot.
func TestDamagedTagTypesWrittenAnew(t *testing.T) {
	rnd := rand.New(rand.NewPCG(7, 5))
	written := 0
	for name, l := range layouts {
		for range 500 {
			e := []byte(l.want)
			binary.BigEndian.PutUint16(e[8+rnd.IntN(len(e)-9):], uint16(rnd.Uint32()))
			v, err := decodeOne(e)
			if err != nil {
				continue
			}
			b, err := v.appendTo(nil)
			if err != nil {
				continue
			}
			written++
			w, err := decodeOne(b)
			if got, want := fmt.Sprintf("%#v", w), fmt.Sprintf("%#v", v); err != nil || got != want {
				t.Errorf("%s: %s\nbecame %s, %v", name, want, got, err)
			}
		}
	}
	if written < 1000 {
		t.Errorf("%d values were written", written)
	}
}

// useTags calls every method of the values of p.
func useTags(t testing.TB, p *Profile) {
	t.Helper()
	finite := func(c colorimetry.XYZ, err error) {
		if err != nil || !c.Finite() {
			t.Errorf("colour is %v, %v", c, err)
		}
	}
	for _, tag := range p.Tags {
		switch v := tag.Value.(type) {
		case ColorantTable:
			for _, c := range v {
				finite(c.Color(SpaceLab))
				finite(c.Color(SpaceXYZ))
			}
		case NamedColors:
			for _, c := range v.Colors {
				finite(c.Color(SpaceLab))
				finite(c.Color(SpaceXYZ))
			}
			if len(v.Colors) > 0 {
				if _, ok := v.Find(v.FullName(v.Colors[0])); !ok {
					t.Errorf("%q is not found", v.FullName(v.Colors[0]))
				}
			}
		case Measurement:
			_ = v.Observer.String() + v.Geometry.String() + v.Illuminant.String()
		case ViewingConditions:
			_ = v.IlluminantCode.String()
		case ResponseCurves:
			for _, s := range v.Sets {
				_ = s.Unit.String()
			}
		case HardwareCalibration:
			if m := v.XYZMatrix(); !m.Apply(colorimetry.D50()).Finite() {
				t.Errorf("matrix is %v", m)
			}
		}
	}
}
