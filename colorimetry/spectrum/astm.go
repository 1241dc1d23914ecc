package spectrum

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/mat"
)

// Passband says what [Observer.ASTMWeights] makes of the instrument's
// passband: a triangle as wide at half its height as the readings are apart.
type Passband int

const (
	// Corrected leaves the readings as they are: they have no passband or were
	// corrected for it, as by Spectrum.CorrectBandpass. It is table 5 of ASTM
	// E308.
	Corrected Passband = iota
	// ThreePoint undoes the passband by second differences with the factor
	// 0.083: the rule of table 6 of ASTM E308 for fluorescent lamps.
	ThreePoint
	// Deconvolved undoes it exactly for reflectances that run as the
	// interpolation does. On real surfaces it errs least under every illuminant,
	// and table 6 of ASTM E308 for A, C and the D series is nearest to it.
	Deconvolved
)

// String returns "corrected", "three-point" or "deconvolved".
func (p Passband) String() string {
	switch p {
	case Corrected:
		return "corrected"
	case ThreePoint:
		return "three-point"
	case Deconvolved:
		return "deconvolved"
	}
	return fmt.Sprintf("passband %d", int(p))
}

// ASTM says which table of weights [Observer.ASTMWeights] makes. Its zero
// value is 10 nm from 360 to 780 nm for corrected readings.
type ASTM struct {
	StepNM       int // distance of the readings: 2 to 50; 0 is 10
	Passband     Passband
	FromNM, ToNM int // 0 and 0 are 360 and 780
}

// ASTMWeights returns weights for readings too far apart for a plain sum:
// between them the reflectance is taken as [Lagrange] does and summed at 1 nm.
// An illuminant tabulated at 5 nm is brought to 1 nm in the same way.
//
// It is an error if there are fewer than four readings, if table says something
// impossible, or if the illuminant gives the observer no light.
//
// Source: ASTM E308-15 and E2022; Fairman, Color Res. Appl. 10(4) 199-203
// (1985); Stearns and Stearns, Color Res. Appl. 13(4) 257-259 (1988) for the
// three-point rule; Li, Luo and Rigg, Color Res. Appl. 29(2) 91-103 (2004) for
// weights that undo a passband exactly, from memory.
func (o Observer) ASTMWeights(illuminant Spectrum, table ASTM) (Weights, error) {
	step, from, to := table.StepNM, table.FromNM, table.ToNM
	if step == 0 {
		step = 10
	}
	if from == 0 && to == 0 {
		from, to = 360, 780
	}
	if step < 2 || step > 50 || from < 1 || to > 1e5 || (to-from)/step < 3 {
		return Weights{}, fmt.Errorf("spectrum: weights at %d nm from %d to %d nm; steps of 2 to 50 nm and at least 4 readings are possible", step, from, to)
	}
	if ownStep(illuminant) == 5 {
		var err error
		if illuminant, err = illuminant.Resample(Resampling{Between: Lagrange}); err != nil {
			return Weights{}, err
		}
	}
	coarse := gather(o.products(illuminant, grid{float64(from), 1, to - from + 1}), step)
	switch table.Passband {
	case Corrected:
	case ThreePoint:
		coarse = threePoint(coarse)
	case Deconvolved:
		coarse = deconvolve(coarse)
	default:
		return Weights{}, fmt.Errorf("spectrum: there is no passband %d", table.Passband)
	}
	return newWeights(grid{float64(from), float64(step), len(coarse)}, coarse, Summation{})
}

// gather returns the weights at each step-th wavelength that stand for those
// at every one, the values between being interpolated. Wavelengths after the
// last reading take its value.
func gather(fine []colorimetry.XYZ, step int) []colorimetry.XYZ {
	n := (len(fine)-1)/step + 1
	coarse := make([]colorimetry.XYZ, n)
	for i, c := range fine {
		first, share, nodes := lagrangeShares(math.Min(float64(i)/float64(step), float64(n-1)), n)
		for j := range nodes {
			coarse[first+j] = coarse[first+j].Add(c.Scale(share[j]))
		}
	}
	return coarse
}

// lagrangeShares returns how the value at t, in steps from the first of n
// samples, is made of the samples from first on.
func lagrangeShares(t float64, n int) (first int, share [4]float64, nodes int) {
	k := min(int(t), n-2)
	first, nodes = lagrangeNodes(k, n)
	for j := range nodes {
		share[j] = 1
		for m := range nodes {
			if m != j {
				share[j] *= (t - float64(first+m)) / float64(j-m)
			}
		}
	}
	return first, share, nodes
}

// threePoint returns weights for readings with a passband, from those for
// readings without. The correction is symmetric, so it does to weights what it
// would do to readings.
func threePoint(weights []colorimetry.XYZ) []colorimetry.XYZ {
	const a = 0.083
	out := make([]colorimetry.XYZ, len(weights))
	last := len(weights) - 1
	for i, c := range weights {
		l, r := weights[max(i-1, 0)], weights[min(i+1, last)]
		out[i] = c.Add(c.Sub(l).Scale(a)).Add(c.Sub(r).Scale(a))
	}
	return out
}

// deconvolve returns weights for readings with a passband, from those for
// readings without. If r are the reflectances at the nodes, the instrument
// reads B·r, so the weights w become those v with Bᵀ·v = w.
func deconvolve(weights []colorimetry.XYZ) []colorimetry.XYZ {
	n := len(weights)
	b := mat.NewDense(n, n, nil)
	// Three-point Gauss quadrature over each half of the triangle, which is
	// exact for its product with a cubic.
	places := [...]float64{0.5 - math.Sqrt(0.15), 0.5, 0.5 + math.Sqrt(0.15)}
	parts := [...]float64{5.0 / 18, 8.0 / 18, 5.0 / 18}
	for i := range n {
		for q, x := range places {
			for _, t := range [...]float64{float64(i) - x, float64(i) + x} {
				t = math.Max(0, math.Min(t, float64(n-1)))
				first, share, nodes := lagrangeShares(t, n)
				for j := range nodes {
					b.Set(i, first+j, b.At(i, first+j)+parts[q]*(1-x)*share[j])
				}
			}
		}
	}
	w := mat.NewDense(n, 3, nil)
	for i, c := range weights {
		w.SetRow(i, []float64{c.X, c.Y, c.Z})
	}
	var v mat.Dense
	if err := v.Solve(b.T(), w); err != nil {
		panic(err) // B has no zero in its spectrum: it averages over one step
	}
	out := make([]colorimetry.XYZ, n)
	for i := range out {
		out[i] = colorimetry.XYZ{X: v.At(i, 0), Y: v.At(i, 1), Z: v.At(i, 2)}
	}
	return out
}
