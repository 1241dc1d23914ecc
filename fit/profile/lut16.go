package profile

import (
	"errors"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
)

// toTable16 is toTable as version 2 has it: behind the table there are curves
// but no matrix, so that entries hold the levels of X, Y and Z. What a table of
// them loses between nodes is more.
func toTable16(g *grid, n int) icc.Lut16 {
	f, step := g.frame, gridSteps/(n-1)
	colours := make([]colorimetry.XYZ, n*n*n)
	var top colorimetry.XYZ
	for i := range colours {
		y := g.node(i/(n*n)*step, i/n%n*step, i%n*step)
		c := f.black.Add(f.mix.FromLinear(colorimetry.RGB{R: unlevel(y[0]), G: unlevel(y[1]), B: unlevel(y[2])}))
		colours[i] = c
		top = colorimetry.XYZ{X: math.Max(top.X, c.X), Y: math.Max(top.Y, c.Y), Z: math.Max(top.Z, c.Z)}
	}
	v := icc.Lut16{Matrix: colorimetry.Identity(), Table: icc.CLUT{Grid: []int{n, n, n}, Outputs: 3}}
	for c, most := range [3]float64{top.X, top.Y, top.Z} {
		out := make([]uint16, finest)
		for i := range out {
			out[i] = word(most * unlevel(float64(i)/(finest-1)) / mostXYZ)
		}
		v.Output = append(v.Output, out)
		v.Input = append(v.Input, f.places[c])
	}
	for _, c := range colours {
		for k, x := range [3]float64{c.X, c.Y, c.Z} {
			v.Table.Words = append(v.Table.Words, word(lowest(v.Output[k], clamp(x/mostXYZ))))
		}
	}
	return v
}

// widen returns the matrix, columns adding up to D50, of primaries that are
// those of the display moved away from the white just as far as it takes to mix
// the colours without a negative amount: the matrix of version 2 has no offset
// to lift those with.
func widen(f *frame, colours []colorimetry.XYZ) (colorimetry.Matrix, error) {
	w := colorimetry.D50()
	at := w.Chromaticity()
	for factor := 1.02; factor < 4; factor += 0.02 {
		var p [3]colorimetry.XYZ
		for c := range 3 {
			q := f.mix.Column(c).Chromaticity()
			q.X, q.Y = at.X+factor*(q.X-at.X), at.Y+factor*(q.Y-at.Y)
			p[c] = colorimetry.XYZ{X: q.X, Y: q.Y, Z: 1 - q.X - q.Y}
		}
		m := colorimetry.Columns(p[0], p[1], p[2])
		inv, err := m.Inverse()
		if err != nil {
			return m, err
		}
		s := inv.ToLinear(w)
		m = m.Mul(colorimetry.Diagonal(s.R, s.G, s.B))
		if inv, err = m.Inverse(); err != nil {
			return m, err
		}
		holds := s.Min() > 0
		for _, c := range colours {
			holds = holds && inv.ToLinear(c).Min() >= -1e-9
		}
		if holds {
			return m, nil
		}
	}
	return colorimetry.Matrix{}, errors.New("profile: no primaries hold all colours that are to be mapped; write version 4")
}

// fromTable16 is fromTable as version 2 has it: with wider primaries in place
// of an offset, so that the nodes do not lie on the display's own ends.
func fromTable16(m *mapper, n int) (icc.Lut16, error) {
	f := m.grid.frame
	var v icc.Lut16
	colours, err := wideCorners()
	if err != nil {
		return v, err
	}
	for _, y := range m.grid.nodes {
		colours = append(colours, f.black.Add(f.mix.FromLinear(colorimetry.RGB{R: unlevel(y[0]), G: unlevel(y[1]), B: unlevel(y[2])})))
	}
	wide, err := widen(f, colours)
	if err != nil {
		return v, err
	}
	inv, err := wide.Inverse()
	if err != nil {
		return v, err
	}
	var top colorimetry.RGB
	for _, c := range colours {
		l := inv.ToLinear(c)
		top = colorimetry.RGB{R: math.Max(top.R, l.R), G: math.Max(top.G, l.G), B: math.Max(top.B, l.B)}
	}
	v.Matrix = fixedAffine(colorimetry.Diagonal(1/top.R, 1/top.G, 1/top.B).Mul(inv).Scale(mostXYZ), colorimetry.XYZ{}).Matrix
	back, err := v.Matrix.Inverse()
	if err != nil {
		return v, err
	}
	var light [3][]float64
	for c, most := range [3]float64{top.R, top.G, top.B} {
		in := make([]uint16, finest)
		for i := range in {
			in[i] = word(level(most*float64(i)/(finest-1)) / level(most))
		}
		v.Input = append(v.Input, in)
		for i := range n {
			light[c] = append(light[c], lowest(in, float64(i)/float64(n-1)))
		}
		out := make([]uint16, finest)
		for i := range out {
			switch p := float64(i)/(finest-1)*(1+2*spare16) - spare16; {
			case p >= 1:
				out[i] = 65535
			case p > 0:
				out[i] = word(f.signal(c, p))
			}
		}
		v.Output = append(v.Output, out)
	}
	v.Table = icc.CLUT{Grid: []int{n, n, n}, Outputs: 3}
	apart := *m
	apart.spare = spare16
	for _, p := range apart.fill(n, func(at [3]int) colorimetry.XYZ {
		return back.Apply(colorimetry.XYZ{X: light[0][at[0]], Y: light[1][at[1]], Z: light[2][at[2]]}).Scale(mostXYZ)
	}) {
		for c := range 3 {
			v.Table.Words = append(v.Table.Words, word((p[c]+spare16)/(1+2*spare16)))
		}
	}
	return v, nil
}
