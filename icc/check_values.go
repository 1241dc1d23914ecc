package icc

import (
	"bytes"
	"math"

	"example.org/primaries/colorimetry"
)

// value checks what a tag of a permitted type says.
func (c *checker) value(t *Tag, name string, r tagRule) {
	clause := c.where(r)
	switch r.kind {
	case kindText:
		c.text(t, name, clause)
	case kindXYZ:
		c.xyz(t, name, clause)
	case kindCurve:
		c.curve(t, name, clause)
	case kindToPCS, kindFromPCS, kindGamut, kindPreview:
		c.lut(t, name, clause, r.kind)
	case kindOther:
		c.other(t, name, clause)
	}
}

// xyz checks a tag of one colour.
func (c *checker) xyz(t *Tag, name, clause string) {
	v, ok := t.Value.(XYZArray)
	switch {
	case !ok:
		return
	case len(v) == 0:
		c.add(name, clause, Broken, "The tag holds no colour; give it one.")
		return
	case len(v) > 1:
		c.add(name, clause, Departure, "The tag holds %d colours, and one belongs here; remove the others.", len(v))
	}
	switch w := v[0]; t.Signature {
	case TagMediaWhite:
		c.white(w, name, clause)
	case TagLuminance:
		if !(w.Y > 0) {
			c.add(name, clause, Departure, "The luminance of the white is %g cd/m²; state one above 0 or remove the tag.", w.Y)
		}
		if !c.old && (w.X != 0 || w.Z != 0) {
			c.add(name, clause, Remark, "X and Z are not zero, and version 4 keeps the luminance alone, in Y.")
		}
	}
}

// nearlyD50 is how far a media white may be from D50 without a colour in the
// absolute intent that anyone tells apart.
const nearlyD50 = 0.001

// white checks the media white.
func (c *checker) white(w colorimetry.XYZ, name, clause string) {
	display := c.p.Header.Class == ClassDisplay
	switch {
	case !(w.X > 0 && w.Y > 0 && w.Z > 0):
		c.add(name, clause, Broken, "The media white %.4f %.4f %.4f cannot be: every value is above 0.", w.X, w.Y, w.Z)
	case !display || near(w, encodedD50(), nearlyD50) && c.old, near(w, encodedD50(), fourDecimals):
	case c.old:
		c.add(name, clause, Remark, "The media white %.4f %.4f %.4f is not D50: in the absolute intent some readers scale by it and others, Little CMS among them, take it for D50.", w.X, w.Y, w.Z)
	default:
		c.add(name, clause, Departure, "The media white of a display is D50 in version 4, not %.4f %.4f %.4f; keep the measured one in chad.", w.X, w.Y, w.Z)
	}
}

// someEntries is how many entries Little CMS takes at most.
const someEntries = 0x7fff

// curve checks a tone curve.
func (c *checker) curve(t *Tag, name, clause string) {
	light := c.p.Header.Class == ClassDisplay && c.p.Header.Space == SpaceRGB
	var rises, falls bool
	var first, last float64
	switch v := t.Value.(type) {
	case SampledCurve:
		if len(v) > someEntries {
			c.add(name, c.clause("10.6", "6.5.3"), Broken, "The curve has %d entries, and some readers refuse more than %d; write 4096.", len(v), someEntries)
		}
		if len(v) == 1 && v[0] == 0 {
			c.add(name, c.clause("10.6", "6.5.3"), Departure, "The exponent is 0, which makes every signal full light; correct it.")
			return
		}
		for i := 1; i < len(v); i++ {
			rises, falls = rises || v[i] > v[i-1], falls || v[i] < v[i-1]
		}
		if len(v) < 2 {
			return // a power rises
		}
		first, last = float64(v[0])/65535, float64(v[len(v)-1])/65535
	case ParametricCurve:
		if !c.parametric(v, name) {
			return
		}
		first, last = v.At(0), v.At(1)
		for i := range someSteps {
			a, b := v.At(float64(i)/someSteps), v.At(float64(i+1)/someSteps)
			rises, falls = rises || b > a, falls || b < a
		}
	default:
		return
	}
	switch {
	case !rises && !falls:
		c.add(name, clause, Departure, "The curve is the same everywhere, so that nothing leads back from its colours; correct it.")
	case rises && falls:
		c.add(name, clause, Remark, "The curve rises and falls, so that some light has two signals; smooth it.")
	case light && falls:
		c.add(name, clause, Remark, "The curve falls: more signal makes less light.")
	}
	if light && rises && !falls && !(first <= last && last > 1-1.0/512) {
		c.add(name, clause, Remark, "Full signal makes %.4f of full light, so that white is darker than the connection space's; scale the curve to 1.", last)
	}
}

const (
	// someSteps is how finely a formula is looked at.
	someSteps = 256
	// jump is the step between the two parts of a formula that is worth a word,
	// one of 8 bits.
	jump = 1.0 / 255
)

// parametric checks a formula and reports whether it can be computed.
func (c *checker) parametric(v ParametricCurve, name string) bool {
	clause := c.clause("10.18", "") // version 2 has no such type
	if c.old {
		clause = edition4 + ", 10.18"
	}
	if v.Function < 0 || v.Function > 4 {
		c.add(name, clause, Broken, "Function %d is not defined; use 0 to 4.", v.Function)
		return false
	}
	if !(v.G > 0) {
		c.add(name, clause, Departure, "The exponent is %g; one above 0 makes a curve.", v.G)
	}
	s := v.segments()
	if s.d > 0 && s.d < 1 {
		if below, above := clamp(s.c*s.d+s.f), s.at(s.d); math.Abs(above-below) > jump {
			c.add(name, clause, Remark, "The curve jumps from %.4f to %.4f where its two parts meet; choose parameters that join.", below, above)
		}
	}
	return true
}

// text checks a text of any of the three types.
func (c *checker) text(t *Tag, name, clause string) {
	empty := false
	switch v := t.Value.(type) {
	case LocalizedText:
		c.localized(v, name)
		empty = len(v) == 0 || v.String() == ""
	case Text:
		empty = v == ""
		if t.raw != nil {
			c.ascii(t.raw[8:], name, c.clause("10.24", "6.5.18"))
		}
	case TextDescription:
		empty = v.ASCII == ""
		c.description(t, v, name)
	}
	if empty {
		c.add(name, clause, Departure, "The text is empty; write one that people can read.")
	}
}

// ascii checks text that ends in a NUL.
func (c *checker) ascii(b []byte, name, clause string) {
	text := b
	if i := bytes.IndexByte(b, 0); i >= 0 {
		text = b[:i]
	} else {
		c.add(name, clause, Departure, "The text does not end in a NUL; add it.")
	}
	for i, x := range text {
		if x > 0x7f {
			c.add(name, clause, Departure, "Byte %d of the text is 0x%02X, and only 7-bit ASCII is possible; replace it.", i, x)
			return
		}
	}
}

// description checks a textDescription as it is stored.
func (c *checker) description(t *Tag, v TextDescription, name string) {
	if len(t.raw) < 12 {
		return
	}
	const clause = edition2 + ", 6.5.17"
	if size := descriptionSize(t.raw); size > uint64(len(t.raw)) {
		c.add(name, clause, Departure, "The value states %d bytes and has %d; write the Unicode and the script part out, if only as zeros.", size, len(t.raw))
	}
	n := uint64(t.raw[8])<<24 | uint64(t.raw[9])<<16 | uint64(t.raw[10])<<8 | uint64(t.raw[11])
	if n == 0 {
		return // no text and no NUL, as some programs write it
	}
	c.ascii(t.raw[12:min(12+n, uint64(len(t.raw)))], name, clause)
}

// localized checks the records of a text in several languages.
func (c *checker) localized(v LocalizedText, name string) {
	const clause = edition4 + ", 10.15"
	type key struct{ language, country string }
	seen := make(map[key]bool, len(v))
	var twice, code, nothing bool
	for _, s := range v {
		k := key{s.Language, s.Country}
		if seen[k] && !twice {
			twice = true
			c.add(name, clause, Departure, "Language %q, country %q, has two texts; remove one.", s.Language, s.Country)
		}
		seen[k] = true
		if !code && (!letters(s.Language) || s.Country != "\x00\x00" && !letters(s.Country)) {
			code = true
			c.add(name, clause, Remark, "Language %q, country %q, are no codes of two letters; correct them.", s.Language, s.Country)
		}
		if !nothing && s.Text == "" && len(v) > 1 {
			nothing = true
			c.add(name, clause, Remark, "Language %q has an empty text.", s.Language)
		}
	}
}

func letters(s string) bool {
	for _, c := range []byte(s) {
		if c|0x20 < 'a' || c|0x20 > 'z' {
			return false
		}
	}
	return len(s) == 2
}
