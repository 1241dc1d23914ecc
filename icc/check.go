package icc

import (
	"bytes"
	"encoding/binary"
	"fmt"
)

// Severity says how much a Finding matters.
type Severity uint8

const (
	// Remark is worth knowing and no departure from the standard, or one that
	// no reader cares about.
	Remark Severity = iota
	// Departure is against the standard, and common readers tolerate it.
	Departure
	// Broken is what common readers refuse or show wrong colours for.
	Broken
)

// String returns "remark", "departure" or "broken".
func (s Severity) String() string {
	switch s {
	case Remark:
		return "remark"
	case Departure:
		return "departure"
	case Broken:
		return "broken"
	}
	return fmt.Sprintf("severity %d", uint8(s))
}

// Finding is one thing that Check found.
type Finding struct {
	Tag      string // "header", "tag table" or the signature of a tag
	Clause   string // "ICC.1:2022, 8.4.3", or another source where that is where it stands
	Severity Severity
	Text     string // one sentence: what it is and what to do
}

// String returns all of f in one line.
func (f Finding) String() string {
	return fmt.Sprintf("%s: %v (%s): %s", f.Tag, f.Severity, f.Clause, f.Text)
}

// maxFindings bounds the list that Check returns.
const maxFindings = 1000

// Editions of the standard that findings name, and what else they do.
const (
	edition4 = "ICC.1:2022"
	edition2 = "ICC.1:2001-04"
	practice = "common practice, no clause"
	registry = "registered private tag, no clause"
)

// Check lists where p departs from the standard: ICC.1:2022 for version 4,
// ICC.1:2001-04 for version 2. The same profile always gives the same list,
// header first, then the tag table, tags that are missing, and tags in their
// order; data that tags share is looked at once, by the first of them. It holds
// at most 1000 findings, the last of which then says that there were more, and
// is nil where there is nothing to say.
//
// In a profile that was decoded and not changed since, the bytes are looked at
// too: places, padding, reserved words and the profile ID. In any other only
// values are, except in tags of a decoded profile that were never Set.
//
// Check never panics, whatever values a profile was built of, and takes time in
// proportion to their size.
//
// Clause numbers of the tags (9.2 and 6.4), of the header (7.2) and of the
// required tags (8) were compared with public quotations of both editions. All
// others, and those of types (10) and of ICC.1:2001-04 outside 6.4, are from
// memory, and so is what Little CMS and other common readers refuse where a
// finding is Broken.
func (p *Profile) Check() []Finding {
	c := &checker{p: p, old: p.Header.Version.Major() == 2, stored: p.isStored(), seen: map[looked]bool{}, tags: map[Signature]Value{}}
	for _, t := range p.Tags {
		if _, twice := c.tags[t.Signature]; twice {
			c.add(tagTable, c.clause("7.3.1", "6.2"), Broken, "Tag %v is there twice; remove one.", t.Signature)
			continue
		}
		c.tags[t.Signature] = t.Value
	}
	c.header()
	c.table()
	c.required()
	for i := range p.Tags {
		c.tag(&p.Tags[i])
	}
	return c.found
}

const (
	inHeader = "header"
	tagTable = "tag table"
)

// looked names a piece of data and what it was looked at for.
type looked struct {
	place
	kind tagKind
}

// checker collects findings.
type checker struct {
	p      *Profile
	old    bool // version 2
	stored bool // p.source is what p is
	tags   map[Signature]Value
	seen   map[looked]bool
	found  []Finding
}

// add appends a finding.
func (c *checker) add(tag, clause string, s Severity, format string, args ...any) {
	switch n := len(c.found); {
	case n == maxFindings:
	case n == maxFindings-1:
		c.found = append(c.found, Finding{tag, practice, Remark, fmt.Sprintf("There are more than %d findings; the rest is left out.", maxFindings-1)})
	default:
		c.found = append(c.found, Finding{tag, clause, s, fmt.Sprintf(format, args...)})
	}
}

// clause returns the clause of the edition that p follows. An empty number
// stands for the edition as a whole.
func (c *checker) clause(now, old string) string {
	edition, number := edition4, now
	if c.old {
		edition, number = edition2, old
	}
	if number == "" {
		return edition
	}
	return edition + ", " + number
}

// isStored reports whether the bytes that p was decoded from are still what its
// header and tag table say. Values that were written into are not noticed.
func (p *Profile) isStored() bool {
	if p.source == nil || uint64(binary.BigEndian.Uint32(p.source[headerSize:])) != uint64(len(p.Tags)) {
		return false
	}
	for i, t := range p.Tags {
		e := p.source[tableStart+entrySize*i:]
		if t.raw == nil || binary.BigEndian.Uint32(e) != uint32(t.Signature) || binary.BigEndian.Uint32(e[4:]) != t.offset || binary.BigEndian.Uint32(e[8:]) != uint32(len(t.raw)) {
			return false
		}
	}
	h, err := p.Header.appendTo(nil)
	return err == nil && bytes.Equal(h[4:], p.source[4:headerSize])
}

// get returns the value of tag sig if it is a T.
func get[T Value](c *checker, sig Signature) (T, bool) {
	v, ok := c.tags[sig].(T)
	return v, ok
}

// has reports whether all of the tags are there.
func (c *checker) has(tags ...Signature) bool {
	for _, sig := range tags {
		if _, ok := c.tags[sig]; !ok {
			return false
		}
	}
	return true
}

// ours reports whether v is one of the types of this package, not a pointer to
// one or something else that only looks like one, and so are the values in it.
func ours(v Value) bool {
	switch v := v.(type) {
	case LutAToB:
		return plainCurves(v.A) && plainCurves(v.M) && plainCurves(v.B)
	case LutBToA:
		return plainCurves(v.A) && plainCurves(v.M) && plainCurves(v.B)
	case MultiProcess:
		for _, e := range v.Elements {
			switch e.(type) {
			case CurveSet, MatrixElement, CLUTElement, ReservedElement:
			default:
				return false
			}
		}
		return true
	case ProfileSequence:
		for _, s := range v {
			if !plainText(s.ManufacturerName) || !plainText(s.ModelName) {
				return false
			}
		}
		return true
	case ProfileSequenceIDs:
		for _, s := range v {
			if !plainText(s.Description) {
				return false
			}
		}
		return true
	case ChromaticityValue, CICP, ColorantOrder, ColorantTable, Data, DateTimeValue, Dict, FixedArray, HardwareCalibration,
		LocalizedText, Lut16, Lut8, Measurement, NamedColors, ParametricCurve, Raw, ResponseCurves, SampledCurve, SignatureValue,
		Text, TextDescription, UFixedArray, Uint16Array, Uint32Array, Uint64Array, Uint8Array, VideoCurves, ViewingConditions, XYZArray:
		return true
	}
	return false
}

func plainCurves(curves []Curve) bool {
	for _, c := range curves {
		switch c.(type) {
		case SampledCurve, ParametricCurve:
		default:
			return false
		}
	}
	return true
}

func plainText(v Value) bool {
	switch v.(type) {
	case LocalizedText, TextDescription:
		return true
	}
	return false
}
