package icc

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
)

// brief returns findings as "tag severity", in order.
func brief(all []Finding) (out []string) {
	for _, f := range all {
		out = append(out, f.Tag+" "+f.Severity.String())
	}
	return out
}

// The profiles that this package writes have nothing to find, except that
// version 2 does not know the dictionary.
func TestCheckOwnProfiles(t *testing.T) {
	for _, version := range []Version{V2, V4, V4Dot4} {
		for _, parametric := range []bool{false, true} {
			spec := testSpec(t, version, parametric)
			spec.InForce = curves(t, 3)
			if version == V4Dot4 {
				spec.CICP = &CICP{12, 13, 0, 1}
			}
			p, b := mustMatrix(t, spec)
			q, err := Decode(b)
			if err != nil {
				t.Fatal(err)
			}
			var want []string
			if version == V2 {
				want = []string{"meta remark"}
			}
			for what, p := range map[string]*Profile{"built": p, "decoded": q} {
				if got := p.Check(); !slices.Equal(brief(got), want) {
					t.Errorf("%v, %s: %v", version, what, got)
				}
			}
		}
	}
}

// Strangers' profiles, those of Debian's icc-profiles-free and libgs-common.
// Each of these findings was held against a dump of the profile's bytes.
func TestCheckDebianProfiles(t *testing.T) {
	debianProfile(t, "sRGB.icc") // skips
	want := map[string][]string{
		// Garbage in flags and attributes.
		"CineLogCurve.icc": {"header departure", "header departure"},
		"Gray-CIE_L.icc":   {"header departure", "header departure"},
		"Gray.icc":         {"header departure", "header departure"},
		// Bytes behind the version, D50 of other figures, reserved bytes, and two
		// tags and padding where they should not be.
		"LCMSLABI.ICM": {"header departure", "header departure", "header departure", "header departure", "tag table departure", "tag table departure", "tag table remark"},
		"LCMSXYZI.ICM": {"header departure", "tag table departure", "tag table departure", "tag table remark"},
		// The description is cut off, and rounding.
		"LStar-RGB.icc": {"rXYZ remark", "desc departure"},
		// D65 as media white, which version 2 means.
		"compatibleWithAdobeRGB1998.icc": {"wtpt remark"},
		// A line feed at the end; rounding; D65.
		"sRGB.icc":                {"tag table remark", "rXYZ remark", "wtpt remark"},
		"ITULab.icc":              nil,
		"CineonLog_M.icc":         {"rXYZ remark"},
		"CineonLog_M_Knee_10.icc": {"rXYZ remark"},
		"CineonLog_M_Knee_20.icc": {"rXYZ remark"},
		"CineonLog_M_Knee_30.icc": {"rXYZ remark"},
		"CineonLog_M_Knee_60.icc": {"rXYZ remark"},
	}
	for name, b := range allDebian(t) {
		p, err := Decode(b)
		if err != nil {
			t.Fatal(err)
		}
		w, known := want[name]
		if got := p.Check(); !known || !slices.Equal(brief(got), w) {
			t.Errorf("%s: %v", name, got)
		}
	}
	files, err := filepath.Glob("/usr/share/color/icc/ghostscript/*.icc")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		p, err := Decode(b)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range p.Check() {
			// An impossible date, and tags that output profiles lack.
			if f.Severity == Broken || f.Severity == Departure && f.Tag != inHeader && !strings.Contains(f.Text, "The tag is missing") {
				t.Errorf("%s: %v", f, f)
			}
		}
	}
}

// Every mistake is found, with the severity that Little CMS's behaviour bears
// out where it can be held against that: what is Broken it refuses, in one
// direction at least, and all else it opens.
func TestCheckFindsMistakes(t *testing.T) {
	for name, base := range checkBases(t) {
		for _, f := range base.Check() {
			if f.Severity > Remark {
				t.Errorf("base %q: %v", name, f)
			}
		}
	}
	for name, c := range mistakes() {
		t.Run(name, func(t *testing.T) {
			p := checkBases(t)[c.base]
			c.change(p)
			all := p.Check()
			at := slices.IndexFunc(all, func(f Finding) bool { return says(f, c.want) })
			if at < 0 {
				t.Fatalf("want %q among %v", c.want, all)
			}
			for _, f := range all {
				if f.Severity > all[at].Severity {
					t.Errorf("%v is graver than %v", f, all[at])
				}
			}
			if b, err := p.Encode(); err == nil {
				if q, err := Decode(b); err == nil && !slices.ContainsFunc(q.Check(), func(f Finding) bool { return says(f, c.want) }) {
					t.Errorf("decoded, it has only %v", q.Check())
				}
				readByLittleCMS(t, p, b, all[at].Severity, c.reads)
			}
		})
	}
}

func says(f Finding, want string) bool {
	head, text, _ := strings.Cut(want, ": ")
	return head == f.Tag+" "+f.Severity.String() && strings.Contains(f.Text, text) && f.Clause != ""
}

// readByLittleCMS holds a severity against what Little CMS does.
func readByLittleCMS(t *testing.T, p *Profile, b []byte, s Severity, reads string) {
	t.Helper()
	if p.Header.Class == ClassNamedColor {
		return
	}
	file := filepath.Join(t.TempDir(), "check.icc")
	if err := os.WriteFile(file, b, 0o600); err != nil {
		t.Fatal(err)
	}
	n := max(1, Channels(p.Header.Space))
	opens := true
	if p.Header.Class == ClassLink {
		opens = lcms(t, Perceptual, false, [][]float64{make([]float64, n)}, file) != nil
	} else {
		opens = lcms(t, Perceptual, false, [][]float64{make([]float64, n)}, file, "*lab") != nil && lcms(t, Perceptual, false, [][]float64{{50, 0, 0}}, "*lab", file) != nil
	}
	want := s != Broken
	if reads == "opens" {
		want = true
	}
	if opens != want {
		t.Errorf("%v, and Little CMS opens it: %v", s, opens)
	}
}

// What only the bytes show.
func TestCheckBytes(t *testing.T) {
	_, b := mustMatrix(t, testSpec(t, V4, false))
	at, places := tagEntries(b)
	end := uint32(len(b))
	cases := map[string]struct {
		b    []byte
		want string
	}{
		"ID":              {put(b, 84, 7), "header departure: MD5"},
		"odd size":        {put(append(bytes.Clone(b), 0), 0, end+1), "header departure: multiple of 4"},
		"padding":         {put(append(bytes.Clone(b), 0, 0, 0, 0), 0, end+4), "tag table departure: belong to no tag"},
		"padding, filled": {put(append(bytes.Clone(b), 1, 2), 0, end+2), "tag table departure: not zero"},
		"odd place":       {put(put(b, at[2]+4, places[2].off+2), at[2]+8, places[2].size-2), "tag table departure: multiple of 4"},
		"overlap":         {put(b, at[0]+8, places[0].size+8), "tag table departure: overlap"},
		"reserved word":   {put(b, int(places[2].off)+4, 1), "wtpt departure: reserved"},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			p, err := Decode(c.b)
			var f *FormatError
			if errors.As(err, &f) && name == "odd place" {
				return // the type of a tag is not where it begins
			}
			if err != nil {
				t.Fatal(err)
			}
			if all := p.Check(); !slices.ContainsFunc(all, func(f Finding) bool { return says(f, c.want) }) {
				t.Errorf("want %q among %v", c.want, all)
			}
		})
	}
	old := map[string]struct{ e, want string }{
		"vcgt":                  {brokenVideo(), "vcgt departure: two bytes"},
		"text without NUL":      {"text\x00\x00\x00\x00abc", "cprt departure: NUL"},
		"text with umlaut":      {"text\x00\x00\x00\x00\xfcb\x00", "cprt departure: 0xFC"},
		"description cut off":   {"desc\x00\x00\x00\x00\x00\x00\x00\x02a\x00", "desc departure: states"},
		"description, umlaut":   {"desc\x00\x00\x00\x00\x00\x00\x00\x03\xe4a\x00" + string(make([]byte, 78)), "desc departure: 0xE4"},
		"description, no NUL":   {"desc\x00\x00\x00\x00\x00\x00\x00\x02ab" + string(make([]byte, 78)), "desc departure: NUL"},
		"tag called by nothing": {"text\x00\x00\x00\x00a\x00", "0x20202020 remark: private"}, // found by FuzzDecode
	}
	for name, c := range old {
		t.Run(name, func(t *testing.T) {
			tag, _, _ := strings.Cut(c.want, " ")
			b := put(element([]byte(c.e)), 8, uint32(V2))
			copy(b[tableStart:], fmt.Sprintf("%-4.4s", strings.TrimPrefix(tag, "0x20202020")))
			p, err := Decode(b)
			if err != nil {
				t.Fatal(err)
			}
			if all := p.Check(); !slices.ContainsFunc(all, func(f Finding) bool { return says(f, c.want) }) {
				t.Errorf("want %q among %v", c.want, all)
			}
		})
	}
}

// Check takes whatever a program puts together.
func TestCheckOfAnything(t *testing.T) {
	var curve *SampledCurve
	var nested struct{ Value }
	text := LocalizedText{}
	values := []Value{
		nil, curve, &SampledCurve{}, nested, Raw{}, Text("ä"), SampledCurve(nil), FixedArray{math.NaN()}, XYZArray{{X: math.Inf(1)}},
		ParametricCurve{Function: -1}, ParametricCurve{Function: 9, G: math.NaN()}, ParametricCurve{G: math.Inf(1), Function: 4, A: math.NaN()},
		Lut8{}, Lut16{}, LutAToB{}, LutBToA{}, MultiProcess{}, Lut8{Table: CLUT{Bytes: []byte{}}}, Lut16{Table: CLUT{Grid: []int{255, 255, 255, 255}, Outputs: 3, Words: []uint16{1}}},
		Lut16{Input: [][]uint16{{}, nil}, Output: [][]uint16{nil}, Table: CLUT{Grid: []int{-1}, Outputs: -1, Words: []uint16{}}},
		LutAToB{B: []Curve{nil}}, LutAToB{B: []Curve{curve}}, LutAToB{A: []Curve{}, Table: &CLUT{}, B: linear(3)}, LutBToA{M: []Curve{}, Matrix: &Affine{}, B: linear(3)},
		LutAToB{A: linear(17), B: linear(3), Table: &CLUT{Grid: even(17, 1), Outputs: 3, Bytes: []byte{1, 2, 3}}},
		MultiProcess{3, 3, []Element{nil}}, MultiProcess{3, 3, []Element{(*MatrixElement)(nil)}}, MultiProcess{3, 3, []Element{MatrixElement{3, nil, make([]float32, 3)}}},
		MultiProcess{1, 1, []Element{CurveSet{{}}}}, MultiProcess{1, 1, []Element{CurveSet{{[]float32{0, 1}, []Segment{{Function: 0, Parameters: make([]float32, 4)}, {Samples: []float32{}}, {Function: 2, Parameters: make([]float32, 5)}}}}}},
		MultiProcess{1, 1, []Element{CurveSet{{[]float32{float32(math.NaN())}, []Segment{{Function: 7}, {Parameters: nil}}}}}}, MultiProcess{1, 1, []Element{CLUTElement{}}}, MultiProcess{-1, -1, []Element{ReservedElement{}}},
		ProfileSequence{{}}, ProfileSequence{{ManufacturerName: curve, ModelName: text}}, ProfileSequenceIDs{{}}, ProfileSequenceIDs{{Description: nested}},
		VideoCurves{Table: [][]uint16{}}, VideoCurves{Table: [][]uint16{nil, {1}, {1, 2}}}, HardwareCalibration{Curves: [3][]float64{{math.NaN()}, {}}}, HardwareCalibration{HasMatrix: true, MinCdM2: math.NaN()},
		NamedColors{Channels: -1}, ResponseCurves{Channels: -5}, Dict{{}}, LocalizedText{{"", "", ""}}, TextDescription{Script: make([]byte, 100)}, Measurement{Flare: math.NaN()},
		ChromaticityValue{Channels: []colorimetry.Chromaticity{{X: math.NaN()}}}, ColorantOrder{255}, Data{Bytes: []byte{0}}, DateTimeValue{Month: 99},
	}
	tags := []Signature{0, 0x20202020, 0xffffffff, 0x626b7074, 0x73637264, 0x70736430}
	for sig := range everyTag(t) {
		tags = append(tags, sig)
	}
	slices.Sort(tags)
	classes := []Signature{ClassDisplay, ClassInput, ClassOutput, ClassLink, ClassSpace, ClassAbstract, ClassNamedColor, 0}
	count := 0
	for _, version := range []Version{0, V2, V4, math.MaxUint32} {
		for i, v := range values {
			p := &Profile{Header: Header{Version: version, Class: classes[i%len(classes)], Space: []Signature{SpaceRGB, SpaceGray, SpaceCMYK, 0}[i%4], PCS: []Signature{SpaceLab, SpaceXYZ, 0}[i%3], Illuminant: colorimetry.XYZ{X: math.NaN()}, Intent: 99, Created: DateTime{Month: 77}}}
			for _, sig := range tags {
				p.Tags = append(p.Tags, Tag{Signature: sig, Value: v}, Tag{Signature: sig})
			}
			useCheck(t, p)
			if count += len(tags); !slices.Equal(p.Check(), p.Check()) {
				t.Error("two lists differ")
			}
			if v != nil && len(p.Check()) < len(tags) {
				t.Errorf("%T: every tag is there twice, and there are only %d findings", v, len(p.Check()))
			}
		}
	}
	useCheck(t, &Profile{})
	t.Logf("%d tags were looked at", count)
}

// everyTag returns the tags that have a rule, by trying all that have a name.
func everyTag(t *testing.T) map[Signature]tagRule {
	t.Helper()
	out := map[Signature]tagRule{}
	for _, set := range [][]Signature{toTables[:], fromTables[:], toElements[:], fromElements[:], lightTags[:], {
		TagDescription, TagCopyright, TagMediaWhite, TagChromaticAdaptation, TagGrayCurve, TagLuminance, TagChromaticity, TagCharTarget, TagCICP, TagMetadata,
		TagVideoCurves, TagDeviceMaker, TagDeviceModel, TagTechnology, TagCalibrationDate, TagColorantOrder, TagColorantTable, TagColorantTableOut, TagGamut,
		TagHardwareCalibration, TagImageState, TagMeasurement, TagNamedColors, TagOutputResponse, TagPerceptualGamut, TagPreview0, TagPreview1, TagPreview2,
		TagProfileSequence, TagProfileSequenceIDs, TagSaturationGamut, TagViewingConditions, TagViewingDescription,
	}} {
		for _, sig := range set {
			r, ok := ruleOf(sig)
			if !ok || r.clause == "" || len(r.types) == 0 || len(r.oldTypes) == 0 {
				t.Errorf("tag %v has the rule %+v", sig, r)
			}
			out[sig] = r
		}
	}
	return out
}

// The list is bounded, and says where it ends.
func TestCheckIsBounded(t *testing.T) {
	p := &Profile{Header: Header{Version: V4}}
	for i := range 5000 {
		p.Tags = append(p.Tags, Tag{Signature: Signature(i)})
	}
	all := p.Check()
	if n := len(all); n != maxFindings || !strings.Contains(all[n-1].Text, "more than 999") || strings.Contains(all[n-2].Text, "more than") {
		t.Errorf("%d findings, the last being %v", n, all[n-1])
	}
	if got := (Finding{"rTRC", "ICC.1:2022, 9.2.47", Departure, "X."}).String(); got != "rTRC: departure (ICC.1:2022, 9.2.47): X." {
		t.Errorf("a finding reads %q", got)
	}
	if got := Severity(7).String() + Remark.String() + Broken.String(); got != "severity 7remarkbroken" {
		t.Errorf("severities read %q", got)
	}
}

func BenchmarkCheck(b *testing.B) {
	_, e := mustMatrix(b, testSpec(b, V4, false))
	p, err := Decode(e)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		p.Check()
	}
}

// A profile that was changed is no longer held against the bytes it came from.
func TestCheckOfChangedProfile(t *testing.T) {
	_, b := mustMatrix(t, testSpec(t, V4, false))
	p, err := Decode(put(b, 84, 7))
	if err != nil {
		t.Fatal(err)
	}
	if got := brief(p.Check()); !slices.Equal(got, []string{"header departure"}) {
		t.Errorf("untouched: %v", got)
	}
	p.Set(TagDescription, LocalizedText{{"en", "US", "Another name"}})
	if got := p.Check(); got != nil {
		t.Errorf("changed, when Encode computes the ID: %v", got)
	}
}
