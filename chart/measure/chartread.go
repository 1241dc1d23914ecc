package measure

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"example.org/primaries/chart"
)

// Flags of readings that ReadChart took again.
const (
	// FlagConfirmed marks a reading that its neighbours did not believe and that
	// came out the same the second time: the display is like that.
	FlagConfirmed = "read again and confirmed"
	// FlagReplaced marks a reading that takes the place of one that was off.
	FlagReplaced = "read again and replaced"
	// FlagUnsettled marks a reading of which even three tries do not agree.
	FlagUnsettled = "read again and unsettled"
)

// ChartOptions steer ReadChart. The zero value is the default: what can be found
// out about drift and outliers is made use of.
type ChartOptions struct {
	Averages  int       // integrations of each reading; 0 = Setup.Averages
	Precision Precision // in place of Averages
	// KeepDrift leaves readings as they were read. Else the drift that repeats of
	// a signal show is corrected: see FitDrift and Drift.
	KeepDrift bool
	Drift     DriftOptions
	// KeepOutliers reads nothing again. Else the most suspect readings are, as
	// many as MostAgain, a share of the set: 0 = 0.1.
	KeepOutliers bool
	MostAgain    float64
	// Watch is an inspection that found nothing wrong, by which ReadChart judges
	// whether things are as they were; nil = it does not. LookEvery is after how
	// many patches it looks without a reason, at least 0; 0 = at the end alone.
	Watch     *Inspection
	LookEvery int
}

// ChartResult is what came of a chart.
type ChartResult struct {
	Readings []Reading // one a patch, in the order of the chart, corrected for drift
	Drift    Drift     // the zero Drift where no repeats show any, or it was kept
	Again    []Again   // what was read again
	// Mended are the conditions that were met and mended on the way: what was
	// read between the last good look and the mending was read anew.
	Mended []*ConditionError
	// Why is the source's sentence on why the chart ends, see ReadChartFrom.
	Why string
}

// Again tells of a reading that was taken again.
type Again struct {
	At       int     // position in the chart
	Distance float64 // of the first reading from what its neighbours predict, in standard deviations; 0 where its repeats scattered
	Flag     string  // what came of it: FlagConfirmed, FlagReplaced, FlagUnsettled
	Readings []int   // Index of all readings of it, in order
}

const (
	mostAgain = 0.1
	// sameRate is the share of pairs of good readings that are taken to differ.
	sameRate = 1e-3
)

// chartRun is a ReadChart under way.
type chartRun struct {
	s        *Session
	stage    string
	set      []chart.Patch
	o        ChartOptions
	taken    []Reading // all, in the order in which they were taken
	tries    [][]int   // of each patch: places in taken
	drift    Drift
	expected []expectation // of the first reading of each patch, by its neighbours
	watch    *watch
	mended   []*ConditionError
	passed   int // times that trouble passed by itself
	source   Source
	asked    []int  // places in set of what source named, the rest being white
	why      string // source names no more
}

// ReadChart reads a set of patches in the order given, corrects what drifted
// meanwhile and reads again what cannot be right:
//
//   - A reading whose integrations scatter more than those of its fellows
//     (FlagScattered), or which is further from its neighbours' prediction than
//     its noise allows (Suspects), is read again when the set is through; where
//     a signal was repeated as an anchor, so is that, to hold the drift.
//   - If both readings agree, they are averaged: FlagConfirmed.
//   - If they do not, and neighbours believe the second, it replaces the first:
//     FlagReplaced.
//   - Else a third is taken, and the two of three that lie closest are averaged:
//     FlagReplaced where they agree and the first is not among them,
//     FlagConfirmed where it is, FlagUnsettled where they do not agree, with the
//     scatter of all three in the covariance.
//
// With Watch it also watches readings of the patches of an inspection, and
// coarsely all others. Where one does not fit, and at the end, it looks at them
// all, and where something is wrong, it ends with a *[ConditionError]: see
// Inspect, whose words on resuming hold here, too. When it is mended, patches
// are read anew from where all was well: from after the last good reading of
// each patch of the inspection that showed the trouble, the latest of them.
//
// Agreement means a distance that 1 in 1,000 pairs of good readings exceeds. All
// of it is a function of readings, so that a replay is exact. The journal and
// Session.Readings keep every reading as it was read.
//
// Where it fails it returns the readings so far, as they were read, with the
// error.
func (s *Session) ReadChart(ctx context.Context, stage string, set []chart.Patch, o ChartOptions) (ChartResult, error) {
	if err := o.check(set); err != nil {
		return ChartResult{}, err
	}
	c, err := s.newChartRun(stage, set, o)
	if err != nil {
		return ChartResult{}, err
	}
	return c.run(ctx)
}

func (s *Session) newChartRun(stage string, set []chart.Patch, o ChartOptions) (*chartRun, error) {
	c := &chartRun{s: s, stage: stage, set: set, o: o, tries: make([][]int, len(set))}
	if o.Watch != nil {
		if len(o.Watch.Readings) == 0 || o.Watch.Readings[0].Curves != s.curves.Digest() {
			return nil, errors.New("measure: a chart watched by an inspection that saw other curves; inspect again with the curves in force")
		}
		c.watch = newWatch(s.curves, o.Watch)
	}
	return c, nil
}

// run reads the set, and what follows it, in order and then again what is
// suspect.
func (c *chartRun) run(ctx context.Context) (ChartResult, error) {
	var pace pace
	for i := 0; i < len(c.set); {
		replayed := c.s.Replaying()
		if err := c.read(ctx, i); err != nil {
			return ChartResult{Readings: c.taken}, err
		}
		last := c.taken[len(c.taken)-1]
		pace.add(last.Time, replayed)
		c.s.progress(c.progress(i+1, &pace, replayed))
		i++
		next, err := c.goOn(ctx, last, i)
		if err != nil {
			return ChartResult{Readings: c.taken, Mended: c.mended}, err
		}
		i = next
	}
	return c.finish(ctx)
}

// goOn watches the last reading, i patches being read with it, asks for more
// patches after the last one, and returns the patch to go on with.
func (c *chartRun) goOn(ctx context.Context, last Reading, i int) (next int, err error) {
	next = i
	odd := c.watch != nil && c.watch.see(last, i)
	look := odd || c.watch != nil && c.o.LookEvery > 0 && i%c.o.LookEvery == 0
	if look {
		if next, err = c.examine(ctx, odd); err != nil {
			return next, err
		}
	}
	if next < len(c.set) {
		return next, nil
	}
	if err := c.extend(ctx); err != nil {
		return next, err
	}
	if next == len(c.set) && c.watch != nil && !look {
		return c.examine(ctx, false)
	}
	return next, nil
}

// check tells what cannot be meant, before anything is read.
func (o ChartOptions) check(set []chart.Patch) error {
	if !(o.MostAgain >= 0 && o.MostAgain <= 1) {
		return fmt.Errorf("measure: a share of %g of a chart to read again; 0 to 1 are possible", o.MostAgain)
	}
	if o.LookEvery < 0 {
		return fmt.Errorf("measure: a look every %d patches; give a number above 0, or 0 to look at the end alone", o.LookEvery)
	}
	for _, a := range o.Drift.Anchors {
		if !slices.ContainsFunc(set, func(p chart.Patch) bool { return p.Signal == a }) {
			return fmt.Errorf("measure: signal %s is to be an anchor of the drift, and the chart does not hold it; add it, or leave it out of DriftOptions.Anchors", signalText(a))
		}
	}
	_, err := o.Drift.withDefaults()
	return err
}

// read takes one more reading of a patch.
func (c *chartRun) read(ctx context.Context, at int) error {
	r, err := c.s.Read(ctx, ReadRequest{Stage: c.stage, Patch: c.set[at], Averages: c.o.Averages, Precision: c.o.Precision})
	if err != nil {
		return err
	}
	c.tries[at] = append(c.tries[at], len(c.taken))
	c.taken = append(c.taken, r)
	return nil
}
