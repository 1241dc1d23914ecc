package profile

import (
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/fit/internal/level"
	"example.org/primaries/icc"
)

// wideTable is a table to signals whose axes are the light of wider primaries than
// the display's, so that its nodes are colours that can be seen, but do not lie on
// the display's own ends.
type wideTable struct {
	*nodes
	mapper mapper
	to     colorimetry.Matrix // from encoded colours to the light of each axis
	in     []uint16           // from light to places between nodes
	out    [3][]uint16        // from entries to signals
	places [][3]float64       // of a colorimetric table, if there is one
}

func newWideTable(m *mapper, n int) (*wideTable, error) {
	to, err := wideMatrix(m.grid)
	if err != nil {
		return nil, err
	}
	t := &wideTable{mapper: *m, to: to, in: rungs(n)}
	t.mapper.low, t.mapper.high = level.Tables.Of(darkest), level.Tables.Of(brightest)
	for c := range 3 {
		t.out[c] = make([]uint16, finest)
		for i := range t.out[c] {
			if l := darkest + (brightest-darkest)*float64(i)/(finest-1); l > 0 {
				t.out[c][i] = word(m.grid.frame.signal(c, math.Min(level.Tables.Of(l), 1)))
			}
		}
	}
	t.nodes, err = newNodes(n, icc.Affine{Matrix: to}, [3][]uint16{t.in, t.in, t.in})
	return t, err
}

// table returns places as the table holds them.
func (t *wideTable) table(places [][3]float64) icc.CLUT {
	n := t.edge
	out := icc.CLUT{Grid: []int{n, n, n}, Outputs: 3, Words: make([]uint16, 0, 3*n*n*n)}
	for _, p := range places {
		for c := range 3 {
			out.Words = append(out.Words, word((level.Tables.Light(p[c])-darkest)/(brightest-darkest)))
		}
	}
	return out
}

// What a wide table holds for a channel is the light that its signal makes along
// the greys, from darkest below 0 to brightest: where the display's 0 and 1 fall
// on 16-bit numbers and on entries of the curve behind.
const (
	darkest   = -1.0 / 12
	brightest = 1 + 1.0/6
)

// wideMatrix returns the matrix to the light of wider primaries, 0 to 1 for what
// colours need, as the profile holds it.
func wideMatrix(g *grid) (to colorimetry.Matrix, err error) {
	colours, err := wideCorners()
	if err != nil {
		return to, err
	}
	for _, y := range g.nodes {
		c := g.frame.colour(y)
		colours = append(colours, colorimetry.XYZ{X: math.Max(c.X, 0), Y: math.Max(c.Y, 0), Z: math.Max(c.Z, 0)})
	}
	wide, err := widen(g.frame, colours)
	if err != nil {
		return to, err
	}
	inv, err := wide.Inverse()
	if err != nil {
		return to, err
	}
	// One scale for all lets greys lie on the table's diagonal, which is read
	// between neighbours on it alone.
	top := 0.0
	for _, c := range colours {
		top = math.Max(top, inv.ToLinear(c).Max())
	}
	return fixedAffine(inv.Scale(mostXYZ/top), colorimetry.XYZ{}).Matrix, nil
}

const (
	// unseen is the amount of a primary, full being 1, that a colour may ask to be
	// taken away: near black it is a tenth of L*.
	unseen = -1e-4
	// mostWide is how far primaries are moved, and usualWide how far BT.2020's are
	// where even that holds not all: only a black that is no colour asks for more,
	// and loses it.
	mostWide, usualWide = 3.0, 1.25
)

// widen returns the matrix, columns adding up to D50, of the narrowest primaries
// found that mix the colours: the matrix of version 2 has no offset to lift
// negative amounts with. They are the display's or BT.2020's, moved away from
// the white as far as it takes.
func widen(f *frame, colours []colorimetry.XYZ) (colorimetry.Matrix, error) {
	corners, err := wideCorners()
	if err != nil {
		return colorimetry.Matrix{}, err
	}
	common := colorimetry.Columns(corners[1], corners[2], corners[4])
	best, _, _ := apart(common, usualWide)
	least := math.Inf(1)
	for _, base := range [2]colorimetry.Matrix{f.mix, common} {
		for factor := 1.0; factor < mostWide; factor += 0.01 {
			m, area, ok := apart(base, factor)
			if !ok || !holds(m, colours) {
				continue
			}
			if area < least {
				best, least = m, area
			}
			break
		}
	}
	return best, nil
}

// apart returns the matrix, columns adding up to D50, of primaries that stand
// factor times as far from the white in x, y as m's, and the area between them.
func apart(m colorimetry.Matrix, factor float64) (out colorimetry.Matrix, area float64, ok bool) {
	w := colorimetry.D50()
	at := w.Chromaticity()
	var p [3]colorimetry.XYZ
	var corner [3]colorimetry.Chromaticity
	for c := range 3 {
		q := m.Column(c).Chromaticity()
		q.X, q.Y = at.X+factor*(q.X-at.X), at.Y+factor*(q.Y-at.Y)
		p[c], corner[c] = colorimetry.XYZ{X: q.X, Y: q.Y, Z: 1 - q.X - q.Y}, q
	}
	out = colorimetry.Columns(p[0], p[1], p[2])
	inv, err := out.Inverse()
	if err != nil {
		return out, 0, false
	}
	s := inv.ToLinear(w)
	return out.Mul(colorimetry.Diagonal(s.R, s.G, s.B)), gamut.XY(corner[:]...).Area(), s.Min() > 0
}

// holds reports whether the columns of m mix all colours, but for what no one
// sees, without a negative amount.
func holds(m colorimetry.Matrix, colours []colorimetry.XYZ) bool {
	inv, err := m.Inverse()
	for _, c := range colours {
		if err != nil || inv.ToLinear(c).Min() < unseen {
			return false
		}
	}
	return err == nil
}

// rungPower is the power of the nodes' light in the tables to signals. Of 1.6 to
// 3.6 it leaves the least round trip on displays whose channels disturb each
// other, where the dark is sensitive; the others do not mind.
const rungPower = 2.8

// rungs returns the curve of finest entries from light to the places of n
// nodes, each of which is at an entry.
func rungs(n int) []uint16 {
	at := make([]int, n)
	for k := 1; k < n; k++ {
		at[k] = max(at[k-1]+1, int(math.Round(math.Pow(float64(k)/float64(n-1), rungPower)*(finest-1))))
	}
	out := make([]uint16, finest)
	for k := range n - 1 {
		for i := at[k]; i <= at[k+1]; i++ {
			out[i] = word((float64(k) + float64(i-at[k])/float64(at[k+1]-at[k])) / float64(n-1))
		}
	}
	return out
}
