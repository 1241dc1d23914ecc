package chart

import (
	"encoding/xml"
	"math"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// cxfSpec is a ColorSpecification: how colours were measured and computed.
type cxfSpec struct {
	illuminant, observer string
	whitePoint           [3]float64 // as given; all 0 where it isn't
	measurement, units   string
	start, step          string          // of spectra, nm
	white                colorimetry.XYZ // Y = 100 once known
	sought               bool            // white was looked for
}

// enterSpec takes the beginning of an element of the specifications.
func (c *cxfReader) enterSpec(parent string, e xml.StartElement) (known bool, err error) {
	name := e.Name.Local
	switch parent {
	case "ColorSpecificationCollection":
		if name == "ColorSpecification" {
			return true, c.beginSpec(e)
		}
	case "ColorSpecification":
		return name == "TristimulusSpec" || name == "MeasurementSpec", nil
	case "TristimulusSpec":
		switch name {
		case "CustomIlluminant":
			c.spec.illuminant = "Custom"
		case "Illuminant":
			c.keepText(cxfShort)
			return true, c.whitePoint(e)
		case "Observer":
			return c.keepText(cxfShort), nil
		}
	case "MeasurementSpec":
		switch name {
		case "MeasurementType", "LuminanceUnitsType":
			return c.keepText(cxfShort), nil
		case "WavelengthRange":
			if c.spec.start, err = c.attribute(e, "StartWL", cxfShort); err == nil {
				c.spec.step, err = c.attribute(e, "Increment", cxfShort)
			}
			return false, err
		}
	}
	return false, nil
}

func (c *cxfReader) beginSpec(e xml.StartElement) error {
	id, err := c.attribute(e, "Id", cxfName)
	if err != nil {
		return err
	}
	if c.specs[id] != nil {
		return c.lines.bad("give each specification an Id of its own", "two colour specifications have the Id %q", clip(id))
	}
	c.spec = new(cxfSpec)
	c.specs[id] = c.spec
	return nil
}

// whitePoint takes the white that an illuminant states.
func (c *cxfReader) whitePoint(e xml.StartElement) error {
	var v [3]float64
	for i, part := range cxfColours[cxfXYZ].parts {
		text, err := c.attribute(e, part, cxfShort)
		if err != nil {
			return err
		}
		if text == "" {
			return nil
		}
		if v[i], err = number(c.lines, "Illuminant "+part, text); err != nil {
			return err
		}
		// A real white has components of about the same size; the bounds keep
		// every quotient of two of them far from 0 and from overflow.
		if !(v[i] >= 1e-6 && v[i] <= maxValue) {
			return c.lines.bad("correct it or leave it out", "Illuminant %s is %s, which no white has", part, clip(text))
		}
	}
	c.spec.whitePoint = v
	return nil
}

// leaveSpec takes the end of an element of the specifications.
func (c *cxfReader) leaveSpec(parent, name, text string) error {
	switch parent + " " + name {
	case "ColorSpecificationCollection ColorSpecification":
		c.spec = nil
	case "TristimulusSpec Illuminant":
		c.spec.illuminant = text
	case "TristimulusSpec Observer":
		c.spec.observer = text
	case "MeasurementSpec MeasurementType":
		c.spec.measurement = text
	case "MeasurementSpec LuminanceUnitsType":
		switch text {
		case "", "normalized", "cd/m2", "cd/ft2", "fL":
			c.spec.units = text
		default:
			return c.lines.bad("export luminance in cd/m2", "LuminanceUnitsType is %q, no unit of CxF", clip(text))
		}
	}
	return nil
}

// specification returns that of an Id, an empty one where the file has none.
func (c *cxfReader) specification(id string) *cxfSpec {
	if s := c.specs[id]; s != nil {
		return s
	}
	return new(cxfSpec)
}

// footCandela is 1 cd/ft² in cd/m²: 1 ft is 0.3048 m exactly. A foot lambert
// is that over π.
const footCandela = 1 / (0.3048 * 0.3048)

// scale returns what the XYZ of a colour of this kind is, whether the file
// states so, and what it is multiplied by.
func (s *cxfSpec) scale(kind int) (scale Scale, stated bool, factor float64) {
	switch {
	case kind == cxfLab:
		return ScaleRelative, true, 1
	case s.units == "cd/m2":
		return ScaleAbsolute, true, 1
	case s.units == "cd/ft2":
		return ScaleAbsolute, true, footCandela
	case s.units == "fL":
		return ScaleAbsolute, true, footCandela / math.Pi
	case s.units == "normalized":
		return ScaleRelative, true, 1
	case kind == cxfEmissiveXYZ, kind == cxfEmissiveXYY, strings.HasSuffix(s.measurement, "_Emissive"):
		return ScaleAbsolute, false, 1
	}
	return ScaleRelative, false, 1
}

// labWhite returns the white of CIELAB with Y = 100; ok is false where the
// specification doesn't tell.
func (s *cxfSpec) labWhite() (white colorimetry.XYZ, ok bool) {
	if !s.sought {
		s.sought = true
		s.white = s.seekWhite()
	}
	return s.white, s.white.Y > 0
}

func (s *cxfSpec) seekWhite() colorimetry.XYZ {
	if w := s.whitePoint; w[1] > 0 {
		return colorimetry.XYZ{X: w[0], Y: w[1], Z: w[2]}.Scale(100 / w[1])
	}
	var observer spectrum.Observer
	switch s.observer {
	case "2_Degree":
		observer = spectrum.CIE1931()
	case "10_Degree":
		observer = spectrum.CIE1964()
	default:
		return colorimetry.XYZ{}
	}
	name := s.illuminant
	if strings.HasPrefix(name, "F") && len(name) <= 3 {
		name = "FL" + name[1:] // CIE 15 calls them FL now
	}
	light, err := spectrum.Illuminant(name)
	if err != nil {
		return colorimetry.XYZ{}
	}
	white, err := observer.White(light, spectrum.Summation{})
	if err != nil {
		return colorimetry.XYZ{}
	}
	return white.Scale(100)
}
