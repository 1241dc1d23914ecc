package controls

import (
	"cmp"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
)

// Options says how to guide. The zero value is the usual job.
type Options struct {
	// Averages is the number of integrations of a reading on the way; 0
	// means 4. Where two steps have to be told apart more are taken.
	Averages int
	// MostAverages is the most integrations spent on telling two neighbouring
	// steps apart; 0 means 32.
	MostAverages int
	// MaxReadings is the most readings of white and black that are taken; 0
	// means 60.
	MaxReadings int
	// AcceptCdM2 is the remainder in cd/m² that is accepted where a stepped
	// control cannot hit the luminance; 0 means 5 (common practice, no
	// source).
	AcceptCdM2 float64
	// WhiteEnough is the distance from the aim's white in u'v' at which the
	// gains are left alone: the curves take up so little without losing
	// levels. 0 means 0.001.
	WhiteEnough float64
	// LuminanceEnough is the share of the aim's luminance within which
	// brightness is left alone; 0 means 0.005.
	LuminanceEnough float64
	// BlackEnough is the share of the aim's black within which the controls of
	// the black are left alone; 0 means 0.05.
	BlackEnough float64
}

// filled returns o with its defaults.
func (o Options) filled() Options {
	set := func(v *float64, usual float64) {
		if !(*v > 0) {
			*v = usual
		}
	}
	o.Averages = cmp.Or(max(o.Averages, 0), 4)
	o.MostAverages = max(cmp.Or(max(o.MostAverages, 0), 32), o.Averages)
	o.MaxReadings = cmp.Or(max(o.MaxReadings, 0), 60)
	set(&o.AcceptCdM2, 5)
	set(&o.WhiteEnough, 0.001)
	set(&o.LuminanceEnough, 0.005)
	set(&o.BlackEnough, 0.05)
	return o
}

// Step is one reading of the white, or of the black, after a move of one control
// or without.
type Step struct {
	// Black says that the black was read: White is then its colour, and DeltaUV
	// is 0.
	Black    bool            `json:"black,omitempty"`
	Control  string          `json:"control,omitempty"` // "" for a reading without a move
	From     int             `json:"from"`
	To       int             `json:"to"`
	White    colorimetry.XYZ `json:"white"` // as read, cd/m²
	Averages int             `json:"averages"`
	DeltaUV  float64         `json:"delta_uv"` // of this reading from the aim's white, 0 where that is native
	// Sentence is the move as guidance, and what was read after it.
	Sentence string `json:"sentence"`
}

// Result is what guidance came to.
type Result struct {
	Steps []Step `json:"steps"`
	// Settings are the steps in force at the end, in the order of the
	// controls.
	Settings []measure.Control `json:"settings"`
	// White is the white at the end in cd/m²: all readings at these settings,
	// weighted. LuminanceUncertainty (cd/m²) and WhiteUncertainty (Δu'v') are
	// standard uncertainties from the readings' noise.
	White                colorimetry.XYZ `json:"white"`
	LuminanceUncertainty float64         `json:"luminance_uncertainty_cd_m2"`
	WhiteUncertainty     float64         `json:"white_uncertainty_uv"`
	// Reachable is the luminance in cd/m² that is left at the exact white of
	// the aim, once curves have taken back the channels that are too strong.
	Reachable float64 `json:"reachable_cd_m2"`
	// DeltaUV is the distance of White from the aim's white in u'v' and
	// DeltaLuminance Reachable less the aim's luminance in cd/m²; both 0 where
	// the aim is native.
	DeltaUV        float64 `json:"delta_uv"`
	DeltaLuminance float64 `json:"delta_luminance_cd_m2"`
	// Black is the black at the end in cd/m², all readings at these settings,
	// BlackUncertainty the standard uncertainty of its luminance and DeltaBlack
	// its luminance less the aim's; all 0 where the aim names no black or the
	// display has no control of it.
	Black            colorimetry.XYZ `json:"black,omitzero"`
	BlackUncertainty float64         `json:"black_uncertainty_cd_m2,omitempty"`
	DeltaBlack       float64         `json:"delta_black_cd_m2,omitempty"`
	// Accepted says whether the luminance is within Options.AcceptCdM2, or
	// above the aim, from where the curves can go down.
	Accepted bool `json:"accepted"`
	// Aim is the aim for the curves: the luminance reached in place of the one
	// asked for.
	Aim aim.Aim `json:"aim"`
	// Sentences is the outcome in words.
	Sentences []string `json:"sentences"`
}
