package fit

import (
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"

	"gonum.org/v1/gonum/mat"
)

// Carry carries readings of an earlier run of the same display to its state now,
// so that a model can be fitted to both together and needs fewer readings of
// now.
//
// What changed is taken to be a linear map of the light first, which it is where
// channels gain or lose light and keep their colour, or where the scale of the
// instrument turned; then what that leaves over at the readings of now, as a
// smooth function of the three channels such as that of [Residual]. Each carried
// reading gets the covariance of what those readings leave open of it on top,
// as if that were its own, though neighbours share it; and drift, which states
// what no smooth change explains, as deviations in x and in y, as a share of Y,
// and of X, Y and Z. The zero Noise means 0.001, 0.5 % and 0.005 cd/m².
//
// At least 8 readings of now are needed, with white and the primaries among
// them, and as many of the earlier run as a model needs. Readings through other
// correction curves or in another mode of the display have nothing to do with
// each other, which the caller has to see to.
func Carry(earlier, now []measure.Reading, drift measure.Noise, o Options) ([]measure.Reading, error) {
	if len(now) < minReadings {
		return nil, fmt.Errorf("fit: %d readings of now; at least %d tell how the display changed", len(now), minReadings)
	}
	for i, r := range now {
		if err := check(r); err != nil {
			return nil, fmt.Errorf("fit: reading %d of now (patch %q): %w", i, r.Patch.ID, err)
		}
	}
	m, err := Residual(earlier, nil, o)
	if err != nil {
		return nil, fmt.Errorf("fit: readings of an earlier run: %w", err)
	}
	c := change{from: m, light: mapLight(m, now, o)}
	if err := c.learn(now, o); err != nil {
		return nil, fmt.Errorf("fit: how the display changed: %w", err)
	}
	drift = drift.Assumed()
	out := make([]measure.Reading, len(earlier))
	for i, r := range earlier {
		xyz, open := c.at(r.Patch.Signal, r.XYZ)
		out[i] = r
		out[i].XYZ = xyz
		out[i].Covariance = spreadBy(c.light, statedBy(r, o)).Add(open).Add(drift.Covariance(xyz, 1))
	}
	return out, nil
}

// statedBy returns the covariance of a reading, assumed where it has none.
func statedBy(r measure.Reading, o Options) colorimetry.Matrix {
	if r.Covariance == (colorimetry.Matrix{}) {
		return o.Noise.Assumed().Covariance(r.XYZ, len(r.Repeats))
	}
	return r.Covariance
}

// change is how a display changed since it had the model from.
type change struct {
	from  *ResidualModel
	light colorimetry.Matrix // of its light
	even  even               // relative to its white now
	rest  [3]*process        // of what else changed, in L*, a* and b*
	noise [3][]float64
}

// mostChange is the change of light in the mapping's entries that is thought
// likely: a display that lost a tenth is old.
const mostChange = 0.1

// mapLight returns the linear map that leads from what m predicts to the
// readings of now: least squares, with a pull towards no change.
func mapLight(m *ResidualModel, now []measure.Reading, o Options) colorimetry.Matrix {
	const n = 9
	a, b := make([]float64, n*n), make([]float64, n)
	for p := range n {
		a[p*n+p] = 1 / (mostChange * mostChange)
	}
	for _, r := range now {
		was := m.XYZ(r.Patch.Signal)
		root := whiten(statedBy(r, o).Add(m.Covariance(r.Patch.Signal)), r.XYZ.Y)
		inv := colorimetry.Matrix(root).Transpose().Mul(colorimetry.Matrix(root))
		x, y := triple(was), triple(inv.Apply(r.XYZ.Sub(was)))
		// Parameter 3r+c leads from component c to component r, beyond no change.
		for p := range n {
			b[p] += y[p/3] * x[p%3]
			for q := range n {
				a[p*n+q] += inv[p/3][q/3] * x[p%3] * x[q%3]
			}
		}
	}
	out := colorimetry.Identity()
	var factor mat.Cholesky
	if !factor.Factorize(mat.NewSymDense(n, a)) {
		return out // only where readings are so large that nothing adds to them
	}
	v := mat.NewVecDense(n, nil)
	_ = factor.SolveVecTo(v, mat.NewVecDense(n, b)) // bad condition costs digits only
	for p := range n {
		out[p/3][p%3] += v.AtVec(p)
	}
	return out
}

// learn sets the functions of what else changed.
func (c *change) learn(now []measure.Reading, o Options) error {
	c.even = even{triple(c.light.Apply(c.from.XYZ(colorimetry.Gray(1))))}
	var places [][3]float64
	var values [3][]float64
	for _, r := range now {
		u, _ := c.from.input(r.Patch.Signal)
		places = append(places, u)
		mapped := triple(c.light.Apply(c.from.XYZ(r.Patch.Signal)))
		got, was := c.even.place(triple(r.XYZ)), c.even.place(mapped)
		cov := statedBy(r, o).Add(spreadBy(c.light, c.from.Covariance(r.Patch.Signal)))
		cov = spreadBy(c.even.slopes(mapped), cov)
		for k := range 3 {
			values[k] = append(values[k], got[k]-was[k])
			c.noise[k] = append(c.noise[k], cov[k][k])
		}
	}
	for k := range 3 {
		var err error
		if c.rest[k], err = newProcess(places, values[k], c.noise[k], learn(places, values[k], c.noise[k])); err != nil {
			return err
		}
	}
	return nil
}

// at returns what a light that was read earlier is now, and the covariance of
// what the readings of now leave open of that.
func (c *change) at(s colorimetry.RGB, was colorimetry.XYZ) (colorimetry.XYZ, colorimetry.Matrix) {
	u, _ := c.from.input(s)
	at := c.even.place(triple(c.light.Apply(was)))
	var open [3]float64
	for k, p := range c.rest {
		weights, rest := p.share(u, c.noise[k])
		for i, w := range weights {
			rest += w * w * c.noise[k][i]
		}
		at[k] += p.value(u)
		open[k] = rest
	}
	v, back := c.even.light(at)
	return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}, spreadBy(back, colorimetry.Diagonal(open[0], open[1], open[2]))
}
