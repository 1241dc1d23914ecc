package chart

import (
	"encoding/xml"
	"io"
	"slices"
)

// ReadCxF reads the patches and readings of a CxF3 document, the XML of ISO
// 17972-1. An Object with a ColorRGB is a patch; its reading is the first of
// ColorEmissiveCIEXYZ, ColorEmissiveCIExyY, ColorCIEXYZ, ColorCIExyY and
// ColorCIELab that it has. Where patches and readings are objects of their
// own, those of one Name belong together (common practice, no source), and a
// reading that belongs to no patch is passed over, as is every element that
// says nothing about either: CustomResources, tags, CMYK, differences.
//
// RGB counts to MaxRange, to 255 where the object gives none, or to what
// o.SignalMax says. The scale of XYZ is what LuminanceUnitsType says, foot
// lamberts and candelas per square foot being turned into cd/m²; without it
// o.Scale, else absolute where the element or MeasurementType is emissive and
// relative, nominally 0 to 100, everywhere else. CIELAB becomes XYZ, with 100
// for the white's Y, only where the colour specification gives the white or
// names an illuminant and an observer of the CIE that are known here. Otherwise
// it is no reading.
//
// Creator, Description and CreationDate become Originator, Descriptor and
// Created. Comment, those of the file's tags whose names have the form of a
// keyword, and ILLUMINANT and OBSERVER of the readings become keywords. XYZ
// stays under the observer that is named there, which need not be CIE 1931.
// Readings under different ones are refused. The columns of Extra are
// SAMPLE_NAME (the Name; the row's ID is the Id), LAB_L, LAB_A, LAB_B, and for
// each kind of spectrum EMISSIVE_SPECTRUM (REFLECTANCE_…, TRANSMITTANCE_…) with
// the values as text, …_START_NM and …_STEP_NM, where a row has them. A row's
// line is that of the reading's object.
//
// The prefix of the namespace, the order of the elements and whether a
// component is an element or an attribute do not matter. A document in another
// encoding than UTF-8, or with a document type, is refused. Whatever is wrong
// with the file is an [*InputError]; a failing r is its own error. The file is
// read within the bounds of o.
//
// Source: the public schema of CxF3-core, 3.0.018, for names, units and the
// 255; from memory, that ISO 17972-1 standardises that schema. Its text was not
// at hand; the order in which readings are preferred is ours.
func ReadCxF(r io.Reader, o ReadOptions) (Table, error) {
	o, err := o.withDefaults()
	if err != nil {
		return Table{}, err
	}
	c := newCxF(r, o)
	if err := c.walk(); err != nil {
		return Table{}, err
	}
	return c.table()
}

// Kinds of colours, readings in the order in which they are preferred.
const (
	cxfRGB = iota
	cxfEmissiveXYZ
	cxfEmissiveXYY
	cxfXYZ
	cxfXYY
	cxfLab
	cxfKinds
)

// cxfColours are the elements of these kinds and their components.
var cxfColours = [cxfKinds]struct {
	element string
	parts   [3]string
}{
	{"ColorRGB", [3]string{"R", "G", "B"}},
	{"ColorEmissiveCIEXYZ", [3]string{"X", "Y", "Z"}},
	{"ColorEmissiveCIExyY", [3]string{"x", "y", "Y"}},
	{"ColorCIEXYZ", [3]string{"X", "Y", "Z"}},
	{"ColorCIExyY", [3]string{"x", "y", "Y"}},
	{"ColorCIELab", [3]string{"L", "A", "B"}},
}

// cxfSpectra are the elements of spectra and the columns they become.
var cxfSpectra = [3]struct{ element, column string }{
	{"EmissiveSpectrum", "EMISSIVE_SPECTRUM"},
	{"ReflectanceSpectrum", "REFLECTANCE_SPECTRUM"},
	{"TransmittanceSpectrum", "TRANSMITTANCE_SPECTRUM"},
}

// cxfObject is an Object: a patch, a reading, or both.
type cxfObject struct {
	id, name string
	line     int
	colours  [cxfKinds]*cxfColour
	spectra  [len(cxfSpectra)]*cxfCurve
}

// reading returns the colour that is the object's reading, nil where it has
// none, and its kind.
func (o *cxfObject) reading() (*cxfColour, int) {
	for kind := cxfEmissiveXYZ; kind < cxfKinds; kind++ {
		if o.colours[kind] != nil {
			return o.colours[kind], kind
		}
	}
	return nil, 0
}

// cxfColour is a colour.
type cxfColour struct {
	kind   int
	spec   string // the Id of its specification
	line   int
	text   [3]string // its components as they stand in the file
	v      [3]float64
	max    float64 // of RGB, the number of full signal
	ranged bool    // the object itself says so
}

// cxfCurve is a spectrum as text.
type cxfCurve struct{ spec, start, values string }

// enter takes the beginning of an element; it answers false for one that is to
// be passed over.
func (c *cxfReader) enter(parent string, e xml.StartElement) (known bool, err error) {
	name := e.Name.Local
	switch parent {
	case "CxF":
		return name == "FileInformation" || name == "Resources", nil
	case "Resources":
		return name == "ObjectCollection" || name == "ColorSpecificationCollection", nil
	case "FileInformation":
		switch name {
		case "Creator", "CreationDate", "Description", "Comment":
			return c.keepText(cxfLong), nil
		case "Tag":
			return false, c.tag(e)
		}
	case "ObjectCollection":
		if name == "Object" {
			return true, c.beginObject(e)
		}
	case "Object":
		return name == "DeviceColorValues" || name == "ColorValues", nil
	case "DeviceColorValues", "ColorValues":
		return c.beginValue(e)
	default:
		if c.colour != nil {
			known := name == "MaxRange" && c.colour.kind == cxfRGB || slices.Contains(cxfColours[c.colour.kind].parts[:], name)
			return known && c.keepText(cxfShort), nil
		}
		return c.enterSpec(parent, e)
	}
	return false, nil
}

// leave takes the end of an element and its text.
func (c *cxfReader) leave(parent, name, text string) error {
	switch {
	case parent == "FileInformation":
		c.information(name, text)
	case parent == "ObjectCollection":
		return c.endObject()
	case c.colour != nil && name == cxfColours[c.colour.kind].element:
		return c.endColour()
	case c.colour != nil:
		return c.component(name, text)
	case c.spectrum != nil:
		return c.endSpectrum(name, text)
	case c.spec != nil:
		return c.leaveSpec(parent, name, text)
	}
	return nil
}

// information takes a text of FileInformation; the first of each counts, of
// comments all.
func (c *cxfReader) information(name, text string) {
	t := &c.head.table
	switch {
	case name == "Comment" && text != "":
		t.Keywords = append(t.Keywords, Keyword{"COMMENT", text})
	case name == "Creator" && t.Originator == "":
		t.Originator = text
	case name == "CreationDate" && t.Created == "":
		t.Created = text
	case name == "Description" && t.Descriptor == "":
		t.Descriptor = text
	}
}
