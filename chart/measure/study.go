package measure

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
)

// Level is what repeats at one signal show. Standard deviations are of a single
// integration.
type Level struct {
	Signal       colorimetry.RGB
	Mean         colorimetry.XYZ // of all integrations, cd/m²
	Readings     int             // of this signal
	Integrations int             // in all of them
	// Repeat is how far integrations of one reading lie apart, in X, Y and Z in
	// cd/m²: the instrument's noise. NaN where each reading is a single one.
	Repeat colorimetry.XYZ
	// Reproduce is how far an integration lies from those of other readings of
	// the signal, what came between included: drift, another placement. NaN where
	// there is one reading alone.
	Reproduce colorimetry.XYZ
	// RepeatDE and ReproduceDE are the mean ΔE00 of integrations from the mean of
	// their reading, and of the readings' means from the mean of all, relative to
	// the brightest level. NaN as above.
	RepeatDE, ReproduceDE float64

	within  colorimetry.Matrix // sums of squares and products about the readings' means
	freedom float64            // of within
}

// Study says how well an instrument repeats itself, and how well its readings
// come out again.
type Study struct {
	Levels []Level // brightest first
	// Noise is the noise of one integration that explains Repeat best, at all
	// levels together, and Uncertainty the standard deviations of its three
	// figures. A figure that the levels say nothing of, as the floor without
	// dark patches, has an uncertainty as large as itself or larger.
	Noise, Uncertainty Noise
}

// leastFreedom is how many repeats beyond the first of each reading a noise
// model needs, in all: its figures are then good to a quarter or so.
const leastFreedom = 10

// Repeatability studies readings of several signals, each with several
// integrations, several times over. Those of a reference are left out; what the
// instrument said counts, before any correction.
//
// Repeat and Reproduce are the components of a one-way analysis of variance with
// random effects, a negative one counting as 0; the noise is the likeliest under
// normal deviations.
//
// It is an error if there are fewer than ten repeats beyond the first of each
// reading, or if none of them differ.
//
// Source: ISO 5725-2 for the two components (from memory: its formulas are those
// of the analysis of variance).
func Repeatability(readings []Reading) (Study, error) {
	groups, order := map[colorimetry.RGB][]Reading{}, []colorimetry.RGB{}
	for _, r := range readings {
		if r.Channel != "" || len(r.Repeats) == 0 {
			continue
		}
		if groups[r.Patch.Signal] == nil {
			order = append(order, r.Patch.Signal)
		}
		groups[r.Patch.Signal] = append(groups[r.Patch.Signal], r)
	}
	var s Study
	freedom := 0.0
	for _, signal := range order {
		l := level(signal, groups[signal])
		s.Levels, freedom = append(s.Levels, l), freedom+l.freedom
	}
	sort.SliceStable(s.Levels, func(i, j int) bool { return s.Levels[i].Mean.Y > s.Levels[j].Mean.Y })
	if freedom < leastFreedom {
		return Study{}, fmt.Errorf("measure: %g repeats beyond the first of each reading; a noise model needs %d, so integrate more often", freedom, leastFreedom)
	}
	if white := s.Levels[0].Mean; white.X > 0 && white.Y > 0 && white.Z > 0 {
		for i := range s.Levels {
			s.Levels[i].differences(groups[s.Levels[i].Signal], white)
		}
	}
	return s, s.fit()
}

// level analyses the readings of one signal.
func level(signal colorimetry.RGB, readings []Reading) Level {
	nan := math.NaN()
	none := colorimetry.XYZ{X: nan, Y: nan, Z: nan}
	l := Level{Signal: signal, Readings: len(readings), Repeat: none, Reproduce: none, RepeatDE: nan, ReproduceDE: nan}
	var total colorimetry.XYZ
	for _, r := range readings {
		for _, v := range r.Repeats {
			total = total.Add(v)
		}
		l.Integrations += len(r.Repeats)
	}
	l.Mean = total.Scale(1 / float64(l.Integrations))
	var between colorimetry.Matrix
	squares := 0.0 // of the numbers of repeats
	for _, r := range readings {
		n, m := float64(len(r.Repeats)), mean(r.Repeats)
		for _, v := range r.Repeats {
			l.within = l.within.Add(square(v.Sub(m)))
		}
		between = between.Add(square(m.Sub(l.Mean)).Scale(n))
		l.freedom += n - 1
		squares += n * n
	}
	if l.freedom > 0 {
		l.Repeat = roots(l.within.Scale(1 / l.freedom))
	}
	if k := float64(len(readings)); k > 1 {
		all := float64(l.Integrations)
		size := (all - squares/all) / (k - 1) // repeats a reading, on average
		between = between.Scale(1 / (k - 1))
		within := colorimetry.Matrix{}
		if l.freedom > 0 {
			within = l.within.Scale(1 / l.freedom)
		}
		for i := range 3 {
			between[i][i] = math.Max(0, (between[i][i]-within[i][i])/size) + within[i][i]
		}
		l.Reproduce = roots(between)
	}
	return l
}

// differences fills in what the spreads look like.
func (l *Level) differences(readings []Reading, white colorimetry.XYZ) {
	all := l.Mean.Lab(white)
	var repeat, reproduce float64
	for _, r := range readings {
		m := mean(r.Repeats).Lab(white)
		reproduce += difference.CIEDE2000(m, all)
		for _, v := range r.Repeats {
			repeat += difference.CIEDE2000(v.Lab(white), m)
		}
	}
	if l.freedom > 0 {
		l.RepeatDE = repeat / float64(l.Integrations)
	}
	if l.Readings > 1 {
		l.ReproduceDE = reproduce / float64(l.Readings)
	}
}

// square returns the squares and products of a deviation.
func square(d colorimetry.XYZ) (m colorimetry.Matrix) {
	v := [3]float64{d.X, d.Y, d.Z}
	for i := range v {
		for j := range v {
			m[i][j] = v[i] * v[j]
		}
	}
	return m
}

func roots(m colorimetry.Matrix) colorimetry.XYZ {
	return colorimetry.XYZ{X: math.Sqrt(m[0][0]), Y: math.Sqrt(m[1][1]), Z: math.Sqrt(m[2][2])}
}

var errNoScatter = errors.New("measure: no repeat differs from another; an instrument that shows no noise has rounded it away, or the readings are copies")
