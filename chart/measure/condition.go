package measure

import "fmt"

// Condition names something that spoils readings without any device failing.
type Condition string

// The conditions that are told apart.
const (
	DisplayDark       Condition = "display asleep or covered"
	InstrumentSlipped Condition = "instrument slipped"
	AmbientChanged    Condition = "ambient light changed"
	SelfAdjusting     Condition = "automatic brightness or night mode at work"
	OutputClipped     Condition = "output clipped"
	OutputDuplicated  Condition = "output duplicated"
	PatchNotShown     Condition = "patch not shown"
	CurvesUnexpected  Condition = "profile or curves in force where a linear state was expected"
	CurvesMissing     Condition = "curves expected but not in force"
	DarkExpired       Condition = "dark calibration expired"
)

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
	return fmt.Sprintf("measure: %s: %s; %s", e.Condition, e.Evidence, e.Remedy)
}

// Unwrap returns the cause.
func (e *ConditionError) Unwrap() error { return e.Err }
