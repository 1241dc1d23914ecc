package fit

import (
	"fmt"
	"math"
	"slices"
	"sync"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/fit/internal/crossval"
)

// defaultFolds is the number of parts that Best holds back in turn.
const defaultFolds = 8

// candidate is one kind of model while it is judged.
type candidate struct {
	name   string
	model  Model
	err    error
	judged []judgement // of each reading that was held back, in order
}

// judgement is how a model that did not see a reading predicts it.
type judgement struct {
	miss  float64 // CIEDE2000
	noise float64 // its expected square from the reading's noise alone
	sigma float64 // distance in standard deviations of the reading
}

// Best fits every kind of model to absolute readings and returns the one that
// the evidence prefers, with the figures of all.
//
// Each kind is judged on readings that it did not see: the readings are dealt
// into o.Folds parts, equal signals into the same part, and each part is
// predicted by a model of the others. Signals at a corner of the cube always
// stay with the fit, since without them it would have to guess beyond what it
// saw. The kind with the smallest mean difference wins, except that the simplest
// one is taken which is worse by no more than one standard error of the paired
// differences (or by next to nothing), both in CIEDE2000 and in standard
// deviations of the readings: a bend in the dark hides among differences that
// are mostly noise of bright patches, but not among distances that know how
// little noise the dark ones have. In paired differences the readings' noise
// cancels.
//
// At most 3000 readings can be used. The error says which reading is unusable,
// or that no kind could be fitted. Equal input gives equal output.
func Best(readings []measure.Reading, o Options) (Model, Evidence, error) {
	if o.Folds < 0 || o.Folds == 1 {
		return nil, Evidence{}, fmt.Errorf("fit: %d folds; two or more are needed, 0 takes %d", o.Folds, defaultFolds)
	}
	names := Kinds()
	if o.Force != "" && !slices.Contains(names, o.Force) {
		return nil, Evidence{}, fmt.Errorf("fit: there is no model %q; there are %q", o.Force, names)
	}
	obs, err := observe(readings, o)
	if err != nil {
		return nil, Evidence{}, err
	}
	power, err := fitPower(obs, nil)
	if err != nil {
		return nil, Evidence{}, fmt.Errorf("fit: no model could be fitted: %w", err)
	}
	list, g := fitAll(obs, power)
	ev := Evidence{Folds: o.Folds}
	if ev.Folds == 0 {
		ev.Folds = defaultFolds
	}
	ev.Folds = min(ev.Folds, len(obs))
	judge(obs, list, g, ev.Folds)
	i, err := choose(list, &ev, o.Force)
	if err != nil {
		return nil, ev, err
	}
	describe(list[i].model, readings, o, &ev)
	return list[i].model, ev, nil
}

// fitAll fits every kind to all readings. The ground is that of the kinds which
// have one.
func fitAll(obs []observation, power *PowerModel) ([]*candidate, *ground) {
	var list []*candidate
	for _, name := range Kinds() {
		list = append(list, &candidate{name: name})
	}
	list[0].model = power
	additive, err := fitAdditive(obs, power)
	if list[1].err = err; err == nil {
		list[1].model = additive
	}
	g, err := newGroundOn(obs, power, additive)
	rest := list[2:]
	fail := func(err error) ([]*candidate, *ground) {
		for _, c := range rest {
			c.err = err
		}
		return list, &ground{power: power, under: additive}
	}
	if err != nil {
		return fail(err)
	}
	// The form that holds the others finds the readings that are contradicted.
	all, err := g.fit(obs, smooth)
	if err != nil {
		return fail(err)
	}
	var wait sync.WaitGroup
	for i, c := range rest {
		if f := &forms[i]; f == smooth {
			c.model = all
		} else {
			wait.Go(func() {
				m, err := fitResidual(obs, g.under, f, all)
				if c.err = err; err == nil {
					c.model = m
				}
			})
		}
	}
	wait.Wait()
	return list, g
}

// judge fills what is judged of every candidate by cross-validation.
func judge(obs []observation, list []*candidate, g *ground, folds int) {
	part := deal(obs, folds, g.left)
	white := brightest(obs)
	found := make([][]prediction, folds*len(list))
	failed := make([]error, folds*len(list))
	var wait sync.WaitGroup
	for f := range folds {
		var held []int
		for i := range obs {
			if part[i] == f {
				held = append(held, i)
			}
		}
		if len(held) > 0 {
			wait.Go(func() {
				at := f * len(list)
				g.predict(obs, list, held, found[at:at+len(list)], failed[at:at+len(list)])
			})
		}
	}
	wait.Wait()
	for k, c := range list {
		for f := range folds {
			if err := failed[f*len(list)+k]; err != nil && c.err == nil {
				c.err = fmt.Errorf("without part %d of %d: %w", f+1, folds, err)
			}
			for _, p := range found[f*len(list)+k] {
				c.judged = append(c.judged, p.judge(&obs[p.of], white))
			}
		}
	}
}

// prediction is what a model says of an observation that it did not see.
type prediction struct {
	of  int
	xyz colorimetry.XYZ
}

// predict fills the predictions of the held observations by every candidate,
// fitted to the others.
func (g *ground) predict(obs []observation, list []*candidate, held []int, found [][]prediction, failed []error) {
	rest := without(obs, held)
	power, err := fitPower(rest, g.power)
	var additive, under *AdditiveModel
	var noAdditive, noUnder error
	if c := list[1]; c.err == nil {
		additive, noAdditive = c.model.(*AdditiveModel).again(rest)
	}
	if under, noUnder = additive, noAdditive; g.loose || len(g.left) > 0 {
		under, noUnder = g.fold(obs, held)
	}
	for k, c := range list {
		if c.err != nil {
			continue
		}
		switch m := c.model.(type) {
		case *PowerModel:
			if failed[k] = err; err == nil {
				found[k] = predictAll(power, obs, held)
			}
		case *AdditiveModel:
			if failed[k] = noAdditive; noAdditive == nil {
				found[k] = predictAll(additive, obs, held)
			}
		case *ResidualModel:
			if failed[k] = noUnder; noUnder == nil {
				found[k], failed[k] = m.held(obs, under, held)
			}
		}
	}
}

func predictAll(m Model, obs []observation, held []int) []prediction {
	var out []prediction
	for _, i := range held {
		out = append(out, prediction{i, m.XYZ(obs[i].rgb())})
	}
	return out
}

// judge compares the prediction with the reading.
func (p prediction) judge(ob *observation, white colorimetry.XYZ) judgement {
	x := colorimetry.XYZ{X: ob.xyz[0], Y: ob.xyz[1], Z: ob.xyz[2]}
	lab := x.Lab(white)
	j := judgement{miss: difference.CIEDE2000(lab, p.xyz.Lab(white))}
	half := ob.half()
	for c := range 3 {
		for _, v := range [2]colorimetry.XYZ{x.Add(half.Column(c)), x.Sub(half.Column(c))} {
			d := difference.CIEDE2000(lab, v.Lab(white))
			j.noise += d * d / 2
		}
	}
	w := ob.whitened(triple(x.Sub(p.xyz)))
	j.sigma = math.Sqrt(dot(w, w))
	return j
}

// deal returns the part that each observation belongs to, −1 for those that
// always stay with the fit, as those of left do: a wild reading says nothing of
// who predicts best. Parts are dealt along the sum of the signals, so
// that each holds dark and bright ones.
func deal(obs []observation, folds int, left []int) []int {
	order := make([]int, 0, len(obs))
	part := make([]int, len(obs))
	for i := range obs {
		part[i] = -1
		if !crossval.Corner(obs[i].rgb()) && !slices.Contains(left, i) {
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
