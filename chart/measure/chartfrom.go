package measure

import (
	"context"
	"errors"
	"fmt"

	"example.org/primaries/chart"
)

// ReadChartFrom is [Session.ReadChart] for patches that a source names as
// readings come in. Those that it names together are read in an order of
// [chart.Order], with white before the first, after the last and about every 20
// patches between, so that the whole chart is held against drift, doubt and
// trouble as one.
//
// The source is given one reading for each patch that it named, in the order in
// which they were taken, without the whites, corrected for the drift that the
// whites have shown so far; what ReadChart makes of the whole chart later may
// differ from that by little. What is read again is so after the source's last
// word: the source does not see it. Where trouble spoiled patches, these are read
// anew before the source is asked for more, and what it named stays.
//
// DriftOptions.Anchors may name white alone. All of it is a function of readings,
// as the source is, so that a replay is exact.
func (s *Session) ReadChartFrom(ctx context.Context, stage string, source Source, o ChartOptions) (ChartResult, error) {
	if err := o.check([]chart.Patch{{Signal: whiteSignal}}); err != nil {
		return ChartResult{}, err
	}
	c, err := s.newChartRun(stage, nil, o)
	if err != nil {
		return ChartResult{}, err
	}
	c.source = source
	if err := c.extend(ctx); err != nil || len(c.set) == 0 {
		return ChartResult{Why: c.why}, err
	}
	return c.run(ctx)
}

// extend adds to the set what the source names next.
func (c *chartRun) extend(ctx context.Context) error {
	if c.source == nil {
		return nil
	}
	readings, err := c.soFar()
	if err != nil {
		return err
	}
	named, why, err := c.source.Next(ctx, readings)
	c.why = why
	if err != nil || len(named) == 0 {
		return err
	}
	own := map[string]bool{}
	for _, p := range named {
		own[p.ID] = true
	}
	batch := chart.Order(named, chart.OrderOptions{Seed: c.s.header.Seed})
	if len(c.set) > 0 {
		batch = batch[1:] // the batch before ended with white
	}
	for _, p := range batch {
		if own[p.ID] {
			c.asked = append(c.asked, len(c.set))
		} else {
			p.ID = fmt.Sprintf("white%d", len(c.set)-len(c.asked)+1)
		}
		c.set = append(c.set, p)
	}
	c.tries = append(c.tries, make([][]int, len(batch))...)
	return nil
}

// soFar returns the readings that the source asked for, as the drift known by
// now corrects them.
func (c *chartRun) soFar() ([]Reading, error) {
	fixed := c.taken
	if !c.o.KeepDrift && len(fixed) > 0 {
		o, err := c.o.Drift.withDefaults()
		if err != nil {
			return nil, err
		}
		o.AnchorsOnly = true
		d, _, err := fitDrift(fixed, o, nil)
		if err != nil && !errors.Is(err, errNoAnchor) {
			return nil, err
		}
		fixed = d.Correct(fixed)
	}
	var out []Reading
	for _, at := range c.asked {
		out = append(out, fixed[at])
	}
	return out, nil
}

// progress tells how far the chart has come; a source does not say how far it
// will go.
func (c *chartRun) progress(done int, pace *pace, replayed bool) Progress {
	p := Progress{Stage: c.stage, Done: done, Replayed: replayed}
	if c.source == nil {
		p.Total, p.Left = len(c.set), pace.left(len(c.set)-done)
	}
	return p
}
