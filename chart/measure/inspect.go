package measure

import (
	"context"
	"fmt"
	"slices"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// StageInspection is the stage of the readings of Inspect, and of the looks that
// ReadChart takes where something seems wrong.
const StageInspection = "inspection"

// inspectionAverages are the integrations of a patch of a look.
const inspectionAverages = 2

// InspectOptions say what an inspection expects. The zero value is the default.
type InspectOptions struct {
	// Known are readings of the state that is expected: those of an earlier
	// inspection, of the run or of last month, or a chart that holds some of
	// InspectionPatches. They are as XYZ says. nil = nothing is known, and only
	// what a single state gives away is found: see Inspect.
	Known []Reading
	// Luminance and Gain are the largest changes from Known that still count as
	// the same state: of the light as a share, and of a channel's share of it.
	// 0 = 0.1 and 0.08.
	Luminance, Gain float64
	Averages        int         // integrations of each patch; 0 = 2
	Ignore          []Condition // conditions that are as they should be, such as clipping above the peak of a PQ signal
}

// Inspection is what an inspection saw.
type Inspection struct {
	Readings []Reading // of InspectionPatches, in that order
	o        InspectOptions
}

// InspectionPatches are the patches of an inspection: white, black, greys, two
// levels close to the ends and the primaries, in an order in which neighbours
// differ. Anchors and charts that hold some of them let a watch see more.
func InspectionPatches() []chart.Patch {
	return []chart.Patch{
		{ID: "look white", Signal: colorimetry.Gray(1)},
		{ID: "look blue", Signal: colorimetry.RGB{B: 1}},
		{ID: "look grey 75", Signal: colorimetry.Gray(0.75)},
		{ID: "look red", Signal: colorimetry.RGB{R: 1}},
		{ID: "look grey 50", Signal: colorimetry.Gray(0.5)},
		{ID: "look green", Signal: colorimetry.RGB{G: 1}},
		{ID: "look grey 25", Signal: colorimetry.Gray(0.25)},
		{ID: "look near white", Signal: colorimetry.Gray(nearWhite)},
		{ID: "look near black", Signal: colorimetry.Gray(nearBlack)},
		{ID: "look near green", Signal: colorimetry.RGB{G: nearWhite}},
		{ID: "look black", Signal: colorimetry.RGB{}},
	}
}

const (
	mostLooks = 3 // before something counts as found
	nearWhite = 0.96
	nearBlack = 0.06
)

func (o InspectOptions) withDefaults() (InspectOptions, error) {
	if o.Luminance == 0 {
		o.Luminance = 0.1
	}
	if o.Gain == 0 {
		o.Gain = 0.08
	}
	if o.Averages == 0 {
		o.Averages = inspectionAverages
	}
	for _, c := range o.Ignore {
		if !c.known() {
			return o, fmt.Errorf("measure: an inspection that ignores %q, which is no condition; name one of the constants", c)
		}
	}
	for i, r := range o.Known {
		if r.Patch == (chart.Patch{}) && r.XYZ == (colorimetry.XYZ{}) && len(r.Repeats) == 0 && r.Time.IsZero() && r.Covariance == (colorimetry.Matrix{}) {
			return o, fmt.Errorf("measure: an inspection of which reading %d of Known is empty; leave it out", i)
		}
		if err := checkLight(r.XYZ); err != nil || !finite(r.Covariance) {
			return o, fmt.Errorf("measure: an inspection of which reading %d of Known, of signal %s, is %s cd/m²; leave it out", i, signalText(r.Patch.Signal), colourText(r.XYZ))
		}
	}
	if o.Averages < 0 || o.Averages > maxIntegrations {
		return o, fmt.Errorf("measure: an inspection with %d integrations a patch; 1 to %d are possible", o.Averages, maxIntegrations)
	}
	if !(o.Luminance > 0 && o.Luminance < 1 && o.Gain > 0 && o.Gain < 1) {
		return o, fmt.Errorf("measure: an inspection with limits of %g and %g; shares from 0 to 1 are possible", o.Luminance, o.Gain)
	}
	o.Known, o.Ignore = slices.Clone(o.Known), slices.Clone(o.Ignore)
	return o, nil
}

// Inspect reads a few patches and says by name what is wrong with the display,
// the instrument or what lies between: it returns a *[ConditionError]. It is
// best made before a run, and again with the curves that a run has put in force.
//
// Without Known it finds a display that is dark (below 0.5 cd/m², or below 2
// whatever is shown), a picture that does not follow the patches
// (OutputDuplicated), patches that come one late (PatchNotShown), clipping,
// channels that come out as others (ChannelsExchanged), and readings that no
// display gives (ReadingDoubtful): patches darker than black, primaries without
// light, a white above 20,000 cd/m².
//
// With Known, dark moves: below 0.5 cd/m² and below a twentieth of the white
// known; or one light whatever is shown, below that twentieth or twice the black
// known, which may be some cd/m² in a bright room or beside a bright white. It
// also finds a changed room, a slipped instrument, a display that
// adjusts itself, and curves or a profile that were not, or are no longer, in
// force.
//
// Readings cannot tell apart:
//
//   - a display that sleeps and an instrument that is covered: DisplayDark;
//   - a picture that does not follow from the start, and a screen that stands
//     still at some patch: OutputDuplicated, except where ReadChart with Watch
//     saw the light of the patch shown before, which is PatchNotShown; and
//     DisplayDark, where that light is as dark as said above: a screen that stands
//     still at a dark patch or at black, too;
//   - an instrument that slipped in a room so dark that nothing enters beside it,
//     and a display that turned itself down: SelfAdjusting;
//   - a display that turned itself down while the room became brighter, and an
//     instrument that slipped: InstrumentSlipped;
//   - a single wrong reading in what is known, and a display whose own adjustment
//     of one colour was touched: ReadingDoubtful, where one primary alone is off;
//   - a night mode, and curves that turn down whole channels: SelfAdjusting;
//   - a profile, and curves that nobody asked for: both are CurvesUnexpected,
//     the evidence says which it looks like;
//   - without Known, a wrong state that was there from the start, and the
//     display's own nature.
//
// The dark calibration is the session's own affair: DarkExpired.
//
// When a person has mended what was found, the program resumes, or calls Inspect
// again: what was found before is then passed over, and the patches are read
// again. The error is also that of reading.
func Inspect(ctx context.Context, s *Session, o InspectOptions) (Inspection, error) {
	o, err := o.withDefaults()
	if err != nil {
		return Inspection{}, err
	}
	for {
		readings, found, replayed, err := s.sure(ctx, newJudge(s.curves, o.Known, o))
		// What the journal has was told before the run was resumed.
		if err != nil || found == nil || !replayed {
			if err == nil {
				err = asError(found)
			}
			return Inspection{Readings: readings, o: o}, err
		}
	}
}

// sure looks, and where something seems wrong looks once more, and a third time
// where both disagree: what begins or ends in the middle of a look is told by
// another name than its own. It returns the last look and what that says;
// replayed reports that its last reading came from the journal.
func (s *Session) sure(ctx context.Context, j *judge) (look []Reading, found *ConditionError, replayed bool, err error) {
	var before *ConditionError
	for tries := 1; ; tries++ {
		if look, replayed, err = s.look(ctx, j.o.Averages); err != nil {
			return look, nil, replayed, err
		}
		if found = j.judge(look); found == nil && !ordered(look) {
			found = contradiction(look)
		}
		if found == nil || before != nil && before.Condition == found.Condition || tries == mostLooks {
			return look, found, replayed, nil
		}
		before = found
	}
}

// look reads the patches of an inspection; replayed reports that the last of
// them came from the journal.
func (s *Session) look(ctx context.Context, averages int) (readings []Reading, replayed bool, err error) {
	patches := InspectionPatches()
	for i, p := range patches {
		replayed = s.Replaying()
		r, err := s.Read(ctx, ReadRequest{Stage: StageInspection, Patch: p, Averages: averages})
		if err != nil {
			return readings, replayed, err
		}
		readings = append(readings, r)
		s.progress(Progress{Stage: StageInspection, Done: i + 1, Total: len(patches), Replayed: replayed})
	}
	return readings, replayed, nil
}

// ordered reports whether greys become brighter from black to white, as all
// displays show them, up to dimming under load.
func ordered(look []Reading) bool {
	brightest := 0.0
	for _, v := range []float64{0, nearBlack, 0.25, 0.5, 0.75, nearWhite, 1} {
		r := of(look, colorimetry.Gray(v))
		if r.XYZ.Y < 0.8*brightest-sureTimes*deviation(r) {
			return false
		}
		brightest = max(brightest, r.XYZ.Y)
	}
	return true
}

// contradiction names looks that never agree with themselves.
func contradiction(look []Reading) *ConditionError {
	return &ConditionError{Condition: PatchNotShown,
		Evidence: fmt.Sprintf("greys do not become brighter from black to white, which reads %.4g cd/m², look after look", of(look, whiteSignal).XYZ.Y),
		Remedy:   "see what comes and goes before the patch or the instrument, such as windows, notices and screen savers, then resume"}
}

// asError keeps a nil condition a nil error.
func asError(c *ConditionError) error {
	if c == nil {
		return nil
	}
	return c
}
