package fit

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/fit/internal/crossval"
)

// A simpler model is taken, too, where it is worse by less than anyone could
// see or measure, however sure that is: in CIEDE2000 and in standard deviations
// of a reading.
const (
	leastExcess   = 0.003
	leastDistance = 0.02
)

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
		if best < 0 || mean(c.judged, miss) < mean(list[best].judged, miss) {
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
		if c.err == nil && chosen < 0 && figures.near() {
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

// near reports whether the candidate is as good as the best one for all that the
// readings say.
func (c *Candidate) near() bool {
	return c.Excess <= math.Max(c.ExcessError, leastExcess) && c.DistanceExcess <= math.Max(c.DistanceError, leastDistance)
}

// reason says in a sentence why the candidate was chosen.
func reason(c []Candidate, chosen, best int) string {
	if chosen != best {
		return fmt.Sprintf("Its kind is simpler than %q, and on readings that neither had seen it is worse by %.3f ΔE00 with a standard error of %.3f, which is not told from nothing.",
			c[best].Name, c[chosen].Excess, c[chosen].ExcessError)
	}
	// The nearest of the simpler ones is what the choice was against; where
	// there is none, the nearest of all.
	rival, simpler := -1, "other"
	for i, other := range c {
		if i == chosen || other.Failed != "" || rival >= 0 && i > chosen && rival < chosen {
			continue
		}
		if rival < 0 || other.Excess < c[rival].Excess {
			rival = i
		}
	}
	if rival < 0 {
		return "It is the only model that could be fitted."
	}
	if rival < chosen {
		simpler = "simpler"
	}
	also := "and by"
	if c[rival].DistanceExcess < 0 {
		also = "though nearer by"
	}
	return fmt.Sprintf("It predicts readings that it had not seen with a mean of %.3f ΔE00; of the %s kinds %q comes nearest and is worse by %.3f with a standard error of %.3f, %s %.2f ± %.2f standard deviations of the readings.",
		c[chosen].Mean, simpler, c[rival].Name, c[rival].Excess, c[rival].ExcessError, also, math.Abs(c[rival].DistanceExcess), c[rival].DistanceError)
}

// figures returns the candidate's figures beside the best one's.
func (c *candidate) figures(best *candidate) Candidate {
	out := Candidate{Name: c.name, Count: len(c.judged)}
	if p, ok := c.model.(interface{ Parameters() float64 }); ok {
		out.Parameters = p.Parameters()
	}
	if c.err != nil {
		out.Failed, out.Count = c.err.Error(), 0
		return out
	}
	if len(c.judged) == 0 {
		return out
	}
	sorted := make([]float64, len(c.judged))
	for i, j := range c.judged {
		sorted[i] = j.miss
	}
	slices.Sort(sorted)
	out.Mean, out.Max, out.Distance = mean(c.judged, miss), sorted[len(sorted)-1], mean(c.judged, sigma)
	out.Error, out.MostError = errorOf(c.judged)
	out.P95 = sorted[int(math.Ceil(0.95*float64(len(sorted))))-1]
	if c == best {
		return out
	}
	out.Excess, out.ExcessError = paired(c.judged, best.judged, miss)
	out.DistanceExcess, out.DistanceError = paired(c.judged, best.judged, sigma)
	return out
}

func miss(j judgement) float64  { return j.miss }
func sigma(j judgement) float64 { return j.sigma }

// square is an estimate of the squared difference from the truth.
func square(j judgement) float64 { return j.miss*j.miss - j.noise }

// errorOf returns the estimated root mean square difference from the truth, and
// the most that it may be: two standard errors of the mean square above.
func errorOf(list []judgement) (estimate, most float64) {
	squares := make([]float64, len(list))
	for i, j := range list {
		squares[i] = square(j)
	}
	m, s := crossval.Mean(squares)
	if len(squares) == 1 {
		s = math.Abs(m)
	}
	return math.Sqrt(math.Max(m, 0)), math.Sqrt(math.Max(m, 0) + 2*s)
}

// paired returns the mean of what of says of a over that of b, and its standard
// error.
func paired(a, b []judgement, of func(judgement) float64) (excess, standard float64) {
	diff := make([]float64, len(a))
	for i := range diff {
		diff[i] = of(a[i]) - of(b[i])
	}
	return crossval.Mean(diff)
}

func mean(list []judgement, of func(judgement) float64) float64 {
	var sum float64
	for _, j := range list {
		sum += of(j)
	}
	return sum / math.Max(1, float64(len(list)))
}
