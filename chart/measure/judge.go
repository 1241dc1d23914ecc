package measure

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// The limits are this project's own: mishaps of chart/simulate lie beyond them,
// drift and noise within.
const (
	darkCdM2    = 0.5  // no white is darker
	dimCdM2     = 2.0  // what does not follow the patches and is darker is no picture
	darkShare   = 0.05 // of the white known
	sameLight   = 0.08 // of the brightest: within it all patches look alike
	clippedTop  = 0.975
	clippedFoot = 2e-4 // of white
	shapeShare  = 0.06 // of a patch's light, by which it may depart from what gains explain
	tintShare   = 0.05 // by which the gains of greys may differ from white's
	sureTimes   = 5    // standard deviations that a finding needs
)

// judge holds a look against what is known.
type judge struct {
	o       InspectOptions
	curves  tone.Channels
	known   map[colorimetry.RGB]Reading
	lights  colorimetry.Matrix
	inverse colorimetry.Matrix
	native  bool            // known was read without curves, and there are some now
	before  colorimetry.XYZ // light of the last good patch before the look, for a screen that stands still
}

// newJudge takes what is known of the state with the curves in force; readings
// through other curves than those, or none, say nothing.
func newJudge(curves tone.Channels, known []Reading, o InspectOptions) *judge {
	j := &judge{o: o, curves: curves, known: map[colorimetry.RGB]Reading{}}
	digest, none := curves.Digest(), tone.Channels{}.Digest()
	for _, r := range known {
		if r.Channel == "" && (r.Curves == digest || r.Curves == "") {
			j.known[r.Patch.Signal] = r
		}
	}
	if len(j.known) == 0 && curves.Len() > 0 {
		for _, r := range known {
			if r.Channel == "" && r.Curves == none {
				j.known[r.Patch.Signal], j.native = r, true
			}
		}
	}
	j.setLights()
	return j
}

func (j *judge) setLights() {
	var readings []Reading
	for _, p := range InspectionPatches() {
		if r, ok := j.known[p.Signal]; ok {
			readings = append(readings, r)
		}
	}
	j.lights = channelLights(readings)
	j.inverse, _ = j.lights.Inverse() // channelLights returns none without
}

// judge returns the first thing that is wrong and not ignored, nil for none.
func (j *judge) judge(look []Reading) *ConditionError {
	for _, test := range []func([]Reading) *ConditionError{j.dark, j.unmoved, j.late, j.unbelievable, j.exchanged, j.clipped, j.curvesMissing, j.changed} {
		if c := test(look); c != nil && !slices.Contains(j.o.Ignore, c.Condition) {
			return c
		}
	}
	return nil
}

// of returns the reading of a signal.
func of(look []Reading, signal colorimetry.RGB) Reading {
	for _, r := range look {
		if r.Patch.Signal == signal {
			return r
		}
	}
	return Reading{}
}

var (
	whiteSignal = colorimetry.Gray(1)
	blackSignal = colorimetry.RGB{}
)

// spread returns the range of luminance over a look.
func spread(look []Reading) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, r := range look {
		low, high = math.Min(low, r.XYZ.Y), math.Max(high, r.XYZ.Y)
	}
	return low, high
}

func (j *judge) dark(look []Reading) *ConditionError {
	low, high := spread(look)
	if low < -darkCdM2 && high < sureTimes*deviation(look[0]) {
		return doubt(fmt.Sprintf("patches read from %.3g to %.3g cd/m², below no light at all", low, high))
	}
	evidence := fmt.Sprintf("of all patches the brightest reads %.3g cd/m²", high)
	dark := high < darkCdM2 || high < dimCdM2 && high-low < sameLight*high+sureTimes*deviation(look[0])
	if w, ok := j.known[whiteSignal]; ok {
		k, ok := j.known[blackSignal]
		evidence += fmt.Sprintf(", white read %.4g", w.XYZ.Y)
		// In a bright room the screen alone shines with the light of its black.
		dark = high < darkShare*w.XYZ.Y && high < darkCdM2 ||
			ok && high-low < sameLight*high+sureTimes*deviation(look[0]) && high < math.Max(2*k.XYZ.Y, darkShare*w.XYZ.Y)
	}
	if !dark {
		return nil
	}
	return &ConditionError{Condition: DisplayDark, Evidence: evidence, Remedy: "wake the display, switch its rest mode and screen savers off, uncover the instrument, then resume"}
}

func deviation(r Reading) float64 { return math.Sqrt(math.Max(r.Covariance[1][1], 0)) }

// unmoved finds light that is the same whatever patch is asked for.
func (j *judge) unmoved(look []Reading) *ConditionError {
	low, high := spread(look)
	if high-low > sameLight*high+sureTimes*deviation(look[0]) {
		return nil
	}
	all := look[0].XYZ
	evidence := fmt.Sprintf("patches from black to white all read about %.3g cd/m²", all.Y)
	if b := j.before; b.Y > 0 && math.Abs(all.Y-b.Y) < sameLight*b.Y && all.UV().Distance(b.UV()) < 0.01 {
		return &ConditionError{Condition: PatchNotShown, Evidence: evidence + ", the light of the last patch that was shown",
			Remedy: "see that the screen still takes patches: the program, the page or the link that shows them may have stopped; then resume"}
	}
	return &ConditionError{Condition: OutputDuplicated, Evidence: evidence + ": the instrument sees a picture that is not the patch's",
		Remedy: "switch duplicated outputs off, put the patch on the display under test, nothing in front of it and the instrument on it, then resume"}
}

// late finds readings that are those of the patches before.
func (j *judge) late(look []Reading) *ConditionError {
	own, previous := 0.0, 0.0
	_, high := spread(look)
	seen := func(i int) float64 { return colorimetry.Lightness(math.Max(look[i].XYZ.Y, 0) / high) }
	for i := 1; i < len(look); i++ {
		own += math.Pow(seen(i)-j.lightness(look[i].Patch.Signal), 2)
		previous += math.Pow(seen(i)-j.lightness(look[i-1].Patch.Signal), 2)
	}
	if previous > own/4 {
		return nil
	}
	return &ConditionError{Condition: PatchNotShown, Evidence: fmt.Sprintf("each patch reads as the one before it should: black %.3g cd/m², after %s", of(look, blackSignal).XYZ.Y, look[len(look)-2].Patch.ID),
		Remedy: "let the screen say that a patch is shown only when it is, or give it longer to settle, then resume"}
}

// lightness guesses the L* of a signal, from what is known or before it.
func (j *judge) lightness(s colorimetry.RGB) float64 {
	w, ok := j.known[whiteSignal]
	r, known := j.known[s]
	if ok && known && w.XYZ.Y > 0 {
		return colorimetry.Lightness(math.Max(r.XYZ.Y, 0) / w.XYZ.Y)
	}
	return roughLightness(s)
}

// clipped finds levels close to an end that look like the end.
func (j *judge) clipped(look []Reading) *ConditionError {
	y := func(s colorimetry.RGB) float64 { return of(look, s).XYZ.Y }
	white, black := y(whiteSignal), y(blackSignal)
	ratio := func(near, end colorimetry.RGB) float64 { return (y(near) - black) / (y(end) - black) }
	top := math.Min(ratio(colorimetry.Gray(nearWhite), whiteSignal), ratio(colorimetry.RGB{G: nearWhite}, colorimetry.RGB{G: 1}))
	foot := y(colorimetry.Gray(nearBlack)) - black
	noise := math.Hypot(deviation(of(look, blackSignal)), deviation(of(look, colorimetry.Gray(nearBlack))))
	bright := top > clippedTop
	dark := foot < clippedFoot*white && noise < clippedFoot*white
	if r, ok := j.known[colorimetry.Gray(nearBlack)]; ok && dark {
		dark = r.XYZ.Y-j.known[blackSignal].XYZ.Y > 2*clippedFoot*j.known[whiteSignal].XYZ.Y
	}
	if r, ok := j.known[colorimetry.RGB{G: nearWhite}]; ok && bright {
		bright = r.XYZ.Y/j.known[colorimetry.RGB{G: 1}].XYZ.Y < 2*clippedTop-1
	}
	if !bright && !dark {
		return nil
	}
	var evidence string
	switch {
	case bright && dark:
		evidence = fmt.Sprintf("signal %.2f shows %.1f %% of white, and %.2f no more than black", nearWhite, 100*top, nearBlack)
	case bright:
		evidence = fmt.Sprintf("signal %.2f shows %.1f %% of white, in green alone, too", nearWhite, 100*top)
	default:
		evidence = fmt.Sprintf("signal %.2f shows %.3g cd/m² above black, of %.4g for white", nearBlack, foot, white)
	}
	return &ConditionError{Condition: OutputClipped, Evidence: evidence,
		Remedy: "set the same signal range, full or limited, on both sides of the link, and contrast and black level to where no level is lost, then resume"}
}
