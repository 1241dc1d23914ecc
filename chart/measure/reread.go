package measure

import (
	"context"
	"errors"
	"slices"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/stat/distuv"
)

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
	out := ChartResult{Drift: c.drift, Again: again, Mended: c.mended, Why: c.why}
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
