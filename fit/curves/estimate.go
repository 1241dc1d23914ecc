package curves

import (
	"math"
	"sort"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"gonum.org/v1/gonum/mat"
)

// estimate is what is known of the display on the way of the greys: the model
// as found plus, a channel, a function of the channel's own device signal for
// what the model misses, learned from all readings through curves.
//
// On a display whose channels do not disturb each other that function is the
// error of the channel's curve. Where they do, it also takes up what the other
// channels, which walk along on the way of the greys, do to this one.
type estimate struct {
	model fit.Separable
	space space
	top   float64 // highest code of the path
	// prior is, a channel, the standard uncertainty of the model's amount on
	// an even grid of device signals.
	prior [3][]float64
	seen  []observation
	hyper hyper
	last  bool // no pass follows
	// lightWeight is Options.LuminanceWeight.
	lightWeight float64
	factor      mat.Cholesky
	weight      []float64 // the solution of covariance·weight = residuals
	// light is, a channel, the estimate's amount on an even grid of device
	// signals, never falling.
	light [3][]float64
}

// observation is one reading through curves, as residual against the model.
type observation struct {
	at       [3]place
	residual [3]float64         // amounts read less amounts predicted
	noise    colorimetry.Matrix // its covariance
}

// place is a device signal of one channel with what the prior needs of it.
type place struct {
	device float64
	root   float64 // its square root
	prior  float64 // standard uncertainty of the model's amount
	light  float64 // the model's amount
	step   float64 // the change of that over one code of the path
}

const (
	priorGrid = 64   // intervals of the grid of prior uncertainty
	lightGrid = 2048 // intervals of the grid that is inverted
	meanGrid  = 512  // intervals on which the residual function is worked out
)

// newEstimate returns the estimate before any reading through curves, on a
// path of a number of bits.
func newEstimate(m fit.Separable, bits int) (*estimate, error) {
	p, err := newSpace(m.Primaries(), m.Black())
	if err != nil {
		return nil, err
	}
	e := &estimate{model: m, space: p, top: float64(uint(1)<<uint(bits)) - 1, hyper: firstHyper()}
	for i := range priorGrid + 1 {
		v := e.space.covariance(m.Covariance(colorimetry.Gray(float64(i) / priorGrid)))
		for c := range 3 {
			e.prior[c] = append(e.prior[c], math.Sqrt(math.Max(v[c][c], 0)))
		}
	}
	e.tabulate()
	return e, nil
}

// covariance carries a covariance of XYZ over to amounts.
func (p space) covariance(v colorimetry.Matrix) colorimetry.Matrix {
	return p.inverse.Mul(v).Mul(p.inverse.Transpose())
}

// carry carries a covariance of amounts over to XYZ.
func (p space) carry(v colorimetry.Matrix) colorimetry.Matrix {
	return p.primaries.Mul(v).Mul(p.primaries.Transpose())
}

// place looks up what the prior needs of a device signal of channel c.
func (e *estimate) place(c int, device float64) place {
	curve := e.model.Curve(c)
	return place{
		device: device, root: math.Sqrt(device), prior: table(e.prior[c]).at(device),
		light: curve.Light(device), step: curve.Slope(device) / e.top,
	}
}

func (e *estimate) places(d colorimetry.RGB) [3]place {
	return [3]place{e.place(0, d.R), e.place(1, d.G), e.place(2, d.B)}
}

// add takes in a reading of a device signal, which is the signal that left the
// curves, rounded as the path rounds it.
func (e *estimate) add(device colorimetry.RGB, r measure.Reading) {
	o := observation{at: e.places(device), noise: e.space.covariance(r.Covariance)}
	a := e.space.amounts(r.XYZ)
	for c := range 3 {
		o.residual[c] = a[c] - o.at[c].light
	}
	e.seen = append(e.seen, o)
}

// missed returns the residual function of channel c at a place, without the
// grain of its very code.
func (e *estimate) missed(c int, p place) float64 {
	h := e.hyper
	h.grain = 0
	var s float64
	for i, o := range e.seen[:len(e.weight)/3] {
		s += h.covariance(p, o.at[c], e.top) * e.weight[3*i+c]
	}
	return s
}

// tabulate works out the estimate's amounts on the grid. Light never falls
// with the signal, and a channel at signal 0 is at its black.
func (e *estimate) tabulate() {
	for c := range 3 {
		curve := e.model.Curve(c)
		coarse := make(table, meanGrid+1)
		for i := range coarse {
			coarse[i] = e.missed(c, e.place(c, float64(i)/meanGrid))
		}
		t := make([]float64, lightGrid+1)
		for i := 1; i <= lightGrid; i++ {
			d := float64(i) / lightGrid
			t[i] = math.Max(curve.Light(d)+coarse.at(d), t[i-1])
		}
		e.light[c] = t
	}
}

// amount returns the estimate's amount of channel c at a device signal.
func (e *estimate) amount(c int, device float64) float64 {
	return table(e.light[c]).at(math.Min(math.Max(device, 0), 1))
}

// xyz returns the estimate's colour at a device signal on the greys' way.
func (e *estimate) xyz(d colorimetry.RGB) colorimetry.XYZ {
	return e.space.xyz([3]float64{e.amount(0, d.R), e.amount(1, d.G), e.amount(2, d.B)})
}

// exact is xyz at codes of the path, with the grain of those that were read
// themselves.
func (e *estimate) exact(d colorimetry.RGB) colorimetry.XYZ {
	code := func(v float64) int { return int(math.Round(v * e.top)) }
	return e.space.xyz([3]float64{e.code(0, code(d.R)), e.code(1, code(d.G)), e.code(2, code(d.B))})
}

// device returns the lowest device signal at which channel c gives amount, 1
// where it never does.
func (e *estimate) device(c int, amount float64) float64 {
	t := e.light[c]
	if amount <= 0 {
		return 0
	}
	i := sort.SearchFloat64s(t, amount)
	if i == len(t) {
		return 1
	}
	// t[0] is 0, so that i is at least 1 here and t[i−1] < amount ≤ t[i].
	return (float64(i-1) + (amount-t[i-1])/(t[i]-t[i-1])) / lightGrid
}

// table is a function on an even grid over 0 to 1.
type table []float64

// at returns the function at s, 0 to 1, by straight lines.
func (t table) at(s float64) float64 {
	p := s * float64(len(t)-1)
	i := min(int(p), len(t)-2)
	f := p - float64(i)
	return t[i]*(1-f) + t[i+1]*f
}
