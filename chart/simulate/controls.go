package simulate

import (
	"context"
	"fmt"

	"example.org/primaries/chart/measure"
)

// The controls that there can be, in the order in which they should be set.
const (
	firstGain   = 1 // after brightness
	commonBlack = 4
	firstOffset = 5
	controls    = 8
)

var controlNames = [controls]string{
	measure.Brightness, measure.RedGain, measure.GreenGain, measure.BlueGain,
	measure.Black, measure.RedOffset, measure.GreenOffset, measure.BlueOffset,
}

// factory are the steps in which a display is delivered.
var factory = [controls]int{topStep, topStep, topStep, topStep, middleStep, middleStep, middleStep, middleStep}

// has reports whether d has the control of an index.
func (d *Display) has(i int) bool {
	switch {
	case d.options.NoControls:
		return false
	case i == commonBlack:
		return d.spec.Offset.Common > 0
	case i >= firstOffset:
		return d.spec.Offset.Each > 0
	}
	return true
}

// Controls lists brightness, the three gains and what Spec.Offset has of
// controls of the black, steps 0 to 100, or nothing for a display that has no
// controls. Now is the step in force.
func (d *Display) Controls() []measure.Control {
	steps := d.now().steps
	var list []measure.Control
	for i, name := range controlNames {
		if d.has(i) {
			list = append(list, measure.Control{Name: name, Min: 0, Max: topStep, Now: steps[i]})
		}
	}
	return list
}

// Set brings a control to a step. It takes no simulated time: a run that
// resumes sets only the last step of each control, and must not be earlier for
// it. It is an error if there is no such control or step, or ctx is done.
func (d *Display) Set(ctx context.Context, name string, step int) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	if d.options.NoControls {
		return fmt.Errorf("simulate: cannot set %q: %s has no controls", name, d.spec.Name)
	}
	if step < 0 || step > topStep {
		return fmt.Errorf("simulate: %s has steps 0 to %d; %d is none", name, topStep, step)
	}
	var names []string
	for i, n := range controlNames {
		if !d.has(i) {
			continue
		}
		if n == name {
			d.change(func(s *state) { s.steps[i] = step })
			return nil
		}
		names = append(names, n)
	}
	return fmt.Errorf("simulate: %s has no control %q; it has %q", d.spec.Name, name, names)
}
