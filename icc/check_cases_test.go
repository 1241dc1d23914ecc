package icc

import (
	"testing"

	"example.org/primaries/colorimetry"
)

// checkCase is a change to a good profile and what Check must say of it.
type checkCase struct {
	base   string
	change func(p *Profile)
	want   string // "tag severity: part of the text"
	// reads is "opens" where Little CMS makes a transform though the finding is
	// Broken: of what it does not look at, or in wrong colours.
	reads string
}

func set(sig Signature, v Value) func(*Profile) { return func(p *Profile) { p.Set(sig, v) } }

func remove(tags ...Signature) func(*Profile) {
	return func(p *Profile) {
		for _, sig := range tags {
			p.Remove(sig)
		}
	}
}

func header(change func(h *Header)) func(*Profile) { return func(p *Profile) { change(&p.Header) } }

// checkBases are profiles that have no finding above Remark.
func checkBases(t *testing.T) map[string]*Profile {
	t.Helper()
	out := map[string]*Profile{}
	out["4"], _ = mustMatrix(t, testSpec(t, V4, true))
	out["2"], _ = mustMatrix(t, testSpec(t, V2, false))
	set := func(name string, class, space, pcs Signature) {
		p := bare(V4, class, space, pcs)
		p.Header.Created, p.Header.ID[0] = DateTime{2026, 1, 1, 0, 0, 0}, 1
		white := []float64{100, 0, 0}
		if space == SpaceRGB {
			white = []float64{0, 0, 0}
		}
		for _, sig := range toTables {
			p.Set(sig, whiteTable(Channels(space), white))
		}
		for _, sig := range fromTables {
			p.Set(sig, smallTable(TypeLut16, 3, Channels(space)))
		}
		out[name] = p
	}
	set("print", ClassOutput, SpaceCMYK, SpaceLab)
	out["print"].Set(TagGamut, smallTable(TypeLut16, 3, 1))
	set("display", ClassDisplay, SpaceRGB, SpaceLab)
	link := bare(V4, ClassLink, SpaceRGB, SpaceCMYK)
	link.Header = out["print"].Header
	link.Header.Class, link.Header.Space, link.Header.PCS = ClassLink, SpaceRGB, SpaceCMYK
	link.Set(TagAToB0, smallTable(TypeLut16, 3, 4))
	link.Set(TagProfileSequence, layouts["pseq, version 4"].v)
	out["link"] = link
	named := bare(V4, ClassNamedColor, 0x32434c52, SpaceLab)
	named.Set(TagNamedColors, layouts["ncl2"].v)
	out["named"] = named
	gray := bare(V4, ClassDisplay, SpaceGray, SpaceXYZ)
	gray.Set(TagGrayCurve, SampledCurve{})
	out["gray"] = gray
	return out
}

// whiteTable returns a table in the encoding of version 2 whose node at 0 has
// the given L*a*b*, and the last one another.
func whiteTable(in int, lab []float64) Lut16 {
	v := smallTable(TypeLut16, in, 3).(Lut16)
	n := len(v.Table.Words)
	first := v.Table.Words[:3]
	if lab[0] == 0 { // black there, white at the end
		first = v.Table.Words[n-3:]
	}
	copy(v.Table.Words, []uint16{0, 0x8000, 0x8000})
	copy(first, []uint16{0xff00, 0x8000, 0x8000})
	for i := range v.Output {
		v.Output[i] = []uint16{0, 65535}
	}
	return v
}

// mistakes are changes to values; each has a clause in its finding.
func mistakes() map[string]checkCase {
	d65 := XYZArray{{X: 0.9505, Y: 1, Z: 1.089}}
	long := make(SampledCurve, 40000)
	for i := range long {
		long[i] = uint16(i)
	}
	long[len(long)-1] = 65535
	cases := map[string]checkCase{
		"class":                 {"4", header(func(h *Header) { h.Class = 0x61626364 }), "header broken: class abcd", ""},
		"space":                 {"4", header(func(h *Header) { h.Space = 0x61626364 }), "header broken: space abcd", ""},
		"connection space":      {"4", header(func(h *Header) { h.PCS = SpaceRGB }), "header broken: Connection space RGB", ""},
		"matrix to Lab":         {"4", header(func(h *Header) { h.PCS = SpaceLab }), "header broken: A matrix leads to XYZ", "opens"},
		"matrix of a space":     {"4", header(func(h *Header) { h.Class = ClassSpace }), "A2B0 departure: call it a display", ""},
		"abstract from RGB":     {"link", header(func(h *Header) { h.Class, h.PCS = ClassAbstract, SpaceLab }), "header broken: leads from RGB", ""},
		"link to nowhere":       {"link", header(func(h *Header) { h.PCS = 0x61626364 }), "header broken: far end", ""},
		"version 4.5":           {"4", header(func(h *Header) { h.Version = 0x04500000 }), "header remark: newer", ""},
		"version 4.3.1":         {"4", header(func(h *Header) { h.Version = 0x04310000 }), "header remark: bug-fix", ""},
		"version 4.15":          {"4", header(func(h *Header) { h.Version = 0x04f00000 }), "header departure: decimal", ""},
		"bytes behind":          {"4", header(func(h *Header) { h.Version |= 1 }), "header departure: Bytes 10 and 11", ""},
		"intent 4":              {"4", header(func(h *Header) { h.Intent = 4 }), "header departure: intent 4", ""},
		"illuminant":            {"4", header(func(h *Header) { h.Illuminant = colorimetry.D65() }), "header departure: D50", ""},
		"reserved bytes":        {"4", header(func(h *Header) { h.Reserved[3] = 1 }), "header departure: Reserved", ""},
		"flags":                 {"4", header(func(h *Header) { h.Flags = 4 }), "header departure: Flags", ""},
		"attributes":            {"4", header(func(h *Header) { h.Attributes = 16 }), "header departure: attributes", ""},
		"30 February":           {"4", header(func(h *Header) { h.Created = DateTime{2026, 2, 30, 0, 0, 0} }), "header departure: 2026-02-30", ""},
		"no date":               {"4", header(func(h *Header) { h.Created = DateTime{} }), "header remark: zeros", ""},
		"no ID":                 {"4", header(func(h *Header) { h.ID = [16]byte{} }), "header remark: profile ID", ""},
		"no description":        {"4", remove(TagDescription), "desc departure: missing", ""},
		"no copyright":          {"2", remove(TagCopyright), "cprt departure: missing", ""},
		"no white":              {"4", remove(TagMediaWhite), "wtpt departure: missing", ""},
		"no chad":               {"4", remove(TagChromaticAdaptation), "chad remark: D50", ""},
		"no red":                {"4", remove(TagRedColorant), "rXYZ broken: missing", ""},
		"no curve":              {"2", remove(TagBlueCurve), "bTRC broken: missing", ""},
		"no model":              {"2", remove(lightTags[:]...), "A2B0 broken: missing", ""},
		"no gray curve":         {"gray", remove(TagGrayCurve), "kTRC broken: missing", ""},
		"no way back":           {"display", remove(fromTables[:]...), "B2A0 broken: missing", ""},
		"no saturation":         {"print", remove(TagAToB2), "A2B2 departure: missing", ""},
		"no gamut":              {"print", remove(TagGamut), "gamt departure: missing", ""},
		"no sequence":           {"link", remove(TagProfileSequence), "pseq departure: missing", ""},
		"no link":               {"link", remove(TagAToB0), "A2B0 broken: missing", ""},
		"no colours":            {"named", remove(TagNamedColors), "ncl2 broken: missing", ""},
		"D65 in version 4":      {"4", set(TagMediaWhite, d65), "wtpt departure: chad", ""},
		"D65 in version 2":      {"2", set(TagMediaWhite, d65), "wtpt remark: absolute intent", ""},
		"black white":           {"4", set(TagMediaWhite, XYZArray{{}}), "wtpt broken: above 0", "opens"},
		"no colour in red":      {"4", set(TagRedColorant, XYZArray{}), "rXYZ broken: no colour", "opens"},
		"two reds":              {"4", func(p *Profile) { p.Set(TagRedColorant, append(p.Value(TagRedColorant).(XYZArray), colorimetry.XYZ{})) }, "rXYZ departure: 2 colours", ""},
		"red not adapted":       {"4", set(TagRedColorant, XYZArray{{X: 0.48, Y: 0.22, Z: 0}}), "rXYZ broken: adapt", "opens"},
		"red a little off":      {"4", func(p *Profile) { p.Value(TagRedColorant).(XYZArray)[0].X += 0.002 }, "rXYZ departure: scale", ""},
		"red rounded":           {"4", func(p *Profile) { p.Value(TagRedColorant).(XYZArray)[0].X += 0.0001 }, "rXYZ remark: less than", ""},
		"chad of 3":             {"4", set(TagChromaticAdaptation, FixedArray{1, 1, 1}), "chad broken: 9 make", "opens"},
		"singular chad":         {"4", set(TagChromaticAdaptation, make(FixedArray, 9)), "chad broken: inverted", "opens"},
		"chad from nowhere":     {"4", set(TagChromaticAdaptation, FixedArray{-1, 0, 0, 0, 1, 0, 0, 0, 1}), "chad departure: no white", ""},
		"chad by XYZ":           {"4", set(TagChromaticAdaptation, FixedArray{1.0144, 0, 0, 0, 1, 0, 0, 0, 0.7575}), "chad remark: Bradford", ""},
		"dark":                  {"4", set(TagLuminance, XYZArray{{}}), "lumi departure: above 0", ""},
		"luminance of colour":   {"4", set(TagLuminance, XYZArray{{X: 90, Y: 100, Z: 80}}), "lumi remark: alone", ""},
		"long curve":            {"2", set(TagRedCurve, long), "rTRC broken: 40000 entries", ""},
		"exponent 0":            {"2", set(TagRedCurve, SampledCurve{0}), "rTRC departure: exponent is 0", ""},
		"flat curve":            {"2", set(TagRedCurve, SampledCurve{9, 9, 9}), "rTRC departure: everywhere", ""},
		"bent curve":            {"2", set(TagRedCurve, SampledCurve{0, 40000, 30000, 65535}), "rTRC remark: rises and falls", ""},
		"falling curve":         {"2", set(TagRedCurve, SampledCurve{65535, 0}), "rTRC remark: falls", ""},
		"short curve":           {"2", set(TagRedCurve, SampledCurve{0, 60000}), "rTRC remark: darker", ""},
		"formula in version 2":  {"2", set(TagRedCurve, *srgbCurve()), "rTRC departure: other version", ""},
		"formula 5":             {"4", set(TagRedCurve, ParametricCurve{Function: 5}), "rTRC broken: Function 5", ""},
		"negative exponent":     {"4", set(TagRedCurve, ParametricCurve{G: -1}), "rTRC departure: exponent is -1", ""},
		"formula that jumps":    {"4", set(TagRedCurve, ParametricCurve{Function: 3, G: 2, A: 1, C: 0, D: 0.5}), "rTRC remark: jumps", ""},
		"curve as colour":       {"4", set(TagRedCurve, XYZArray{{}}), "rTRC broken: not permitted", ""},
		"text as colour":        {"4", set(TagRedColorant, Text("x")), "rXYZ broken: not permitted", ""},
		"old text":              {"4", set(TagDescription, TextDescription{ASCII: "x"}), "desc departure: other version", ""},
		"plain text":            {"4", set(TagDescription, Text("x")), "desc departure: any text", ""},
		"empty text":            {"4", set(TagDescription, LocalizedText{}), "desc departure: empty", ""},
		"two English texts":     {"4", set(TagDescription, LocalizedText{{"en", "US", "a"}, {"en", "US", "b"}}), "desc departure: two texts", ""},
		"no language":           {"4", set(TagDescription, LocalizedText{{"\x00\x00", "US", "a"}}), "desc remark: no codes", ""},
		"private tag":           {"4", set(0x61626364, Text("x")), "abcd remark: private", ""},
		"old tag":               {"4", set(0x626b7074, XYZArray{{X: 0.001, Y: 0.001, Z: 0.001}}), "bkpt remark: dropped", ""},
		"new tag":               {"2", set(TagCICP, CICP{1, 13, 0, 1}), "cicp remark: version 4", ""},
		"cicp in 4.3":           {"4", set(TagCICP, CICP{1, 13, 0, 1}), "cicp departure: 4.4", ""},
		"cicp of ink":           {"print", set(TagCICP, CICP{1, 13, 0, 1}), "cicp departure: alone", ""},
		"cicp with matrix":      {"4", set(TagCICP, CICP{1, 13, 1, 1}), "cicp departure: matrix code", ""},
		"cicp range":            {"4", set(TagCICP, CICP{1, 13, 0, 2}), "cicp departure: range", ""},
		"one chromaticity":      {"4", set(TagChromaticity, ChromaticityValue{Channels: chroma(0.64, 0.33)}), "chrm departure: lists 1", ""},
		"chromaticity of 0":     {"4", set(TagChromaticity, ChromaticityValue{Channels: chroma(0, 0, 0, 0, 0, 0)}), "chrm remark: no light", ""},
		"two colorants":         {"print", set(TagColorantTable, ColorantTable{{}, {}}), "clrt departure: lists 2", ""},
		"colorant twice":        {"print", set(TagColorantOrder, ColorantOrder{0, 1, 1, 2}), "clro departure: twice", ""},
		"named without colours": {"named", set(TagNamedColors, NamedColors{}), "ncl2 departure: empty", ""},
		"named of 5":            {"named", set(TagNamedColors, NamedColors{Channels: 5, Colors: []NamedColor{{Device: make([]uint16, 5)}}}), "ncl2 departure: lists 5", ""},
		"old sequence":          {"link", set(TagProfileSequence, layouts["pseq, version 2"].v), "pseq departure: convert", ""},
		"empty sequence":        {"link", set(TagProfileSequence, ProfileSequence{}), "pseq departure: empty", ""},
		"gamut of nothing":      {"print", set(TagPerceptualGamut, SignatureValue(1)), "rig0 departure: prmg", ""},
		"image state":           {"4", set(TagImageState, SignatureValue(1)), "ciis departure: scoe", ""},
		"calibrated never":      {"4", set(TagCalibrationDate, DateTimeValue{}), "calt departure: exist", ""},
		"flare of 2":            {"4", set(TagMeasurement, Measurement{Flare: 2}), "meas departure: flare", ""},
		"one name twice":        {"4", set(TagMetadata, Dict{{Name: "a"}, {Name: "a"}}), "meta departure: two entries", ""},
		"vcgt that falls":       {"4", set(TagVideoCurves, VideoCurves{Table: [][]uint16{{9, 0}}}), "vcgt remark: falls", ""},
		"vcgt of one":           {"4", set(TagVideoCurves, VideoCurves{Table: [][]uint16{{9}}}), "vcgt departure: no curve", ""},
		"vcgt of nothing":       {"4", set(TagVideoCurves, VideoCurves{}), "vcgt departure: does not rise", ""},
		"MHC2 of nothing":       {"4", set(TagHardwareCalibration, HardwareCalibration{}), "MHC2 departure: no range", ""},
		"MHC2 that falls":       {"4", set(TagHardwareCalibration, HardwareCalibration{PeakCdM2: 1, Curves: [3][]float64{{1, 0}}}), "MHC2 departure: falls", ""},
		"MHC2 of a plane":       {"4", set(TagHardwareCalibration, HardwareCalibration{PeakCdM2: 1, HasMatrix: true}), "MHC2 broken: plane", "opens"},
		"MHC2 of ink":           {"print", set(TagHardwareCalibration, HardwareCalibration{PeakCdM2: 1}), "MHC2 remark: displays", ""},
		"MHC2 with a word more": {"4", set(TagHardwareCalibration, Raw{TypeHardwareCalibration, []byte(mhc2WordMore[4:])}), "MHC2 departure: word longer", ""},
	}
	for name, c := range tableMistakes() {
		cases[name] = c
	}
	return cases
}

// tableMistakes are those of tables.
func tableMistakes() map[string]checkCase {
	turned := smallTable(TypeLut16, 3, 3).(Lut16)
	turned.Matrix = nearIdentity().Matrix
	single := smallTable(TypeLut16, 3, 3).(Lut16)
	single.Table = nodesOf(even(3, 1), 3, 2, 0, 0, func([]float64) []float64 { return make([]float64, 3) })
	// White as version 4 encodes it, in the type of version 2, and the reverse.
	modern := whiteTable(4, []float64{100})
	copy(modern.Table.Words, []uint16{0xffff, 0x8080, 0x8080})
	c := smallClut(4, 3, 2)
	copy(c.Words, []uint16{0xff00, 0x8000, 0x8000})
	old := LutAToB{A: linear(4), Table: &c, B: linear(3)}
	beyond := whiteTable(4, []float64{100})
	copy(beyond.Table.Words, []uint16{0xf000, 0x8000, 0x8000})
	return map[string]checkCase{
		"table of 3 inks":     {"print", set(TagAToB0, whiteTable(3, []float64{100})), "A2B0 broken: 3 channels to 3", ""},
		"gamut of 3":          {"print", set(TagGamut, smallTable(TypeLut16, 3, 3)), "gamt broken: 3 channels to 3", "opens"},
		"preview of 4":        {"print", set(TagPreview0, smallTable(TypeLut16, 3, 4)), "pre0 broken: 3 channels to 4", "opens"},
		"wrong way":           {"print", set(TagBToA0, smallTable(TypeLutAToB, 3, 4)), "B2A0 broken: not permitted", ""},
		"matrix without XYZ":  {"display", set(TagBToA1, turned), "B2A1 departure: identity", ""},
		"one point":           {"display", set(TagAToB0, single), "A2B0 broken: fewer than 2", ""},
		"modern white":        {"print", set(TagAToB0, modern), "A2B0 departure: encoding of version 4", ""},
		"old white":           {"print", set(TagAToB0, old), "A2B0 departure: encoding of version 2", ""},
		"grey white":          {"print", set(TagAToB0, beyond), "A2B0 remark: not kept", ""},
		"elements of 2":       {"4", set(TagDToB0, smallElements(2, 3)), "D2B0 broken: 2 channels", ""},
		"elements, 17 inside": {"4", set(TagDToB0, MultiProcess{3, 3, []Element{MatrixElement{3, make([]float32, 51), make([]float32, 17)}, MatrixElement{17, make([]float32, 51), make([]float32, 3)}}}), "D2B0 broken: more than 16", ""},
	}
}

// linear returns n curves that change nothing.
func linear(n int) []Curve {
	out := make([]Curve, n)
	for i := range out {
		out[i] = SampledCurve{}
	}
	return out
}
