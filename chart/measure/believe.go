package measure

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// The limits are this project's own, and the figures of standards beside them
// from memory.
const (
	brightestCdM2 = 20_000 // no display is brighter: PQ ends at 10,000 (SMPTE ST 2084)
	faintPrimary  = 0.004  // of white: the blue of BT.2020 has 0.06, less beside a white sub-pixel
	mostPrimary   = 3      // times white
	mostProfile   = 1      // of a primary's light, by which a profile may mix it
	farGain       = 3      // from which a unit or a range is worth a look; no night mode adds as much
	mostSelf      = 20     // times that a display brightens by itself
)

const unitRemedy = "check the instrument's unit and range (does it report cd/m²?)"

// unbelievable finds readings of the look, and of what is known, that no display
// gives: what was made of them would be as wrong.
func (j *judge) unbelievable(look []Reading) *ConditionError {
	white, black := of(look, whiteSignal), of(look, blackSignal)
	w, haveWhite := j.known[whiteSignal]
	if white.XYZ.Y > brightestCdM2 && !(haveWhite && w.XYZ.Y > brightestCdM2) {
		return &ConditionError{Condition: ReadingDoubtful,
			Evidence: fmt.Sprintf("white reads %.4g cd/m², more than any display gives", white.XYZ.Y),
			Remedy:   unitRemedy + ", then resume"}
	}
	k, haveBlack := j.known[blackSignal]
	for _, p := range InspectionPatches() {
		r := of(look, p.Signal)
		if why := incredible(r, white, black); why != "" {
			return doubt(fmt.Sprintf("%s reads %.4g cd/m², %s", p.ID, r.XYZ.Y, why))
		}
		r, known := j.known[p.Signal]
		if !known || !haveWhite || !haveBlack {
			continue
		}
		if why := incredible(r, w, k); why != "" {
			return doubt(fmt.Sprintf("%s read %.4g cd/m² in what is known, %s", p.ID, r.XYZ.Y, why))
		}
	}
	return nil
}

func doubt(evidence string) *ConditionError {
	return &ConditionError{Condition: ReadingDoubtful, Evidence: evidence,
		Remedy: "see that nothing comes between the instrument and the patch, " + unitRemedy + " and read again; where it is what is known that is wrong, inspect anew without it; then resume"}
}

// incredible says why a patch cannot have the light that was read of it, "" where
// it can.
func incredible(r, white, black Reading) string {
	s := r.Patch.Signal
	above, full := r.XYZ.Y-black.XYZ.Y, white.XYZ.Y-black.XYZ.Y
	sure := sureTimes * math.Hypot(deviation(r), deviation(black))
	pure := s.Max() > leastPrimary && s.R+s.G+s.B == s.Max()
	switch {
	case s == blackSignal:
		return ""
	case above < -sure-shapeShare*math.Abs(black.XYZ.Y)-clippedFoot*math.Abs(white.XYZ.Y):
		return fmt.Sprintf("less than black, which reads %.4g", black.XYZ.Y)
	case pure && above+sure < faintPrimary*full:
		return fmt.Sprintf("no light of its own beside white's %.4g", white.XYZ.Y)
	case pure && above-sure > mostPrimary*full:
		return fmt.Sprintf("and white reads %.4g", white.XYZ.Y)
	}
	return ""
}

// lone returns the primary that alone departs from what it was: no curve and no
// profile moves one primary and nothing else.
func (c change) lone() (name string, ok bool) {
	primaries := 0
	for _, o := range c.departures {
		if o.pure {
			primaries++
		}
		if o.pure && o.name == c.worst && o.off > shapeShare {
			name, ok = o.name, true
			continue
		}
		if o.off > shapeShare/2 {
			return "", false
		}
	}
	return name, ok && primaries == 3
}

// departure is by how much a patch departs from what gains explain.
type departure struct {
	name string
	off  float64
	pure bool // a primary at full signal
}

// beyond finds changes that no profile makes, nor a display by itself.
func (j *judge) beyond(look []Reading, c change) *ConditionError {
	for i, g := range c.gains {
		if math.IsNaN(g) || math.IsInf(g, 0) {
			return doubt(fmt.Sprintf("white read %s in what is known, and had no %s", colourText(j.known[whiteSignal].XYZ), [3]string{"red", "green", "blue"}[i]))
		}
	}
	high := max(c.gains[0], c.gains[1], c.gains[2])
	switch {
	case high > farGain && c.unequal > farGain-1: // by more than noise explains
		return doubt(fmt.Sprintf("red, green and blue give %.4g, %.4g and %.4g times their light, as no night mode does it", c.gains[0], c.gains[1], c.gains[2]))
	case c.luminance > mostSelf:
		return doubt(fmt.Sprintf("white gives %.4g times its light, and no display brightens by as much by itself", c.luminance))
	}
	if name, ok := c.lone(); ok || c.primaries > mostProfile {
		if !ok {
			name = c.worstPrimary
		}
		for _, r := range look {
			if r.Patch.ID != name {
				continue
			}
			old := j.known[r.Patch.Signal]
			e := doubt(fmt.Sprintf("%s reads %s cd/m² and read %s, off as neither curves nor a profile do it", name, colourText(r.XYZ), colourText(old.XYZ)))
			if ok {
				e.Evidence += ": alone"
				e.Remedy = "see that the display's own adjustment of single colours is as it was, " + e.Remedy
			}
			return e
		}
	}
	return nil
}

// alikeUV is the distance in u' or v' within which primaries may be in any order.
const alikeUV = 0.05

// exchanged finds channels that come out as others: whatever the primaries are,
// red has the largest u' of them, and blue the smallest v'.
func (j *judge) exchanged(look []Reading) *ConditionError {
	black := of(look, blackSignal)
	names := [3]string{"red", "green", "blue"}
	var uv [3]colorimetry.UV
	var doubt [3]float64
	for i, s := range primarySignals() {
		r := of(look, s)
		r.XYZ = r.XYZ.Sub(black.XYZ)
		r.Covariance = r.Covariance.Add(black.Covariance)
		uv[i], doubt[i] = r.XYZ.UV(), sureTimes*r.SpreadUV()
		if !(r.XYZ.Y > 0) || math.IsNaN(uv[i].U+uv[i].V+doubt[i]) {
			return nil
		}
	}
	red, blue := 0, 2
	for i := range uv {
		if uv[i].U > uv[red].U {
			red = i
		}
		if uv[i].V < uv[blue].V {
			blue = i
		}
	}
	sure := red != 0 && uv[red].U-uv[0].U > alikeUV+math.Hypot(doubt[red], doubt[0]) ||
		blue != 2 && uv[2].V-uv[blue].V > alikeUV+math.Hypot(doubt[blue], doubt[2])
	if !sure {
		return nil
	}
	evidence := ""
	for i, c := range uv {
		evidence += fmt.Sprintf("%s shows u'v' %.3f, %.3f; ", names[i], c.U, c.V)
	}
	return &ConditionError{Condition: ChannelsExchanged,
		Evidence: fmt.Sprintf("%sthe reddest is %s, the bluest %s", evidence, names[red], names[blue]),
		Remedy:   "see to the cable and its plugs, the driver, and the order of channels in whatever shows the patches, then resume"}
}

func primarySignals() [3]colorimetry.RGB { return [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}} }
