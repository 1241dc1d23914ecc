package aim

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ErrAmbient is returned where an aim needs the ambient light that the screen
// reflects, measured, and does not have it.
var ErrAmbient = errors.New("aim: a gsdf aim needs the ambient light that the screen reflects, measured: switch the display off, light the room as it is used, read the screen from where people sit, and give the cd/m²; without it there are no targets and no verdict")

// AmbientSource says where a figure for ambient light comes from.
type AmbientSource int

const (
	// AmbientUnknown is the zero value: nothing is known, and the display is
	// taken as seen in the dark.
	AmbientUnknown AmbientSource = iota
	// AmbientMeasured was read off the screen with the display off and the room
	// lit as it is used.
	AmbientMeasured
	// AmbientEstimated follows from other figures, as [EstimateAmbient] has it,
	// or from somebody's word. It serves for ratios, never for a verdict.
	AmbientEstimated
)

// String returns "unknown", "measured" or "estimated".
func (s AmbientSource) String() string {
	switch s {
	case AmbientUnknown:
		return "unknown"
	case AmbientMeasured:
		return "measured"
	case AmbientEstimated:
		return "estimated"
	}
	return fmt.Sprintf("ambient source %d", int(s))
}

// Ambient is the light of the room that the screen throws back to the people
// before it, in cd/m². It comes on top of what the display itself shows, which
// is what an instrument on the glass, or in a dark room, reads.
type Ambient struct {
	Source AmbientSource
	CdM2   float64 // 0 where Source is AmbientUnknown; at most 1000
}

// MeasuredAmbient returns ambient light that was measured, in cd/m²; 0 is a
// dark room.
func MeasuredAmbient(cdM2 float64) Ambient { return Ambient{AmbientMeasured, cdM2} }

// EstimateAmbient returns the ambient light that a screen of diffuse
// reflectance, 0 to 1, throws back under an illuminance in lx on its face:
// reflectance·lx/π. Mirror images of lamps and windows come on top, so that it
// is the least that is to be expected.
//
// Source: Lambert's law.
func EstimateAmbient(reflectance, lux float64) (Ambient, error) {
	y, err := PaperLuminance(reflectance, lux)
	if err != nil {
		return Ambient{}, err
	}
	a := Ambient{AmbientEstimated, y}
	return a, a.check()
}

// String returns the words that [ParseAmbient] reads as a.
func (a Ambient) String() string {
	n := strconv.FormatFloat(a.CdM2, 'f', -1, 64)
	switch a.Source {
	case AmbientMeasured:
		return n
	case AmbientEstimated:
		return n + " estimated"
	}
	return "unknown"
}

// ParseAmbient reads ambient light: a luminance in cd/m², 0 to below 1000, as
// measured ("0.4"), one that was estimated ("0.4 estimated"), or "unknown".
func ParseAmbient(s string) (Ambient, error) {
	t := strings.ToLower(strings.TrimSpace(s))
	if t == "unknown" {
		return Ambient{}, nil
	}
	a := Ambient{Source: AmbientMeasured}
	if n, ok := strings.CutSuffix(t, "estimated"); ok {
		a.Source, t = AmbientEstimated, strings.TrimSpace(n)
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(strings.TrimSuffix(t, "measured")), 64)
	if a.CdM2 = v; err != nil || a.check() != nil {
		return Ambient{}, fmt.Errorf(`aim: ambient %q is not understood; give the cd/m² that the screen reflects, 0 to below %d, such as 0.4 where it was measured, 0.4 estimated, or unknown`, s, maxBlack)
	}
	return a, nil
}

func (a Ambient) check() error {
	switch {
	case a.Source < AmbientUnknown || a.Source > AmbientEstimated:
		return fmt.Errorf("aim: %v is not known; ambient light is unknown, measured or estimated", a.Source)
	case a.Source == AmbientUnknown && a.CdM2 != 0:
		return fmt.Errorf("aim: ambient light of %g cd/m² of unknown source; say measured or estimated", a.CdM2)
	case !(a.CdM2 >= 0 && a.CdM2 < maxBlack):
		return fmt.Errorf("aim: ambient light of %g cd/m²; 0 to below %d is possible", a.CdM2, maxBlack)
	}
	return nil
}

// SeenRatio returns white over black as people see them: both in cd/m² as the
// display shows them, with the ambient light of a added. It is infinite where
// there is no light in the black, NaN where white is not above 0.
func (a Ambient) SeenRatio(white, black float64) float64 {
	if !(white > 0) {
		return math.NaN()
	}
	return (white + a.CdM2) / (math.Max(black, 0) + a.CdM2)
}
