package rendering

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/spectrum"
)

// Fidelity is the result of [ColourFidelity].
type Fidelity struct {
	// Rf is the general colour fidelity index: 0 to 100, which the formula passes
	// by 0.0005 where a light is its own reference.
	Rf float64
	// Samples holds the index of each of the 99 samples, in their order.
	Samples [99]float64
	// Kelvin is the temperature of the reference, Duv the light's distance from
	// the Planckian locus.
	Kelvin, Duv float64
}

// fidelityFactor scales the mean colour difference, chosen so that the average
// of fluorescent lamps keeps its Ra.
const fidelityFactor = 6.73

// ColourFidelity returns the colour fidelity indices of a light. The light
// needs no scale. Errors are as in [ColourRendering].
//
// Source: CIE 224:2017; ANSI/IES TM-30-18 (the same index): 99 samples, the
// 1964 observer, CAM02-UCS with an adapting luminance of 100 cd/m², a background
// of 20 % and full adaptation; the reference changes from a full radiator to
// daylight between 4000 and 5000 K.
func ColourFidelity(light spectrum.Spectrum) (Fidelity, error) {
	p, err := prepare(light)
	if err != nil {
		return Fidelity{}, err
	}
	kelvin, duv, far := p.temperature()
	if kelvin == 0 {
		return Fidelity{}, far
	}
	o, samples := spectrum.CIE1964(), spectrum.EvaluationColours()
	reference, err := p.reference(kelvin, 4000, 5000, o)
	if err != nil {
		return Fidelity{}, err
	}
	test, err := p.uniform(o, samples)
	if err != nil {
		return Fidelity{}, err
	}
	ref, err := reference.uniform(o, samples)
	if err != nil {
		return Fidelity{}, err
	}
	out := Fidelity{Kelvin: kelvin, Duv: duv}
	var sum float64
	for i := range out.Samples {
		d := appearance.UCS().Distance(test[i], ref[i])
		sum += d
		out.Samples[i] = soften(100 - fidelityFactor*d)
	}
	out.Rf = soften(100 - fidelityFactor*sum/float64(len(out.Samples)))
	return out, far
}

// soften keeps an index above 0.
func soften(r float64) float64 { return 10 * math.Log1p(math.Exp(r/10)) }

// uniform returns the samples under a light in CAM02-UCS.
func (p prepared) uniform(o spectrum.Observer, samples []spectrum.Sample) ([]appearance.Jab, error) {
	xyz, white, err := p.colours(o, samples)
	if err != nil {
		return nil, err
	}
	m, err := appearance.NewCIECAM02(appearance.Viewing{White: white, AdaptingCdM2: 100, Background: 0.2, Discounting: true})
	if err != nil {
		return nil, fmt.Errorf("rendering: %w", err)
	}
	out := make([]appearance.Jab, len(xyz))
	for i, c := range xyz {
		var ok bool
		if out[i], ok = m.Jab(c, appearance.UCS()); !ok {
			return nil, fmt.Errorf("rendering: sample %s is beyond CIECAM02 under this light", samples[i].Name)
		}
	}
	return out, nil
}
