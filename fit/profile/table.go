package profile

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/icc"
)

// tableSizes are the nodes an edge that are tried. A size is taken without trying
// the next if its mean and largest difference are at most meanGoal and mostGoal,
// in ΔE00, and it turns the hue of colours beyond the gamut by hueGoal in the
// mean, in degrees.
var tableSizes = [3]int{9, 17, 33}

const (
	meanGoal = 0.03
	mostGoal = 0.3
	hueGoal  = 0.5
)

// newTable returns a table profile of the model, not yet encoded, and fills what
// is found out on the way.
func newTable(m fit.Model, white colorimetry.XYZ, curves tone.Channels, o Options, d *Diagnostics) (*icc.Profile, error) {
	f, err := newFrame(m, white, o.Entries)
	if err != nil {
		return nil, err
	}
	d.PrimaryGains, d.Entries, d.CurveError = f.gains, f.entries, f.miss
	g := newGrid(f)
	to, err := newMapper(g, o)
	if err != nil {
		return nil, err
	}
	p, err := fallback(to, white, curves, o)
	if err != nil {
		return nil, err
	}
	d.GridLoss = g.loss()
	signals := tableSignals()
	all := f.judge(signals)
	if d.MatrixMean, d.MatrixMax, err = toLoss(p, all); err != nil {
		return nil, err
	}
	// No size holds what the connection space does not.
	held, clipped := clip(all)
	d.ClipMax = clipped
	for _, n := range tableSizes {
		if o.Grid != 0 && n != o.Grid {
			continue
		}
		if err := setToTables(p, g, n, o); err != nil {
			return nil, err
		}
		d.NodesAToB = n
		mean, most, err := toLoss(p, held)
		if err != nil {
			return nil, err
		}
		if mean <= meanGoal && most <= mostGoal {
			break
		}
	}
	var wide *wideTable
	for _, n := range tableSizes[1:] {
		if o.Grid != 0 && n != max(o.Grid, tableSizes[1]) {
			continue
		}
		if wide, err = setFromTable(p, to, n, o); err != nil {
			return nil, err
		}
		d.NodesBToA = n
		if d.RoundMean, d.RoundMax, err = roundTrip(p, signals); err != nil {
			return nil, err
		}
		if d.HueMean, d.HueCount, err = hueTurn(p); err != nil {
			return nil, err
		}
		if d.RoundMean <= meanGoal && d.RoundMax <= mostGoal && d.HueMean <= hueGoal {
			break
		}
	}
	d.RoundCount = len(signals)
	setFromTablesSoft(p, wide, o)
	return p, nil
}

// setToTables writes the tables from signals with n nodes an edge. Version 2
// knows no reference medium: there the black of the perceptual table goes to 0, if
// at all.
func setToTables(p *icc.Profile, g *grid, n int, o Options) error {
	if o.Version == V2 {
		v := toTable16(g, n, 1)
		p.Set(icc.TagAToB0, v)
		p.Set(icc.TagAToB1, v)
		if o.BlackPoint {
			p.Set(icc.TagAToB0, toTable16(g, n, compensate(g.frame.black.Y, 0)))
		}
	} else {
		e, err := newEncoding(g)
		if err != nil {
			return err
		}
		p.Set(icc.TagAToB0, toTable(g, &e, n, true))
		p.Set(icc.TagAToB1, toTable(g, &e, n, false))
	}
	p.Set(icc.TagAToB2, p.Value(icc.TagAToB0))
	return nil
}

// setFromTable writes the colorimetric table to signals with n nodes an edge, and
// returns the wide table of as many.
func setFromTable(p *icc.Profile, m *mapper, n int, o Options) (*wideTable, error) {
	wide, err := newWideTable(m, n)
	if err != nil {
		return nil, err
	}
	if o.Version == V2 {
		wide.places = wide.mapper.fill(wide.nodes)
		p.Set(icc.TagBToA1, wide.lut16(wide.places))
		return wide, nil
	}
	v, err := fromTable(m, n)
	p.Set(icc.TagBToA1, v)
	return wide, err
}

// setFromTablesSoft writes the perceptual and saturation tables to signals.
func setFromTablesSoft(p *icc.Profile, wide *wideTable, o Options) {
	if o.Version != V2 {
		p.Set(icc.TagBToA0, wide.fromTableSoft())
	} else {
		black := compensation(1)
		if o.BlackPoint {
			black = compensate(0, wide.mapper.grid.frame.black.Y)
		}
		p.Set(icc.TagBToA0, wide.lut16(wide.mapper.fillSoft(wide.nodes, wide.places, black)))
	}
	p.Set(icc.TagBToA2, p.Value(icc.TagBToA0))
}

// fallback returns a matrix profile for those that read no tables: the greys and
// the white are the model's, and so are the primaries' hues.
func fallback(m *mapper, white colorimetry.XYZ, curves tone.Channels, o Options) (*icc.Profile, error) {
	f := m.grid.frame
	var columns [3]colorimetry.XYZ
	var offsets [3]float64
	share := f.leaks
	if math.Min(share[0], math.Min(share[1], share[2])) < 0 {
		share = nearestMix(f.mix, f.black, colorimetry.D50())
	}
	for c := range 3 {
		columns[c] = f.mix.Column(c).Scale(1 + f.leaks[c])
		switch o.Black {
		case BlackMeasured:
			offsets[c] = share[c] / (1 + share[c])
		case BlackNeutral:
			offsets[c] = f.black.Y
		case BlackZero:
		default:
			return nil, fmt.Errorf("profile: black option %d is unknown", o.Black)
		}
		if !(offsets[c] >= 0 && offsets[c] < 1) {
			return nil, fmt.Errorf("profile: the model's black asks for offset %g of channel %d; offsets run from 0 to 1", offsets[c], c)
		}
	}
	// The profile is named by what its tables hold.
	tables := o
	tables.Black = BlackMeasured
	spec, err := newSpec(white, columns, curves, tables)
	if err != nil {
		return nil, err
	}
	for c := range 3 {
		spec.Colorants[c] = columns[c] // in the connection space already
		spec.Curves[c] = f.sample(c, offsets[c], f.entries)
	}
	addMeta(&spec, f.model, curves, tables)
	addTableMeta(&spec, m, o)
	p, err := icc.MatrixProfile(spec)
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	return p, nil
}
