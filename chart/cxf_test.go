package chart_test

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// smallCxF was put together by hand from the names of the public schema of
// CxF3-core, 3.0.018. Its colours, names and custom elements are invented.
const smallCxF = `<?xml version="1.0" encoding="UTF-8"?>
<cc:CxF xmlns:cc="http://colorexchangeformat.com/CxF3-core" xmlns:own="urn:example:own">
  <cc:FileInformation>
    <cc:Creator>a "print" studio</cc:Creator>
    <cc:CreationDate>2026-11-25T09:00:00Z</cc:CreationDate>
    <cc:Description>textiles &amp; paper,
      second run</cc:Description>
    <cc:Comment>in the dark</cc:Comment>
    <cc:Tag Name="OPERATOR" Value="M. Müller"/>
    <cc:Tag Name="no keyword" Value="passed over"/>
  </cc:FileInformation>
  <cc:Resources>
    <cc:ObjectCollection>
      <cc:Object ObjectType="Target" Name="black" Id="c1">
        <cc:CreationDate>2026-11-25T09:01:00Z</cc:CreationDate>
        <cc:ColorValues>
          <cc:ColorEmissiveCIEXYZ ColorSpecification="s1"><cc:X>0.1</cc:X><cc:Y>0.11</cc:Y><cc:Z>0.12</cc:Z></cc:ColorEmissiveCIEXYZ>
          <cc:EmissiveSpectrum StartWL="380" ColorSpecification="s1">0.001
            0.002 3e-3</cc:EmissiveSpectrum>
        </cc:ColorValues>
        <cc:DeviceColorValues>
          <cc:ColorRGB ColorSpecification="s1"><cc:MaxRange>1023</cc:MaxRange><cc:R>0</cc:R><cc:G>0</cc:G><cc:B>0</cc:B></cc:ColorRGB>
        </cc:DeviceColorValues>
        <cc:TagCollection Name="place"><cc:Tag Name="Row" Value="1"/></cc:TagCollection>
      </cc:Object>
      <cc:Object ObjectType="Target" Name="white" Id="c2">
        <cc:DeviceColorValues>
          <cc:ColorCMYK ColorSpecification="s1"><cc:Cyan>0</cc:Cyan></cc:ColorCMYK>
          <cc:ColorRGB ColorSpecification="s1"><cc:MaxRange>1023</cc:MaxRange><cc:R>1023</cc:R><cc:G>1023.0</cc:G><cc:B>1023</cc:B></cc:ColorRGB>
        </cc:DeviceColorValues>
        <cc:ColorValues>
          <cc:ColorCIELab ColorSpecification="s1"><cc:L>100</cc:L><cc:A>-1.50</cc:A><cc:B>0</cc:B></cc:ColorCIELab>
          <cc:ColorEmissiveCIEXYZ ColorSpecification="s1"><cc:X> 95 </cc:X><cc:Y><![CDATA[100]]></cc:Y><cc:Z>1<!-- -->08</cc:Z></cc:ColorEmissiveCIEXYZ>
        </cc:ColorValues>
      </cc:Object>
      <cc:Object ObjectType="Substrate" Name="no patch" Id="c3"><cc:Comment>x</cc:Comment></cc:Object>
    </cc:ObjectCollection>
    <cc:ColorSpecificationCollection>
      <cc:ColorSpecification Id="s1">
        <cc:TristimulusSpec><cc:Illuminant>E</cc:Illuminant><cc:Observer>2_Degree</cc:Observer><cc:Method>E308_1nm</cc:Method></cc:TristimulusSpec>
        <cc:MeasurementSpec>
          <cc:MeasurementType>Spectrum_Emissive</cc:MeasurementType>
          <cc:GeometryChoice><cc:EmissiveMode>EmissiveMode_Other</cc:EmissiveMode></cc:GeometryChoice>
          <cc:WavelengthRange StartWL="380" Increment="10"/>
          <cc:LuminanceUnitsType>cd/m2</cc:LuminanceUnitsType>
        </cc:MeasurementSpec>
      </cc:ColorSpecification>
    </cc:ColorSpecificationCollection>
  </cc:Resources>
  <cc:CustomResources><own:Thing deep="1"><own:Object Name="x"><own:R>1</own:R></own:Object>text</own:Thing></cc:CustomResources>
</cc:CxF>
`

// smallCxFTable is what smallCxF holds.
func smallCxFTable() chart.Table {
	return chart.Table{
		Originator: `a "print" studio`, Created: "2026-11-25T09:00:00Z", Descriptor: "textiles & paper, second run",
		Keywords: []chart.Keyword{{Name: "COMMENT", Value: "in the dark"}, {Name: "OPERATOR", Value: "M. Müller"}, {Name: "ILLUMINANT", Value: "E"}, {Name: "OBSERVER", Value: "2_Degree"}},
		Scale:    chart.ScaleAbsolute, HasXYZ: true,
		Extra: []string{"SAMPLE_NAME", "LAB_L", "LAB_A", "LAB_B", "EMISSIVE_SPECTRUM", "EMISSIVE_SPECTRUM_START_NM", "EMISSIVE_SPECTRUM_STEP_NM"},
		Rows: []chart.Row{
			{ID: "c1", XYZ: colorimetry.XYZ{X: 0.1, Y: 0.11, Z: 0.12}, Extra: []string{"black", "", "", "", "0.001 0.002 3e-3", "380", "10"}, Line: 14},
			{ID: "c2", Signal: colorimetry.Gray(1), XYZ: colorimetry.XYZ{X: 95, Y: 100, Z: 108}, Extra: []string{"white", "100", "-1.50", "0", "", "", ""}, Line: 26},
		},
	}
}

func TestReadCxF(t *testing.T) {
	upsideDown := strings.Replace(smallCxF, "<cc:Resources>\n", "<cc:Resources>\n"+between(smallCxF, "    <cc:ColorSpecificationC", "  </cc:Resources>"), 1)
	upsideDown = strings.Replace(upsideDown, between(upsideDown, "    </cc:ObjectCollection>", "  </cc:Resources>"), "    </cc:ObjectCollection>\n", 1)
	asAttributes := strings.Replace(smallCxF, "<cc:X>0.1</cc:X><cc:Y>0.11</cc:Y><cc:Z>0.12</cc:Z></cc:ColorEmissiveCIEXYZ>", "</cc:ColorEmissiveCIEXYZ>", 1)
	asAttributes = strings.Replace(asAttributes, "<cc:ColorEmissiveCIEXYZ ", `<cc:ColorEmissiveCIEXYZ X="0.1" Y="0.11" Z="0.12" `, 1)
	for name, text := range map[string]string{
		"as written":           smallCxF,
		"byte-order mark":      "\ufeff" + smallCxF,
		"other prefix":         strings.NewReplacer("<cc:", "<q:", "</cc:", "</q:", "xmlns:cc", "xmlns:q").Replace(smallCxF),
		"no prefix":            strings.NewReplacer("<cc:", "<", "</cc:", "</", "xmlns:cc", "xmlns").Replace(smallCxF),
		"no namespace":         strings.NewReplacer("<cc:", "<", "</cc:", "</", ` xmlns:cc="http://colorexchangeformat.com/CxF3-core"`, "").Replace(smallCxF),
		"specifications first": upsideDown,
		"as attributes":        asAttributes,
		"CRLF":                 strings.ReplaceAll(smallCxF, "\n", "\r\n"),
	} {
		got, err := chart.Read(strings.NewReader(text), "a.cxf", chart.ReadOptions{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		ignore := cmp.Options{}
		if name == "specifications first" {
			ignore = append(ignore, cmpopts.IgnoreFields(chart.Row{}, "Line"))
		}
		if diff := cmp.Diff(smallCxFTable(), got, ignore); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

// between returns text from a on and before b.
func between(text, a, b string) string {
	i := strings.Index(text, a)
	return text[i : i+strings.Index(text[i:], b)]
}

// cxfWith returns a document of these objects and of one specification s.
func cxfWith(objects, tristimulus, measurement string) string {
	return `<CxF xmlns="http://colorexchangeformat.com/CxF3-core"><Resources><ObjectCollection>` + "\n" + objects + `
</ObjectCollection><ColorSpecificationCollection><ColorSpecification Id="s"><TristimulusSpec>` + tristimulus +
		`</TristimulusSpec><MeasurementSpec>` + measurement + `</MeasurementSpec></ColorSpecification></ColorSpecificationCollection></Resources></CxF>`
}

// cxfObject is one object; what is "" is left out.
func cxfObject(name, rgb, colours string) string {
	if rgb != "" {
		f := strings.Fields(rgb)
		rgb = "<DeviceColorValues><ColorRGB><R>" + f[0] + "</R><G>" + f[1] + "</G><B>" + f[2] + "</B></ColorRGB></DeviceColorValues>"
	}
	return `<Object Name="` + name + `">` + rgb + "<ColorValues>" + colours + "</ColorValues></Object>\n"
}

// cxfValue is one colour of a kind with its three components.
func cxfValue(element, parts string, v ...string) string {
	text := "<" + element + ` ColorSpecification="s">`
	for i, p := range strings.Split(parts, " ") {
		text += "<" + p + ">" + v[i] + "</" + p + ">"
	}
	return text + "</" + element + ">"
}

func TestCxFReadings(t *testing.T) {
	emissive := cxfValue("ColorEmissiveCIEXYZ", "X Y Z", "1", "2", "3")
	relative := cxfValue("ColorCIEXYZ", "X Y Z", "1", "2", "3")
	lab := func(l string) string { return cxfValue("ColorCIELab", "L A B", l, "0", "0") }
	const d50, two, ten = "<Illuminant>D50</Illuminant>", "<Observer>2_Degree</Observer>", "<Observer>10_Degree</Observer>"
	unit := func(u string) string { return "<LuminanceUnitsType>" + u + "</LuminanceUnitsType>" }
	for _, c := range []struct {
		name, colours, tristimulus, measurement string
		o                                       chart.ReadOptions
		scale                                   chart.Scale
		x, y, z                                 float64
	}{
		{"emissive", emissive, "", "", chart.ReadOptions{}, chart.ScaleAbsolute, 1, 2, 3},
		{"emissive, said to be relative", emissive, "", "", chart.ReadOptions{Scale: chart.ScaleRelative}, chart.ScaleRelative, 1, 2, 3},
		{"not emissive", relative, "", "", chart.ReadOptions{}, chart.ScaleRelative, 1, 2, 3},
		{"emissive measurement", relative, "", "<MeasurementType>Colorimetric_Emissive</MeasurementType>", chart.ReadOptions{}, chart.ScaleAbsolute, 1, 2, 3},
		{"cd/m²", relative, "", unit("cd/m2"), chart.ReadOptions{}, chart.ScaleAbsolute, 1, 2, 3},
		{"normalised", emissive, "", unit("normalized"), chart.ReadOptions{}, chart.ScaleRelative, 1, 2, 3},
		// Factors: NIST SP 811, appendix B.8, from memory.
		{"foot lamberts", emissive, "", unit("fL"), chart.ReadOptions{}, chart.ScaleAbsolute, 3.426259, 6.852518, 10.278777},
		{"candelas per square foot", emissive, "", unit("cd/ft2"), chart.ReadOptions{}, chart.ScaleAbsolute, 10.76391, 21.52782, 32.29173},
		{"chromaticity", cxfValue("ColorEmissiveCIExyY", "x y Y", "0.25", "0.5", "100"), "", "", chart.ReadOptions{}, chart.ScaleAbsolute, 50, 100, 50},
		{"black's chromaticity", cxfValue("ColorCIExyY", "x y Y", "0", "0", "0"), "", "", chart.ReadOptions{}, chart.ScaleRelative, 0, 0, 0},
		{"emissive goes before relative", relative + cxfValue("ColorEmissiveCIEXYZ", "X Y Z", "4", "5", "6") + lab("100"), "", "", chart.ReadOptions{}, chart.ScaleAbsolute, 4, 5, 6},
		// White: CIE 015:2018.
		{"CIELAB, D50, 2°", lab("100"), d50 + two, "", chart.ReadOptions{}, chart.ScaleRelative, 96.42, 100, 82.51},
		// Whites: ASTM E308. For D65 the sum at 1 nm is taken here; CIE 015:2018
		// sums at 5 nm and prints 107.32.
		{"CIELAB, D65, 10°", lab("100"), "<Illuminant>D65</Illuminant>" + ten, "", chart.ReadOptions{}, chart.ScaleRelative, 94.811, 100, 107.304},
		{"CIELAB, F2, 2°", lab("100"), "<Illuminant>F2</Illuminant>" + two, "", chart.ReadOptions{}, chart.ScaleRelative, 99.186, 100, 67.393},
		// ISO/CIE 11664-4: Y = 100·((50+16)/116)³.
		{"CIELAB, a white of its own", lab("50"), `<Illuminant X="0.9" Y="1" Z="0.8">Custom</Illuminant>`, "", chart.ReadOptions{}, chart.ScaleRelative, 16.57683, 18.41865, 14.73492},
	} {
		text := cxfWith(cxfObject("a", "255 0 51", c.colours), c.tristimulus, c.measurement)
		got, err := chart.ReadCxF(strings.NewReader(text), c.o)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		// Tables print the whites and factors to 4 to 7 digits.
		xyz := got.Rows[0].XYZ
		if off := math.Max(math.Max(math.Abs(xyz.X-c.x), math.Abs(xyz.Y-c.y)), math.Abs(xyz.Z-c.z)); !(off <= 6e-3) || got.Scale != c.scale || !got.HasXYZ {
			t.Errorf("%s: %v %v, want %v %v %v %v", c.name, got.Scale, xyz, c.scale, c.x, c.y, c.z)
		}
		if want := (colorimetry.RGB{R: 1, B: 0.2}); got.Rows[0].Signal != want || got.Rows[0].ID != "a" {
			t.Errorf("%s: %q %v, want %v", c.name, got.Rows[0].ID, got.Rows[0].Signal, want)
		}
	}
}

// TestCxFSpecifications: what one specification leaves open another may say,
// the wavelengths of a spectrum stand in its specification, ASCII is UTF-8, and
// CIELAB under a light that is not known here is kept as it is.
func TestCxFSpecifications(t *testing.T) {
	got, err := chart.ReadCxF(strings.NewReader(cxfUnder("", "<Illuminant>E</Illuminant><Observer>10_Degree</Observer>")), chart.ReadOptions{})
	want := []chart.Keyword{{Name: "ILLUMINANT", Value: "E"}, {Name: "OBSERVER", Value: "10_Degree"}}
	if diff := cmp.Diff(want, got.Keywords); err != nil || diff != "" {
		t.Errorf("%v\n%s", err, diff)
	}
	text := `<?xml version="1.0" encoding="us-ascii"?>` + strings.NewReplacer(` StartWL="380" ColorSp`, " ColorSp", "Müller", "Miller").Replace(smallCxF)
	got, err = chart.ReadCxF(strings.NewReader(strings.Replace(text, `<?xml version="1.0" encoding="UTF-8"?>`, "", 1)), chart.ReadOptions{})
	if err != nil || got.Rows[0].Extra[5] != "380" {
		t.Errorf("%v, %+v", err, got.Rows)
	}
	lab := cxfObject("a", "255 0 0", cxfValue("ColorCIELab", "L A B", "1", "2", "3"))
	for _, light := range []string{"<Illuminant>TL84</Illuminant><Observer>2_Degree</Observer>", "<Illuminant>D50</Illuminant><Observer>Custom_CMF</Observer>", "<CustomIlluminant/><Observer>2_Degree</Observer>"} {
		got, err := chart.ReadCxF(strings.NewReader(cxfWith(lab, light, "")), chart.ReadOptions{PatchesOnly: true})
		if err != nil || got.HasXYZ || got.Extra[0] != "LAB_L" || got.Rows[0].Extra[2] != "3" {
			t.Errorf("%s: %v, %+v", light, err, got)
		}
	}
}

// TestCxFPairs: patches and readings in objects of their own, a reading
// repeated, and one of a patch that is not in the file.
func TestCxFPairs(t *testing.T) {
	xyz := func(v string) string { return cxfValue("ColorEmissiveCIEXYZ", "X Y Z", v, v, v) }
	text := cxfWith(cxfObject("b", "", xyz("2"))+cxfObject("a", "0 0 255", "")+cxfObject("b", "255 0 0", "")+
		cxfObject("a", "", xyz("1"))+cxfObject("b", "", xyz("3"))+cxfObject("paper", "", xyz("9")), "", "")
	got, err := chart.ReadCxF(strings.NewReader(text), chart.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	blue, red := colorimetry.RGB{B: 1}, colorimetry.RGB{R: 1}
	want := []chart.Row{
		{ID: "b", Signal: red, XYZ: colorimetry.XYZ{X: 2, Y: 2, Z: 2}, Line: 2},
		{ID: "a", Signal: blue, XYZ: colorimetry.XYZ{X: 1, Y: 1, Z: 1}, Line: 5},
		{ID: "b", Signal: red, XYZ: colorimetry.XYZ{X: 3, Y: 3, Z: 3}, Line: 6},
	}
	if diff := cmp.Diff(want, got.Rows); diff != "" {
		t.Error(diff)
	}
	only := chart.ReadOptions{PatchesOnly: true}
	text = cxfWith(cxfObject("a", "0 0 255", cxfValue("ColorCIELab", "L A B", "1", "2", "3"))+cxfObject("", "255 0 0", ""), "", "")
	got, err = chart.ReadCxF(strings.NewReader(text), only)
	if err != nil || got.HasXYZ || len(got.Rows) != 2 || got.Rows[1].Signal != red {
		t.Errorf("patches only: %v, %+v", err, got)
	}
	if want := []string{"1", "2", "3"}; len(got.Rows) == 2 && !cmp.Equal(want, got.Rows[0].Extra) {
		t.Errorf("CIELAB of no white is not kept: %v", got.Rows[0].Extra)
	}
	// The caller's word on full signal goes before MaxRange.
	got, err = chart.ReadCxF(strings.NewReader(strings.ReplaceAll(smallCxF, ">1023<", ">511.5<")), chart.ReadOptions{SignalMax: 1023})
	if err != nil || got.Rows[1].Signal.R != 0.5 {
		t.Errorf("SignalMax: %v, %+v", err, got.Rows)
	}
}

// TestCxFRoundTrip: what was read is written as CSV and CGATS.17 and comes back.
func TestCxFRoundTrip(t *testing.T) {
	table, err := chart.ReadCxF(strings.NewReader(smallCxF), chart.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for name, f := range formats() {
		var b bytes.Buffer
		if err := f.write(&b, table, chart.WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		got, err := chart.Read(&b, name, chart.ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(table, got, cmpopts.IgnoreFields(chart.Row{}, "Line")); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

func ExampleReadCxF() {
	const document = `<CxF xmlns="http://colorexchangeformat.com/CxF3-core"><Resources><ObjectCollection>
	<Object ObjectType="Target" Name="white" Id="p1">
		<DeviceColorValues><ColorRGB><R>255</R><G>255</G><B>255</B></ColorRGB></DeviceColorValues>
		<ColorValues><ColorEmissiveCIEXYZ><X>114.3</X><Y>120.2</Y><Z>130.8</Z></ColorEmissiveCIEXYZ></ColorValues>
	</Object>
	</ObjectCollection></Resources></CxF>`
	table, err := chart.ReadCxF(strings.NewReader(document), chart.ReadOptions{File: "readings.cxf"})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range table.Rows {
		fmt.Println(r.ID, r.Signal, r.XYZ, table.Scale)
	}
	// Output: p1 {1 1 1} {114.3 120.2 130.8} absolute
}
