package chart

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// cxfMax is what RGB counts to in CxF where MaxRange is not given.
const cxfMax = 255

// cxfRow is a patch and the object with its reading, nil where it has none.
type cxfRow struct{ patch, reading *cxfObject }

// table makes the table of what was read.
func (c *cxfReader) table() (Table, error) {
	rows, err := c.pair()
	if err != nil {
		return Table{}, err
	}
	if len(rows) == 0 {
		return Table{}, c.lines.whole("give a CxF document whose objects have ColorRGB", "the file has no object with RGB")
	}
	if len(rows) > c.o.MaxRows {
		return Table{}, c.lines.whole("give a smaller table", "there are more than %d rows", c.o.MaxRows)
	}
	c.lines.number = 0
	if err := c.readings(rows); err != nil {
		return Table{}, err
	}
	t := &c.head.table
	for i := range t.Rows {
		t.Rows[i].Signal = rows[i].signal()
	}
	if err := c.checkRange(rows); err != nil {
		return Table{}, err
	}
	c.extra(rows)
	return *t, nil
}

// signal returns the patch's signal, above 1 where it goes beyond its range.
func (r cxfRow) signal() colorimetry.RGB {
	rgb := r.patch.colours[cxfRGB]
	return colorimetry.RGB{R: signal(rgb.v[0] / rgb.max), G: signal(rgb.v[1] / rgb.max), B: signal(rgb.v[2] / rgb.max)}
}

// pair returns the rows in the order of the file: objects that are patch and
// reading, readings with the patch that has their name, and patches without a
// reading.
func (c *cxfReader) pair() ([]cxfRow, error) {
	patches := make(map[string]*cxfObject)
	several := make(map[string]bool)
	for _, o := range c.objects {
		if reading, _ := o.reading(); reading == nil && o.name != "" {
			several[o.name] = patches[o.name] != nil
			patches[o.name] = o
		}
	}
	read := make(map[*cxfObject]bool)
	patchOf := func(o *cxfObject) *cxfObject {
		if o.colours[cxfRGB] != nil {
			return o
		}
		return patches[o.name]
	}
	for _, o := range c.objects {
		reading, _ := o.reading()
		if reading == nil {
			continue
		}
		patch := patchOf(o)
		if patch != nil && patch != o && several[o.name] {
			c.lines.number = o.line
			return nil, c.lines.bad("give each patch a name of its own", "the reading belongs to either of several patches called %q", clip(o.name))
		}
		read[patch] = true
	}
	var rows []cxfRow
	for _, o := range c.objects {
		patch := patchOf(o)
		if reading, _ := o.reading(); reading != nil && patch != nil {
			rows = append(rows, cxfRow{patch, o})
		} else if reading == nil && !read[o] {
			rows = append(rows, cxfRow{patch: o})
		}
	}
	return rows, nil
}

// readings makes the table's rows with their XYZ, and settles its scale.
func (c *cxfReader) readings(rows []cxfRow) error {
	t := &c.head.table
	var first cxfViewing
	var lacking *cxfObject
	for _, r := range rows {
		row := Row{ID: r.patch.id, Line: r.patch.line}
		if row.ID == "" {
			row.ID = r.patch.name
		}
		if r.reading != nil {
			row.Line = r.reading.line
		}
		xyz, viewing, ok, err := c.xyz(r.reading)
		if err != nil {
			return err
		}
		if ok {
			c.lines.number = row.Line
			if err := first.join(c.lines, viewing, t.HasXYZ); err != nil {
				return err
			}
			t.HasXYZ = true
			row.XYZ = xyz
		} else if lacking == nil {
			lacking = r.patch
			if r.reading != nil {
				lacking = r.reading
			}
		}
		t.Rows = append(t.Rows, row)
	}
	if lacking != nil && (t.HasXYZ || !c.o.PatchesOnly) {
		return c.noReading(lacking)
	}
	if !t.HasXYZ {
		t.Scale = c.o.Scale
		if t.Scale == ScaleUnstated {
			t.Scale = ScaleAbsolute
		}
		return nil
	}
	return c.settle(first)
}

// settle gives the table its scale and the keywords of its readings.
func (c *cxfReader) settle(v cxfViewing) error {
	if v.stated {
		c.head.scale = v.scale
	} else if c.o.Scale == ScaleUnstated {
		c.o.Scale = v.scale
	}
	s, err := c.head.scales(c.o)
	if err != nil {
		return err
	}
	t := &c.head.table
	t.Scale = s.xyz
	for _, k := range []Keyword{{"ILLUMINANT", v.illuminant}, {"OBSERVER", v.observer}} {
		if k.Value != "" {
			t.Keywords = append(t.Keywords, k)
		}
	}
	return nil
}

// noReading says why an object has no XYZ.
func (c *cxfReader) noReading(o *cxfObject) error {
	c.lines.number = o.line
	if o.colours[cxfLab] != nil {
		return c.lines.bad("export XYZ, or give the colour specification of CIELAB the illuminant and the observer",
			"the object has CIELAB only, and the file doesn't say under which white")
	}
	return c.lines.bad("give each patch ColorEmissiveCIEXYZ or ColorCIEXYZ", "the object has RGB but no XYZ")
}

// xyz returns the XYZ of a reading; ok is false where it has none.
func (c *cxfReader) xyz(o *cxfObject) (xyz colorimetry.XYZ, v cxfViewing, ok bool, err error) {
	if o == nil {
		return xyz, v, false, nil
	}
	colour, kind := o.reading()
	if colour == nil {
		return xyz, v, false, nil
	}
	spec := c.specification(colour.spec)
	scale, stated, factor := spec.scale(kind)
	xyz = colorimetry.XYZ{X: colour.v[0], Y: colour.v[1], Z: colour.v[2]}.Scale(factor)
	if kind == cxfLab {
		white, ok := spec.labWhite()
		if !ok {
			return xyz, v, false, nil
		}
		xyz = colorimetry.Lab{L: colour.v[0], A: colour.v[1], B: colour.v[2]}.XYZ(white)
	}
	if !xyz.Finite() || math.Max(math.Max(math.Abs(xyz.X), math.Abs(xyz.Y)), math.Abs(xyz.Z)) > maxValue {
		c.lines.number = colour.line
		return xyz, v, false, c.lines.bad("correct the line or leave it out", "%s is more than any display shows", cxfColours[kind].element)
	}
	return xyz, cxfViewing{scale, stated, spec.illuminant, spec.observer}, true, nil
}

// cxfViewing is what all readings of a table have in common.
type cxfViewing struct {
	scale                Scale
	stated               bool
	illuminant, observer string
}

// join takes the next reading's, of which the first is the measure.
func (v *cxfViewing) join(l *lines, next cxfViewing, begun bool) error {
	if !begun {
		*v = next
		return nil
	}
	differ := func(what, a, b string) error {
		return l.bad("export all readings alike", "%s of the reading is %s but that of those before it is %s", what, clip(b), clip(a))
	}
	switch {
	case v.scale != next.scale:
		return differ("the scale", v.scale.String(), next.scale.String())
	case v.observer != "" && next.observer != "" && v.observer != next.observer:
		return differ("the observer", v.observer, next.observer)
	case v.illuminant != "" && next.illuminant != "" && v.illuminant != next.illuminant:
		return differ("the illuminant", v.illuminant, next.illuminant)
	}
	v.stated = v.stated || next.stated
	if v.observer == "" {
		v.observer = next.observer
	}
	if v.illuminant == "" {
		v.illuminant = next.illuminant
	}
	return nil
}

// checkRange looks at all signals: do they count to what they should?
func (c *cxfReader) checkRange(rows []cxfRow) error {
	full, top, stated := c.o.SignalMax, 0.0, c.o.SignalMax != 0
	for i, r := range c.head.table.Rows {
		rgb := rows[i].patch.colours[cxfRGB]
		if full == 0 && r.Signal.Max() > 1 {
			full = rgb.max
		}
		top = math.Max(top, r.Signal.Max()*rgb.max)
		stated = stated || rgb.ranged
	}
	if !stated && top > 0 && top <= 1 {
		return c.lines.whole("if they count to 1, "+stateFull(1), "no signal is above 1 although CxF counts to %d where it gives no MaxRange", cxfMax)
	}
	var alike []Row
	for i, r := range c.head.table.Rows {
		if rows[i].patch.colours[cxfRGB].max == full {
			r.Line = rows[i].patch.line
			alike = append(alike, r)
		}
	}
	return checkSignals(c.lines, alike, scales{signalMax: full, given: c.o.SignalMax != 0})
}

// extra fills in the further columns, those that any row has.
func (c *cxfReader) extra(rows []cxfRow) {
	t := &c.head.table
	column := func(name string, value func(cxfRow) string) {
		values, any := make([]string, len(rows)), false
		for i, r := range rows {
			values[i] = value(r)
			any = any || values[i] != ""
		}
		if !any {
			return
		}
		t.Extra = append(t.Extra, name)
		for i := range t.Rows {
			t.Rows[i].Extra = append(t.Rows[i].Extra, values[i])
		}
	}
	column("SAMPLE_NAME", func(r cxfRow) string {
		if r.patch.id == "" {
			return "" // the name is the ID
		}
		return r.patch.name
	})
	for i, part := range cxfColours[cxfLab].parts {
		column(fmt.Sprint("LAB_", part), func(r cxfRow) string {
			if lab := r.measured().colours[cxfLab]; lab != nil {
				return lab.text[i]
			}
			return ""
		})
	}
	for i, s := range cxfSpectra {
		spectral := func(value func(*cxfCurve) string) func(cxfRow) string {
			return func(r cxfRow) string {
				if curve := r.measured().spectra[i]; curve != nil && curve.values != "" {
					return value(curve)
				}
				return ""
			}
		}
		column(s.column, spectral(func(s *cxfCurve) string { return s.values }))
		column(s.column+"_START_NM", spectral(func(s *cxfCurve) string {
			if s.start != "" {
				return s.start
			}
			return c.specification(s.spec).start
		}))
		column(s.column+"_STEP_NM", spectral(func(s *cxfCurve) string { return c.specification(s.spec).step }))
	}
}

// measured returns the object that has what was measured.
func (r cxfRow) measured() *cxfObject {
	if r.reading != nil {
		return r.reading
	}
	return r.patch
}
