package mismatch

import (
	"fmt"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// FromLevels returns the correction for a display whose primaries change their
// spectra with their drive, from a session's readings of red, green, blue and
// white at full signal and at lower ones with the reference and with the
// instrument, in any order and any number each: up to 8 signals at which all
// four were read with both. Other readings are not used. Values are taken as in
// [FromPairs].
//
// Each level gives a four-colour matrix, which is believed over the one matrix
// of [Fit] as far as the misfit of that stands out of the level's noise: where
// primaries do not change, the one matrix stays. The uncertainty is that of the
// one matrix, its misfit included, which says too much rather than too little.
//
// Errors are those of [Fit]; it is an error, too, if there is no full signal.
func FromLevels(ref, meas []measure.Reading, o FitOptions) (Levels, error) {
	signals := levelsOf(ref)
	var sides [][2]four
	var pairs []Pair
	for _, v := range signals {
		r, err1 := fourMeans(ref, v, "the reference", referenceValue)
		m, err2 := fourMeans(meas, v, "the instrument", instrumentValue)
		if err1 != nil || err2 != nil {
			if v == 1 {
				return Levels{}, fmt.Errorf("mismatch: full signal is not complete; read red, green, blue and white with both instruments")
			}
			continue
		}
		sides = append(sides, [2]four{r, m})
		for i := range 4 {
			pairs = append(pairs, Pair{fmt.Sprintf("%s at %.3g", [4]string{"red", "green", "blue", "white"}[i], v), r.xyz[i], m.xyz[i], r.cov[i], m.cov[i]})
		}
	}
	if n := len(sides); n == 0 || n > maxKnots || signals[len(signals)-1] != 1 {
		return Levels{}, fmt.Errorf("mismatch: %d signals at which red, green, blue and white were read with both instruments; 1 to %d are possible, the highest 1", n, maxKnots)
	}
	fit, err := Fit(pairs, o)
	if err != nil {
		return Levels{}, err
	}
	out := Levels{Correction: fit.Correction}
	out.Kind = KindSpectra
	out.Note = fmt.Sprintf("red, green, blue and white at %d signals from paired readings", len(sides))
	for _, s := range sides {
		if err := out.addLevel(s[0], s[1], fit.Misfit); err != nil {
			return Levels{}, err
		}
	}
	return out, out.sort()
}

// levelsOf returns the signals of the greys that were read, black left out.
func levelsOf(readings []measure.Reading) []float64 {
	var out []float64
	for _, r := range readings {
		if s := r.Patch.Signal; s.R > 0 && s.R == s.G && s.G == s.B && !slices.Contains(out, s.R) {
			out = append(out, s.R)
		}
	}
	slices.Sort(out)
	return out
}

// addLevel adds a knot to each primary from the four colours of a level.
func (l *Levels) addLevel(r, m four, misfit float64) error {
	own, err := FourColour(r.xyz, m.xyz)
	if err != nil {
		return err
	}
	if err := own.carry(r, m); err != nil {
		return err
	}
	for c := range l.Knots {
		k, err := knot(m.xyz[c], own.Apply(m.xyz[c]))
		if err != nil {
			return fmt.Errorf("mismatch: %s: %w", channels[c], err)
		}
		noise, _ := own.spread(m.xyz[c])
		missed := measure.Reading{XYZ: k.True, Covariance: measure.Noise{Chromaticity: misfit}.Covariance(k.True, 1)}.SpreadUV()
		belief := 0.0
		if missed > 0 {
			belief = missed * missed / (missed*missed + noise*noise)
		}
		k.True = blend(l.Correction.Apply(k.Seen), k.True, belief)
		l.Knots[c] = append(l.Knots[c], k)
	}
	return nil
}

// blend returns a, moved to b by a share.
func blend(a, b colorimetry.XYZ, share float64) colorimetry.XYZ {
	return a.Scale(1 - share).Add(b.Scale(share))
}
