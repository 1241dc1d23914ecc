// Package crossval serves choices between models by readings that were held back from
// their fits.
package crossval

import (
	"example.org/primaries/colorimetry"

	"gonum.org/v1/gonum/stat"
)

// Corner reports whether every channel of a signal is at 0 or 1. Readings at the
// corners of the cube are not held back: without them a model would have to guess
// beyond what it saw.
func Corner(s colorimetry.RGB) bool {
	for _, v := range [3]float64{s.R, s.G, s.B} {
		if v != 0 && v != 1 {
			return false
		}
	}
	return true
}

// Mean returns the mean of figures and its standard error, 0 where fewer than two
// tell nothing of it.
func Mean(figures []float64) (mean, standard float64) {
	if len(figures) < 2 {
		return stat.Mean(figures, nil), 0
	}
	m, s := stat.MeanStdDev(figures, nil)
	return m, stat.StdErr(s, float64(len(figures)))
}
