package measure

import (
	"math"

	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/stat/distuv"
)

// Assumed returns n, or, where n states nothing at all, the noise assumed of an
// instrument that says nothing about itself: 0.001 in x and in y, 0.5 % of Y
// and a floor of 0.005 cd/m².
//
// Source: none; the figures are of the size that filter colorimeters of the
// middle class show.
func (n Noise) Assumed() Noise {
	if n == (Noise{}) {
		return Noise{Chromaticity: 0.001, Luminance: 0.005, FloorCdM2: 0.005}
	}
	return n
}

// lowestY is the lowest chromaticity y that a real light can have: the
// spectral locus touches y = 0.0048 near 410 nm (ISO/CIE 11664-1, 1931
// observer). Below it a reading is noise, and its chromaticity means nothing.
const lowestY = 0.0048

// Covariance returns the covariance of the mean of a number of integrations
// (at least 1) of the light xyz, in the square of its unit, cd/m²: independent
// deviations in x, in y and as a share of Y, carried to X, Y and Z by the
// Jacobian of (x, y, Y) → (X, Y, Z) at xyz, plus the floor, independent in X, Y
// and Z. It is positive definite wherever the floor is above 0. Readings of
// near black, where noise makes components negative, get the floor alone.
func (n Noise) Covariance(xyz colorimetry.XYZ, integrations int) colorimetry.Matrix {
	floor := n.FloorCdM2 * n.FloorCdM2
	c := colorimetry.Diagonal(floor, floor, floor)
	if s := xyz.X + xyz.Y + xyz.Z; s > 0 && xyz.Y > 0 {
		x, y := xyz.X/s, math.Max(xyz.Y/s, lowestY)
		// ∂(X,Y,Z)/∂(x,y,Y), with Y/y written as s.
		j := colorimetry.Matrix{
			{s, -s * x / y, x / y},
			{0, 0, 1},
			{-s, -s * (1 - x) / y, (1 - x - y) / y},
		}
		sc, sy := n.Chromaticity, n.Luminance*xyz.Y
		c = c.Add(j.Mul(colorimetry.Diagonal(sc*sc, sc*sc, sy*sy)).Mul(j.Transpose()))
	}
	return c.Scale(1 / float64(max(integrations, 1)))
}

// scatter pools, over the readings of one instrument, how far repeats lie
// apart, measured in the stated noise: sum is the total squared distance of
// repeats from their means in units of the stated covariance, which has a mean
// of 3 a degree of freedom where the statement is true.
type scatter struct{ sum, freedom float64 }

const (
	// priorFreedom is how many repeats' worth of trust the instrument's own
	// statement has against the scatter that is seen: about thirty, so that a
	// handful of repeats does not move it and a run's worth does.
	priorFreedom = 30
	// ownScatter is the probability with which a reading whose noise is as
	// expected is still taken for an unusually scattered one.
	ownScatter = 1e-4
)

// add takes in the repeats of one reading and returns the factor by which the
// stated covariance is to be multiplied, at least 1, and whether this very
// reading scatters more than its fellows. The factor is the pooled one; only a
// reading that stands out of it takes its own.
func (p *scatter) add(repeats []colorimetry.XYZ, mean colorimetry.XYZ, stated colorimetry.Matrix) (factor float64, unusual bool) {
	inv, err := stated.Inverse()
	if n := len(repeats); n > 1 && err == nil {
		var d float64
		for _, r := range repeats {
			d += distance2(r.Sub(mean), inv)
		}
		k := float64(3 * (n - 1))
		before := p.factor()
		unusual = d > before*distuv.ChiSquared{K: k}.Quantile(1-ownScatter)
		if unusual {
			// It speaks for itself and must not speak for the others.
			return d / k, true
		}
		p.sum += d / 3
		p.freedom += float64(n - 1)
	}
	return p.factor(), false
}

func (p *scatter) factor() float64 {
	return math.Max(1, (priorFreedom+p.sum)/(priorFreedom+p.freedom))
}

// distance2 returns the squared length of d in units of the covariance whose
// inverse is inv.
func distance2(d colorimetry.XYZ, inv colorimetry.Matrix) float64 {
	v := inv.Apply(d)
	return d.X*v.X + d.Y*v.Y + d.Z*v.Z
}
