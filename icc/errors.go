package icc

import (
	"errors"
	"fmt"
)

// ErrUnsupported marks a profile that is valid but that the called function
// cannot handle; errors.Is finds it inside the error returned.
var ErrUnsupported = errors.New("not supported")

// FormatError reports bytes that are not an acceptable profile.
type FormatError struct {
	Tag    string // signature of the tag, "header" or "tag table"
	Offset int64  // from the start of the profile, in bytes
	Err    error  // what is wrong
}

// Error returns the tag, the offset and what is wrong there.
func (e *FormatError) Error() string {
	return fmt.Sprintf("icc: %s at byte %d: %v", e.Tag, e.Offset, e.Err)
}

// Unwrap returns e.Err.
func (e *FormatError) Unwrap() error { return e.Err }
