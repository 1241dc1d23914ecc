package chart

import (
	"encoding/xml"
	"math"
	"slices"
	"strings"
)

// tag keeps a Tag of FileInformation as a keyword where it can be one.
func (c *cxfReader) tag(e xml.StartElement) error {
	name, err := c.attribute(e, "Name", cxfName)
	if err != nil {
		return err
	}
	value, err := c.attribute(e, "Value", cxfLong)
	if err != nil {
		return err
	}
	own := []string{"ORIGINATOR", "DESCRIPTOR", "CREATED", keywordSignalMax, keywordScale}
	if keywordName.MatchString(name) && !structural(name) && !slices.Contains(own, name) {
		c.head.table.Keywords = append(c.head.table.Keywords, Keyword{name, value})
	}
	return nil
}

func (c *cxfReader) beginObject(e xml.StartElement) error {
	o := &cxfObject{line: c.lines.number}
	var err error
	if o.id, err = c.attribute(e, "Id", cxfName); err != nil {
		return err
	}
	o.name, err = c.attribute(e, "Name", cxfName)
	c.object = o
	return err
}

// endObject keeps the object if there is a colour in it that matters. A row
// needs two objects at most.
func (c *cxfReader) endObject() error {
	o := c.object
	c.object = nil
	if reading, _ := o.reading(); o.colours[cxfRGB] == nil && reading == nil {
		return nil
	}
	if len(c.objects)/2 >= c.o.MaxRows {
		return c.lines.bad("give a smaller table", "there are more than %d rows", c.o.MaxRows)
	}
	c.objects = append(c.objects, o)
	return nil
}

// beginValue takes the beginning of a colour or spectrum of the object.
func (c *cxfReader) beginValue(e xml.StartElement) (known bool, err error) {
	name := e.Name.Local
	spec, err := c.attribute(e, "ColorSpecification", cxfName)
	if err != nil {
		return false, err
	}
	for i, s := range cxfSpectra {
		if s.element == name {
			if c.object.spectra[i] != nil {
				return false, c.twice(name)
			}
			c.spectrum = &cxfCurve{spec: spec}
			c.object.spectra[i] = c.spectrum
			c.spectrum.start, err = c.attribute(e, "StartWL", cxfShort)
			return c.keepText(cxfPadded), err
		}
	}
	for kind, k := range cxfColours {
		if k.element != name {
			continue
		}
		if c.object.colours[kind] != nil {
			return false, c.twice(name)
		}
		c.colour = &cxfColour{kind: kind, spec: spec, line: c.lines.number}
		c.object.colours[kind] = c.colour
		return true, c.componentsOf(e)
	}
	return false, nil
}

func (c *cxfReader) twice(name string) error {
	return c.lines.bad("leave one, or export one illuminant and observer only", "the object has two of %s", name)
}

// componentsOf takes the components that stand as attributes.
func (c *cxfReader) componentsOf(e xml.StartElement) error {
	parts := cxfColours[c.colour.kind].parts[:]
	if c.colour.kind == cxfRGB {
		parts = append([]string{"MaxRange"}, parts...)
	}
	for _, part := range parts {
		text, err := c.attribute(e, part, cxfShort)
		if err == nil && text != "" {
			err = c.component(part, text)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// component takes one number of the open colour.
func (c *cxfReader) component(name, text string) error {
	to, column := c.colour, cxfColours[c.colour.kind].element+" "+name
	v, err := number(c.lines, column, text)
	if err != nil {
		return err
	}
	if name == "MaxRange" {
		if !(v >= 1 && v <= maxSignalMax) || to.max != 0 {
			return c.lines.bad("state the number that stands for full signal once, for instance 255", "%s is %q", column, clip(text))
		}
		to.max = v
		return nil
	}
	i := slices.Index(cxfColours[to.kind].parts[:], name)
	switch {
	case to.text[i] != "":
		return c.lines.bad("leave one", "the object has two of %s", column)
	case math.Abs(v) > maxValue:
		return c.lines.bad("correct the line or leave it out", "%s is %s, more than any display shows", column, clip(text))
	}
	to.text[i], to.v[i] = text, v
	return nil
}

// endColour checks that the colour is whole.
func (c *cxfReader) endColour() error {
	colour := c.colour
	c.colour = nil
	k := cxfColours[colour.kind]
	if i := slices.Index(colour.text[:], ""); i >= 0 {
		return c.lines.bad("give it "+strings.Join(k.parts[:], ", "), "%s has no %s", k.element, k.parts[i])
	}
	switch {
	case colour.kind == cxfRGB:
		return c.checkRGB(colour)
	case colour.kind == cxfEmissiveXYY || colour.kind == cxfXYY:
		x, y, luminance := colour.v[0], colour.v[1], colour.v[2]
		if y == 0 && luminance == 0 {
			colour.v = [3]float64{}
			return nil
		}
		if !(y > 0 && math.Abs(x*luminance/y) <= maxValue && math.Abs((1-x-y)*luminance/y) <= maxValue) {
			return c.lines.bad("correct the line or leave it out", "%s has y = %s, which is no light's", k.element, clip(colour.text[1]))
		}
		colour.v = [3]float64{x * luminance / y, luminance, (1 - x - y) * luminance / y}
	}
	return nil
}

// checkRGB settles what the signal counts to.
func (c *cxfReader) checkRGB(colour *cxfColour) error {
	colour.ranged = colour.max != 0
	switch {
	case c.o.SignalMax != 0:
		colour.max = c.o.SignalMax
	case colour.max == 0:
		colour.max = cxfMax
	}
	for i, v := range colour.v {
		if v < -slack*colour.max {
			return c.lines.bad("signals run from 0 to full signal: correct the line or leave it out", "ColorRGB %s is %s, below 0", cxfColours[cxfRGB].parts[i], clip(colour.text[i]))
		}
	}
	return nil
}

// endSpectrum keeps the values of a spectrum.
func (c *cxfReader) endSpectrum(name, text string) error {
	if len(text) > cxfSpectrum {
		return c.lines.bad("export it at fewer wavelengths or digits", "the values of %s are longer than %d bytes", name, cxfSpectrum)
	}
	c.spectrum.values = text
	c.spectrum = nil
	return nil
}
