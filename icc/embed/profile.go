package embed

import (
	"encoding/binary"
	"errors"
	"fmt"

	"example.org/primaries/icc"
)

// profile is a profile to be put into a file.
type profile struct {
	bytes []byte
	space icc.Signature
}

// leastProfile is header and number of tags. Source: ICC.1:2022, 7.1.
const leastProfile = 132

// newProfile checks as much of a profile as embedding it depends on.
//
// Source: ICC.1:2022, 7.2 for the header; annex B for the two classes that do
// not describe an image and that no file may carry, as ICC white paper 36
// (2012) sums it up.
func newProfile(b []byte, limit int64) (profile, error) {
	if int64(len(b)) > limit {
		return profile{}, fmt.Errorf("embed: a profile of %d bytes is %w of %d; raise Limits.Profile", len(b), ErrLimit, limit)
	}
	bad := func(off int64, err error) (profile, error) {
		return profile{}, fmt.Errorf("embed: %w", &icc.FormatError{Tag: "header", Offset: off, Err: err})
	}
	if len(b) < leastProfile {
		return bad(int64(len(b)), fmt.Errorf("%d bytes are no profile; give all bytes of one", len(b)))
	}
	if string(b[36:40]) != "acsp" {
		return bad(36, errors.New("the bytes 'acsp' of an ICC profile are missing; give all bytes of one"))
	}
	if n := binary.BigEndian.Uint32(b); uint64(n) != uint64(len(b)) {
		return bad(0, fmt.Errorf("the profile states %d bytes and has %d; give exactly those", n, len(b)))
	}
	switch class := icc.Signature(binary.BigEndian.Uint32(b[12:])); class {
	case icc.ClassLink, icc.ClassAbstract:
		return bad(12, fmt.Errorf("a profile of class '%v' describes no image: %w; give an input, display, output or colour space profile", class, icc.ErrUnsupported))
	}
	return profile{b, icc.Signature(binary.BigEndian.Uint32(b[16:]))}, nil
}

// misfit reports a profile for another kind of colour than the image, whose
// kind the part at off tells.
func (f *file) misfit(off int64, p *profile, image, wanted string) error {
	return f.fail(off, ErrMisfit, fmt.Sprintf("%v: the image is %s, the profile's colour space is %v", ErrMisfit, image, p.space),
		"give a profile for "+wanted+", or convert the image")
}
