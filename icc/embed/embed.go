package embed

import (
	"errors"
	"fmt"
	"io"

	"example.org/primaries/icc"
)

// Format is the kind of an image file; its text is the usual name.
type Format string

// The formats that are read and written. BigTIFF counts as TIFF.
const (
	PNG  Format = "PNG"
	JPEG Format = "JPEG"
	TIFF Format = "TIFF"
)

// Found is what a file says about its colours in the places that this package
// looks at.
type Found struct {
	Format  Format
	Profile []byte    // as embedded and not looked into; nil if there is none
	Name    string    // of the profile; PNG alone has one
	CICP    *icc.CICP // PNG's code points, nil if there are none; they overrule Profile
}

// Limits bound what is read and written. The zero value is the default.
type Limits struct {
	// Profile is the largest length of a profile in bytes; 0 or less means
	// 64 MiB, as in package icc.
	Profile int
	// Pages is the most directories of a TIFF that Options.AllPages changes, each
	// of which gets a copy of the profile; 0 or less means 4096.
	Pages int
}

const defaultPages = 4096

func (l Limits) pages() int {
	if l.Pages <= 0 {
		return defaultPages
	}
	return l.Pages
}

const defaultProfile = 64 << 20

func (l Limits) profile() int64 {
	if l.Profile <= 0 {
		return defaultProfile
	}
	return int64(l.Profile)
}

// Options steer Insert and Remove. The zero value is the default.
type Options struct {
	Limits Limits

	// Name is the name of the profile in a PNG: 1 to 79 characters of Latin-1,
	// printable, without spaces at the ends or two in a row. Empty means
	// "ICC profile". Remove, JPEG and TIFF have no use for it and do not look at
	// it.
	Name string

	// CICP is written into a PNG. Readers that know it take the colours from it
	// and not from the profile. Where it is nil, Insert drops the code points
	// that the file has, as they would overrule the new profile, and Remove
	// leaves them. It is an error with a JPEG or TIFF.
	CICP *icc.CICP

	// AllPages gives a copy of the profile to, or takes it from, every directory
	// in the chain of a TIFF; otherwise the first alone is changed, and pages
	// behind it keep the profiles that they have. Reduced images and others that
	// hang off a directory (SubIFDs) are never changed.
	AllPages bool
}

// Extract returns the profile that a PNG, JPEG or TIFF of size bytes holds; a
// file without one is no error. The format is told by the first bytes.
//
// A TIFF's first directory is looked at, a PNG up to its pixels, and a JPEG up
// to its first scan, or beyond where a profile is incomplete there. What comes
// later may be damaged or missing.
//
// The error is a *FormatError if the file or its profile is damaged or over
// the limit, otherwise that of src. The profile is not decoded: give it to
// icc.Decode, which mistrusts it.
//
// Memory: up to about four times the profile, and a window of 64 KiB.
func Extract(src io.ReaderAt, size int64, l Limits) (Found, error) {
	f, err := open(src, size)
	if err != nil {
		return Found{}, err
	}
	var found Found
	switch f.format {
	case PNG:
		found, err = f.extractPNG(l.profile())
	case JPEG:
		found, err = f.extractJPEG(l.profile())
	default:
		found, err = f.extractTIFF(l.profile())
	}
	if err != nil {
		return Found{}, err
	}
	found.Format = f.format
	return found, nil
}

// Insert writes the image of size bytes to dst with profile in place of any
// that it had. All else keeps its bytes and its order, but for what the
// package's documentation lists. Equal input gives equal output on one build.
//
// Nothing is written before all has been checked. The error is a *FormatError
// if the file is damaged (it wraps ErrMisfit if the profile is for another
// kind of colour, icc.ErrUnsupported if the format has no room for it), wraps
// ErrLimit or *icc.FormatError if the profile itself is at fault, and is
// otherwise that of an option, of src or of dst.
//
// Memory: up to about three times the profile, and up to eight times the
// directories of a TIFF; pixels pass through a window of 64 KiB.
func Insert(dst io.Writer, src io.ReaderAt, size int64, profile []byte, o Options) error {
	p, err := newProfile(profile, o.Limits.profile())
	if err != nil {
		return err
	}
	return rewrite(dst, src, size, &p, o)
}

// Remove writes the image of size bytes to dst without its profile. All else
// keeps its bytes and its order, but for what the package's documentation
// lists; a file without profile comes out as it is. Errors and memory are
// those of Insert. A profile that is damaged is removed like any other.
//
// In a TIFF the profile's bytes stay in the file, where nothing points to them
// any more: whoever must not see a profile needs the file saved anew.
func Remove(dst io.Writer, src io.ReaderAt, size int64, o Options) error {
	return rewrite(dst, src, size, nil, o)
}

// rewrite puts p in the place of any profile; nil puts nothing there.
func rewrite(dst io.Writer, src io.ReaderAt, size int64, p *profile, o Options) error {
	if o.CICP != nil && (o.CICP.Matrix != 0 || o.CICP.FullRange > 1) {
		return errors.New("embed: Options.CICP: PNG allows matrix 0 alone (its pixels are RGB), and 0 or 1 for the range")
	}
	f, err := open(src, size)
	if err != nil {
		return err
	}
	if o.CICP != nil && f.format != PNG {
		return fmt.Errorf("embed: Options.CICP: %w by %s; leave it nil", icc.ErrUnsupported, f.format)
	}
	var edits []edit
	switch f.format {
	case PNG:
		edits, err = f.editPNG(p, o)
	case JPEG:
		edits, err = f.editJPEG(p)
	default:
		edits, err = f.editTIFF(p, o)
	}
	if err != nil {
		return err
	}
	return f.write(dst, edits)
}
