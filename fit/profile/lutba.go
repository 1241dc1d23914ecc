package profile

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/fit/internal/level"
	"example.org/primaries/icc"
)

// axis is one channel of a table from the connection space: the light of one
// channel from lo, below the display's 0, to hi, beyond its 1. Both of its own
// ends lie on nodes: below, inside and above count the cells between.
type axis struct {
	below, inside, above int
	lo, hi               float64
	curve                []uint16 // from light, 0 to 1 for lo to hi, to the place between the first and the last node
}

// needed returns the light of each channel, from and to, that colours have that
// are to be mapped: those of the display and of ITU-R BT.2020, the widest
// encoding in common use.
func needed(g *grid) (lo, hi [3]float64, err error) {
	for _, y := range g.nodes {
		for c := range 3 {
			lo[c], hi[c] = math.Min(lo[c], level.Tables.Light(y[c])), math.Max(hi[c], level.Tables.Light(y[c]))
		}
	}
	corners, err := wideCorners()
	for _, corner := range corners {
		for c, l := range g.frame.light(corner) {
			lo[c], hi[c] = math.Min(lo[c], l), math.Max(hi[c], l)
		}
	}
	return lo, hi, err
}

// wideCorners returns the corners of BT.2020's cube in the connection space.
func wideCorners() ([]colorimetry.XYZ, error) {
	s := rgb.BT2020()
	m, err := s.Matrix()
	if err != nil {
		return nil, err
	}
	chad, err := colorimetry.Bradford(s.White.XYZ(1), colorimetry.D50())
	if err != nil {
		return nil, err
	}
	m = chad.Mul(m)
	var out []colorimetry.XYZ
	for k := range 8 {
		out = append(out, m.FromLinear(colorimetry.RGB{R: float64(k & 1), G: float64(k >> 1 & 1), B: float64(k >> 2)}))
	}
	return out, nil
}

// newAxis returns the axis of n nodes that holds the light from lo to hi.
func newAxis(n int, lo, hi float64) axis {
	cells := n - 1
	a := axis{below: max(1, cells/16)}
	if lo < -0.02 {
		a.below = max(2, cells*7/32)
	}
	a.above = 1
	top := level.Tables.Of(hi) + 0.005
	for 1+float64(a.above)/float64(cells-a.below-a.above) < top && a.above < cells/3 {
		a.above++
	}
	a.inside = cells - a.below - a.above
	a.hi = level.Tables.Light(1 + float64(a.above)/float64(a.inside))
	// Light of 0 falls on an entry of the curve, which bends there.
	low := math.Max(-lo, 0.002) * 1.02
	k := math.Ceil((finest - 1) * low / (a.hi + low))
	a.lo = -a.hi * k / (finest - 1 - k)
	a.curve = make([]uint16, finest)
	for i := range a.curve {
		a.curve[i] = word(a.placeOf(a.lo + (a.hi-a.lo)*float64(i)/(finest-1)))
	}
	return a
}

// placeOf returns the place of light as the curve is to have it. Below 0 it has
// a level as above, only that it goes more quickly.
func (a *axis) placeOf(light float64) float64 {
	cells := float64(a.below + a.inside + a.above)
	if light >= 0 {
		return (float64(a.below) + level.Tables.Of(light)*float64(a.inside)) / cells
	}
	return float64(a.below) * (1 - level.Tables.Of(-light)/level.Tables.Of(-a.lo)) / cells
}

// light returns the light at a place from 0 to 1 by the curve as written.
func (a *axis) light(place float64) float64 { return a.lo + (a.hi-a.lo)*lowest(a.curve, place) }

// inner returns a place of the curve as written, 0 and 1 being the display's own
// ends, for light that the display has.
func (a *axis) inner(light float64) float64 {
	cells := float64(a.below + a.inside + a.above)
	return (between(a.curve, (light-a.lo)/(a.hi-a.lo))*cells - float64(a.below)) / float64(a.inside)
}

// fromInner is the inverse of inner.
func (a *axis) fromInner(v float64) float64 {
	return a.light((float64(a.below) + v*float64(a.inside)) / float64(a.below+a.inside+a.above))
}

// output returns the place as the table holds it: on the curve as written, and
// with room to spare on both sides.
func (a *axis) output(v float64) uint16 {
	if v > 0 {
		v = a.inner(level.Tables.Light(v))
	}
	return word((v - lowestPlace) / (highestPlace - lowestPlace))
}

// signals returns the curve from the table's entries to the signal.
func (a *axis) signals(f *frame, c int) icc.SampledCurve {
	out := make(icc.SampledCurve, finest)
	for i := range out {
		v := lowestPlace + (highestPlace-lowestPlace)*float64(i)/(finest-1)
		switch {
		case v >= 1:
			out[i] = 65535
		case v > 0:
			out[i] = word(f.signal(c, level.Tables.Of(a.fromInner(v))))
		}
	}
	return out
}

// fromTable returns the colorimetric table from the connection space to signals
// with n nodes an edge.
func fromTable(m *mapper, n int) (icc.LutBToA, error) {
	f := m.grid.frame
	lo, hi, err := needed(m.grid)
	if err != nil {
		return icc.LutBToA{}, err
	}
	var axes [3]axis
	for c := range 3 {
		axes[c] = newAxis(n, lo[c], hi[c])
	}
	span := colorimetry.Diagonal(1/(axes[0].hi-axes[0].lo), 1/(axes[1].hi-axes[1].lo), 1/(axes[2].hi-axes[2].lo))
	to := span.Mul(f.unmix)
	o := span.Apply(colorimetry.XYZ{X: -axes[0].lo, Y: -axes[1].lo, Z: -axes[2].lo}).Sub(to.Apply(f.black))
	affine := fixedAffine(to.Scale(mostXYZ), o)
	nodes, err := newNodes(n, affine, [3][]uint16{axes[0].curve, axes[1].curve, axes[2].curve})
	if err != nil {
		return icc.LutBToA{}, err
	}
	t := &icc.CLUT{Grid: []int{n, n, n}, Outputs: 3, Words: make([]uint16, 0, 3*n*n*n)}
	for _, v := range m.fill(nodes) {
		t.Words = append(t.Words, axes[0].output(v[0]), axes[1].output(v[1]), axes[2].output(v[2]))
	}
	v := icc.LutBToA{B: []icc.Curve{straight(), straight(), straight()}, Matrix: &affine, Table: t}
	for c := range 3 {
		v.M = append(v.M, icc.SampledCurve(axes[c].curve))
		v.A = append(v.A, axes[c].signals(f, c))
	}
	return v, nil
}

// fromTableSoft returns the perceptual table of version 4: a wide one, since what
// lies beyond the display counts for more here, whose matrix moves the black from
// the medium's.
func (t *wideTable) fromTableSoft() icc.LutBToA {
	s := float64(compensate(referenceBlack, t.mapper.grid.frame.black.Y))
	affine := fixedAffine(t.to.Scale(s), t.to.Apply(colorimetry.D50().Scale((1-s)/mostXYZ)))
	table := t.table(t.mapper.fillSoft(t.nodes, nil, 1))
	v := icc.LutBToA{B: []icc.Curve{straight(), straight(), straight()}, Matrix: &affine, Table: &table}
	for c := range 3 {
		v.M = append(v.M, icc.SampledCurve(t.in))
		v.A = append(v.A, icc.SampledCurve(t.out[c]))
	}
	return v
}

// newNodes returns the nodes of a table of n nodes an edge behind a matrix from
// encoded colours and the curves of each channel.
func newNodes(n int, to icc.Affine, curves [3][]uint16) (*nodes, error) {
	back, err := to.Matrix.Inverse()
	if err != nil {
		return nil, err
	}
	o := colorimetry.XYZ{X: to.Offset[0], Y: to.Offset[1], Z: to.Offset[2]}
	var light [3][]float64 // of each node, over the axis
	for c := range 3 {
		for i := range n {
			light[c] = append(light[c], lowest(curves[c], float64(i)/float64(n-1)))
		}
	}
	return &nodes{
		edge: n,
		colour: func(at [3]int) colorimetry.XYZ {
			return back.Apply(colorimetry.XYZ{X: light[0][at[0]], Y: light[1][at[1]], Z: light[2][at[2]]}.Sub(o)).Scale(mostXYZ)
		},
		cell: func(c colorimetry.XYZ) (at [3]float64) {
			l := to.Matrix.Apply(c.Scale(1 / mostXYZ)).Add(o)
			for c, v := range [3]float64{l.X, l.Y, l.Z} {
				at[c] = between(curves[c], clamp(v)) * float64(n-1)
			}
			return at
		},
	}, nil
}
