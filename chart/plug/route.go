package plug

import (
	"context"
	"errors"
	"fmt"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// StageRoute is the stage of the readings by which [CheckRoute] judges.
const StageRoute = "route"

// RouteState says what was found about the way of a page's colours to the
// display.
type RouteState string

// The states of a route.
const (
	// RoutePlain: codes reach the display as they are.
	RoutePlain RouteState = "colours are passed on as they are"
	// RouteUntold: the display shows exactly what a page's colours should look
	// like, so that it is either such a display by itself, and a conversion
	// changes next to nothing, or its profile hides its own tone.
	RouteUntold RouteState = "whether colours are converted cannot be told"
	// RouteConverted: the browser, or the system behind it, converts colours.
	RouteConverted RouteState = "colours are converted"
)

// Route is what [CheckRoute] found.
type Route struct {
	State    RouteState
	Sentence string // state, evidence with figures, and what to do
	// Pair is the difference in u'v' between a page's red or green, whichever
	// tells more, and the red or green of Display P3; PairNoise is its standard
	// uncertainty. On a plain route both are cut off at the same codes.
	Pair, PairNoise float64
	// Expected is what Pair would be on this display if colours were converted
	// to its own profile. Where it is below PairLimit the display has next to
	// no wider colours, and a conversion of primaries does no harm.
	Expected float64
	// Primaries is how far in x and y a page's red, green or blue lies outside
	// the triangle of sRGB under the display's white, where no converted colour
	// of a page can be.
	Primaries float64
	// Ramp is the largest share by which the light of a grey differs from that
	// of sRGB.
	Ramp float64
	// Gamut is what the browser takes the display for: "srgb", "p3",
	// "rec2020", or "" where no page was there to ask, as in a replay.
	Gamut string
}

// RouteOptions steer [CheckRoute]. The zero value is the default.
type RouteOptions struct {
	Averages int // integrations of each reading, 1 to 1000; 0 = 4
}

// CheckRoute measures, before the first patch of a run, whether the colours of
// the page reach the display as they are. It reads white, black, the primaries,
// a ramp of greys, and red and green as Display P3 has them, all through s,
// whose screen b must be, without curves.
//
// A browser that converts shows the wider pair beyond its own red and green on
// any display that can; one that does not has to cut both off at the same
// codes. Where the pair says nothing, because the display has no wider colours
// or the browser cuts them off before it converts, primaries and ramp are held
// against the sRGB that a converted route would show. The error wraps a
// *[measure.ConditionError] where colours are converted; [RouteUntold] is none,
// but its Sentence is for people to read.
//
// What it cannot see: a conversion to a wrong profile by a browser that cuts
// wide colours off and takes the display for no wider than sRGB.
func CheckRoute(ctx context.Context, s *measure.Session, b *Browser, o RouteOptions) (Route, error) {
	if s.Curves().Len() > 0 {
		return Route{}, errors.New("plug: curves are in force; check the route before curves are loaded")
	}
	if o.Averages == 0 {
		o.Averages = 4
	}
	var r routeReadings
	for _, p := range routePatches() {
		reading, err := b.readRoute(ctx, s, p, o.Averages)
		if err != nil {
			return Route{}, err
		}
		*p.to(&r) = reading
	}
	gamut := b.takenFor()
	route := r.judge(gamut)
	page, system := b.Curves()
	note := routeNote{"the page", page, system, gamut, string(route.State)}
	if err := s.Note("browser", note); err != nil {
		return route, err
	}
	if route.State == RouteConverted {
		return route, fmt.Errorf("plug: the route to the display: %w", &measure.ConditionError{
			Condition: measure.CurvesUnexpected, Evidence: route.Sentence,
			Remedy: "set the display's profile in the system to sRGB for the run, or start the browser with --force-color-profile=srgb if it knows that option; then reload the page and begin again",
		})
	}
	return route, nil
}

// routeNote is what the journal keeps of a browser.
type routeNote struct {
	CurvesBy     string `json:"curves_applied_by"`
	CurvesPage   string `json:"curves_on_page"`
	CurvesSystem string `json:"curves_in_system,omitempty"`
	Gamut        string `json:"display_taken_for,omitempty"`
	Route        string `json:"route"`
}

// readRoute takes one reading. The journal tells a wide patch by its name.
func (b *Browser) readRoute(ctx context.Context, s *measure.Session, p routePatch, averages int) (measure.Reading, error) {
	set := func(wide bool) {
		b.mu.Lock()
		defer b.mu.Unlock()
		b.wide = wide
	}
	set(p.wide)
	defer set(false)
	return s.Read(ctx, measure.ReadRequest{Stage: StageRoute, Patch: chart.Patch{ID: p.id, Signal: p.signal}, Averages: averages})
}

// takenFor returns what the browser takes the display for, "" where no page is
// open.
func (b *Browser) takenFor() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	if !b.here(b.owner) {
		return ""
	}
	return b.owner.last.Now.Gamut
}

// routeReadings are those that CheckRoute takes.
type routeReadings struct {
	white, black measure.Reading
	page         [3]measure.Reading // red, green, blue
	wide         [2]measure.Reading // red, green
	ramp         [len(rampCodes)]measure.Reading
}

// rampCodes are 8-bit codes of the ramp: in the dark, where sRGB's tone differs
// from every power, and in the middle.
var rampCodes = [...]float64{13, 26, 45, 77, 128, 190}

type routePatch struct {
	id     string
	signal colorimetry.RGB
	wide   bool
	to     func(*routeReadings) *measure.Reading
}

// routePatches lists what is read, no signal twice in a row.
func routePatches() []routePatch {
	var (
		red   = colorimetry.RGB{R: 1}
		green = colorimetry.RGB{G: 1}
		blue  = colorimetry.RGB{B: 1}
	)
	list := []routePatch{
		{"route white", colorimetry.Gray(1), false, func(r *routeReadings) *measure.Reading { return &r.white }},
		{"route red", red, false, func(r *routeReadings) *measure.Reading { return &r.page[0] }},
		{"route green", green, false, func(r *routeReadings) *measure.Reading { return &r.page[1] }},
		{"route wide red", red, true, func(r *routeReadings) *measure.Reading { return &r.wide[0] }},
		{"route blue", blue, false, func(r *routeReadings) *measure.Reading { return &r.page[2] }},
		{"route wide green", green, true, func(r *routeReadings) *measure.Reading { return &r.wide[1] }},
		{"route black", colorimetry.RGB{}, false, func(r *routeReadings) *measure.Reading { return &r.black }},
	}
	for i, c := range rampCodes {
		list = append(list, routePatch{fmt.Sprintf("route grey %g", c), colorimetry.Gray(c / 255), false,
			func(r *routeReadings) *measure.Reading { return &r.ramp[i] }})
	}
	return list
}
