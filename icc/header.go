package icc

import (
	"fmt"
	"time"

	"example.org/primaries/colorimetry"
)

// Version is a profile version as the header encodes it: the major version in
// the highest byte, then minor and bug-fix versions in half a byte each.
type Version uint32

// The versions that MatrixProfile writes.
const (
	// V4 is version 4.3 (ICC.1:2010). The profiles that this package builds
	// use nothing newer, except for the cicp tag of 4.4, and some systems
	// state 4.3 as the newest version that they accept.
	V4 Version = 0x04300000
	// V4Dot4 is version 4.4 (ICC.1:2022).
	V4Dot4 Version = 0x04400000
	// V2 is version 2.4 (ICC.1:2001-04).
	V2 Version = 0x02400000
)

// Major returns the major version, 2 or 4 in every profile that is read.
func (v Version) Major() int { return int(v >> 24) }

// String returns the version as "4.3.0".
func (v Version) String() string {
	return fmt.Sprintf("%d.%d.%d", v>>24, v>>20&15, v>>16&15)
}

// Intent is a rendering intent. Source: ICC.1:2022, 7.2.15.
type Intent uint32

// The four rendering intents.
const (
	Perceptual Intent = iota
	Relative          // media-relative colorimetric
	Saturation
	Absolute // ICC-absolute colorimetric
)

// String returns the name of the intent in lower case.
func (i Intent) String() string {
	switch i {
	case Perceptual:
		return "perceptual"
	case Relative:
		return "relative"
	case Saturation:
		return "saturation"
	case Absolute:
		return "absolute"
	}
	return fmt.Sprintf("intent %d", uint32(i))
}

// DateTime is a dateTimeNumber: a date and time in UTC. It is kept as it is
// written, since many profiles carry zeros or impossible dates.
//
// Source: ICC.1:2022, 4.2.
type DateTime struct{ Year, Month, Day, Hour, Minute, Second uint16 }

// Time returns d as a time; ok is false where d is not a date, such as all
// zeros.
func (d DateTime) Time() (t time.Time, ok bool) {
	t = time.Date(int(d.Year), time.Month(d.Month), int(d.Day), int(d.Hour), int(d.Minute), int(d.Second), 0, time.UTC)
	return t, dateTime(t) == d
}

// dateTime returns t in UTC, fractions of a second dropped.
func dateTime(t time.Time) DateTime {
	t = t.UTC()
	return DateTime{uint16(t.Year()), uint16(t.Month()), uint16(t.Day()), uint16(t.Hour()), uint16(t.Minute()), uint16(t.Second())}
}

// Header is a profile header. The size, the file signature 'acsp' and the
// padding are no fields: Encode writes them.
//
// Source: ICC.1:2022, 7.2.
type Header struct {
	CMM          Signature // preferred colour management module, 0 for none
	Version      Version
	Class        Signature // ClassDisplay and its kin
	Space        Signature // device side, "A"
	PCS          Signature // SpaceXYZ or SpaceLab; in a device link any space
	Created      DateTime
	Platform     Signature // 0 for none
	Flags        uint32
	Manufacturer Signature
	Model        Signature
	Attributes   uint64
	Intent       Intent
	Illuminant   colorimetry.XYZ // D50 in every profile for ordinary use
	Creator      Signature
	// ID is the MD5 of the profile with flags, intent and ID zeroed, or all
	// zeros where it was not computed. Encode leaves zeros as they are and
	// computes any other value afresh when something has changed.
	ID [16]byte
	// Reserved bytes are zero in a conforming profile and kept as they are.
	Reserved [28]byte
}
