package icc

import (
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// lut checks the table of a tag.
func (c *checker) lut(t *Tag, name, clause string, kind tagKind) {
	h := &c.p.Header
	from, to := h.Space, h.PCS
	n, m := Channels(from), Channels(to)
	switch kind {
	case kindFromPCS:
		from, to, n, m = to, from, m, n
	case kindGamut:
		from, to, n, m = h.PCS, SpaceGray, Channels(h.PCS), 1
	case kindPreview:
		from, n = h.PCS, Channels(h.PCS)
	}
	c.matrix(t.Value, from, name)
	if _, ok := t.Value.(Lut8); ok && (from == SpaceXYZ || to == SpaceXYZ) {
		c.add(name, c.clause("10.11", "6.5.8"), Departure, "XYZ has no encoding in 8 bits, so that readers may differ; write a table of 16 bits.")
	}
	if grid := gridOf(t.Value); thin(grid) {
		c.add(name, clause, Broken, "The grid %v has a channel with fewer than 2 points, which readers refuse; write 2 at least.", grid)
	}
	stages, kindOf, err := tableStages(t.Value, from, Options{})
	switch {
	case errors.Is(err, ErrUnsupported):
		c.add(name, clause, Broken, "The table may be valid, but common readers refuse it: %v; use fewer channels.", err)
		return
	case err != nil:
		c.add(name, clause, Broken, "The table cannot be computed: %v; correct it.", err)
		return
	}
	if in, out := stages[0].in, stages[len(stages)-1].out; n > 0 && in != n || m > 0 && out != m {
		c.add(name, clause, Broken, "The table leads from %d channels to %d, and the header asks for %d and %d; correct one of them.", in, out, n, m)
		return
	}
	if kind == kindToPCS && t.Signature != TagDToB3 {
		c.whiteOf(t, stages, kindOf, name)
	}
}

// matrix checks that lut8 and lut16 have a matrix only where XYZ comes in.
func (c *checker) matrix(v Value, from Signature, name string) {
	m, clause := colorimetry.Identity(), ""
	switch v := v.(type) {
	case Lut8:
		m, clause = v.Matrix, c.clause("10.11", "6.5.8")
	case Lut16:
		m, clause = v.Matrix, c.clause("10.10", "6.5.7")
	}
	if from != SpaceXYZ && m != colorimetry.Identity() {
		c.add(name, clause, Departure, "The matrix is not the identity though no XYZ comes in, and some readers apply it while others do not; write the identity.")
	}
}

// gridOf returns the grid of a table outside of elements, nil where there is
// none.
func gridOf(v Value) []int {
	switch v := v.(type) {
	case Lut8:
		return v.Table.Grid
	case Lut16:
		return v.Table.Grid
	case LutAToB:
		if v.Table != nil {
			return v.Table.Grid
		}
	case LutBToA:
		if v.Table != nil {
			return v.Table.Grid
		}
	}
	return nil
}

// thin reports whether a channel of a grid has one point only.
func thin(grid []int) bool {
	for _, g := range grid {
		if g < 2 {
			return true
		}
	}
	return false
}

const (
	// Above farLight L* is encoded as in the other version: 100·65535/65280.
	farLight = 100.2
	// Where the encoding of version 2 is written into a type of version 4,
	// white is shortLight, within lightStep.
	shortLight = 100 * 65280.0 / 65535
	lightStep  = 0.02
	// farWhite is a ΔE*ab that anyone sees.
	farWhite = 2
)

// whiteOf checks what a table makes of the device's white.
func (c *checker) whiteOf(t *Tag, stages []stage, kind encoding, name string) {
	h := &c.p.Header
	var v vec
	switch h.Space {
	case SpaceRGB, SpaceGray:
		for i := range Channels(h.Space) {
			v[i] = 1
		}
	case SpaceCMYK, spaceCMY:
	default:
		return
	}
	if h.Class != ClassDisplay && h.Class != ClassOutput && h.Class != ClassSpace || !isPCS(h.PCS) {
		return
	}
	run(stages, &v)
	run(kind.decode(h.PCS), &v)
	if h.PCS == SpaceXYZ {
		run(fromXYZ(SpaceLab), &v)
	}
	lab := fmt.Sprintf("%.2f %.2f %.2f", v[0], v[1], v[2])
	const clause = edition4 + ", 6.3.4.2 and 10.10"
	_, words := t.Value.(Lut16)
	switch e := math.Hypot(v[0]-100, math.Hypot(v[1], v[2])); {
	case words && h.PCS == SpaceLab && v[0] > farLight:
		c.add(name, clause, Departure, "White is L*a*b* %s: the table holds the encoding of version 4, and in lut16 L* = 100 is 0xFF00 and a* = 0 is 0x8000 in every version.", lab)
	case !words && h.PCS == SpaceLab && kind == modern && math.Abs(v[0]-shortLight) < lightStep && math.Abs(v[1]) > lightStep:
		c.add(name, clause, Departure, "White is L*a*b* %s: the table holds the encoding of version 2, and here L* = 100 is 0xFFFF and a* = 0 is 0x8080.", lab)
	case !(e <= farWhite):
		c.add(name, c.clause("6.3.2", "annex A"), Remark, "The device's white is L*a*b* %s rather than 100 0 0, so that white is not kept.", lab)
	}
}

// spaceCMY is CMY.
const spaceCMY Signature = 0x434d5920
