package simulate

import (
	"fmt"
	"math"
)

// Dimming is what a panel does whose whole picture asks for more power than it
// may have: with L the share of the full current that the picture draws, patch
// and surround by their areas, all light is multiplied by
//
//	min(1, (From/L)^Exponent)
//
// at once. With an exponent of 1 the power stays at From. It is part of what
// the display shows, so [Display.Truth] has it too. The zero value never dims.
type Dimming struct {
	From     float64 // load at which it begins, above 0 to 1
	Exponent float64 // above 0 to 1
}

func (m *Dimming) light(load float64) float64 {
	if load <= m.From || m.From == 0 {
		return 1
	}
	return math.Pow(m.From/load, m.Exponent)
}

func (m *Dimming) check() error {
	if *m == (Dimming{}) {
		return nil
	}
	if !(m.From > 0 && m.From <= 1) || !(m.Exponent > 0 && m.Exponent <= 1) {
		return fmt.Errorf("simulate: the picture dims from the load %g with the exponent %g; both lie above 0 and up to 1", m.From, m.Exponent)
	}
	return nil
}

// Field says how light changes over the screen, in shares of the centre's. At
// the place (x, y) from the centre, in screen widths and heights, −0.5 to 0.5,
// channel c gives
//
//	1 − Fall_c·2·(x² + y²) + Across_c·2·x + Down_c·2·y
//
// of what it gives there. Fall is therefore the loss in the corners, Across the
// gain at the right edge, Down that at the lower one. The white sub-pixel
// follows the channels' mean. The zero value is a uniform screen.
type Field struct {
	Fall, Across, Down [3]float64
}

// Place is a point of the screen, from the centre, in screen widths and
// heights, −0.5 to 0.5: right and down are positive. The zero value is the
// centre.
type Place struct{ X, Y float64 }

func (p Place) check() error {
	if !(math.Abs(p.X) <= 0.5 && math.Abs(p.Y) <= 0.5) {
		return fmt.Errorf("simulate: the place (%g, %g) is off the screen; it runs from -0.5 to 0.5 either way, (0, 0) being the centre", p.X, p.Y)
	}
	return nil
}

func (f *Field) share(at Place) [3]float64 {
	var s [3]float64
	for c := range s {
		s[c] = 1 - f.Fall[c]*2*(at.X*at.X+at.Y*at.Y) + f.Across[c]*2*at.X + f.Down[c]*2*at.Y
	}
	return s
}

func (f *Field) check() error {
	for c := range f.Fall {
		if total := math.Abs(f.Fall[c]) + math.Abs(f.Across[c]) + math.Abs(f.Down[c]); !(total < 1) {
			return fmt.Errorf("simulate: the light of %s changes over the screen by %g, %g and %g; together that must stay below 1", channelNames[c], f.Fall[c], f.Across[c], f.Down[c])
		}
	}
	return nil
}
