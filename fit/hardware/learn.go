package hardware

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
)

// learn returns what all readings tell of the display. With those that the model
// was fitted to it is a model of its own. Without them it is what the model that
// the loop began with misses, or, where readings that were held back say that it
// misleads, a model of the readings through the table alone.
func (l *loop) learn() (fit.Model, error) {
	if len(l.options.Readings) > 0 {
		return l.fitted(slices.Concat(l.options.Readings, l.device), nil)
	}
	under, err := l.under()
	if err != nil {
		return nil, err
	}
	var kept, held []measure.Reading
	for i, r := range l.device {
		if i%holdBack == holdBack-1 && !l.corner[i] {
			held = append(held, r)
		} else {
			kept = append(kept, r)
		}
	}
	over, err := l.fitted(kept, under)
	if err != nil {
		return nil, err
	}
	// Readings through a table need not determine a model; then there is none.
	if own, err := l.fitted(kept, nil); err == nil && l.better(own, over, held) {
		if own, err := l.fitted(l.device, nil); err == nil {
			return own, nil
		}
	}
	return l.fitted(l.device, under)
}

// holdBack is of how many readings one is held back from a fit.
const holdBack = 4

// fitted fits the smooth model of fit.Residual over under, or over an additive
// one of the same readings where that is nil.
func (l *loop) fitted(readings []measure.Reading, under fit.Separable) (fit.Model, error) {
	m, err := fit.Residual(readings, under, fit.Options{Noise: l.session.Instrument().Noise})
	if err != nil {
		return nil, fmt.Errorf("hardware: learning from the readings through the table: %w", err)
	}
	return m, nil
}

// under returns the model that the loop began with as fit.Residual takes it.
func (l *loop) under() (fit.Separable, error) {
	if m, ok := l.model.(fit.Separable); ok {
		return m, nil
	}
	d, err := newDisplay(l.model)
	if err != nil {
		return nil, err
	}
	return d.ground(), nil
}

// better reports whether a predicts readings better than b does, by more than the
// standard error of the paired differences.
func (l *loop) better(a, b fit.Model, held []measure.Reading) bool {
	t := l.tables[len(l.tables)-1].builder.target
	var leads []float64
	var mean, spread float64
	for _, r := range held {
		lead := t.delta(b.XYZ(r.Patch.Signal), r.XYZ) - t.delta(a.XYZ(r.Patch.Signal), r.XYZ)
		leads = append(leads, lead)
		mean += lead / float64(len(held))
	}
	for _, lead := range leads {
		spread += (lead - mean) * (lead - mean)
	}
	return mean > math.Sqrt(spread)/math.Max(1, float64(len(held)))
}

// ground lies under what fit.Residual learns, for models of any kind: their
// colours, and the greys' curves as the coordinates in which it learns.
type ground struct {
	fit.Model
	display *display
	curves  [3]tone.Sampled
}

// groundSteps are the steps between the points of its curves.
const groundSteps = 256

func (d *display) ground() ground {
	g := ground{Model: d.model, display: d}
	for c := range g.curves {
		var signal, light []float64
		for i := range groundSteps + 1 {
			signal = append(signal, float64(i)/groundSteps)
			light = append(light, d.greys[c][i*greySteps/groundSteps])
		}
		var err error
		if g.curves[c], err = tone.NewSampled(signal, light); err != nil {
			panic(fmt.Sprintf("hardware: the greys' curve: %v", err)) // they never fall and are finite
		}
	}
	return g
}

// Black implements fit.Separable.
func (g ground) Black() colorimetry.XYZ { return g.display.black }

// White implements fit.Separable.
func (g ground) White() colorimetry.XYZ { return g.display.white }

// Primaries implements fit.Separable.
func (g ground) Primaries() colorimetry.Matrix { return g.display.mix }

// Curve implements fit.Separable.
func (g ground) Curve(c int) tone.Curve { return g.curves[c] }
