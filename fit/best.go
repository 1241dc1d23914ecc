package fit

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"

	"gonum.org/v1/gonum/stat"
)

// defaultFolds is the number of parts that Best holds back in turn.
const defaultFolds = 8

// kind is one kind of model: its name and how it is fitted to observations, of
// which power is the gain-offset-gamma model, where other kinds may begin.
type kind struct {
	name string
	fit  func(obs []observation, power *PowerModel) (Model, error)
}

// kinds are all kinds, simpler ones first. What a kind found out about the whole
// that need not be found out anew for each part is in zones.
func kinds(zones *[]float64) []kind {
	return []kind{
		{GainOffsetGammaName, func(_ []observation, power *PowerModel) (Model, error) { return power, nil }},
		{AdditiveName, func(obs []observation, power *PowerModel) (Model, error) {
			m, err := fitAdditive(obs, power, *zones)
			if err != nil {
				return nil, err
			}
			*zones = m.zones
			return m, nil
		}},
	}
}

// candidate is one kind of model while it is judged.
type candidate struct {
	kind
	model  Model
	err    error
	misses []float64 // CIEDE2000 of each reading that was held back, in order
	noises []float64 // its distance in standard deviations of the reading
}

// Best fits every kind of model to absolute readings and returns the one that
// the evidence prefers, with the figures of all.
//
// Each kind is judged on readings that it did not see: the readings are dealt
// into o.Folds parts, equal signals into the same part, and each part is
// predicted by a model of the others. Signals at a corner of the cube always
// stay with the fit, since without them it would have to guess beyond what it
// saw. The kind with the smallest mean difference wins, except that a simpler
// one is taken where it is worse by no more than one standard error of the
// paired differences, both in CIEDE2000 and in standard deviations of the
// readings: a bend in the dark hides among differences that are mostly noise of
// bright patches, but not among distances that know how little noise the dark
// ones have.
//
// The error says which reading is unusable, or that no kind could be fitted.
// Equal input gives equal output.
func Best(readings []measure.Reading, o Options) (Model, Evidence, error) {
	if o.Folds < 0 || o.Folds == 1 {
		return nil, Evidence{}, fmt.Errorf("fit: %d folds; two or more are needed, 0 takes %d", o.Folds, defaultFolds)
	}
	var zones []float64
	var list []*candidate
	var names []string
	for _, k := range kinds(&zones) {
		list = append(list, &candidate{kind: k})
		names = append(names, k.name)
	}
	if o.Force != "" && !slices.Contains(names, o.Force) {
		return nil, Evidence{}, fmt.Errorf("fit: there is no model %q; there are %q", o.Force, names)
	}
	obs, err := observe(readings, o)
	if err != nil {
		return nil, Evidence{}, err
	}
	power, err := fitPower(obs, nil)
	for _, c := range list {
		if c.err = err; err == nil {
			c.model, c.err = c.fit(obs, power)
		}
	}
	ev := Evidence{Folds: o.Folds, Additivity: additivity(readings)}
	if ev.Folds == 0 {
		ev.Folds = defaultFolds
	}
	judge(obs, list, power, ev.Folds)
	i, err := choose(list, &ev, o.Force)
	if err != nil {
		return nil, ev, err
	}
	describe(list[i].model, &ev)
	return list[i].model, ev, nil
}

// judge fills the misses of every candidate by cross-validation. The power
// model of the whole is where the parts' own begin.
func judge(obs []observation, list []*candidate, whole *PowerModel, folds int) {
	part := deal(obs, folds)
	white := brightest(obs)
	for f := range folds {
		var train []observation
		var held []int
		for i := range obs {
			if part[i] == f {
				held = append(held, i)
			} else {
				train = append(train, obs[i])
			}
		}
		if len(held) == 0 {
			continue
		}
		power, err := fitPower(train, whole)
		for _, c := range list {
			if c.err != nil {
				continue
			}
			m, failed := Model(nil), err
			if failed == nil {
				m, failed = c.fit(train, power)
			}
			if failed != nil {
				c.err = fmt.Errorf("without part %d of %d: %w", f+1, folds, failed)
				continue
			}
			for _, i := range held {
				s, x := obs[i].signal, obs[i].xyz
				got := m.XYZ(colorimetry.RGB{R: s[0], G: s[1], B: s[2]})
				c.misses = append(c.misses, difference.CIEDE2000(colorimetry.XYZ{X: x[0], Y: x[1], Z: x[2]}.Lab(white), got.Lab(white)))
				r := obs[i].whitened([3]float64{x[0] - got.X, x[1] - got.Y, x[2] - got.Z})
				c.noises = append(c.noises, math.Sqrt(dot(r, r)))
			}
		}
	}
}

// deal returns the part that each observation belongs to, −1 for those that
// always stay with the fit. Parts are dealt along the sum of the signals, so
// that each holds dark and bright ones.
func deal(obs []observation, folds int) []int {
	order := make([]int, 0, len(obs))
	part := make([]int, len(obs))
	for i := range obs {
		part[i] = -1
		if !corner(obs[i].signal) {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := obs[a].signal, obs[b].signal
		for _, d := range [4]float64{x[0] + x[1] + x[2] - y[0] - y[1] - y[2], x[0] - y[0], x[1] - y[1], x[2] - y[2]} {
			if d < 0 {
				return -1
			} else if d > 0 {
				return 1
			}
		}
		return 0
	})
	n := -1
	for k, i := range order {
		if k == 0 || obs[i].signal != obs[order[k-1]].signal {
			n++
		}
		part[i] = n % folds
	}
	return part
}

// corner reports whether every channel is at 0 or 1.
func corner(s [3]float64) bool {
	for _, v := range s {
		if v != 0 && v != 1 {
			return false
		}
	}
	return true
}

// brightest returns the reading of greatest luminance, the white of the
// differences.
func brightest(obs []observation) colorimetry.XYZ {
	best := obs[0].xyz
	for i := range obs {
		if obs[i].xyz[1] > best[1] {
			best = obs[i].xyz
		}
	}
	return colorimetry.XYZ{X: best[0], Y: best[1], Z: best[2]}
}

// choose fills the evidence's figures and returns the place of the candidate
// to use.
func choose(list []*candidate, ev *Evidence, force string) (int, error) {
	best := -1
	var failure error
	for i, c := range list {
		if c.err != nil {
			failure = c.err
			continue
		}
		if best < 0 || mean(c.misses) < mean(list[best].misses) {
			best = i
		}
	}
	if best < 0 {
		return 0, fmt.Errorf("fit: no model could be fitted: %w", failure)
	}
	chosen := -1
	for i, c := range list {
		figures := c.figures(list[best])
		ev.Candidates = append(ev.Candidates, figures)
		if c.err == nil && chosen < 0 && figures.Excess <= figures.ExcessError && figures.DistanceExcess <= figures.DistanceError {
			chosen = i
		}
	}
	if force != "" {
		for i, c := range list {
			if c.name == force {
				if c.err != nil {
					return 0, fmt.Errorf("fit: %s was asked for but could not be fitted: %w", force, c.err)
				}
				ev.Chosen, ev.Reason = force, "It was asked for; the evidence was gathered all the same."
				return i, nil
			}
		}
	}
	ev.Chosen, ev.Reason = list[chosen].name, reason(ev.Candidates, chosen, best)
	return chosen, nil
}

// reason says in a sentence why the candidate was chosen.
func reason(c []Candidate, chosen, best int) string {
	if chosen != best {
		return fmt.Sprintf("It is simpler, and on readings that neither had seen it is worse than the %s model by only %.3f ΔE00 with a standard error of %.3f.",
			c[best].Name, c[chosen].Excess, c[chosen].ExcessError)
	}
	for i, other := range c {
		if i != chosen && other.Failed == "" {
			return fmt.Sprintf("It predicts readings that it had not seen with a mean of %.3f ΔE00; the %s model is worse by %.3f with a standard error of %.3f, and by %.2f ± %.2f standard deviations of the readings.",
				c[chosen].Mean, other.Name, other.Excess, other.ExcessError, other.DistanceExcess, other.DistanceError)
		}
	}
	return "It is the only model that could be fitted."
}

// figures returns the candidate's figures beside the best one's.
func (c *candidate) figures(best *candidate) Candidate {
	out := Candidate{Name: c.name, Count: len(c.misses)}
	if p, ok := c.model.(interface{ Parameters() float64 }); ok {
		out.Parameters = p.Parameters()
	}
	if c.err != nil {
		out.Failed, out.Count = c.err.Error(), 0
		return out
	}
	if len(c.misses) == 0 {
		return out
	}
	sorted := slices.Clone(c.misses)
	slices.Sort(sorted)
	out.Mean, out.Max, out.Distance = mean(c.misses), sorted[len(sorted)-1], mean(c.noises)
	out.P95 = sorted[int(math.Ceil(0.95*float64(len(sorted))))-1]
	if c == best {
		return out
	}
	out.Excess, out.ExcessError = paired(c.misses, best.misses)
	out.DistanceExcess, out.DistanceError = paired(c.noises, best.noises)
	return out
}

// paired returns the mean of a−b and its standard error.
func paired(a, b []float64) (excess, standard float64) {
	diff := make([]float64, len(a))
	for i := range diff {
		diff[i] = a[i] - b[i]
	}
	m, s := stat.MeanStdDev(diff, nil)
	if len(diff) < 2 {
		return m, 0
	}
	return m, stat.StdErr(s, float64(len(diff)))
}

func mean(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	return stat.Mean(v, nil)
}
