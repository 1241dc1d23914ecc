package profile

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/internal/level"
	"example.org/primaries/icc"
)

// In tables of version 2 light is linear from each node to the next: the curves
// before them are bent at the nodes alone. So entries that are linear in light
// lose nothing between nodes as long as channels do not disturb each other,
// wherever the nodes lie and however the display's own axes do, and the dark
// can have as many nodes as it needs.

// rung returns the place, 0 to 1 for the first to the last of n nodes at equal
// steps of level, of light from 0 to 1.
func rung(light float64, n int) float64 {
	cells := float64(n - 1)
	k := math.Min(math.Floor(level.Tables.Of(clamp(light))*cells), cells-1)
	lo, hi := level.Tables.Light(k/cells), level.Tables.Light((k+1)/cells)
	return (k + clamp((light-lo)/(hi-lo))) / cells
}

// toTable16 is toTable as version 2 has it: behind the table there are curves
// but no matrix, so that entries hold X, Y and Z. Colours are compensated for
// black, 1 leaving them alone.
func toTable16(g *grid, n int, black compensation) icc.Lut16 {
	f, step := g.frame, gridSteps/(n-1)
	colours := make([]colorimetry.XYZ, n*n*n)
	var top colorimetry.XYZ
	for i := range colours {
		colours[i] = black.apply(f.colour(g.node(i/(n*n)*step, i/n%n*step, i%n*step)))
		top = colorimetry.XYZ{X: math.Max(top.X, colours[i].X), Y: math.Max(top.Y, colours[i].Y), Z: math.Max(top.Z, colours[i].Z)}
	}
	v := icc.Lut16{Matrix: colorimetry.Identity(), Table: icc.CLUT{Grid: []int{n, n, n}, Outputs: 3}}
	var scale [3]float64
	for c, most := range [3]float64{top.X, top.Y, top.Z} {
		end := uint16(math.Ceil(most / mostXYZ * 65535))
		scale[c] = 65535 / (float64(end) * mostXYZ)
		v.Output = append(v.Output, []uint16{0, end})
		in := make([]uint16, finest)
		for i := range in {
			in[i] = word(rung(f.grey(c, float64(i)/(finest-1)), n))
		}
		v.Input = append(v.Input, in)
	}
	for _, c := range colours {
		v.Table.Words = append(v.Table.Words, word(c.X*scale[0]), word(c.Y*scale[1]), word(c.Z*scale[2]))
	}
	return v
}

// lut16 returns a wide table of places as version 2 has it: its matrix has no
// offset, so that there are no others there.
func (t *wideTable) lut16(places [][3]float64) icc.Lut16 {
	return icc.Lut16{Matrix: t.to, Input: [][]uint16{t.in, t.in, t.in}, Output: t.out[:], Table: t.table(places)}
}
