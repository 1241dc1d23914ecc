package plug

import "example.org/primaries/colorimetry"

// phase is what a page is for at the moment.
type phase string

const (
	phaseRun      phase = ""          // it shows patches
	phaseHandOver phase = "hand-over" // a person loads curves into the system
	phaseFinished phase = "finished"
	phaseStopped  phase = "stopped" // the Browser was closed and nobody said that all is done
)

// over reports whether nothing is shown any more.
func (p phase) over() bool { return p == phaseFinished || p == phaseStopped }

// Roles of a page.
const (
	roleOwner  = "owner"  // the one page that shows
	roleSecond = "second" // another shows
	roleVacant = "vacant" // another showed, and is gone: a click here takes over
)

// Field is a rectangle of one signal in a picture that is looked at.
type Field struct {
	X, Y, W, H float64 // left, top, width, height as shares of the screen, 0 to 1
	Signal     colorimetry.RGB
	Label      string // shown in its lower left corner, "" = none
}

// picture is what the page shows.
type picture struct {
	ID     int         `json:"id"` // counts what was asked for, from 1; 0 = nothing yet
	RGB    [3]int      `json:"rgb"`
	Wide   *[3]float64 `json:"wide,omitempty"` // in Display P3, in place of RGB
	Fields []pageField `json:"fields,omitempty"`
}

// pageField is a Field as the page takes it.
type pageField struct {
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
	W     float64 `json:"w"`
	H     float64 `json:"h"`
	RGB   [3]int  `json:"rgb"`
	Label string  `json:"label,omitempty"`
}

// pageView is all that a page is told.
type pageView struct {
	N        int       `json:"n"`
	Role     string    `json:"role"`
	Phase    phase     `json:"phase"`
	Text     string    `json:"text"`
	Display  string    `json:"display"`
	Share    float64   `json:"share"`
	Surround int       `json:"surround"`
	Looking  bool      `json:"looking"`
	Timed    bool      `json:"timed"`
	SelfLit  bool      `json:"selfLit"`
	Picture  picture   `json:"picture"`
	Check    int       `json:"check"`
	Curves   string    `json:"curves"`
	Tables   *[3][]int `json:"tables,omitempty"` // where the page has not got those yet
	PerCM    float64   `json:"perCM"`
	Diagonal float64   `json:"diagonal"`
	Base     *pageBase `json:"base"`
}

// pageBase is what must not change under a run, as browsers tell it.
type pageBase struct {
	Width    float64 `json:"width"`    // of the screen, CSS pixels
	Height   float64 `json:"height"`   //
	Left     float64 `json:"left"`     // where the screen lies on the desktop
	Top      float64 `json:"top"`      //
	Ratio    float64 `json:"ratio"`    // device pixels a CSS pixel
	Extended string  `json:"extended"` // "yes", "no", "" = not told: the desktop has several screens
	Gamut    string  `json:"gamut"`    // what the browser takes the display for: "srgb", "p3", "rec2020"
}

// pageReport is all that a page tells.
type pageReport struct {
	Kind    string   `json:"kind"` // hello, state, shown, started, step, take, done, size, leave, back
	Page    string   `json:"page"`
	Seq     int      `json:"seq"`     // counts the page's reports: they may overtake each other
	Picture int      `json:"picture"` // what stands there, 0 = nothing
	Painted string   `json:"painted"` // its colour as the browser computed it
	Curves  string   `json:"curves"`  // those that it was looked up in
	Check   int      `json:"check"`   // the question that this answers
	Started bool     `json:"started"`
	Trouble []string `json:"trouble"` // keys of troubles
	Now     pageBase `json:"now"`
	Scale   float64  `json:"scale"` // of a pinched page
	Inner   float64  `json:"inner"` // width of the page, CSS pixels
	Wide    bool     `json:"wide"`  // takes colours of Display P3
	Step    int      `json:"step"`
	PerCM   float64  `json:"perCM"`
}
