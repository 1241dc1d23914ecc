package tone

import "math"

// finite returns v, or NaN where it is infinite: no curve of this package
// answers with an infinity.
func finite(v float64) float64 {
	if v-v != 0 {
		return math.NaN()
	}
	return v
}
