package fit

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// observation is one reading, ready to be fitted.
type observation struct {
	signal [3]float64
	xyz    [3]float64
	// root turns a residual into three independent numbers of unit variance:
	// the inverse of the lower Cholesky factor of the covariance.
	root [3][3]float64
}

// minReadings is the smallest number of readings that any model is fitted to:
// black, three primaries and as much again to tell the curves.
const minReadings = 8

// mostReadings is the number of readings that a model takes, more than anyone
// reads of a display.
const mostReadings = 3000

// minLevels is the smallest number of different levels of a channel from which
// its curve is more than a guess: both ends and one between.
const minLevels = 3

// observe checks the readings and returns them ready to be fitted.
func observe(readings []measure.Reading, o Options) ([]observation, error) {
	if len(readings) < minReadings {
		return nil, fmt.Errorf("fit: %d readings; a model needs at least %d, better 60 or more", len(readings), minReadings)
	}
	if len(readings) > mostReadings {
		return nil, fmt.Errorf("fit: %d readings; at most %d are used: leave out those that lie closest together", len(readings), mostReadings)
	}
	for _, v := range [3]float64{o.Noise.Chromaticity, o.Noise.Luminance, o.Noise.FloorCdM2} {
		if !(v >= 0) || math.IsInf(v, 1) {
			return nil, fmt.Errorf("fit: the noise %+v is none; give standard deviations of 0 or more", o.Noise)
		}
	}
	noise := o.Noise.Assumed()
	for i, r := range readings {
		if err := check(r); err != nil {
			return nil, fmt.Errorf("fit: reading %d (patch %q): %w", i, r.Patch.ID, err)
		}
	}
	white, err := contrast(readings)
	if err != nil {
		return nil, err
	}
	top := white.Y
	if err := levels(readings); err != nil {
		return nil, err
	}
	list := make([]observation, len(readings))
	for i, r := range readings {
		s := r.Patch.Signal
		cov := r.Covariance
		if cov == (colorimetry.Matrix{}) {
			cov = noise.Covariance(r.XYZ, len(r.Repeats))
		}
		list[i] = observation{
			signal: [3]float64{s.R, s.G, s.B},
			xyz:    [3]float64{r.XYZ.X, r.XYZ.Y, r.XYZ.Z},
			root:   whiten(cov, top),
		}
	}
	return list, nil
}

// contrast returns the brightest reading, or says why the readings show no
// display.
func contrast(readings []measure.Reading) (colorimetry.XYZ, error) {
	brightest, darkest := readings[0].XYZ, readings[0].XYZ
	for _, r := range readings {
		if r.XYZ.Y > brightest.Y {
			brightest = r.XYZ
		}
		if r.XYZ.Y < darkest.Y {
			darkest = r.XYZ
		}
	}
	if !(brightest.X > 0 && brightest.Y > 0 && brightest.Z > 0) {
		return brightest, fmt.Errorf("fit: the brightest reading is %v; was the instrument on the display?", brightest)
	}
	if brightest.Y < leastContrast*darkest.Y {
		return brightest, fmt.Errorf("fit: all readings lie between %.4g and %.4g cd/m²: did the display show the patches?", darkest.Y, brightest.Y)
	}
	return brightest, nil
}

// leastContrast is the smallest ratio of luminances that a display has.
const leastContrast = 1.5

// levels checks that every channel was shown at enough levels.
func levels(readings []measure.Reading) error {
	var seen [3]map[float64]bool
	for c := range seen {
		seen[c] = map[float64]bool{}
	}
	for _, r := range readings {
		for c, v := range [3]float64{r.Patch.Signal.R, r.Patch.Signal.G, r.Patch.Signal.B} {
			seen[c][v] = true
		}
	}
	for c, name := range [3]string{"red", "green", "blue"} {
		if n := len(seen[c]); n < minLevels {
			return fmt.Errorf("fit: %s was shown at %d levels; its curve needs at least %d, better ten or more", name, n, minLevels)
		}
	}
	return nil
}

// check returns what is wrong with a reading, nil if nothing.
func check(r measure.Reading) error {
	for _, v := range [3]float64{r.Patch.Signal.R, r.Patch.Signal.G, r.Patch.Signal.B} {
		if !(v >= 0 && v <= 1) {
			return fmt.Errorf("signal %g is outside 0 to 1; say what the table counts to", v)
		}
	}
	if !r.XYZ.Finite() {
		return fmt.Errorf("XYZ %v is not finite; leave the reading out or take it again", r.XYZ)
	}
	for j, row := range r.Covariance {
		if row[j] < 0 {
			return fmt.Errorf("its covariance has a variance of %g; leave it zero where it is not known", row[j])
		}
		for _, v := range row {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("its covariance is not finite; leave it zero where it is not known")
			}
		}
	}
	return nil
}

// whiten returns the inverse of the lower Cholesky factor of cov. Variances
// below the share 1e-5 of the brightest reading count as that: nobody reads
// better, and a covariance estimated from few repeats may be singular.
func whiten(cov colorimetry.Matrix, top float64) [3][3]float64 {
	least := 1e-5 * top
	var l [3][3]float64
	for i := range 3 {
		for j := 0; j <= i; j++ {
			s := (cov[i][j] + cov[j][i]) / 2
			for k := range j {
				s -= l[i][k] * l[j][k]
			}
			if i == j {
				l[i][i] = math.Sqrt(math.Max(s, least*least))
			} else {
				l[i][j] = s / l[j][j]
			}
		}
	}
	return invertLower(l)
}

// whitened returns root·v.
func (ob *observation) whitened(v [3]float64) [3]float64 {
	r := &ob.root
	return [3]float64{
		r[0][0] * v[0],
		r[1][0]*v[0] + r[1][1]*v[1],
		r[2][0]*v[0] + r[2][1]*v[1] + r[2][2]*v[2],
	}
}

// half returns the lower Cholesky factor of the covariance.
func (ob *observation) half() colorimetry.Matrix { return colorimetry.Matrix(invertLower(ob.root)) }

// rgb returns the signal.
func (ob *observation) rgb() colorimetry.RGB {
	return colorimetry.RGB{R: ob.signal[0], G: ob.signal[1], B: ob.signal[2]}
}
