package fit

import (
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"

	"gonum.org/v1/gonum/mat"
)

// Since fits a model of a display as it is now to readings of now and to those of
// an earlier run, so that it needs fewer of now.
//
// A model of the earlier readings, that of [Residual], is taken for what the
// display was. What changed is a linear map of the light first, which it is where
// channels gain or lose light and keep their colour, or where the scale of the
// instrument turned; then what that leaves over at the readings of now, as a
// smooth function of the three channels. Covariance holds what both runs leave
// open, and what neither explains.
//
// At least 8 readings of now are needed, with white and the primaries among
// them, and as many of the earlier run as a model needs. Readings through other
// correction curves or in another mode of the display have nothing to do with
// each other, which the caller has to see to.
func Since(earlier, now []measure.Reading, o Options) (*ResidualModel, error) {
	if len(now) < minReadings {
		return nil, fmt.Errorf("fit: %d readings of now; at least %d tell how the display changed", len(now), minReadings)
	}
	for i, r := range now {
		if err := check(r); err != nil {
			return nil, fmt.Errorf("fit: reading %d of now (patch %q): %w", i, r.Patch.ID, err)
		}
	}
	was, err := Residual(earlier, nil, o)
	if err != nil {
		return nil, fmt.Errorf("fit: readings of an earlier run: %w", err)
	}
	m := mapped{was, mapLight(was, now, o)}
	white := m.White().Y
	obs := make([]observation, len(now))
	for i, r := range now {
		s := r.Patch.Signal
		obs[i] = observation{
			signal: [3]float64{s.R, s.G, s.B}, xyz: triple(r.XYZ),
			root: whiten(statedBy(r, o).Add(m.Covariance(s)), white),
		}
	}
	out, err := fitResidual(obs, m, smooth, nil)
	if err != nil {
		return nil, fmt.Errorf("fit: how the display changed: %w", err)
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

// mapped is a model of which the light was mapped.
type mapped struct {
	from  *ResidualModel
	light colorimetry.Matrix
}

// Name implements Model.
func (m mapped) Name() string { return m.from.Name() }

// XYZ implements Model.
func (m mapped) XYZ(s colorimetry.RGB) colorimetry.XYZ { return m.light.Apply(m.from.XYZ(s)) }

// Jacobian implements Model.
func (m mapped) Jacobian(s colorimetry.RGB) colorimetry.Matrix {
	return m.light.Mul(m.from.Jacobian(s))
}

// Covariance implements Model.
func (m mapped) Covariance(s colorimetry.RGB) colorimetry.Matrix {
	return spreadBy(m.light, m.from.Covariance(s))
}

// White implements footing.
func (m mapped) White() colorimetry.XYZ { return m.XYZ(colorimetry.Gray(1)) }

// Curve implements footing.
func (m mapped) Curve(channel int) tone.Curve { return m.from.under.Curve(channel) }

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
