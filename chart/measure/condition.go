package measure

import "fmt"

// Condition names something that spoils readings without any device failing.
type Condition string

// The conditions that are told apart, and by what. [Inspect] finds all but the
// last, and says which of them readings cannot tell from each other.
const (
	// DisplayDark: even white gives no light.
	DisplayDark Condition = "display asleep or covered"
	// InstrumentSlipped: every patch gives the same share of its light, and light
	// has come into the dark.
	InstrumentSlipped Condition = "instrument slipped"
	// AmbientChanged: the dark has become brighter or darker, white has not.
	AmbientChanged Condition = "ambient light changed"
	// SelfAdjusting: every patch gives the same share of its light, or channels
	// different shares, or brightness follows the patch.
	SelfAdjusting Condition = "automatic brightness or night mode at work"
	// OutputClipped: levels close to black or white look like black or white.
	OutputClipped Condition = "output clipped"
	// OutputDuplicated: the instrument sees one light whatever the patch.
	OutputDuplicated Condition = "output duplicated"
	// PatchNotShown: it sees the patch before, or the last one for good; or a
	// screen says so itself.
	PatchNotShown Condition = "patch not shown"
	// CurvesUnexpected: white and black are as they were, greys or primaries are
	// not.
	CurvesUnexpected Condition = "profile or curves in force where a linear state was expected"
	// CurvesMissing: greys are as they would be without the curves in force.
	CurvesMissing Condition = "curves expected but not in force"
	// ReadingDoubtful: a reading is what no display gives, or one patch alone is
	// off as nothing but a reading is.
	ReadingDoubtful Condition = "reading not believable"
	// ChannelsExchanged: the patch that should be red, or blue, is another.
	ChannelsExchanged Condition = "colour channels exchanged"
	// DarkExpired: the instrument says so, and could not be calibrated anew.
	DarkExpired Condition = "dark calibration expired"
)

// known reports whether c is one of the conditions.
func (c Condition) known() bool {
	switch c {
	case DisplayDark, InstrumentSlipped, AmbientChanged, SelfAdjusting, OutputClipped, OutputDuplicated,
		PatchNotShown, CurvesUnexpected, CurvesMissing, ReadingDoubtful, ChannelsExchanged, DarkExpired:
		return true
	}
	return false
}

// ConditionError says that a condition was met: by what it shows, and what to
// do about it.
type ConditionError struct {
	Condition Condition
	Evidence  string // what was seen, with figures
	Remedy    string // what a person can do
	Err       error  // the cause, where something failed; or nil
}

// Error tells condition, evidence and remedy in one sentence.
func (e *ConditionError) Error() string {
	return once(fmt.Sprintf("%s: %s; %s", e.Condition, e.Evidence, e.Remedy))
}

// Unwrap returns the cause.
func (e *ConditionError) Unwrap() error { return e.Err }
