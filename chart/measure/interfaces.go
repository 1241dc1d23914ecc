package measure

import (
	"context"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// Screen shows patches. A Session never calls it from two goroutines at once.
type Screen interface {
	// Show fills the measured field with signal and returns once it is
	// visible. The signal enters the path before the curves in force.
	Show(ctx context.Context, signal colorimetry.RGB) error
	// Screen describes the path. It does not change during a session.
	Screen() ScreenInfo
}

// ScreenInfo describes a display path.
type ScreenInfo struct {
	Name        string  `json:"name"`              // display's name, for reports and file names
	Mode        string  `json:"mode"`              // its gamut mode, "native" where it has one only
	Bits        int     `json:"bits"`              // depth of the path after the curves, bits a channel
	WindowShare float64 `json:"window_share"`      // area of the patch as a share of the screen, 0 to 1
	Surround    float64 `json:"surround"`          // signal around the patch, 0 to 1
	SelfLit     bool    `json:"self_luminous"`     // pixels make their own light: mind wear
	SettleMS    int     `json:"settle_ms"`         // time a patch needs to settle; 0 means 400
	Limited     bool    `json:"limited,omitempty"` // signals occupy the limited (video) range
	// CurvesBy is what applies correction curves where the screen itself holds
	// them, such as "page"; "" where it does not say.
	CurvesBy  string `json:"curves_by,omitempty"`
	Simulated bool   `json:"simulated,omitempty"`
}

// CurveLoader is a Screen that holds correction curves itself. Without it the
// session applies the curves to each signal and counts the lost levels.
type CurveLoader interface {
	// LoadCurves puts curves in force; the zero Channels takes them away.
	LoadCurves(ctx context.Context, curves tone.Channels) error
}

// SelfChecker is a Screen that can tell whether its patch is seen as it should
// be. The session asks after the integrations of each reading, and does not
// keep one that was taken while something was wrong: it shows the patch again
// and reads again, up to three times.
type SelfChecker interface {
	// CheckScreen returns nil where the patch stands there as Show left it,
	// else an error that wraps a *[ConditionError], or ErrTransient where another
	// try may help, or says why it cannot tell, which ends the run at once.
	CheckScreen(ctx context.Context) error
}

// Instrument reads the light of the patch that is shown.
type Instrument interface {
	// Measure takes one integration. The error wraps ErrTransient where
	// another try may help.
	Measure(ctx context.Context, want Request) (Sample, error)
	// Instrument describes the instrument. It does not change during a
	// session.
	Instrument() InstrumentInfo
}

// Request tells the instrument what it is about to read. A real instrument may
// ignore it; a simulated one keys its noise by it.
type Request struct {
	Reading int             // index of the reading in its run, from 0
	Repeat  int             // which integration of the reading this is, from 0
	Signal  colorimetry.RGB // signal shown
}

// Sample is what one integration gave.
type Sample struct {
	// XYZ is absolute, in cd/m², as the instrument reports it. A component that is
	// not finite, or beyond ±1e10, is taken for a fault of the instrument.
	XYZ      colorimetry.XYZ
	Duration time.Duration // how long the integration took, at least 0
	// Spectrum is the spectral radiance in W/(sr m² nm) that XYZ was made from;
	// the zero Spectrum where the instrument gives none.
	Spectrum spectrum.Spectrum
}

// InstrumentInfo describes an instrument.
type InstrumentInfo struct {
	Name     string `json:"name"`
	Serial   string `json:"serial,omitempty"`
	Spectral bool   `json:"spectral"` // integrates spectra: needs no mismatch correction
	Noise    Noise  `json:"noise"`    // of one integration, as its maker or a study states it
	// LowestCdM2 is the lowest luminance at which a reading is trustworthy.
	LowestCdM2 float64 `json:"lowest_cd_m2,omitempty"`
	// Observer names the observer whose functions XYZ was made with, where that
	// is not the CIE 1931 standard observer.
	Observer string `json:"observer,omitempty"`
	// Use is how the instrument is set up: UseContact, UseDistance, UseAmbient,
	// or "" where it does not say.
	Use string `json:"use,omitempty"`
	// WholeRefresh says that integrations span whole refresh periods of the
	// display, so that a flickering light reads steady.
	WholeRefresh bool `json:"whole_refresh,omitempty"`
	// Certificate names the certificate of calibration; the standard
	// uncertainties that it states follow, 0 where it states none.
	Certificate          string  `json:"certificate,omitempty"`
	CertificateUV        float64 `json:"certificate_uv,omitempty"`              // of u' and of v', on a display white
	CertificateLuminance float64 `json:"certificate_luminance_share,omitempty"` // share of Y
}

// How an instrument is set up, as InstrumentInfo.Use names it.
const (
	UseContact  = "contact"  // its rim rests on the glass
	UseDistance = "distance" // it looks from a distance
	UseAmbient  = "ambient"  // it looks at the light that falls on the display
)

// DarkCalibrator is an Instrument that has to look into darkness now and then.
type DarkCalibrator interface {
	// DarkCalibration returns until when the dark calibration in force holds,
	// by the session's clock; the zero time where there is none.
	DarkCalibration() time.Time
	// CalibrateDark takes one. Where a person has to cover the instrument, it
	// asks for that and waits; an error says what has to be done first.
	CalibrateDark(ctx context.Context) error
}

// Controls are a display's own stepped controls. A person or a bus turns them.
type Controls interface {
	// Controls lists what there is, in the order in which it should be set.
	Controls() []Control
	// Set brings one control to a step within its range and returns once the
	// display has taken it.
	Set(ctx context.Context, name string, step int) error
}

// Names of the controls that guidance knows how to use.
const (
	Brightness = "brightness"
	RedGain    = "red gain"
	GreenGain  = "green gain"
	BlueGain   = "blue gain"
	// The black, of all channels together and of each by itself.
	Black       = "black"
	RedOffset   = "red offset"
	GreenOffset = "green offset"
	BlueOffset  = "blue offset"
)

// Control is one stepped control.
type Control struct {
	Name string `json:"name"`
	Min  int    `json:"min"` // lowest step
	Max  int    `json:"max"` // highest step, inclusive
	Now  int    `json:"now"` // the step in force
}

// Clock is the source of time. A real one is [SystemClock].
type Clock interface {
	Now() time.Time
	// Sleep returns after d, or earlier with the context's error.
	Sleep(ctx context.Context, d time.Duration) error
}

// Restorer is a Clock (or Instrument, or Screen) that must be told where a
// replayed journal ended: a simulated clock sets its time, a simulated display
// its age.
type Restorer interface {
	Restore(ctx context.Context, last Reading) error
}

// Journal keeps the run. It is append-only: Append returns once line, which
// holds no newline, is on its way; Sync once all appended lines are safe. Two
// runs must never write to one: a journal that is a file keeps the second out,
// as keep.OpenJournal does.
type Journal interface {
	Append(line []byte) error
	Sync() error
}
