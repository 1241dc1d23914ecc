package measure

import (
	"errors"
	"math"

	"example.org/primaries/colorimetry"
)

const (
	// scoringSteps bounds the steps of Fisher scoring; a dozen is usual.
	scoringSteps = 200
	// smallestShare is how small a variance may become beside that which the
	// search begins with: one that vanishes would take the others along.
	smallestShare = 1e-8
)

// fit finds the likeliest noise. The covariance of a level is linear in the three
// variances, for which Fisher scoring repeats a weighted least-squares fit until
// the weights are those of its own result.
//
// Source: T. W. Anderson, Ann. Statist. 1(1) 135-141 (1973), for covariances with
// linear structure.
func (s *Study) fit() error {
	v := s.guess()
	if v == ([3]float64{}) {
		return errNoScatter
	}
	lowest := v
	for i := range lowest {
		lowest[i] *= smallestShare
	}
	var information colorimetry.Matrix
	for range scoringSteps {
		var right [3]float64
		var err error
		if information, right, err = s.score(v); err != nil {
			return err
		}
		inverse, err := information.Inverse()
		if err != nil {
			return errors.New("measure: the levels do not tell chromaticity, luminance and floor apart; read greys from black to white")
		}
		next := inverse.Apply(colorimetry.XYZ{X: right[0], Y: right[1], Z: right[2]})
		moved := 0.0
		for i, n := range [3]float64{next.X, next.Y, next.Z} {
			// Half a step keeps variances that come out negative from jumping.
			n = math.Max((v[i]+n)/2, math.Max(lowest[i], v[i]/10))
			moved = math.Max(moved, math.Abs(n/v[i]-1))
			v[i] = n
		}
		if moved < 1e-9 {
			break
		}
	}
	s.Noise = Noise{math.Sqrt(v[0]), math.Sqrt(v[1]), math.Sqrt(v[2])}
	inverse, err := information.Inverse()
	if err != nil {
		return err
	}
	deviation := func(i int) float64 { return math.Sqrt(math.Max(inverse[i][i], 0)) / 2 / math.Sqrt(v[i]) }
	s.Uncertainty = Noise{deviation(0), deviation(1), deviation(2)}
	return nil
}

// guess returns variances of the right size: the scatter of the darkest level for
// the floor, of the brightest for the rest.
func (s *Study) guess() (v [3]float64) {
	var bright, dark *Level
	for i := range s.Levels {
		l := &s.Levels[i]
		if l.freedom == 0 || l.within == (colorimetry.Matrix{}) {
			continue
		}
		if bright == nil {
			bright = l
		}
		dark = l
	}
	if bright == nil || !(bright.Mean.Y > 0) {
		return v
	}
	share := math.Max(bright.Repeat.Y/bright.Mean.Y, 1e-6)
	floor := math.Max(dark.Repeat.Y, 1e-6*bright.Mean.Y)
	return [3]float64{share * share / 16, share * share, floor * floor}
}

// score returns the information about the variances v, and the right side of the
// equations for the next ones.
func (s *Study) score(v [3]float64) (information colorimetry.Matrix, right [3]float64, err error) {
	for i := range s.Levels {
		l := &s.Levels[i]
		if l.freedom == 0 {
			continue
		}
		parts := [3]colorimetry.Matrix{
			Noise{Chromaticity: 1}.Covariance(l.Mean, 1),
			Noise{Luminance: 1}.Covariance(l.Mean, 1),
			Noise{FloorCdM2: 1}.Covariance(l.Mean, 1),
		}
		var c colorimetry.Matrix
		for k, p := range parts {
			c = c.Add(p.Scale(v[k]))
		}
		inverse, err := c.Inverse()
		if err != nil {
			return information, right, errors.New("measure: the noise of a level has no inverse; its readings hardly differ")
		}
		seen := l.within.Scale(1 / l.freedom)
		for a := range parts {
			weighted := inverse.Mul(parts[a]).Mul(inverse)
			right[a] += l.freedom / 2 * trace(weighted, seen)
			for b := range parts {
				information[a][b] += l.freedom / 2 * trace(weighted, parts[b])
			}
		}
	}
	return information, right, nil
}

// trace returns the trace of a product.
func trace(a, b colorimetry.Matrix) (sum float64) {
	for i := range 3 {
		for j := range 3 {
			sum += a[i][j] * b[j][i]
		}
	}
	return sum
}
