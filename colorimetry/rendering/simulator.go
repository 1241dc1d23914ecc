package rendering

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/spectrum"
)

// MetamericPair is two surfaces that look alike under one light.
type MetamericPair struct{ First, Second spectrum.Spectrum }

// Simulation is how well a light stands for a daylight illuminant.
type Simulation struct {
	// Offset is the distance in u′, v′ of the 10° observer between the light and
	// the illuminant. A light further off than 0.015 is not graded.
	Offset float64
	// Index is the visible-range metamerism index, the mean of Pairs: the
	// difference ΔE*ab that the light makes in each pair.
	Index float64
	Pairs []float64
	// Grade is A to E, A for an index up to 0.25, B up to 0.5, C up to 1, D up to
	// 2; empty where the light is too far off.
	Grade string
}

const (
	// simulatorOffset and grades are as makers of instruments report them from
	// the standard, which was not opened.
	simulatorOffset = 0.015
	// aMatch is how alike a pair must look under the illuminant. The standard's
	// table has four digits or so.
	aMatch = 0.1
)

var grades = [...]struct {
	upTo float64
	name string
}{{0.25, "A"}, {0.5, "B"}, {1, "C"}, {2, "D"}}

// DaylightSimulator grades a light as a simulator of a daylight illuminant, D50
// or D65 for instance, over the visible range. The pairs are the standard's
// five virtual specimens for that illuminant. They are no open data, so that
// whoever has the standard has to bring its table; others may see with pairs of
// their own how metamers come apart, but that is then no grade of the standard.
//
// It is an error if there are no pairs, if one does not match under the
// illuminant within 0.1 ΔE*ab, or if a spectrum does not reach from 400 to
// 700 nm.
//
// Source: ISO/CIE 23603:2024 (formerly CIE S 012, ISO 23603:2005), by reports of
// its rules: the 10° observer, 400 to 700 nm at 5 nm, CIELAB.
func DaylightSimulator(light, illuminant spectrum.Spectrum, pairs []MetamericPair) (Simulation, error) {
	if len(pairs) == 0 {
		return Simulation{}, fmt.Errorf("rendering: no metameric pairs; the standard has five for each illuminant")
	}
	test, err := weigh(light)
	if err != nil {
		return Simulation{}, fmt.Errorf("rendering: the light: %w", err)
	}
	aim, err := weigh(illuminant)
	if err != nil {
		return Simulation{}, fmt.Errorf("rendering: the illuminant: %w", err)
	}
	out := Simulation{Offset: test.White().UV().Distance(aim.White().UV())}
	for i, p := range pairs {
		match, err := apart(aim, p)
		if err != nil {
			return Simulation{}, fmt.Errorf("rendering: pair %d: %w", i+1, err)
		}
		if !(match <= aMatch) {
			return Simulation{}, fmt.Errorf("rendering: pair %d differs by %.2f under the illuminant and by at most %g should; take the pairs made for it", i+1, match, aMatch)
		}
		d, err := apart(test, p)
		if err != nil {
			return Simulation{}, fmt.Errorf("rendering: pair %d: %w", i+1, err)
		}
		out.Pairs = append(out.Pairs, d)
		out.Index += d / float64(len(pairs))
	}
	if out.Offset <= simulatorOffset {
		out.Grade = "E"
		for _, g := range grades {
			if out.Index <= g.upTo {
				out.Grade = g.name
				break
			}
		}
	}
	return out, nil
}

// weigh returns the weights of a light, 400 to 700 nm at 5 nm.
func weigh(light spectrum.Spectrum) (spectrum.Weights, error) {
	if err := reaches(light); err != nil {
		return spectrum.Weights{}, err
	}
	return spectrum.CIE1964().Weights(light, spectrum.Summation{StepNM: 5, FromNM: neededFrom, ToNM: neededUntil})
}

func reaches(s spectrum.Spectrum) error {
	if lo, hi := s.Range(); !(lo <= neededFrom && hi >= neededUntil) {
		return fmt.Errorf("it reaches from %g to %g nm; 400 to 700 are needed", lo, hi)
	}
	return nil
}

// apart returns how far apart a pair looks.
func apart(w spectrum.Weights, p MetamericPair) (float64, error) {
	var lab [2]colorimetry.Lab
	for i, s := range []spectrum.Spectrum{p.First, p.Second} {
		if err := reaches(s); err != nil {
			return 0, err
		}
		c, err := w.Reflection(s)
		if err != nil {
			return 0, err
		}
		lab[i] = c.Lab(w.White())
	}
	return difference.AB(lab[0], lab[1]), nil
}
