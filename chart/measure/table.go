package measure

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// StageTable is the stage of readings that came from a table.
const StageTable = "table"

// TableOptions say what is known of a table of readings. The zero value is the
// default.
type TableOptions struct {
	File  string // names the file in errors and warnings
	Noise Noise  // of one reading; zero = as Noise.Assumed says
	// WhiteCdM2 is the luminance of white where the table is relative: its
	// readings are scaled so that their white has it. 0 = 100.
	WhiteCdM2 float64
	Curves    string // digest of the curves in force while the table was read; "" = "none"
}

// Warning is something about a table that is not as it should be and does not
// keep it from being used.
type Warning struct {
	Text  string `json:"text"`
	Lines []int  `json:"lines,omitempty"` // of the file, from 1
}

// String returns the text with the first few lines it is about.
func (w Warning) String() string {
	if len(w.Lines) == 0 {
		return w.Text
	}
	const shown = 6
	if len(w.Lines) > shown {
		return fmt.Sprintf("%s (lines %v and %d more)", w.Text, w.Lines[:shown], len(w.Lines)-shown)
	}
	return fmt.Sprintf("%s (lines %v)", w.Text, w.Lines)
}

const (
	badScatter  = 5    // times the readings' own scatter that are still data
	warnScatter = 3    // times from which a repeat is named
	farScatter  = 2    // times from which a repeat weighs less
	badFall     = 0.05 // of white's luminance that no ramp may fall by
	ownRepeats  = 8    // rows with repeats from which scatter is taken from them
)

// FromTable makes readings of a table that somebody else took, in the order of
// its rows, absolute in cd/m²: one a signal. Rows of the same signal are
// repeats and are averaged, those further than twice the scatter from their
// middle with less weight.
//
// The scatter of one reading is the stated noise, enlarged where the table has
// at least eight repeats and their median deviation says so. Repeats, and falls
// of luminance along a ramp from black (of grey, of a primary, of a secondary),
// within 5 times the scatter are data, and named in the warnings where repeats
// differ by more than 3 times, and always for falls. Beyond that, or a fall of
// more than 5 % of the table's highest luminance, the table is bad input: a
// *[chart.InputError], as for a table without rows, without light, or with a
// number that is not finite.
func FromTable(t chart.Table, o TableOptions) ([]Reading, []Warning, error) {
	bad := func(line int, problem, remedy string) error {
		return &chart.InputError{File: o.File, Line: line, Problem: problem, Remedy: remedy}
	}
	if !t.HasXYZ || len(t.Rows) == 0 {
		return nil, nil, bad(0, "it holds no readings", "give a table with a signal and X, Y and Z in each row")
	}
	scale, peak, err := tableScale(t, o, bad)
	if err != nil {
		return nil, nil, err
	}
	groups := groupRows(t.Rows, scale)
	noise := o.Noise.Assumed()
	k := tableScatter(groups, noise)
	var warnings []Warning
	if k > 1.5 {
		warnings = append(warnings, Warning{Text: fmt.Sprintf("repeats scatter %.1f times as much as the instrument's noise would have it; the readings are taken for that much less certain", k)})
	}
	var apart []int
	for i := range groups {
		g := &groups[i]
		worst, row := g.average(noise, k)
		if worst > badScatter {
			return nil, nil, bad(g.lines[row], fmt.Sprintf("this reading of signal %s lies %.0f times the scatter from the others of the same signal", signalText(g.patch.Signal), worst),
				"remove whichever is wrong, or read the patch again")
		}
		if worst > warnScatter {
			apart = append(apart, g.lines[row])
		}
	}
	if len(apart) > 0 {
		warnings = append(warnings, Warning{fmt.Sprintf("%d readings lie more than %d times the scatter from the others of their signal; they were averaged, with less weight", len(apart), warnScatter), apart})
	}
	falls, err := checkFalls(groups, peak, bad)
	if err != nil {
		return nil, nil, err
	}
	return tableReadings(groups, o), append(warnings, falls...), nil
}

// group is one signal of a table with all its readings.
type group struct {
	patch      chart.Patch
	lines      []int
	repeats    []colorimetry.XYZ // cd/m²
	mean       colorimetry.XYZ
	covariance colorimetry.Matrix // of the mean
	sigmaY     float64            // scatter of one reading's luminance
}

// tableScale returns the factor that makes the table absolute, and its highest
// luminance in cd/m².
func tableScale(t chart.Table, o TableOptions, bad func(int, string, string) error) (scale, peak float64, err error) {
	var white, count float64
	for _, r := range t.Rows {
		if !r.XYZ.Finite() {
			return 0, 0, bad(r.Line, fmt.Sprintf("X, Y, Z are %s", colourText(r.XYZ)), "give numbers")
		}
		if err := checkSignal(r.Signal); err != nil {
			return 0, 0, bad(r.Line, err.Error(), "say what the largest signal is")
		}
		peak = math.Max(peak, r.XYZ.Y)
		if r.Signal == colorimetry.Gray(1) {
			white += r.XYZ.Y
			count++
		}
	}
	if !(peak > 0) {
		return 0, 0, bad(0, "no reading has a luminance above 0", "check which columns hold X, Y and Z")
	}
	if t.Scale != chart.ScaleRelative {
		return 1, peak, nil
	}
	if white = white / count; !(white > 0) {
		white = peak
	}
	want := o.WhiteCdM2
	if want == 0 {
		want = 100
	}
	return want / white, peak * want / white, nil
}

func groupRows(rows []chart.Row, scale float64) []group {
	var groups []group
	at := map[colorimetry.RGB]int{}
	for _, r := range rows {
		i, ok := at[r.Signal]
		if !ok {
			i = len(groups)
			at[r.Signal] = i
			groups = append(groups, group{patch: chart.Patch{ID: r.ID, Signal: r.Signal}})
		}
		groups[i].lines = append(groups[i].lines, r.Line)
		groups[i].repeats = append(groups[i].repeats, r.XYZ.Scale(scale))
	}
	return groups
}

// deviations returns how far each repeat lies from the middle of the others in
// X, Y and Z, in units of the noise of one reading.
func (g group) deviations(noise Noise) [][3]float64 {
	n := float64(len(g.repeats))
	if n < 2 {
		return nil
	}
	centre := middle(g.repeats)
	c := noise.Covariance(centre, 1)
	sx, sy, sz := math.Sqrt(c[0][0]), math.Sqrt(c[1][1]), math.Sqrt(c[2][2])
	// The middle moves with each reading: a pair's halves of the difference are
	// as unlikely as the whole is for √2 of the noise.
	lift := math.Sqrt(n / (n - 1))
	out := make([][3]float64, len(g.repeats))
	for i, r := range g.repeats {
		d := r.Sub(centre)
		out[i] = [3]float64{lift * math.Abs(d.X) / sx, lift * math.Abs(d.Y) / sy, lift * math.Abs(d.Z) / sz}
	}
	return out
}

// middle returns the median of each component.
func middle(c []colorimetry.XYZ) colorimetry.XYZ {
	part := func(f func(colorimetry.XYZ) float64) float64 {
		v := make([]float64, len(c))
		for i := range c {
			v[i] = f(c[i])
		}
		return median(v)
	}
	return colorimetry.XYZ{
		X: part(func(c colorimetry.XYZ) float64 { return c.X }),
		Y: part(func(c colorimetry.XYZ) float64 { return c.Y }),
		Z: part(func(c colorimetry.XYZ) float64 { return c.Z }),
	}
}

func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	return (v[(n-1)/2] + v[n/2]) / 2
}

// tableScatter returns how many times the noise of one reading the repeats
// scatter, at least 1: by the median, so that a few bad readings do not make
// themselves good.
func tableScatter(groups []group, noise Noise) float64 {
	var all []float64
	rows := 0
	for _, g := range groups {
		for _, d := range g.deviations(noise) {
			all = append(all, d[:]...)
			rows++
		}
	}
	if rows < ownRepeats {
		return 1
	}
	const normalMedian = 0.6745 // of |z|, z standard normal
	return math.Max(1, median(all)/normalMedian)
}

// average fills in mean and covariance; it returns the largest deviation in
// units of the scatter, and whose it is.
func (g *group) average(noise Noise, k float64) (worst float64, row int) {
	var weights, total float64
	var sum colorimetry.XYZ
	dev := g.deviations(noise)
	for i, r := range g.repeats {
		w := 1.0
		if dev != nil {
			d := max(dev[i][0], dev[i][1], dev[i][2]) / k
			w = math.Min(1, farScatter/d) // d = 0 gives 1
			if d > worst {
				worst, row = d, i
			}
			for _, v := range dev[i] {
				// Without lift: the sum over all has 3(n−1) expected.
				total += v * v * float64(len(dev)-1) / float64(len(dev))
			}
		}
		sum = sum.Add(r.Scale(w))
		weights += w
	}
	g.mean = sum.Scale(1 / weights)
	factor := k * k
	if worst > warnScatter {
		factor = math.Max(factor, total/float64(3*(len(dev)-1)))
	}
	one := noise.Covariance(g.mean, 1)
	g.covariance = one.Scale(factor / weights)
	g.sigmaY = k * math.Sqrt(one[1][1])
	return worst, row
}

// checkFalls looks along the seven ramps for luminance that falls while the
// signal rises.
func checkFalls(groups []group, peak float64, bad func(int, string, string) error) ([]Warning, error) {
	var lines []int
	var deepest float64
	for ramp := 1; ramp < 8; ramp++ {
		var high *group
		for _, g := range alongRamp(groups, ramp) {
			if high == nil || g.mean.Y >= high.mean.Y {
				high = g
				continue
			}
			fall := high.mean.Y - g.mean.Y
			if limit := badScatter * math.Hypot(high.sigmaY, g.sigmaY); fall > limit || fall > badFall*peak {
				return nil, bad(g.lines[0], fmt.Sprintf("the luminance falls from %.4g to %.4g cd/m² while the signal rises from %s (line %d) to %s",
					high.mean.Y, g.mean.Y, signalText(high.patch.Signal), high.lines[0], signalText(g.patch.Signal)),
					"check that signals and readings belong together, and read the ramp again")
			}
			lines = append(lines, g.lines[0])
			deepest = math.Max(deepest, fall)
		}
	}
	if len(lines) == 0 {
		return nil, nil
	}
	slices.Sort(lines)
	times := fmt.Sprintf("%d times", len(lines))
	if len(lines) == 1 {
		times = "once"
	}
	return []Warning{{fmt.Sprintf("luminance falls %s along a ramp, by at most %.3g cd/m²; that is within the readings' own scatter and is taken for noise", times, deepest), lines}}, nil
}

// alongRamp returns the groups of a ramp by rising signal. The bits of ramp say
// which channels rise together, 1 red, 2 green, 4 blue; the others are 0. Black
// begins every ramp.
func alongRamp(groups []group, ramp int) []*group {
	var out []*group
	for i := range groups {
		s := groups[i].patch.Signal
		level := s.Max()
		on := func(bit int) float64 {
			if ramp&bit != 0 {
				return level
			}
			return 0
		}
		if s == (colorimetry.RGB{R: on(1), G: on(2), B: on(4)}) {
			out = append(out, &groups[i])
		}
	}
	slices.SortStableFunc(out, func(a, b *group) int { return cmp.Compare(a.patch.Signal.Max(), b.patch.Signal.Max()) })
	return out
}

func tableReadings(groups []group, o TableOptions) []Reading {
	curves := o.Curves
	if curves == "" {
		curves = "none"
	}
	out := make([]Reading, len(groups))
	for i, g := range groups {
		out[i] = Reading{Index: i, Stage: StageTable, Patch: g.patch, Raw: g.mean, XYZ: g.mean,
			Repeats: g.repeats, Covariance: g.covariance, Curves: curves}
	}
	return out
}
