package fit

import (
	"math"
	"slices"

	"example.org/primaries/colorimetry"
)

// ground is the additive model that what channels do to each other is added to.
// Where it explains the readings they all have their say in it. Elsewhere what
// the channels do to each other would bend its curves, and it is fitted to the
// readings of one channel alone, the others deciding no more than what those
// leave open.
type ground struct {
	power *PowerModel // fitted to the same readings
	under *AdditiveModel
	loose bool  // fitted to the readings of one channel alone
	left  []int // readings that have no say
}

// tight is the scatter up to which what the additive model leaves over is taken
// for noise.
const tight = 1.5

// newGround fits the additive model.
func newGround(obs []observation) (*ground, error) {
	power, err := fitPower(obs, nil)
	if err != nil {
		return nil, err
	}
	return newGroundOn(obs, power, nil)
}

// newGroundOn is newGround where the power model is there already, and perhaps
// the additive model of all readings.
func newGroundOn(obs []observation, power *PowerModel, all *AdditiveModel) (*ground, error) {
	if all == nil {
		all, _ = fitAdditive(obs, power)
	}
	if all != nil && all.Scatter() <= tight {
		return &ground{power: power, under: all}, nil
	}
	under, err := fitAdditive(power.loosen(obs), power)
	if err != nil {
		return nil, err
	}
	return &ground{power: power, under: under, loose: true}, nil
}

// leave fits the additive model anew without the readings of list.
func (g *ground) leave(obs []observation, list []int) error {
	rest := without(obs, list)
	power, err := fitPower(rest, g.power)
	if err != nil {
		return err
	}
	n, err := newGroundOn(rest, power, nil)
	if err != nil {
		return err
	}
	*g = *n
	g.left = list
	return nil
}

// fold returns the model under without the readings of list, as smooth as it is.
func (g *ground) fold(obs []observation, list []int) (*AdditiveModel, error) {
	rest := without(obs, append(slices.Clone(g.left), list...))
	if g.loose {
		rest = g.power.loosen(rest)
	}
	return g.under.again(rest)
}

// without returns the observations but for those of list.
func without(obs []observation, list []int) []observation {
	var rest []observation
	for i := range obs {
		if !slices.Contains(list, i) {
			rest = append(rest, obs[i])
		}
	}
	return rest
}

// mostEffect is the effect of one channel on another, in CIELAB, that is
// thought possible at full signal: more than almost any display shows.
const mostEffect = 60.0

// mostDrift is by how much, as a share, X and Z of a channel are thought to leave
// its own proportions: its luminance leads its curve.
const mostDrift = 0.02

// loosen returns observations whose standard deviations are raised, those in
// CIELAB by mostEffect times the level of the second brightest channel, those of X
// and Z by mostDrift of them.
func (power *PowerModel) loosen(obs []observation) []observation {
	white := triple(brightest(obs))
	out := slices.Clone(obs)
	for i := range out {
		ob := &out[i]
		var u [3]float64
		for c := range 3 {
			u[c] = channelLevel.Of(power.curves[c].Light(ob.signal[c]))
		}
		slices.Sort(u[:])
		half := labSlopes(ob.xyz, white).Scale(mostEffect * math.Max(u[1], 0))
		l := ob.half()
		x, z := mostDrift*ob.xyz[0], mostDrift*ob.xyz[2]
		ob.root = whiten(l.Mul(l.Transpose()).Add(half.Mul(half.Transpose())).Add(colorimetry.Diagonal(x*x, 0, z*z)), white[1])
	}
	return out
}
