package chart_test

import (
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// edit returns smallCxF with one thing changed; it panics where there is
// nothing to change.
func edit(old, with string) string {
	if !strings.Contains(smallCxF, old) {
		panic(old)
	}
	return strings.Replace(smallCxF, old, with, 1)
}

// bomb defines entities that would grow to ten thousand million letters.
func bomb() string {
	var b strings.Builder
	b.WriteString(`<?xml version="1.0"?><!DOCTYPE CxF [<!ENTITY e0 "eeeeeeeeee">`)
	for i := 1; i < 10; i++ {
		fmt.Fprintf(&b, `<!ENTITY e%d "%s">`, i, strings.Repeat(fmt.Sprintf("&e%d;", i-1), 10))
	}
	return b.String() + "]><CxF>&e9;</CxF>"
}

// badCxF are documents that users give by mistake, or strangers on purpose.
var badCxF = []struct {
	name, text string
	line       int
	want       []string
}{
	{"only a declaration", `<?xml version="1.0"?>`, 0, []string{"empty"}},
	{"cut in a tag", "<Cx", 1, []string{"no whole XML"}},
	{"web page", "<!DOCTYPE html><html><body>Not found<br></body></html>", 1, []string{"web page", "fetch the CxF file itself"}},
	{"web page without type", "\n<HTML><head>", 2, []string{"web page"}},
	{"other XML", "<svg xmlns='http://www.w3.org/2000/svg'/>", 1, []string{"XML of another kind", "svg"}},
	{"older version", "<CXF xmlns='http://www.example.org/cxf2'/>", 1, []string{"another version", "export the file as CxF3"}},
	{"other namespace", "<CxF xmlns='urn:example:else'/>", 1, []string{"another version", "urn:example:else"}},
	{"UTF-16", "\xff\xfe<\x00C\x00", 0, []string{"UTF-16", "save it as UTF-8"}},
	{"UTF-16, other order", "\xfe\xff\x00<\x00C", 0, []string{"UTF-16"}},
	{"UTF-16, no mark", "\x00<\x00C", 0, []string{"UTF-16"}},
	{"UTF-16, declared only", `<?xml version="1.0" encoding="UTF-16"?><CxF/>`, 1, []string{"UTF-16", "UTF-8"}},
	{"Latin-1, declared", `<?xml version="1.0" encoding="ISO-8859-1"?><CxF/>`, 1, []string{"ISO-8859-1", "UTF-8"}},
	{"Latin-1, not declared", edit("Müller", "M\xfcller"), 9, []string{"not UTF-8"}},
	{"NUL inside", edit("white", "wh\x00ite"), 26, []string{"no whole XML"}},
	{"entity bomb", bomb(), 1, []string{"document type or entities"}},
	{"external entity", `<!DOCTYPE CxF SYSTEM "http://example.org/cxf.dtd"><CxF/>`, 1, []string{"document type"}},
	{"unknown entity", edit("&amp;", "&nbsp;"), 6, []string{"no whole XML", "nbsp"}},
	{"not closed", edit("</cc:Creator>", ""), 11, []string{"no whole XML"}},
	{"nested deeply", edit("text</own", strings.Repeat("<a>", 100000)+"</own"), 50, []string{"more than 64 elements"}},
	{"two documents", smallCxF + smallCxF[strings.Index(smallCxF, "<cc:CxF"):], 52, []string{"keep one document"}},
	{"text behind", smallCxF + "R,G,B\n", 52, []string{"text outside"}},
	{"no patches", cxfWith(cxfObject("a", "", cxfValue("ColorCIEXYZ", "X Y Z", "1", "1", "1")), "", ""), 0, []string{"no object with RGB"}},
	{"NaN", edit("<cc:Y>0.11", "<cc:Y>NaN"), 17, []string{"ColorEmissiveCIEXYZ Y is NaN"}},
	{"infinite", edit("<cc:Y>0.11", "<cc:Y>INF"), 17, []string{"Y is INF"}},
	{"absurd", edit("<cc:Y>0.11", "<cc:Y>1e99"), 17, []string{"more than any display"}},
	{"absurd in other units", strings.Replace(edit("<cc:Y>0.11", "<cc:Y>9e11"), ">cd/m2<", ">fL<", 1), 17, []string{"more than any display"}},
	{"word", edit("<cc:Y>0.11", "<cc:Y>none"), 17, []string{`Y is "none"`}},
	{"decimal comma", edit("<cc:Y>0.11", "<cc:Y>0,11"), 17, []string{"decimal comma"}},
	{"no value", edit("<cc:Y>0.11", "<cc:Y>"), 17, []string{"Y has no value"}},
	{"no Y", edit("<cc:Y>0.11</cc:Y>", ""), 17, []string{"ColorEmissiveCIEXYZ has no Y", "X, Y, Z"}},
	{"two of Y", edit("<cc:Y>0.11</cc:Y>", "<cc:Y>0.11</cc:Y><cc:Y>2</cc:Y>"), 17, []string{"two of ColorEmissiveCIEXYZ Y"}},
	{"a long number", edit("<cc:Y>0.11", "<cc:Y>0."+strings.Repeat("1", 200)), 17, []string{"longer than 128 bytes"}},
	{"below 0", edit("<cc:R>0<", "<cc:R>-2<"), 22, []string{"ColorRGB R is -2, below 0"}},
	{"beyond MaxRange", edit("<cc:R>1023<", "<cc:R>4095<"), 26, []string{"above 1023", "signal-max 4095"}},
	{"no MaxRange", strings.ReplaceAll(smallCxF, "<cc:MaxRange>1023</cc:MaxRange>", ""), 26, []string{"above 255", "signal-max 1023"}},
	{"counts to 1", strings.NewReplacer("<cc:MaxRange>1023</cc:MaxRange>", "", ">1023<", ">1<", ">1023.0<", ">0.5<").Replace(smallCxF), 0, []string{"no signal is above 1", "signal-max 1"}},
	{"odd MaxRange", edit("<cc:MaxRange>1023", "<cc:MaxRange>0"), 22, []string{"MaxRange", "255"}},
	{"two MaxRange", edit("<cc:MaxRange>1023", "<cc:MaxRange>1023</cc:MaxRange><cc:MaxRange>1023"), 22, []string{"MaxRange", "once"}},
	{"two readings", edit("<cc:EmissiveSpectrum ", "<cc:ColorEmissiveCIEXYZ><cc:X>1</cc:X></cc:ColorEmissiveCIEXYZ><cc:EmissiveSpectrum "), 18, []string{"two of ColorEmissiveCIEXYZ"}},
	{"two spectra", edit("<cc:EmissiveSpectrum ", "<cc:EmissiveSpectrum/><cc:EmissiveSpectrum "), 18, []string{"two of EmissiveSpectrum"}},
	{"patch without reading", cxfWith(cxfObject("a", "0 0 0", cxfValue("ColorCIEXYZ", "X Y Z", "1", "1", "1"))+cxfObject("b", "255 0 0", ""), "", ""), 3, []string{"no XYZ", "ColorEmissiveCIEXYZ"}},
	{"CIELAB of no white", cxfWith(cxfObject("a", "255 0 0", cxfValue("ColorCIELab", "L A B", "1", "1", "1")), "<Illuminant>D50</Illuminant>", ""), 2, []string{"CIELAB only", "illuminant and the observer"}},
	{"CIELAB beyond sense", cxfWith(cxfObject("a", "255 0 0", cxfValue("ColorCIELab", "L A B", "1e11", "1", "1")), "<Illuminant>E</Illuminant><Observer>2_Degree</Observer>", ""), 2, []string{"more than any display"}},
	{"chromaticity without y", cxfWith(cxfObject("a", "255 0 0", cxfValue("ColorCIExyY", "x y Y", "0.3", "0", "5")), "", ""), 2, []string{"y = 0"}},
	{"whose reading", cxfWith(cxfObject("a", "255 0 0", "")+cxfObject("a", "0 0 0", "")+cxfObject("a", "", cxfValue("ColorCIEXYZ", "X Y Z", "1", "1", "1")), "", ""), 4, []string{`several patches called "a"`}},
	{"both scales", cxfWith(cxfObject("a", "255 0 0", cxfValue("ColorCIEXYZ", "X Y Z", "1", "1", "1"))+cxfObject("b", "0 0 0", cxfValue("ColorEmissiveCIEXYZ", "X Y Z", "1", "1", "1")), "", ""), 3, []string{"scale", "absolute", "relative"}},
	{"two observers", cxfUnder("<Illuminant>E</Illuminant><Observer>2_Degree</Observer>", "<Illuminant>E</Illuminant><Observer>10_Degree</Observer>"), 3, []string{"observer", "10_Degree", "2_Degree"}},
	{"two illuminants", cxfUnder("<CustomIlluminant/>", "<Illuminant>D50</Illuminant>"), 3, []string{"illuminant", "D50", "Custom"}},
	{"unknown unit", edit(">cd/m2<", ">nit<"), 45, []string{`"nit"`, "cd/m2"}},
	{"one specification twice", edit("<cc:ColorSpecificationCollection>", `<cc:ColorSpecificationCollection><cc:ColorSpecification Id="s1"/>`), 39, []string{`Id "s1"`}},
	{"black white", edit("<cc:Illuminant>", `<cc:Illuminant X="0" Y="0" Z="0">`), 40, []string{"Illuminant X is 0"}},
	{"a long name", edit(`Name="white"`, `Name="`+strings.Repeat("w", 2000)+`"`), 26, []string{"Name of Object is longer than 1024"}},
	{"a long Id", edit(`Id="s1"`, `Id="`+strings.Repeat("w", 2000)+`"`), 39, []string{"Id of ColorSpecification is longer than 1024"}},
	{"a long reference", edit(`ColorSpecification="s1"`, `ColorSpecification="`+strings.Repeat("w", 2000)+`"`), 17, []string{"ColorSpecification of ColorEmissiveCIEXYZ is longer"}},
	{"a long tag", edit(`Value="M. M`, `Value="`+strings.Repeat("w", 5000)), 9, []string{"Value of Tag is longer than 4096"}},
	{"a component twice in two forms", edit(`<cc:ColorEmissiveCIEXYZ `, `<cc:ColorEmissiveCIEXYZ X="1" `), 17, []string{"two of ColorEmissiveCIEXYZ X"}},
	{"an attribute that is no number", edit(`<cc:ColorEmissiveCIEXYZ `, `<cc:ColorEmissiveCIEXYZ X="x" `), 17, []string{`X is "x"`}},
	{"a white that is no number", edit("<cc:Illuminant>", `<cc:Illuminant X="1" Y="1" Z="x">`), 40, []string{`Illuminant Z is "x"`}},
	{"a long description", edit("second run", strings.Repeat("w", 5000)), 7, []string{"Description is longer than 4096"}},
	{"a long spectrum", edit("0.002 ", strings.Repeat("0.002 ", 3000)), 19, []string{"longer than 16384", "fewer wavelengths"}},
	{"a tag without end", edit("<cc:Creator>", "<cc:Creator "+strings.Repeat("a='' ", 1<<20)+">"), 4, []string{"longer than 262144 bytes"}},
}

// cxfUnder is a document of two readings under two specifications.
func cxfUnder(first, second string) string {
	xyz := cxfValue("ColorCIEXYZ", "X Y Z", "1", "1", "1")
	other := strings.Replace(xyz, `"s"`, `"other"`, 1)
	text := cxfWith(cxfObject("a", "255 0 0", xyz)+cxfObject("b", "0 0 0", other), first, "")
	return strings.Replace(text, "</ColorSpecificationCollection>",
		`<ColorSpecification Id="other"><TristimulusSpec>`+second+"</TristimulusSpec></ColorSpecification></ColorSpecificationCollection>", 1)
}

func TestBadCxF(t *testing.T) {
	for _, c := range badCxF {
		t.Run(c.name, func(t *testing.T) {
			_, err := chart.ReadCxF(strings.NewReader(c.text), chart.ReadOptions{File: "readings.cxf"})
			var e *chart.InputError
			if !errors.As(err, &e) {
				t.Fatalf("got %v, want an *InputError", err)
			}
			if e.Line != c.line {
				t.Errorf("line %d, want %d: %v", e.Line, c.line, err)
			}
			text := err.Error()
			if !strings.HasPrefix(text, "readings.cxf") || e.Problem == "" || e.Remedy == "" || strings.ContainsAny(text, "\n\x00") || len(text) > 400 {
				t.Errorf("no whole sentence: %q", text)
			}
			for _, w := range c.want {
				if !strings.Contains(text, w) {
					t.Errorf("%q does not say %q", text, w)
				}
			}
		})
	}
}

// TestCxFTruncated: no beginning of a document passes for a whole one, and a
// reader that fails is no fault of the text.
func TestCxFTruncated(t *testing.T) {
	whole := strings.TrimSpace(smallCxF)
	broken := errors.New("broken disk")
	for i := range len(whole) {
		_, err := chart.ReadCxF(strings.NewReader(whole[:i]), chart.ReadOptions{})
		var e *chart.InputError
		if !errors.As(err, &e) {
			t.Errorf("the first %d bytes: %v", i, err)
		}
		_, err = chart.ReadCxF(io.MultiReader(strings.NewReader(whole[:i]), failing{broken}), chart.ReadOptions{})
		if !errors.Is(err, broken) || errors.As(err, &e) {
			t.Errorf("broken after %d bytes: %v", i, err)
		}
	}
}

func TestCxFBounds(t *testing.T) {
	for _, c := range []struct {
		want string
		o    chart.ReadOptions
	}{
		{"more than 1 rows", chart.ReadOptions{MaxRows: 1}},
		{"larger than 1000 bytes", chart.ReadOptions{MaxBytes: 1000}},
		{"said to be relative although the file states absolute", chart.ReadOptions{Scale: chart.ScaleRelative}},
		{"signal-max 1023", chart.ReadOptions{SignalMax: 255}},
	} {
		_, err := chart.ReadCxF(strings.NewReader(smallCxF), c.o)
		var e *chart.InputError
		if !errors.As(err, &e) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q: %v", c.want, err)
		}
	}
	if _, err := chart.ReadCxF(strings.NewReader(smallCxF), chart.ReadOptions{SignalMax: -1}); err == nil {
		t.Error("signal-max -1 is accepted")
	}
}

// largeCxF is a document of n patches and readings in objects of their own,
// with spectra of 81 values, whose colours are a formula.
func largeCxF(n int) string {
	var b strings.Builder
	for i := range n {
		rgb := fmt.Sprint(i%256, (i/7)%256, (i/31)%256)
		spectrum := strings.TrimSpace(strings.Repeat(fmt.Sprintf("0.%05d ", i), 81))
		b.WriteString(cxfObject(fmt.Sprint("p", i), rgb, ""))
		b.WriteString(cxfObject(fmt.Sprint("p", i), "", cxfValue("ColorEmissiveCIEXYZ", "X Y Z", fmt.Sprint(i), "1", "2")+
			`<EmissiveSpectrum StartWL="380" ColorSpecification="s">`+spectrum+"</EmissiveSpectrum>"))
	}
	return cxfWith(b.String(), "", `<WavelengthRange StartWL="380" Increment="5"/>`)
}

// measureRead reads text and returns the time and the bytes that were allocated.
func measureRead(text string) (table chart.Table, took time.Duration, memory uint64, err error) {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	start := time.Now()
	table, err = chart.ReadCxF(strings.NewReader(text), chart.ReadOptions{})
	took = time.Since(start)
	runtime.ReadMemStats(&after)
	return table, took, after.TotalAlloc - before.TotalAlloc, err
}

// TestCxFLarge: 5,000 patches in a second, with allocations that are a small
// multiple of the file. The limits are generous, for slow machines; the test
// logs what it saw.
func TestCxFLarge(t *testing.T) {
	const n = 5000
	text := largeCxF(n)
	table, took, memory, err := measureRead(text)
	if err != nil || len(table.Rows) != n {
		t.Fatalf("%d rows, %v", len(table.Rows), err)
	}
	t.Logf("%d patches, %d bytes: %v, %d bytes allocated", n, len(text), took, memory)
	if r := table.Rows[n-1]; r.XYZ != (colorimetry.XYZ{X: n - 1, Y: 1, Z: 2}) || len(r.Extra) != 3 || r.Line != 2*n+1 {
		t.Errorf("the last row is %+v", r)
	}
	if took > 5*time.Second || memory > 20*uint64(len(text)) {
		t.Errorf("too slow or too large: %v, %d bytes of memory for %d", took, memory, len(text))
	}
}

// TestCxFHostile: documents made to cost time or memory cost no more than
// their length allows.
func TestCxFHostile(t *testing.T) {
	for name, text := range map[string]string{
		"attributes":     "<CxF " + strings.Repeat("a='' ", 52_000) + "/>",
		"namespaces":     "<CxF " + strings.Repeat("xmlns:a='' ", 23_000) + "/>",
		"many of them":   "<CxF>" + strings.Repeat("<a "+strings.Repeat("a='' ", 50_000)+"/>", 20),
		"specifications": "<CxF><Resources><ColorSpecificationCollection>" + strings.Repeat("<ColorSpecification Id='a'/>", 200_000),
		"one name":       cxfWith(strings.Repeat(cxfObject("a", "0 0 0", ""), 50_000), "", ""),
		"comments":       cxfWith(cxfObject("a", "0 0 0", "<ColorCIEXYZ><X>"+strings.Repeat("<!---->", 500_000)+"</X></ColorCIEXYZ>"), "", ""),
		"elements":       cxfWith(strings.Repeat("<a><b/></a>", 500_000), "", ""),
		"CDATA":          cxfWith("<a><![CDATA["+strings.Repeat("<a ", 3_000_000)+"]]></a>", "", ""),
		"text":           cxfWith("<a>"+strings.Repeat("&lt;", 900_000)+"</a>", "", ""),
	} {
		_, took, memory, err := measureRead(text)
		var e *chart.InputError
		if !errors.As(err, &e) {
			t.Errorf("%s: %v", name, err)
		}
		t.Logf("%s: %d bytes, %v, %d bytes allocated", name, len(text), took, memory)
		if took > 10*time.Second || memory > 600<<20 {
			t.Errorf("%s: %v, %d bytes of memory for %d", name, took, memory, len(text))
		}
	}
}

// TestCxFEmbedded: what the standard lets people embed as base 64, profiles and
// images, is passed over however long it is.
func TestCxFEmbedded(t *testing.T) {
	text := edit("</cc:Resources>", "<cc:ProfileCollection><cc:Profile><cc:ProfileFile>"+strings.Repeat("QUJD", 5<<20)+
		"</cc:ProfileFile></cc:Profile></cc:ProfileCollection></cc:Resources>")
	got, _, memory, err := measureRead(text)
	t.Logf("%d bytes, %d bytes allocated", len(text), memory)
	if diff := cmp.Diff(smallCxFTable(), got); err != nil || diff != "" {
		t.Errorf("%v\n%s", err, diff)
	}
}

func FuzzReadCxF(f *testing.F) {
	f.Add([]byte(smallCxF))
	f.Add([]byte(largeCxF(2)))
	f.Add([]byte(cxfWith(cxfObject("a", "255 0 0", cxfValue("ColorCIELab", "L A B", "50", "1", "2")), "<Illuminant>D50</Illuminant><Observer>2_Degree</Observer>", "")))
	f.Add([]byte(cxfWith(cxfObject("a", "", cxfValue("ColorCIExyY", "x y Y", ".3", ".3", "1"))+cxfObject("a", "1 2 3", ""), "", "<LuminanceUnitsType>fL</LuminanceUnitsType>")))
	for _, c := range badCxF {
		if len(c.text) < 1<<14 {
			f.Add([]byte(c.text))
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		table, err := fuzzRead(t, chart.ReadCxF, data)
		if err != nil {
			if strings.ContainsAny(err.Error(), "\n\r\x00") || len(err.Error()) > 1000 {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		for _, f := range formats() {
			fuzzAgain(t, f, table, data)
		}
	})
}
