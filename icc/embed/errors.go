package embed

import (
	"errors"
	"fmt"
)

// What errors.Is finds inside the errors of this package, besides
// [example.org/primaries/icc.ErrUnsupported] where something valid has no place
// here and [io.ErrUnexpectedEOF] where a file is cut off.
var (
	// ErrFormat marks a file that is none of those that the package knows.
	ErrFormat = errors.New("it is no PNG, JPEG or TIFF")
	// ErrLimit marks a profile larger than Limits allows.
	ErrLimit = errors.New("over the limit")
	// ErrMisfit marks a profile of another colour space than the image has.
	ErrMisfit = errors.New("the profile does not fit the image")
)

// FormatError reports an image file that cannot be read or that a profile
// cannot be put into.
type FormatError struct {
	Format  Format // empty where the file is none of those known
	Offset  int64  // of the part that the problem is in, from the start of the file
	Problem string
	Remedy  string // what the person who has the file can do
	Err     error  // the kind of error, nil for plain damage
}

// Error returns format, offset, problem and remedy in one line.
func (e *FormatError) Error() string {
	format := e.Format
	if format == "" {
		format = "file"
	}
	return fmt.Sprintf("embed: %s at byte %d: %s; %s", format, e.Offset, e.Problem, e.Remedy)
}

// Unwrap returns e.Err.
func (e *FormatError) Unwrap() error { return e.Err }

// Remedies that many errors share.
const (
	copyAgain = "copy the file from its source again, or save it anew"
	saveAnew  = "save the image anew with a program that writes it as the standard says"
)
