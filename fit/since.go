package fit

import (
	"fmt"
	"math"

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
// At least 8 readings of now are needed, with white and the three primaries at
// full signal among them, and as many of the earlier run as a model needs. A
// reading far from the map loses weight. Readings through other correction curves
// or in another mode of the display have nothing to do with each other, which the
// caller has to see to.
func Since(earlier, now []measure.Reading, o Options) (*ResidualModel, error) {
	if len(now) < minReadings {
		return nil, fmt.Errorf("fit: %d readings of now; at least %d tell how the display changed", len(now), minReadings)
	}
	if err := checkNow(now, o); err != nil {
		return nil, err
	}
	was, err := Residual(earlier, nil, o)
	if err != nil {
		return nil, fmt.Errorf("fit: readings of an earlier run: %w", err)
	}
	m := mapLight(was, now, o)
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

// checkNow says what is wrong with readings of now, nil if nothing.
func checkNow(now []measure.Reading, o Options) error {
	for i, r := range now {
		if err := check(r); err != nil {
			return fmt.Errorf("fit: reading %d of now (patch %q): %w", i, r.Patch.ID, err)
		}
	}
	for _, s := range []colorimetry.RGB{colorimetry.Gray(1), {R: 1}, {G: 1}, {B: 1}} {
		l, ok := average(now, s, o)
		if !ok {
			return fmt.Errorf("fit: no reading of now has the signal %v; white and the three primaries at full signal tell what became of the light", s)
		}
		if s == colorimetry.Gray(1) && !(l.xyz.X > 0 && l.xyz.Y > 0 && l.xyz.Z > 0) {
			return fmt.Errorf("fit: white reads %v now; was the instrument on the display?", l.xyz)
		}
	}
	return nil
}

// statedBy returns the covariance of a reading, assumed where it has none.
func statedBy(r measure.Reading, o Options) colorimetry.Matrix {
	if r.Covariance == (colorimetry.Matrix{}) {
		return o.Noise.Assumed().Covariance(r.XYZ, len(r.Repeats))
	}
	return r.Covariance
}

// mapped is a model of which the light was mapped, and how sure the map is: the
// covariance of its entries, row by row.
type mapped struct {
	from  *ResidualModel
	light colorimetry.Matrix
	doubt *mat.SymDense
}

// Parameters returns the effective number of them, the map's nine included.
func (m mapped) Parameters() float64 { return m.from.Parameters() + 9 }

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
	cov := spreadBy(m.light, m.from.Covariance(s))
	was := triple(m.from.XYZ(s))
	for r := range 3 {
		for q := range 3 {
			for c := range 3 {
				for d := range 3 {
					cov[r][q] += was[c] * was[d] * m.doubt.At(3*r+c, 3*q+d)
				}
			}
		}
	}
	return cov
}

// White implements footing.
func (m mapped) White() colorimetry.XYZ { return m.XYZ(colorimetry.Gray(1)) }

// Curve implements footing.
func (m mapped) Curve(channel int) tone.Curve { return m.from.under.Curve(channel) }

// mostChange is the change of light in the map's entries that is thought likely:
// a display that lost a tenth is old.
const mostChange = 0.1

// mapLight returns was with its light mapped to the readings of now: least
// squares, with a pull towards no change and, after a first look, less weight for
// readings that lie far off.
func mapLight(was *ResidualModel, now []measure.Reading, o Options) mapped {
	const n, looks = 9, 4
	m := mapped{was, colorimetry.Identity(), mat.NewSymDense(n, nil)}
	for range looks {
		a, b := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		for p := range n {
			a.SetSym(p, p, 1/(mostChange*mostChange))
		}
		for _, r := range now {
			from := was.XYZ(r.Patch.Signal)
			root := whiten(statedBy(r, o).Add(was.Covariance(r.Patch.Signal)), r.XYZ.Y)
			inv := colorimetry.Matrix(root).Transpose().Mul(colorimetry.Matrix(root))
			off := triple(r.XYZ.Sub(m.light.Apply(from)))
			w := 1.0
			if d := math.Sqrt(dot(off, times(inv, off))); m.light != colorimetry.Identity() && d > mapLimit {
				w = mapLimit / d
			}
			x, y := triple(from), times(inv, triple(r.XYZ.Sub(from)))
			// Parameter 3r+c leads from component c to component r, beyond no change.
			for p := range n {
				b.SetVec(p, b.AtVec(p)+w*y[p/3]*x[p%3])
				for q := p; q < n; q++ {
					a.SetSym(p, q, a.At(p, q)+w*inv[p/3][q/3]*x[p%3]*x[q%3])
				}
			}
		}
		var factor mat.Cholesky
		if !factor.Factorize(a) {
			return m // only where readings are so large that nothing adds to them
		}
		v := mat.NewVecDense(n, nil)
		_ = factor.SolveVecTo(v, b) // bad condition costs digits only
		_ = factor.InverseTo(m.doubt)
		m.light = colorimetry.Identity()
		for p := range n {
			m.light[p/3][p%3] += v.AtVec(p)
		}
	}
	return m
}

// mapLimit is the distance in standard deviations from which on a reading pulls
// no harder at the map: displays change in other ways, too, and those are for the
// functions.
const mapLimit = 10.0
