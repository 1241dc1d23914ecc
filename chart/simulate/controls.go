package simulate

import (
	"context"
	"fmt"
	"slices"

	"example.org/primaries/chart/measure"
)

// controlNames are the controls in the order in which they should be set.
var controlNames = [4]string{measure.Brightness, measure.RedGain, measure.GreenGain, measure.BlueGain}

// Controls lists brightness and the three gains, steps 0 to 100, or nothing
// for a display that has no controls. Now is the step in force.
func (d *Display) Controls() []measure.Control {
	if d.options.NoControls {
		return nil
	}
	steps := d.now().steps
	var list []measure.Control
	for i, name := range controlNames {
		list = append(list, measure.Control{Name: name, Min: 0, Max: topStep, Now: steps[i]})
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
	i := slices.Index(controlNames[:], name)
	switch {
	case d.options.NoControls:
		return fmt.Errorf("simulate: cannot set %q: %s has no controls", name, d.spec.Name)
	case i < 0:
		return fmt.Errorf("simulate: there is no control %q; there are %q", name, controlNames)
	case step < 0 || step > topStep:
		return fmt.Errorf("simulate: %s has steps 0 to %d; %d is none", name, topStep, step)
	}
	d.change(func(s *state) { s.steps[i] = step })
	return nil
}
