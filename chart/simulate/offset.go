package simulate

import (
	"fmt"
	"math"
)

// Offset is the effect of the controls of the black, steps 0 to 100, 50 from the
// factory: at a step a share of Common or Each is added to the drive of a
// channel, before its tone:
//
//	u_c ← u_c + (Common·(step − 50) + Each·(step_c − 50)) / 50
//
// Above the factory's step the darkest greys rise and black with them; below it
// they fall, and what falls below 0 gives the tone's own black: it cannot get
// darker, only the greys are lost. A control whose figure is 0 is not there; the
// zero value is a display without any. Of the displays of this package the tubes,
// [CRT] and [OldCRT], have the common control, with invented figures.
type Offset struct {
	Common float64 // drive that the last 50 steps of the common control add, 0 to 0.5
	Each   float64 // the same of a control for each channel
	// Headroom is the highest drive, 1 to 1.5; 0 means 1: what an offset lifts
	// above it is clipped. Between 1 and it the light goes on as the power of
	// the drive that the tone is at 1, as the beam of a tube does.
	Headroom float64
}

// middleStep is the factory's step of the controls of the black.
const middleStep = 50

// drive returns what the controls of the black add to the drive of channel c.
func (o Offset) drive(steps *[controls]int, c int) float64 {
	return (o.Common*float64(steps[commonBlack]-middleStep) + o.Each*float64(steps[firstOffset+c]-middleStep)) / middleStep
}

// lit returns the share of channel c's full light that a drive with an offset
// gives.
func (d *Display) lit(c int, drive float64) float64 {
	t := d.spec.Tones[c]
	if drive <= 1 {
		return t.Light(math.Max(drive, 0))
	}
	return math.Pow(math.Min(drive, math.Max(d.spec.Offset.Headroom, 1)), t.Slope(1))
}

func (o Offset) check(dispersion [3]float64) error {
	switch {
	case !(o.Common >= 0 && o.Common <= 0.5) || !(o.Each >= 0 && o.Each <= 0.5):
		return fmt.Errorf("simulate: the controls of the black move the drive by %g and %g; give 0 to 0.5", o.Common, o.Each)
	case o.Headroom != 0 && !(o.Headroom >= 1 && o.Headroom <= 1.5):
		return fmt.Errorf("simulate: the highest drive is %g; give 1 to 1.5, or 0 for 1", o.Headroom)
	case o.Headroom > 1 && dispersion != [3]float64{}:
		return fmt.Errorf("simulate: the highest drive is %g on cells of dispersion %v; a cell opens no further than 1", o.Headroom, dispersion)
	}
	return nil
}
