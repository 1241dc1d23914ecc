package hardware

import (
	"fmt"
	"math"
	"sort"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/internal/level"
)

// display is a model in the coordinates in which tables are made. A colour is the
// display's black and amounts of three columns, the primaries scaled so that
// they add up to the white: its light. Each channel's curve is its light along
// the greys, and a place is the level of the light by that curve: where channels
// do not disturb each other, the place of a channel is the level of its light.
type display struct {
	model fit.Model
	black colorimetry.XYZ
	white colorimetry.XYZ
	mix   colorimetry.Matrix // the columns
	unmix colorimetry.Matrix
	greys [3][]float64 // light of each channel at equally spaced greys, from 0 to 1
}

// greySteps are the steps between greys.
const greySteps = 2048

func newDisplay(m fit.Model) (*display, error) {
	d := &display{model: m, black: m.XYZ(colorimetry.RGB{}), white: m.XYZ(colorimetry.Gray(1))}
	add := func(s colorimetry.RGB) colorimetry.XYZ { return m.XYZ(s).Sub(d.black) }
	p := colorimetry.Columns(add(colorimetry.RGB{R: 1}), add(colorimetry.RGB{G: 1}), add(colorimetry.RGB{B: 1}))
	inv, err := p.Inverse()
	if err != nil {
		return nil, fmt.Errorf("hardware: the model's primaries do not differ: %w", err)
	}
	share := inv.ToLinear(d.white.Sub(d.black))
	if !(share.Min() > 0) || math.IsInf(share.Max(), 0) {
		return nil, fmt.Errorf("hardware: the model's white %v is no mixture of its primaries; look for readings of another state", d.white)
	}
	d.mix = p.Mul(colorimetry.Diagonal(share.R, share.G, share.B))
	if d.unmix, err = d.mix.Inverse(); err != nil {
		return nil, fmt.Errorf("hardware: the model's primaries do not differ: %w", err)
	}
	return d, d.readGreys()
}

// readGreys fills the curves.
func (d *display) readGreys() error {
	for c := range d.greys {
		d.greys[c] = make([]float64, greySteps+1)
	}
	for i := range greySteps + 1 {
		s := float64(i) / greySteps
		l := d.light(d.model.XYZ(colorimetry.Gray(s)))
		for c := range l {
			if l[c]-l[c] != 0 {
				return fmt.Errorf("hardware: the model shows no finite colour at signal %.4f", s)
			}
			d.greys[c][i] = limit(l[c])
			if i > 0 {
				d.greys[c][i] = math.Max(d.greys[c][i], d.greys[c][i-1])
			}
		}
	}
	for c := range d.greys {
		d.greys[c][0], d.greys[c][greySteps] = 0, 1
	}
	return nil
}

// light returns a colour's amounts of the columns beyond the black.
func (d *display) light(c colorimetry.XYZ) [3]float64 {
	l := d.unmix.ToLinear(c.Sub(d.black))
	return [3]float64{l.R, l.G, l.B}
}

// levels returns the levels of a colour's light.
func (d *display) levels(c colorimetry.XYZ) [3]float64 {
	l := d.light(c)
	return [3]float64{level.Tables.Of(l[0]), level.Tables.Of(l[1]), level.Tables.Of(l[2])}
}

// signal returns the lowest signal at which a channel reaches a place; places are
// limited to 0 and 1.
func (d *display) signal(c int, place float64) float64 {
	t, y := d.greys[c], level.Tables.Light(limit(place))
	if y <= 0 {
		return 0
	}
	i := sort.SearchFloat64s(t, y)
	if i > greySteps {
		return 1
	}
	return (float64(i-1) + (y-t[i-1])/(t[i]-t[i-1])) / greySteps
}

// colour returns the colour that is shown at places.
func (d *display) colour(v [3]float64) colorimetry.XYZ {
	return d.model.XYZ(colorimetry.RGB{R: d.signal(0, v[0]), G: d.signal(1, v[1]), B: d.signal(2, v[2])})
}

// shown returns the levels that are shown at places. Beyond 0 and 1 they go on
// along lines.
func (d *display) shown(v [3]float64) [3]float64 {
	y := d.levels(d.colour(v))
	for c := range v {
		y[c] += v[c] - limit(v[c])
	}
	return y
}
