package icc

import "math"

// required checks that the tags are there that the profile's class needs.
func (c *checker) required() {
	class := c.p.Header.Class
	c.need(Departure, c.clause("8.2", "6.3"), TagDescription, TagCopyright)
	if class != ClassLink {
		c.need(Departure, c.clause("8.2", "6.3"), TagMediaWhite)
	}
	switch class {
	case ClassInput:
		c.model(c.clause("8.3", "6.3.1"), TagAToB0)
	case ClassDisplay:
		c.model(c.clause("8.4", "6.3.2"), TagAToB0, TagBToA0)
	case ClassOutput:
		c.model(c.clause("8.5", "6.3.3"), TagAToB0, TagBToA0)
		c.output()
	case ClassLink:
		clause := c.clause("8.6", "6.3.4")
		c.need(Broken, clause, TagAToB0)
		c.need(Departure, clause, TagProfileSequence)
		c.needColorants(clause, c.p.Header.Space, TagColorantTable)
		c.needColorants(clause, c.p.Header.PCS, TagColorantTableOut)
	case ClassSpace:
		c.model(c.clause("8.7", "6.3.4"), TagAToB0, TagBToA0)
	case ClassAbstract:
		c.need(Broken, c.clause("8.8", "6.3.4"), TagAToB0)
	case ClassNamedColor:
		c.need(Broken, c.clause("8.9", "6.3.4"), TagNamedColors)
	}
	c.colorants()
	c.adaptation()
}

// need reports the tags that are missing.
func (c *checker) need(s Severity, clause string, tags ...Signature) {
	for _, sig := range tags {
		if !c.has(sig) {
			c.add(sig.String(), clause, s, "The tag is missing, and profiles of class %v have it; add it.", c.p.Header.Class)
		}
	}
}

// needColorants reports a missing list of colorants where the name of a space
// says nothing but their number.
func (c *checker) needColorants(clause string, space, tag Signature) {
	if !c.old && space&0xffffff == 0x434c52 { // xCLR
		c.need(Departure, clause, tag)
	}
}

// lightTags are those of a matrix and its curves.
var lightTags = [6]Signature{TagRedColorant, TagGreenColorant, TagBlueColorant, TagRedCurve, TagGreenCurve, TagBlueCurve}

// model checks that there is a way to compute colours: tables, or a matrix and
// curves, or the curve of a grey.
func (c *checker) model(clause string, tables ...Signature) {
	h := &c.p.Header
	switch {
	case c.has(tables...):
	case h.Class == ClassSpace && c.has(lightTags[:]...):
		// Many programs write their RGB working spaces so.
		c.add(tables[0].String(), clause, Departure, "Profiles of class spac have the tables %v and %v, and this one has a matrix and curves; call it a display profile or add tables.", tables[0], tables[1])
	case h.Space == SpaceRGB && c.has(lightTags[:]...), h.Space == SpaceGray && c.has(TagGrayCurve):
	case h.Space == SpaceGray && !c.has(tables[0]):
		c.need(Broken, clause, TagGrayCurve)
	case h.Space == SpaceRGB && c.hasAny(lightTags[:]) && !c.has(tables[0]):
		c.need(Broken, clause, lightTags[:]...)
	default:
		c.need(Broken, clause, tables...)
	}
	if !c.has(tables[0]) && h.Space == SpaceRGB && c.has(lightTags[:]...) && h.PCS != SpaceXYZ {
		c.add(inHeader, clause, Broken, "A matrix leads to XYZ, and the connection space is %v; state XYZ.", h.PCS)
	}
}

func (c *checker) hasAny(tags []Signature) bool {
	for _, sig := range tags {
		if c.has(sig) {
			return true
		}
	}
	return false
}

// output checks what an output profile has besides a first pair of tables.
func (c *checker) output() {
	if !c.has(TagAToB0) && !c.has(TagBToA0) {
		return // a grey's curve
	}
	clause := c.clause("8.5.2", "6.3.3")
	c.need(Departure, clause, TagAToB1, TagAToB2, TagBToA1, TagBToA2, TagGamut)
	c.needColorants(clause, c.p.Header.Space, TagColorantTable)
}

const (
	// tinted is how far the white may be from D50 before anyone sees it.
	tinted = 0.01
	// roundedSum is what figures rounded to four decimals leave: greys are then
	// off by less than 0.05 ΔE*ab.
	roundedSum = 0.0005
)

// colorants checks that red, green and blue of a display add up to D50.
func (c *checker) colorants() {
	if c.p.Header.Class != ClassDisplay || c.p.Header.Space != SpaceRGB {
		return
	}
	var sum [3]float64
	for _, sig := range lightTags[:3] {
		v, ok := get[XYZArray](c, sig)
		if !ok || len(v) == 0 {
			return
		}
		for i, x := range [3]float64{v[0].X, v[0].Y, v[0].Z} {
			sum[i] += x
		}
	}
	d := encodedD50()
	worst := 0.0
	for i, want := range [3]float64{d.X, d.Y, d.Z} {
		if e := math.Abs(sum[i] - want); !(e <= worst) {
			worst = e
		}
	}
	clause := c.clause("6.3.4", "6.3.2") + " and annex E" // from memory
	const text = "The colorants of red, green and blue add up to %.5f %.5f %.5f, and D50 is 0.96420 1.00000 0.82491; "
	switch {
	case worst == 0:
	case worst <= roundedSum:
		c.add(TagRedColorant.String(), clause, Remark, text+"greys are tinted, by less than anyone sees.", sum[0], sum[1], sum[2])
	case worst <= tinted:
		c.add(TagRedColorant.String(), clause, Departure, text+"greys are tinted, so scale them.", sum[0], sum[1], sum[2])
	default:
		c.add(TagRedColorant.String(), clause, Broken, text+"adapt them to D50 and scale the white to Y = 1.", sum[0], sum[1], sum[2])
	}
}

// adaptation remarks on a display without chad.
func (c *checker) adaptation() {
	if !c.old && c.p.Header.Class == ClassDisplay && !c.has(TagChromaticAdaptation) {
		c.add(TagChromaticAdaptation.String(), c.clause("8.2", ""), Remark, "The tag is missing, which says that the display's own white is D50; add it if that is another.")
	}
}
