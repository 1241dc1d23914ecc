package mismatch

import (
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// Knot is the light of one primary at one drive.
type Knot struct {
	// Amount is X + Y + Z of the primary's light as the instrument reads it.
	Amount float64
	// Seen is that reading on the scale X + Y + Z = 1, and True what it ought to
	// be, on the same scale.
	Seen, True colorimetry.XYZ
}

// Levels is a correction for a display whose primaries change their spectra
// with their drive: the matrix follows how much of each primary is in the
// light. [FromSpectra] and [FromLevels] make it; it is a [measure.Corrector].
//
// A reading is taken apart into amounts of the three primaries, each with the
// chromaticity that its knots give for its amount, and put together again with
// what they ought to be. Between knots the way runs straight over the cube root
// of the amount, which is about even in what a display is driven with; outside
// the nearest knot holds. Where primaries do not change it is the one matrix,
// whatever the knots. It rests on lights that add; where channels interact in
// their spectra it is no better than one matrix.
type Levels struct {
	// Correction is the one matrix that serves all levels best, for those who
	// want no other, and its figures: Residual and LargestUV are those of the
	// one matrix in mixtures of the knots.
	Correction
	// Knots are those of red, green and blue, by rising amount.
	Knots [3][]Knot
}

// maxKnots bounds the levels of a primary, of which all mixtures are formed.
const maxKnots = 8

// FromSpectra returns the correction for a display of which several spectra a
// primary are known, red, green and blue, each at some drives in any order, in
// W/(sr·m²·nm) without the other primaries' light: 1 to 8 each. Sensitivities,
// observer and uncertainty are as in [FromSource]. The one matrix is made by
// [Fit]'s weights from all mixtures of the spectra.
//
// The error wraps [ErrDegenerate] where the primaries do not span the colours.
func FromSpectra(sensitivities [3]spectrum.Spectrum, primaries [3][]spectrum.Spectrum, obs spectrum.Observer) (Levels, error) {
	var out Levels
	eye := instrument(sensitivities)
	for c, list := range primaries {
		if len(list) < 1 || len(list) > maxKnots {
			return Levels{}, fmt.Errorf("mismatch: %d spectra of %s; 1 to %d are possible", len(list), channels[c], maxKnots)
		}
		for i, s := range list {
			k, err := knot(eye.Emission(s), obs.Emission(s))
			if err != nil {
				return Levels{}, fmt.Errorf("mismatch: spectrum %d of %s: %w", i, channels[c], err)
			}
			out.Knots[c] = append(out.Knots[c], k)
		}
	}
	if err := out.sort(); err != nil {
		return Levels{}, err
	}
	pairs := out.mixtures()
	condition, err := checkPairs(pairs)
	if err != nil {
		return Levels{}, err
	}
	// The misfit is all there is to weigh by, so that the mixtures count alike.
	f := fitting{pairs: pairs, matrix: colorimetry.Identity(), misfit: 0.001}
	if err := f.weighted(); err != nil {
		return Levels{}, err
	}
	out.Correction = Correction{Kind: KindSpectra, Matrix: f.matrix, Condition: condition,
		Note: "the instrument's sensitivities and several spectra of each of the panel's primaries, observer " + obs.Name}
	out.residuals(split(pairs))
	return out, nil
}

// channels names the primaries in the order of every array of three.
var channels = [3]string{"red", "green", "blue"}

// knot returns the knot of a light.
func knot(seen, want colorimetry.XYZ) (Knot, error) {
	sum := seen.X + seen.Y + seen.Z
	if !seen.Finite() || !want.Finite() || !(sum > 0) || !(want.Y > 0) {
		return Knot{}, fmt.Errorf("it is dark: %w", ErrDegenerate)
	}
	return Knot{sum, seen.Scale(1 / sum), want.Scale(1 / sum)}, nil
}

// sort brings the knots into order and says what is wrong with them.
func (l *Levels) sort() error {
	for c := range l.Knots {
		slices.SortStableFunc(l.Knots[c], func(a, b Knot) int {
			if a.Amount < b.Amount {
				return -1
			}
			return 1
		})
		for i, k := range l.Knots[c] {
			if i > 0 && !(k.Amount > l.Knots[c][i-1].Amount) {
				return fmt.Errorf("mismatch: two levels of %s give the same light; leave one out", channels[c])
			}
		}
	}
	_, err := l.apart(l.top())
	return err
}

// top returns the amounts of the brightest knots.
func (l *Levels) top() (amount [3]float64) {
	for c, k := range l.Knots {
		amount[c] = k[len(k)-1].Amount
	}
	return amount
}

// mixtures returns all mixtures of the knots, each channel at one of them or
// dark.
func (l *Levels) mixtures() []Pair {
	var out []Pair
	at := func(c, i int) (seen, want colorimetry.XYZ) {
		if i == 0 {
			return colorimetry.XYZ{}, colorimetry.XYZ{}
		}
		k := l.Knots[c][i-1]
		return k.Seen.Scale(k.Amount), k.True.Scale(k.Amount)
	}
	for r := range len(l.Knots[0]) + 1 {
		for g := range len(l.Knots[1]) + 1 {
			for b := range len(l.Knots[2]) + 1 {
				var p Pair
				for c, i := range [3]int{r, g, b} {
					seen, want := at(c, i)
					p.Instrument, p.Reference = p.Instrument.Add(seen), p.Reference.Add(want)
				}
				if r+g+b > 0 {
					p.Name = fmt.Sprintf("mixture of levels %d, %d, %d", r, g, b)
					p.ReferenceCovariance = measure.Noise{Chromaticity: 1e-4, Luminance: 1e-3}.Covariance(p.Reference, 1)
					p.InstrumentCovariance = p.ReferenceCovariance
					out = append(out, p)
				}
			}
		}
	}
	return out
}

func split(pairs []Pair) (ref, meas []colorimetry.XYZ) {
	for _, p := range pairs {
		ref, meas = append(ref, p.Reference), append(meas, p.Instrument)
	}
	return ref, meas
}

// at returns what a primary looks like in an amount.
func at(knots []Knot, amount float64) (seen, want colorimetry.XYZ) {
	n := 0
	for n < len(knots) && knots[n].Amount < amount {
		n++
	}
	switch n {
	case 0:
		return knots[0].Seen, knots[0].True
	case len(knots):
		return knots[n-1].Seen, knots[n-1].True
	}
	a, b := knots[n-1], knots[n]
	from, to := math.Cbrt(a.Amount), math.Cbrt(b.Amount)
	t := (math.Cbrt(amount) - from) / (to - from)
	return a.Seen.Scale(1 - t).Add(b.Seen.Scale(t)), a.True.Scale(1 - t).Add(b.True.Scale(t))
}

// apart returns the matrix that takes a reading, in which the primaries have
// these amounts, apart into amounts.
func (l *Levels) apart(amount [3]float64) (colorimetry.Matrix, error) {
	var seen [3]colorimetry.XYZ
	for c := range seen {
		seen[c], _ = at(l.Knots[c], amount[c])
	}
	m := colorimetry.Columns(seen[0], seen[1], seen[2])
	inv, err := m.Inverse()
	if err != nil || !(condition(m) < largestCondition) {
		return inv, fmt.Errorf("mismatch: primaries at several levels: %w", ErrDegenerate)
	}
	return inv, nil
}

// tries is how often amounts are looked for. Each try makes their error smaller
// by the share in which a primary's chromaticity changes, some hundredths.
const tries = 12

// MatrixFor returns the matrix that corrects a reading.
func (l Levels) MatrixFor(raw colorimetry.XYZ) colorimetry.Matrix {
	amount := l.top()
	for range tries {
		var seen, want [3]colorimetry.XYZ
		for c := range seen {
			seen[c], want[c] = at(l.Knots[c], amount[c])
		}
		inv, err := colorimetry.Columns(seen[0], seen[1], seen[2]).Inverse()
		if err != nil {
			return l.Matrix // the knots between two levels lie on a line
		}
		m := colorimetry.Columns(want[0], want[1], want[2]).Mul(inv)
		a, was := inv.Apply(raw), amount
		amount = [3]float64{a.X, a.Y, a.Z}
		if settled(was, amount) {
			return m
		}
	}
	return l.Matrix
}

// settled reports whether two tries agree to a billionth.
func settled(a, b [3]float64) bool {
	var off, size float64
	for c := range a {
		off, size = math.Max(off, math.Abs(a[c]-b[c])), math.Max(size, math.Abs(b[c]))
	}
	return off <= 1e-9*size
}

// Apply returns the corrected tristimulus value.
func (l Levels) Apply(raw colorimetry.XYZ) colorimetry.XYZ { return l.MatrixFor(raw).Apply(raw) }

// Correct returns the corrected value of a reading. Slope is the matrix for the
// reading: how that changes with the reading is left out of the noise. The
// systematic part is that of the one matrix.
func (l Levels) Correct(raw colorimetry.XYZ) measure.Corrected {
	m := l.MatrixFor(raw)
	return measure.Corrected{XYZ: m.Apply(raw), Slope: m, Systematic: l.Covariance.Of(raw)}
}

// WithUncertainty is [Correction.WithUncertainty] for the one matrix, whose
// uncertainty is that of the whole.
func (l Levels) WithUncertainty(white colorimetry.XYZ, uv, share float64) Levels {
	l.Correction = l.Correction.WithUncertainty(white, uv, share)
	return l
}
