package measure

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/stat/distuv"
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
	// many patches it looks without a reason; 0 = at the end alone.
	Watch     *Inspection
	LookEvery int
}

// ChartResult is what came of a chart.
type ChartResult struct {
	Readings []Reading // one a patch, in the set's order, corrected for drift
	Drift    Drift     // the zero Drift where no repeats show any, or it was kept
	Again    []Again   // what was read again
	// Mended are the conditions that were met and mended on the way: what was
	// read between the last good look and the mending was read anew.
	Mended []*ConditionError
}

// Again tells of a reading that was taken again.
type Again struct {
	At       int     // position in the set
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
	if !(o.MostAgain >= 0 && o.MostAgain <= 1) {
		return ChartResult{}, fmt.Errorf("measure: a share of %g of a chart to read again; 0 to 1 are possible", o.MostAgain)
	}
	c := &chartRun{s: s, stage: stage, set: set, o: o, tries: make([][]int, len(set))}
	if o.Watch != nil {
		if len(o.Watch.Readings) == 0 || o.Watch.Readings[0].Curves != s.curves.Digest() {
			return ChartResult{}, errors.New("measure: a chart watched by an inspection that saw other curves; inspect again with the curves in force")
		}
		c.watch = newWatch(s.curves, o.Watch)
	}
	var pace pace
	for i := 0; i < len(set); {
		replayed := s.Replaying()
		if err := c.read(ctx, i); err != nil {
			return ChartResult{Readings: c.taken}, err
		}
		last := c.taken[len(c.taken)-1]
		pace.add(last.Time, replayed)
		s.progress(Progress{Stage: stage, Done: i + 1, Total: len(set), Left: pace.left(len(set) - i - 1), Replayed: replayed})
		i++
		if c.watch == nil {
			continue
		}
		if odd := c.watch.see(last, i); odd || i == len(set) || o.LookEvery > 0 && i%o.LookEvery == 0 {
			next, err := c.examine(ctx, odd)
			if err != nil {
				return ChartResult{Readings: c.taken, Mended: c.mended}, err
			}
			i = next
		}
	}
	return c.finish(ctx)
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

// finish reads again what is suspect and settles which readings count.
func (c *chartRun) finish(ctx context.Context) (ChartResult, error) {
	if err := c.fitDrift(); err != nil {
		return ChartResult{Readings: c.taken}, err
	}
	var again []Again
	if !c.o.KeepOutliers {
		var err error
		if again, err = c.reread(ctx); err != nil {
			return ChartResult{Readings: c.taken}, err
		}
	}
	fixed := c.drift.Correct(c.taken)
	out := ChartResult{Drift: c.drift, Again: again, Mended: c.mended}
	for _, tries := range c.tries {
		out.Readings = append(out.Readings, fixed[tries[0]])
	}
	for k, a := range again {
		var tries []Reading
		for _, t := range c.tries[a.At] {
			tries = append(tries, fixed[t])
			again[k].Readings = append(again[k].Readings, fixed[t].Index)
		}
		out.Readings[a.At] = settle(tries, a.Flag)
	}
	return out, nil
}

// fitDrift looks for the drift in all that was read; without anchors there is
// none to be seen.
func (c *chartRun) fitDrift() error {
	if c.o.KeepDrift {
		return nil
	}
	o, err := c.o.Drift.withDefaults()
	if err != nil {
		return err
	}
	d, expected, err := fitDrift(c.taken, o, c.expected)
	if err != nil && !errors.Is(err, errNoAnchor) {
		return err
	}
	c.drift, c.expected = d, expected
	return nil
}

// reread reads suspects once more, those that stay doubtful twice, and says what
// came of each.
func (c *chartRun) reread(ctx context.Context) ([]Again, error) {
	fixed := c.drift.Correct(c.taken)
	neighbours := newField(fixed)
	again := c.doubtful(fixed, neighbours)
	if neighbours != nil {
		for _, a := range again {
			neighbours.out[a.At] = true
		}
		neighbours.gather()
	}
	if err := c.readAll(ctx, again, func(Again) bool { return true }); err != nil {
		return nil, err
	}
	fixed = c.drift.Correct(c.taken)
	limit := distuv.ChiSquared{K: 3}.Quantile(1 - suspectRate)
	for k := range again {
		a := &again[k]
		first, second := fixed[c.tries[a.At][0]], fixed[c.tries[a.At][1]]
		switch {
		case agree(first, second):
			a.Flag = FlagConfirmed
		case neighbours != nil && neighbours.believes(a.At, second, limit):
			a.Flag = FlagReplaced
		}
	}
	if err := c.readAll(ctx, again, func(a Again) bool { return a.Flag == "" }); err != nil {
		return nil, err
	}
	fixed = c.drift.Correct(c.taken)
	for k := range again {
		if a := &again[k]; a.Flag == "" {
			var three []Reading
			for _, t := range c.tries[a.At] {
				three = append(three, fixed[t])
			}
			i, j, same := closest(three)
			switch {
			case !same:
				a.Flag = FlagUnsettled
			case i == 0 || j == 0:
				a.Flag = FlagConfirmed
			default:
				a.Flag = FlagReplaced
			}
		}
	}
	return again, nil
}

// readAll reads those once more that are wanted, then the most repeated signal,
// and looks at the drift anew. With a watch it looks whether all is still well,
// and begins anew where it was not.
func (c *chartRun) readAll(ctx context.Context, again []Again, wanted func(Again) bool) error {
	var list []int
	for _, a := range again {
		if wanted(a) {
			list = append(list, a.At)
		}
	}
	if len(list) == 0 {
		return nil
	}
	before := len(c.taken)
	for well := false; !well; {
		for _, at := range list {
			c.tries[at] = slices.DeleteFunc(c.tries[at], func(t int) bool { return t >= before })
		}
		c.taken = c.taken[:before]
		if err := c.readOnce(ctx, list); err != nil {
			return err
		}
		well = true
		if c.watch != nil {
			var err error
			if _, well, err = c.wait(ctx, len(c.set)); err != nil {
				return err
			}
		}
	}
	return c.fitDrift()
}

// readOnce reads the patches of a list, and the anchor that holds the drift.
func (c *chartRun) readOnce(ctx context.Context, list []int) error {
	for done, at := range list {
		replayed := c.s.Replaying()
		if err := c.read(ctx, at); err != nil {
			return err
		}
		c.s.progress(Progress{Stage: c.stage, Done: len(c.set) + done + 1, Total: len(c.set) + len(list), Replayed: replayed, Text: "reading again what looked wrong"})
	}
	if at, ok := c.anchor(); ok {
		if err := c.read(ctx, at); err != nil {
			return err
		}
		// It holds the drift; the patch keeps its own reading.
		c.tries[at] = c.tries[at][:len(c.tries[at])-1]
	}
	return nil
}

// anchor returns the patch whose signal was repeated most, where the drift is
// looked at.
func (c *chartRun) anchor() (at int, ok bool) {
	if c.o.KeepDrift || c.drift.Anchors == 0 {
		return 0, false
	}
	count := map[colorimetry.RGB]int{}
	for i, p := range c.set {
		if count[p.Signal]++; count[p.Signal] > count[c.set[at].Signal] || i == 0 {
			at = i
		}
	}
	return at, true
}

// doubtful lists what is to be read again, in the set's order.
func (c *chartRun) doubtful(fixed []Reading, neighbours *field) []Again {
	share := c.o.MostAgain
	if share == 0 {
		share = mostAgain
	}
	most := int(share*float64(len(c.set))) + 1
	var list []Again
	for at, r := range fixed {
		if slices.Contains(r.Flags, FlagScattered) {
			list = append(list, Again{At: at})
		}
	}
	var suspects []Suspect
	if neighbours != nil {
		suspects = neighbours.suspects()
	}
	for _, s := range suspects {
		if !slices.ContainsFunc(list, func(a Again) bool { return a.At == s.At }) {
			list = append(list, Again{At: s.At, Distance: s.Distance})
		}
	}
	list = list[:min(len(list), most)]
	slices.SortFunc(list, func(a, b Again) int { return a.At - b.At })
	return list
}

// believes reports whether a reading in the place of reading i is as its
// neighbours predict.
func (f *field) believes(i int, r Reading, limit float64) bool {
	cov := f.inverse.Mul(r.Covariance).Mul(f.inverse.Transpose())
	if _, _, ok := f.expect(i); !ok {
		return false
	}
	return f.distance(i, vector(f.inverse.Apply(r.XYZ)), cov) <= limit
}

// between returns the squared distance of two readings in units of both noises.
func between(a, b Reading) float64 {
	inverse, err := a.Covariance.Add(b.Covariance).Inverse()
	if err != nil {
		return 0
	}
	return distance2(a.XYZ.Sub(b.XYZ), inverse)
}

func agree(a, b Reading) bool {
	return between(a, b) <= distuv.ChiSquared{K: 3}.Quantile(1-sameRate)
}

// closest returns the two of three readings that lie closest, and whether they
// agree.
func closest(three []Reading) (i, j int, same bool) {
	i, j = 0, 1
	for _, p := range [][2]int{{0, 2}, {1, 2}} {
		if between(three[p[0]], three[p[1]]) < between(three[i], three[j]) {
			i, j = p[0], p[1]
		}
	}
	return i, j, agree(three[i], three[j])
}

// settle makes the reading that counts out of all tries of a patch.
func settle(tries []Reading, flag string) Reading {
	keep := tries
	switch {
	case len(tries) == 3:
		i, j, _ := closest(tries)
		keep = []Reading{tries[i], tries[j]}
	case flag == FlagReplaced:
		keep = tries[len(tries)-1:]
	}
	out := keep[len(keep)-1]
	if len(keep) == 2 {
		a, b := keep[0], keep[1]
		out.XYZ = mean([]colorimetry.XYZ{a.XYZ, b.XYZ})
		out.Repeats = slices.Concat(a.Repeats, b.Repeats)
		out.Raw = mean(out.Repeats)
		if a.Spectrum.Len() > 0 {
			out.Spectrum = a.Spectrum.Add(b.Spectrum).Scale(1.0 / 2)
		}
		out.Covariance = a.Covariance.Add(b.Covariance).Scale(1.0 / 4)
	}
	if flag == FlagUnsettled {
		var spread colorimetry.Matrix
		for _, r := range tries {
			spread = spread.Add(square(r.XYZ.Sub(out.XYZ)).Scale(1 / float64(len(tries))))
		}
		out.Covariance = out.Covariance.Add(spread)
	}
	out.Flags = append(slices.Clone(out.Flags), flag)
	return out
}
