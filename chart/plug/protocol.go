package plug

import (
	"encoding/json"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// ProtocolVersion is the version of the line protocol that PROTOCOL.md
// describes, the only one that this package speaks.
const ProtocolVersion = 1

// Limits on what a program may say. PROTOCOL.md states them.
const (
	maxLine     = 1 << 20 // bytes; a spectrum of 20,000 samples fits, and 3 curves of 4096 entries
	maxDepth    = 8       // nesting; an offer goes three deep
	maxName     = 256     // bytes of a name, a serial number: what a journal takes
	maxText     = 2000    // bytes of a sentence for people; what is longer is cut
	maxSays     = 1000    // sentences for people within one message
	maxControls = 100
	maxStep     = 1 << 20 // of a control, either way
	longestTake = time.Hour
)

// What a program is told to do.
const (
	doHello     = "hello"
	doShow      = "show"
	doCheck     = "check"
	doCurves    = "curves"
	doMeasure   = "measure"
	doCalibrate = "calibrate_dark"
	doSet       = "set"
	doSleep     = "sleep"
	doRestore   = "restore"
)

// triple is a signal or a colour on the wire.
type triple [3]float64

// request is a line to the program. Fields that a message does not have are
// left out.
type request struct {
	ID       int        `json:"id"`
	Do       string     `json:"do"`
	Versions []int      `json:"versions,omitempty"`
	Channel  string     `json:"channel,omitempty"`
	Reading  *int       `json:"reading,omitempty"`
	Repeat   *int       `json:"repeat,omitempty"`
	Signal   *triple    `json:"signal,omitempty"`
	Red      []uint16   `json:"red,omitzero"` // empty is not the same as left out
	Green    []uint16   `json:"green,omitzero"`
	Blue     []uint16   `json:"blue,omitzero"`
	Control  string     `json:"control,omitempty"`
	Step     *int       `json:"step,omitempty"`
	ForNS    *int64     `json:"for_ns,omitempty"`
	Time     *time.Time `json:"time,omitempty"`
}

// line returns the request as it goes to the program.
func (r request) line() ([]byte, error) {
	b, err := json.Marshal(r)
	return append(b, '\n'), err
}

func wireRGB(c colorimetry.RGB) *triple { return &triple{c.R, c.G, c.B} }

// Conditions on the wire, and what they are in package measure.
var conditions = map[string]measure.Condition{
	"display_dark":       measure.DisplayDark,
	"instrument_slipped": measure.InstrumentSlipped,
	"ambient_changed":    measure.AmbientChanged,
	"self_adjusting":     measure.SelfAdjusting,
	"output_clipped":     measure.OutputClipped,
	"output_duplicated":  measure.OutputDuplicated,
	"patch_not_shown":    measure.PatchNotShown,
	"curves_unexpected":  measure.CurvesUnexpected,
	"curves_missing":     measure.CurvesMissing,
	"dark_expired":       measure.DarkExpired,
}

// Kinds of failure that a program tells apart.
const (
	kindPassing   = "passing"   // another try may help
	kindCondition = "condition" // something spoils readings
	kindFailure   = "failure"   // anything else
	kindUnknown   = "unknown"   // the program does not know the message
	kindVersion   = "version"   // it speaks none of the versions offered
)

// failure is what a program says where it cannot do what it was told.
type failure struct {
	Kind      string `json:"kind"`
	Condition string `json:"condition,omitempty"`
	Text      string `json:"text"`
	Remedy    string `json:"remedy,omitempty"`
}

// answer is a line from the program: exactly one of Say, Done and Failed.
type answer struct {
	ID     *int            `json:"id"`
	Now    *time.Time      `json:"now,omitempty"`
	Say    *string         `json:"say,omitempty"`
	Done   json.RawMessage `json:"done,omitempty"`
	Failed *failure        `json:"failed,omitempty"`
}

// helloDone is what a program says about itself.
type helloDone struct {
	Version    *int             `json:"version"`
	Program    *string          `json:"program"`
	Screen     *screenOffer     `json:"screen,omitempty"`
	Instrument *instrumentOffer `json:"instrument,omitempty"`
	Reference  *instrumentOffer `json:"reference,omitempty"`
	Controls   []controlOffer   `json:"controls,omitempty"`
	Clock      bool             `json:"clock,omitempty"`
}

type screenOffer struct {
	Name         *string  `json:"name"`
	Mode         string   `json:"mode,omitempty"`
	Bits         *int     `json:"bits"`
	WindowShare  *float64 `json:"window_share"`
	Surround     float64  `json:"surround,omitempty"`
	SelfLuminous bool     `json:"self_luminous,omitempty"`
	SettleMS     int      `json:"settle_ms,omitempty"`
	Limited      bool     `json:"limited,omitempty"`
	Simulated    bool     `json:"simulated,omitempty"`
	Curves       bool     `json:"curves,omitempty"` // it holds correction curves
	Check        bool     `json:"check,omitempty"`  // it can tell whether the patch stands there
}

type instrumentOffer struct {
	Name                 *string     `json:"name"`
	Serial               string      `json:"serial,omitempty"`
	Spectral             bool        `json:"spectral,omitempty"`
	Spectrum             bool        `json:"spectrum,omitempty"` // every reading has its spectrum
	Noise                *noiseOffer `json:"noise,omitempty"`
	LowestCdM2           float64     `json:"lowest_cd_m2,omitempty"`
	Use                  string      `json:"use,omitempty"`
	WholeRefresh         bool        `json:"whole_refresh,omitempty"`
	Certificate          string      `json:"certificate,omitempty"`
	CertificateUV        float64     `json:"certificate_uv,omitempty"`
	CertificateLuminance float64     `json:"certificate_luminance_share,omitempty"`
	DarkCalibration      *darkDone   `json:"dark_calibration,omitempty"` // it needs dark calibration
}

type noiseOffer struct {
	Chromaticity *float64 `json:"chromaticity_xy"`
	Luminance    *float64 `json:"luminance_share"`
	FloorCdM2    *float64 `json:"floor_cd_m2"`
}

type controlOffer struct {
	Name *string `json:"name"`
	Min  *int    `json:"min"`
	Max  *int    `json:"max"`
	Now  *int    `json:"now"`
}

type measureDone struct {
	XYZ      []float64      `json:"xyz"`
	TookNS   *int64         `json:"took_ns"`
	Spectrum *spectrumOffer `json:"spectrum,omitempty"`
}

type spectrumOffer struct {
	NM     []float64 `json:"nm"`
	Values []float64 `json:"values"`
}

// darkDone says until when the dark calibration in force holds, nothing where
// there is none.
type darkDone struct {
	Until *time.Time `json:"until,omitempty"`
}

// noDone is the answer of a message that has nothing to tell.
type noDone struct{}
