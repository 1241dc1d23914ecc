package icc

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"github.com/google/go-cmp/cmp"
)

// lcmsProgram compiles a program of testdata against Little CMS.
func lcmsProgram(t *testing.T, source string) string {
	t.Helper()
	gcc, err := exec.LookPath("gcc")
	if err != nil {
		t.Skip("gcc is not installed")
	}
	if err := exec.Command(gcc, "-fsyntax-only", "-include", "lcms2.h", "-xc", os.DevNull).Run(); err != nil {
		t.Skip("lcms2.h of Debian's package liblcms2-dev is not installed")
	}
	program := filepath.Join(t.TempDir(), strings.TrimSuffix(source, ".c"))
	if out, err := exec.Command(gcc, "-Wall", "-Wextra", "-o", program, filepath.Join("testdata", source), "-llcms2").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return program
}

const tagPs2CRD0 Signature = 0x70736430 // psd0, a tag of version 2 that takes a Data

// tagged returns a profile of a list of named colours with a tag of each type
// that Little CMS knows.
func tagged(version Version) *Profile {
	text := func(s string) Value { return LocalizedText{{"en", "US", s}} }
	none := Value(LocalizedText{})
	if version == V2 {
		// Little CMS 2.16 reads such a text within another value only if it
		// holds Unicode.
		text = func(s string) Value { return TextDescription{ASCII: s, Unicode: s} }
		none = text("Other")
	}
	p := &Profile{Header: Header{Version: version, Class: ClassNamedColor, Space: SpaceRGB, PCS: SpaceLab, Illuminant: colorimetry.D50()}}
	p.Set(TagColorantOrder, ColorantOrder{2, 0, 1})
	p.Set(TagColorantTable, ColorantTable{{"Cyan", [3]uint16{0x8000, 0x0102, 0xffff}}, {strings.Repeat("n", 31), [3]uint16{1, 2, 3}}})
	p.Set(TagColorantTableOut, ColorantTable{{"Out", [3]uint16{4, 5, 6}}})
	p.Set(TagNamedColors, NamedColors{Prefix: "House ", Suffix: " matt", Channels: 3, Colors: []NamedColor{
		{"White", [3]uint16{0xff00, 0x8000, 0x8000}, []uint16{0xffff, 0xffff, 0xffff}},
		{"Rust", [3]uint16{0x6000, 0xa000, 0x9000}, []uint16{0x9000, 0x4000, 0x2000}},
	}})
	p.Set(TagMeasurement, Measurement{Observer1931, colorimetry.XYZ{X: 0.5, Y: 1, Z: 0.25}, GeometryDiffuse, 0.5, IlluminantD65})
	p.Set(TagViewingConditions, ViewingConditions{colorimetry.XYZ{X: 96, Y: 100, Z: 82.5}, colorimetry.XYZ{X: 19, Y: 20, Z: 16.5}, IlluminantD50})
	p.Set(TagProfileSequence, ProfileSequence{
		{0x61616161, 0x62626262, 2, 0x43525420, text("A maker"), text("One model")},
		{0x61616162, 0x62626262, 1<<32 | 2, 0x43525420, none, text("One model")},
	})
	p.Set(TagProfileSequenceIDs, ProfileSequenceIDs{{[16]byte{1, 15: 0xff}, text("odd")}, {[16]byte{2}, text("even")}})
	p.Set(tagPs2CRD0, Data{DataBinary, []byte("a\x00\xff")})
	p.Set(TagVideoCurves, VideoCurves{Table: [][]uint16{{0, 0x4000, 0x6000, 0x8000, 0xffff}, {0, 0x2000, 0x4000, 0x8000, 0xffff}, {0, 0, 0, 0, 0xffff}}})
	return p
}

// What Little CMS reads from the tags that this package wrote.
const lcmsReads = `clro 2 0 1
clrt [|Cyan|] 8000 0102 ffff
clrt [|nnnnnnnnnnnnnnnnnnnnnnnnnnnnnnn|] 0001 0002 0003
clot [|Out|] 0004 0005 0006
ncl2 [House |White| matt] ff00 8000 8000 ffff ffff ffff
ncl2 [House |Rust| matt] 6000 a000 9000 9000 4000 2000
meas 1 0.50000 1.00000 0.25000 2 0.50000 2
view 96.00000 100.00000 82.50000 19.00000 20.00000 16.50000 1
pseq 61616161 62626262 0000000000000002 43525420
pseq maker [A maker]
pseq model [One model]
pseq 61616162 62626262 0000000100000002 43525420
pseq maker []
pseq model [One model]
psid 010000000000000000000000000000ff [odd]
psid 02000000000000000000000000000000 [even]
data 1 61 00 ff
vcgt 0.0000 0.2500 0.3750 0.5000 1.0000
vcgt 0.0000 0.1250 0.2500 0.5000 1.0000
vcgt 0.0000 0.0000 0.0000 0.0000 1.0000
`

// lcmsPrints returns what the reading program says about p.
func lcmsPrints(t *testing.T, program string, p *Profile) string {
	t.Helper()
	b, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "tags.icc")
	if err := os.WriteFile(file, b, 0o666); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(program, file).CombinedOutput()
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return string(out)
}

func TestLittleCMSReadsTags(t *testing.T) {
	program := lcmsProgram(t, "lcmstags.c")
	for _, version := range []Version{V2, V4} {
		t.Run(version.String(), func(t *testing.T) {
			out := lcmsPrints(t, program, tagged(version))
			want := lcmsReads
			if version == V2 {
				want = strings.Replace(want, "maker []", "maker [Other]", 1)
			}
			if d := cmp.Diff(want, out); d != "" {
				t.Error(d)
			}
		})
	}
}

// The other forms of vcgt, the size that writers get wrong among them, mean the
// same to Little CMS as to this package.
func TestLittleCMSReadsVideoCurves(t *testing.T) {
	program := lcmsProgram(t, "lcmstags.c")
	broken, err := decodeOne([]byte(brokenVideo()))
	if err != nil {
		t.Fatal(err)
	}
	ramp := []uint16{0, 64 * 257, 128 * 257, 192 * 257, 65535}
	for name, c := range map[string]struct {
		v    Value
		want string // of each channel
	}{
		"8 bits":      {VideoCurves{Bits: 8, Table: [][]uint16{ramp, ramp, ramp}}, "0.0000 0.2510 0.5020 0.7529 1.0000"},
		"formula":     {VideoCurves{Formula: [3]VideoFormula{{2, 0.25, 0.75}, {2, 0.25, 0.75}, {2, 0.25, 0.75}}}, "0.2500 0.2812 0.3750 0.5312 0.7500"},
		"broken size": {Raw{TypeVideoCurves, []byte(brokenVideo()[4:])}, "0.0711 0.0711 0.0711 0.0711 0.0711"},
		"repaired":    {broken, "0.0711 0.0711 0.0711 0.0711 0.0711"},
	} {
		t.Run(name, func(t *testing.T) {
			p := tagged(V4)
			p.Set(TagVideoCurves, c.v)
			out := lcmsPrints(t, program, p)
			if want := strings.Repeat("vcgt "+c.want+"\n", 3); !strings.HasSuffix(out, want) {
				t.Errorf("%s\nwant\n%s", out, want)
			}
		})
	}
}

// What Little CMS writes is read as it was meant. Into version 2 profiles it
// pads the descriptions of a sequence, and then cannot read them itself.
func TestLittleCMSWritesTags(t *testing.T) {
	program := lcmsProgram(t, "lcmswrite.c")
	for number, version := range map[string]Version{"2.4": V2, "4.4": V4} {
		t.Run(number, func(t *testing.T) {
			file := filepath.Join(t.TempDir(), "tags.icc")
			if out, err := exec.Command(program, file, number).CombinedOutput(); err != nil {
				t.Fatalf("%v\n%s", err, out)
			}
			b, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			p, err := Decode(b)
			if err != nil {
				t.Fatal(err)
			}
			want := tagged(version)
			for _, sig := range []Signature{TagColorantOrder, TagNamedColors, TagMeasurement, TagViewingConditions, tagPs2CRD0} {
				if d := cmp.Diff(want.Value(sig), p.Value(sig)); d != "" {
					t.Errorf("%v: %s", sig, d)
				}
			}
			// Little CMS's descriptions hold Unicode beside the plain text.
			seq, ids := p.Value(TagProfileSequence).(ProfileSequence), p.Value(TagProfileSequenceIDs).(ProfileSequenceIDs)
			makers := []string{"A maker", ""}
			for i, s := range want.Value(TagProfileSequence).(ProfileSequence) {
				got := seq[i]
				if got.Manufacturer != s.Manufacturer || got.Model != s.Model || got.Attributes != s.Attributes || got.Technology != s.Technology {
					t.Errorf("profile %d: %+v, want %+v", i, got, s)
				}
				if m, n := text(got.ManufacturerName), text(got.ModelName); m != makers[i] || n != "One model" || got.ModelName.Type() != s.ModelName.Type() {
					t.Errorf("profile %d is called %q, %q", i, m, n)
				}
			}
			if len(seq) != 2 || len(ids) != 2 || text(ids[0].Description) != "even" || text(ids[1].Description) != "odd" || ids[1].ID != [16]byte{2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2} {
				t.Errorf("%d profiles, %+v", len(seq), ids)
			}
			table := p.Value(TagColorantTable).(ColorantTable)
			if len(table) != 2 || table[1] != (Colorant{"Rust", [3]uint16{0x6000, 0xa000, 0x9000}}) {
				t.Errorf("colorants %+v", table)
			}
			if v := p.Value(TagVideoCurves).(VideoCurves); v.Bits != 16 || len(v.Table) != 3 || v.Table[0][255] != 0xffff {
				t.Errorf("vcgt with %d channels of %d bits", len(v.Table), v.Bits)
			}
			// Little CMS 2.16 has a layout of its own for MHC2.
			switch v := p.Value(TagHardwareCalibration).(type) {
			case nil:
				t.Log("this version of Little CMS does not know MHC2")
			case Raw:
				t.Log("this version of Little CMS does not write MHC2 as documented")
			case HardwareCalibration:
				if v.PeakCdM2 != 400 || v.Matrix[2][2] != 0.5 || !cmp.Equal(v.Curves[2], []float64{0, 1}) {
					t.Errorf("MHC2 is %+v", v)
				}
			}
			// It goes back as it came, and written anew it means the same.
			if out, err := p.Encode(); err != nil || string(out) != string(b) {
				t.Errorf("%d bytes became %d, %v", len(b), len(out), err)
			}
			for i := range p.Tags {
				p.Set(p.Tags[i].Signature, p.Tags[i].Value)
			}
			_, q := mustEncode(t, p)
			for i := range p.Tags {
				if d := cmp.Diff(p.Tags[i].Value, q.Tags[i].Value); d != "" {
					t.Errorf("%v: %s", p.Tags[i].Signature, d)
				}
			}
		})
	}
}
