package icc

import "slices"

// tagKind says what the value of a tag is looked at for.
type tagKind uint8

const (
	kindOther tagKind = iota
	kindText
	kindXYZ
	kindCurve
	kindToPCS   // from the device to the connection space
	kindFromPCS // the other way
	kindGamut
	kindPreview
)

// tagRule is what the two editions say of a tag.
type tagRule struct {
	clause, old string      // where; "" in an edition that does not have the tag
	types       []Signature // that version 4 permits
	oldTypes    []Signature // that version 2 permits; nil means the same
	kind        tagKind
}

// ruleOf returns the rule of a tag. ok is false for one that neither edition
// has.
func ruleOf(sig Signature) (r tagRule, ok bool) {
	for _, find := range []func(Signature) tagRule{tableRule, colorRule, textRule, otherRule, oldRule} {
		if r = find(sig); r.types != nil {
			if r.oldTypes == nil {
				r.oldTypes = r.types
			}
			return r, true
		}
	}
	return r, false
}

func one(s ...Signature) []Signature { return s }

// tableRule has the tags of tables.
func tableRule(sig Signature) tagRule {
	luts := one(TypeLut8, TypeLut16)
	to, from := one(TypeLut8, TypeLut16, TypeLutAToB), one(TypeLut8, TypeLut16, TypeLutBToA)
	switch sig {
	case TagAToB0:
		return tagRule{"9.2.1", "6.4.1", to, luts, kindToPCS}
	case TagAToB1:
		return tagRule{"9.2.2", "6.4.2", to, luts, kindToPCS}
	case TagAToB2:
		return tagRule{"9.2.3", "6.4.3", to, luts, kindToPCS}
	case TagBToA0:
		return tagRule{"9.2.6", "6.4.6", from, luts, kindFromPCS}
	case TagBToA1:
		return tagRule{"9.2.7", "6.4.7", from, luts, kindFromPCS}
	case TagBToA2:
		return tagRule{"9.2.8", "6.4.8", from, luts, kindFromPCS}
	case TagBToD0, TagBToD1, TagBToD2, TagBToD3:
		return tagRule{"9.2.9 to 9.2.12", "", one(TypeMultiProcess), nil, kindFromPCS}
	case TagDToB0, TagDToB1, TagDToB2, TagDToB3:
		return tagRule{"9.2.25 to 9.2.28", "", one(TypeMultiProcess), nil, kindToPCS}
	case TagGamut:
		return tagRule{"9.2.29", "6.4.18", from, luts, kindGamut}
	case TagPreview0:
		return tagRule{"9.2.40", "6.4.29", append(from, TypeLutAToB), luts, kindPreview}
	case TagPreview1:
		return tagRule{"9.2.41", "6.4.30", from, luts, kindPreview}
	case TagPreview2:
		return tagRule{"9.2.42", "6.4.31", from, luts, kindPreview}
	}
	return tagRule{}
}

// colorRule has the tags of colours, curves and what is said of colorants.
func colorRule(sig Signature) tagRule {
	curves := one(TypeCurve, TypeParametricCurve)
	switch sig {
	case TagRedColorant:
		return tagRule{"9.2.46", "6.4.40", one(TypeXYZ), nil, kindXYZ}
	case TagGreenColorant:
		return tagRule{"9.2.31", "6.4.20", one(TypeXYZ), nil, kindXYZ}
	case TagBlueColorant:
		return tagRule{"9.2.4", "6.4.4", one(TypeXYZ), nil, kindXYZ}
	case TagMediaWhite:
		return tagRule{"9.2.36", "6.4.25", one(TypeXYZ), nil, kindXYZ}
	case TagLuminance:
		return tagRule{"9.2.33", "6.4.22", one(TypeXYZ), nil, kindXYZ}
	case TagRedCurve:
		return tagRule{"9.2.47", "6.4.41", curves, one(TypeCurve), kindCurve}
	case TagGreenCurve:
		return tagRule{"9.2.32", "6.4.21", curves, one(TypeCurve), kindCurve}
	case TagBlueCurve:
		return tagRule{"9.2.5", "6.4.5", curves, one(TypeCurve), kindCurve}
	case TagGrayCurve:
		return tagRule{"9.2.30", "6.4.19", curves, one(TypeCurve), kindCurve}
	case TagChromaticAdaptation:
		return tagRule{"9.2.15", "6.4.11", one(TypeFixedArray), nil, kindOther}
	case TagChromaticity:
		return tagRule{"9.2.16", "6.4.12", one(TypeChromaticity), nil, kindOther}
	case TagColorantOrder:
		return tagRule{"9.2.18", "", one(TypeColorantOrder), nil, kindOther}
	case TagColorantTable:
		return tagRule{"9.2.19", "", one(TypeColorantTable), nil, kindOther}
	case TagColorantTableOut:
		return tagRule{"9.2.20", "", one(TypeColorantTable), nil, kindOther}
	case TagNamedColors:
		return tagRule{"9.2.37", "6.4.27", one(TypeNamedColors), nil, kindOther}
	case TagOutputResponse:
		return tagRule{"9.2.38", "6.4.28", one(TypeResponseCurves), nil, kindOther}
	}
	return tagRule{}
}

// textRule has the tags of texts.
func textRule(sig Signature) tagRule {
	local, plain := one(TypeLocalized), one(TypeTextDescription)
	switch sig {
	case TagDescription:
		return tagRule{"9.2.43", "6.4.32", local, plain, kindText}
	case TagCopyright:
		return tagRule{"9.2.22", "6.4.13", local, one(TypeText), kindText}
	case TagDeviceMaker:
		return tagRule{"9.2.23", "6.4.15", local, plain, kindText}
	case TagDeviceModel:
		return tagRule{"9.2.24", "6.4.16", local, plain, kindText}
	case TagViewingDescription:
		return tagRule{"9.2.50", "6.4.46", local, plain, kindText}
	case TagCharTarget:
		return tagRule{"9.2.14", "6.4.10", one(TypeText), nil, kindText}
	}
	return tagRule{}
}

// otherRule has the tags of everything else.
func otherRule(sig Signature) tagRule {
	switch sig {
	case TagCalibrationDate:
		return tagRule{"9.2.13", "6.4.9", one(TypeDateTime), nil, kindOther}
	case TagCICP:
		return tagRule{"9.2.17", "", one(TypeCICP), nil, kindOther}
	case TagImageState:
		return tagRule{"9.2.21", "", one(TypeSignature), nil, kindOther}
	case TagMeasurement:
		return tagRule{"9.2.34", "6.4.23", one(TypeMeasurement), nil, kindOther}
	case TagMetadata:
		return tagRule{"9.2.35", "", one(TypeDict), nil, kindOther}
	case TagPerceptualGamut:
		return tagRule{"9.2.39", "", one(TypeSignature), nil, kindOther}
	case TagProfileSequence:
		return tagRule{"9.2.44", "6.4.33", one(TypeProfileSequence), nil, kindOther}
	case TagProfileSequenceIDs:
		return tagRule{"9.2.45", "", one(TypeProfileSequenceIDs), nil, kindOther}
	case TagSaturationGamut:
		return tagRule{"9.2.48", "", one(TypeSignature), nil, kindOther}
	case TagTechnology:
		return tagRule{"9.2.49", "6.4.44", one(TypeSignature), nil, kindOther}
	case TagViewingConditions:
		return tagRule{"9.2.51", "6.4.47", one(TypeViewingConditions), nil, kindOther}
	case TagVideoCurves:
		return tagRule{registry, registry, one(TypeVideoCurves), nil, kindOther}
	case TagHardwareCalibration:
		return tagRule{registry, registry, one(TypeHardwareCalibration), nil, kindOther}
	}
	return tagRule{}
}

// oldRule has the tags that version 4 dropped, of which this package reads only
// the types that are still in use.
func oldRule(sig Signature) tagRule {
	switch sig {
	case 0x626b7074: // bkpt, the black
		return tagRule{"", "6.4.24", one(TypeXYZ), nil, kindXYZ}
	case 0x73637264: // scrd, a description of screening
		return tagRule{"", "6.4.42", one(TypeTextDescription), nil, kindText}
	case 0x70736430, 0x70736431, 0x70736432, 0x70736433, 0x70733273, 0x70733269: // psd0 to psd3, ps2s, ps2i, for PostScript
		return tagRule{"", "6.4.34 to 6.4.39", one(TypeData), nil, kindOther}
	case 0x63726469: // crdi
		return tagRule{"", "6.4.14", one(sig), nil, kindOther}
	case 0x64657673: // devs
		return tagRule{"", "6.4.17", one(sig), nil, kindOther}
	case 0x6e636f6c: // ncol
		return tagRule{"", "6.4.26", one(sig), nil, kindOther}
	case 0x7363726e: // scrn
		return tagRule{"", "6.4.43", one(sig), nil, kindOther}
	case 0x62666420: // bfd
		return tagRule{"", "6.4.45", one(sig), nil, kindOther}
	}
	return tagRule{}
}

// where returns the clause of a rule in the edition that p follows, or in the
// other if that does not have the tag.
func (c *checker) where(r tagRule) string {
	switch {
	case r.clause == registry:
		return registry
	case c.old && r.old != "", r.clause == "":
		return edition2 + ", " + r.old
	}
	return edition4 + ", " + r.clause
}

// tag checks one tag.
func (c *checker) tag(t *Tag) {
	name := t.Signature.String()
	r, known := ruleOf(t.Signature)
	switch {
	case t.Value == nil:
		c.add(name, practice, Broken, "The tag has no value; set one or remove the tag.")
		return
	case !ours(t.Value):
		c.add(name, practice, Broken, "The value holds a %T where a plain type of this package belongs; set that.", t.Value)
		return
	case !known:
		c.add(name, c.clause("9.1", "6.4"), Remark, "The tag is private or not known, and readers pass over it.")
	case c.old && r.old == "":
		c.add(name, c.where(r), Remark, "The tag came with version 4, and readers of version 2 pass over it.")
	case !c.old && r.clause == "":
		c.add(name, c.where(r), Remark, "Version 4 dropped the tag, and readers pass over it; remove it.")
	}
	if known && !c.permitted(name, r, t.Value.Type()) {
		return
	}
	c.element(t, name)
	if t.raw != nil {
		l := looked{place{t.offset, uint32(len(t.raw))}, r.kind}
		if c.seen[l] && r.kind != kindOther {
			return
		}
		c.seen[l] = true
	}
	c.value(t, name, r)
}

// permitted reports whether the value of a tag can be looked at as what it
// should be.
func (c *checker) permitted(name string, r tagRule, typ Signature) bool {
	mine, other := r.types, r.oldTypes
	if c.old {
		mine, other = other, mine
	}
	texts := one(TypeText, TypeTextDescription, TypeLocalized)
	switch {
	case slices.Contains(mine, typ):
		return true
	case slices.Contains(other, typ):
		c.add(name, c.where(r), Departure, "Type %v belongs to the other version of the standard; use %v here.", typ, mine)
		return true
	case r.kind == kindText && slices.Contains(texts, typ):
		c.add(name, c.where(r), Departure, "Type %v is not permitted here, though many readers take any text; use %v.", typ, mine)
		return true
	}
	c.add(name, c.where(r), Broken, "Type %v is not permitted here; use %v.", typ, mine)
	return false
}

// element checks how a value is stored.
func (c *checker) element(t *Tag, name string) {
	if t.raw == nil {
		if _, err := t.Value.appendTo(nil); err != nil {
			c.add(name, practice, Broken, "The value cannot be written: %v.", err)
		}
		return
	}
	if readerOf(t.Value.Type()) == nil {
		return // what private types hold there is their affair
	}
	for _, b := range t.raw[4:8] {
		if b != 0 {
			c.add(name, c.clause("10.1", "6.5"), Departure, "The reserved bytes behind the type are not zero; clear them.")
			return
		}
	}
}
