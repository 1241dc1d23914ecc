package icc

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/colorimetry"
)

// header checks the fields of the header. The preferred CMM, the platform, the
// device's maker and model and the creator are free.
func (c *checker) header() {
	h := &c.p.Header
	c.version(h.Version)
	c.spaces(h)
	if h.Created == (DateTime{}) {
		c.add(inHeader, c.clause("7.2.8", "6.1"), Remark, "The date of creation is all zeros; set it.")
	} else if _, ok := h.Created.Time(); !ok {
		c.add(inHeader, c.clause("7.2.8", "6.1"), Departure, "The date of creation, %v, does not exist; correct it.", h.Created.text())
	}
	if reserved := h.Flags & 0xfffc; reserved != 0 {
		c.add(inHeader, c.clause("7.2.11", "6.1"), Departure, "Flags 0x%08X set bits that are reserved (2 to 15); clear them.", h.Flags)
	}
	if reserved := h.Attributes & 0xfffffff0; reserved != 0 {
		c.add(inHeader, c.clause("7.2.14", "6.1"), Departure, "Device attributes 0x%016X set bits that are reserved (4 to 31); clear them.", h.Attributes)
	}
	if h.Intent > Absolute {
		c.add(inHeader, c.clause("7.2.15", "6.1"), Departure, "Rendering intent %d is not defined; write 0 to 3.", uint32(h.Intent))
	}
	if w := h.Illuminant; !near(w, colorimetry.D50(), fourDecimals) {
		c.add(inHeader, c.clause("7.2.16", "6.1"), Departure, "The illuminant %.4f %.4f %.4f is not D50; write 0.9642 1 0.8249.", w.X, w.Y, w.Z)
	}
	if h.Reserved != [28]byte{} {
		c.add(inHeader, c.clause("7.2.19", "6.1"), Departure, "Reserved bytes (100 to 127) are not zero; clear them.")
	}
	c.size(h)
}

const (
	// fourDecimals is what rounding to four decimals leaves.
	fourDecimals = 0.00005 + 1.0/131072
	// The newest minor versions of the two editions.
	newest2, newest4 = 4, 4
)

// text returns d as a date and a time that need not exist.
func (d DateTime) text() string {
	return fmt.Sprintf("%04d-%02d-%02d %02d:%02d:%02d", d.Year, d.Month, d.Day, d.Hour, d.Minute, d.Second)
}

// near reports whether two colours differ by no more than d in each number.
func near(a, b colorimetry.XYZ, d float64) bool {
	return math.Abs(a.X-b.X) <= d && math.Abs(a.Y-b.Y) <= d && math.Abs(a.Z-b.Z) <= d
}

func (c *checker) version(v Version) {
	clause := c.clause("7.2.4", "6.1")
	minor, fix := v>>20&15, v>>16&15
	switch major := v.Major(); {
	case major != 2 && major != 4:
		c.add(inHeader, clause, Broken, "Version %v is neither 2 nor 4; state the version whose rules the profile follows.", v)
		return
	case minor > 9 || fix > 9:
		c.add(inHeader, clause, Departure, "Version bytes 0x%08X are no binary-coded decimal; correct them.", uint32(v))
	case major == 2 && minor > newest2 || major == 4 && minor > newest4:
		c.add(inHeader, clause, Remark, "Version %v is newer than the standard that it was checked by; see whether it is meant.", v)
	case fix != 0:
		c.add(inHeader, clause, Remark, "Version %v states a bug-fix version, and no edition has one; write 0.", v)
	}
	if v&0xffff != 0 {
		c.add(inHeader, clause, Departure, "Bytes 10 and 11, behind the version, are not zero; clear them.")
	}
}

// spaces checks class, device space and connection space.
func (c *checker) spaces(h *Header) {
	switch h.Class {
	case ClassInput, ClassDisplay, ClassOutput, ClassLink, ClassSpace, ClassAbstract, ClassNamedColor:
	default:
		c.add(inHeader, c.clause("7.2.5", "6.1"), Broken, "Profile class %v is not defined; write one of the seven.", h.Class)
	}
	if Channels(h.Space) == 0 {
		c.add(inHeader, c.clause("7.2.6", "6.1"), Broken, "Colour space %v is not defined; correct it.", h.Space)
	}
	switch {
	case h.Class == ClassLink:
		if Channels(h.PCS) == 0 {
			c.add(inHeader, c.clause("7.2.7", "6.1"), Broken, "Colour space %v at the far end of the link is not defined; correct it.", h.PCS)
		}
	case !isPCS(h.PCS):
		c.add(inHeader, c.clause("7.2.7", "6.1"), Broken, "Connection space %v is not defined; XYZ and Lab are.", h.PCS)
	}
	if h.Class == ClassAbstract && !isPCS(h.Space) {
		c.add(inHeader, c.clause("8.8", "6.3.4"), Broken, "An abstract profile leads from %v; it leads from XYZ or Lab.", h.Space)
	}
}

// size checks what the bytes say of themselves: their number and their MD5.
func (c *checker) size(h *Header) {
	if h.ID == ([16]byte{}) {
		if !c.old {
			c.add(inHeader, c.clause("7.2.18", ""), Remark, "There is no profile ID, by which programs know a profile; compute it.")
		}
	}
	if !c.stored {
		return
	}
	if n := len(c.p.source); n%4 != 0 && !c.old {
		c.add(inHeader, c.clause("7.1.2", ""), Departure, "The size of %d bytes is no multiple of 4; fill the last tag up with zeros.", n)
	}
	if h.ID == ([16]byte{}) {
		return
	}
	id, err := ProfileID(c.p.source)
	switch {
	case err != nil || id == h.ID:
	case c.old:
		c.add(inHeader, c.clause("", "6.1"), Departure, "Bytes 84 to 99, which are reserved, are neither zero nor the MD5 of the profile that version 4 has there; clear them.")
	default:
		c.add(inHeader, c.clause("7.2.18", ""), Departure, "The profile ID %x is not the MD5 of the profile, %x; compute it afresh.", h.ID, id)
	}
}

// table checks where the elements of a stored profile lie.
func (c *checker) table() {
	if len(c.p.Tags) == 0 {
		c.add(tagTable, c.clause("7.3.1", "6.2"), Broken, "There are no tags; see what the profile's class requires.")
	}
	if !c.stored {
		return
	}
	places := make([]*Tag, len(c.p.Tags))
	for i := range places {
		places[i] = &c.p.Tags[i]
	}
	slices.SortStableFunc(places, func(a, b *Tag) int {
		return cmp.Or(cmp.Compare(a.offset, b.offset), cmp.Compare(len(a.raw), len(b.raw)))
	})
	end, before := tableStart+entrySize*len(places), (*Tag)(nil)
	for _, t := range places {
		at := int(t.offset)
		switch {
		case before != nil && before.offset == t.offset && len(before.raw) == len(t.raw):
			continue // shared
		case before != nil && at < end:
			c.add(tagTable, c.clause("7.3.1", "6.2"), Departure, "Tags %v and %v overlap in part; tags share all of their data or none.", before.Signature, t.Signature)
		default:
			c.gap(end, at)
		}
		if at%4 != 0 {
			c.add(tagTable, c.clause("7.3.4", "6.2.2"), Departure, "Tag %v begins at byte %d, which is no multiple of 4; move it.", t.Signature, at)
		}
		if e := at + len(t.raw); e > end {
			end, before = e, t
		}
	}
	c.gap(end, len(c.p.source))
}

// gap checks the bytes between two elements.
func (c *checker) gap(from, to int) {
	if from >= to {
		return
	}
	s, clause := Departure, c.clause("7.3.1", "6.2")
	if c.old {
		s = Remark // version 2 does not say what lies between tags
	}
	if n := to - from; n > 3 {
		c.add(tagTable, clause, s, "%d bytes from byte %d belong to no tag, and padding has 3 at most; close the gap.", n, from)
		return
	}
	for _, b := range c.p.source[from:to] {
		if b != 0 {
			c.add(tagTable, clause, s, "The padding at byte %d is not zero; clear it.", from)
			return
		}
	}
}
