package hardware

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/internal/level"
)

// draft is a table before its values are rounded.
type draft struct {
	Table
	ends   [][3]end // which values of nodes are ends of the display
	scale  scale
	plain  bool
	raised int // values along the greys
}

// end says whether a channel is at an end of what the display has.
type end uint8

const (
	inside end = iota
	atBlack
	atFull
)

// scale says which level lies where in the curves after a table: 0 on entry
// black, 1 on an entry a number of steps further up.
type scale struct{ entries, black, steps int }

// newScale returns the scale of curves that reach from a little below 0 to top.
func newScale(entries int, top float64) scale {
	s := scale{entries: entries, black: int(math.Round(float64(entries-1) / 15))}
	s.steps = max(1, int(float64(entries-1-s.black)/top))
	return s
}

// at returns where from 0 to 1 a level lies in the curves.
func (s scale) at(level float64) float64 {
	return limit((float64(s.black) + level*float64(s.steps)) / float64(s.entries-1))
}

// level returns the level of an entry.
func (s scale) level(entry int) float64 { return float64(entry-s.black) / float64(s.steps) }

// draft returns the table with these places at its nodes.
func (b *builder) draft(n int, places [][3]float64) draft {
	o := b.options
	d := draft{
		Table: Table{bits: o.Bits, path: o.PathBits, in: o.In, out: o.Out, whole: o.WholeScale, lattice: lattice{n, make([][3]float64, len(places))},
			source: b.source(), display: o.Display},
		ends: make([][3]end, len(places)), plain: o.Plain,
	}
	for i, v := range places {
		for c := range v {
			switch {
			case v[c] <= touching:
				d.ends[i][c] = atBlack
			case v[c] >= 1-touching:
				d.ends[i][c] = atFull
			}
		}
	}
	if o.Plain {
		for i, v := range places {
			for c := range v {
				d.lattice.values[i][c] = b.display.signal(c, v[c])
			}
		}
		d.lattice.stretch(d.window())
		return d
	}
	d.scale, d.raised = newScale(o.Entries, b.line.top(places)), b.line.raised
	for i, v := range places {
		diagonal := i/(n*n) == i/n%n && i/n%n == i%n
		for c := range v {
			l := float64(i%n) / float64(n-1)
			if !diagonal {
				l = b.line.level(c, v[c])
			}
			d.lattice.values[i][c] = d.scale.at(l)
		}
	}
	w := d.window()
	for c := range 3 {
		before, after := make([]float64, o.Entries), make([]float64, o.Entries)
		for i := range before {
			before[i] = level.Tables.Of(b.target.light(w.signal(float64(i) / float64(o.Entries-1))))
			after[i] = w.share(b.display.signal(c, b.line.place(c, d.scale.level(i))))
		}
		before[0], before[o.Entries-1] = 0, 1
		d.before[c], d.after[c] = before, after
	}
	return d
}

// stretch takes signals at nodes, of which those up to black and from white on
// hold black and white, to the scale of a window. The nodes beyond black and white
// come to lie on the lines through black, or white, and the next node inside, so
// that black and white, which lie between two nodes, come out right.
func (l lattice) stretch(w window) {
	first, last := w.inside(l.n)
	at := func(i int) float64 { return w.signal(float64(i) / float64(l.n-1)) }
	below, above := -at(first)/at(first+1), (at(last)-1)/(1-at(last-1))
	for _, stride := range [3]int{l.n * l.n, l.n, 1} {
		for i := range l.values {
			if i/stride%l.n != 0 {
				continue
			}
			row := func(k int) *[3]float64 { return &l.values[i+k*stride] }
			for c := range 3 {
				dark, full := row(first)[c], row(last)[c]
				dark += below * (dark - row(first + 1)[c])
				full += above * (full - row(last - 1)[c])
				for k := range first + 1 {
					row(k)[c] = dark
				}
				for k := last; k < l.n; k++ {
					row(k)[c] = full
				}
			}
		}
	}
	for i := range l.values {
		for c := range 3 {
			l.values[i][c] = limit(w.share(l.values[i][c]))
		}
	}
}

// source says what enters the table.
func (b *builder) source() string {
	name := b.want.Space.Name
	if name == "" {
		name = "the display's own primaries"
	}
	for _, s := range [2]string{name + ", " + b.target.words, name} {
		if plainText(s) {
			return s
		}
	}
	return "source signal"
}

// words name the tone of a, made for the display, for people: what it is and what
// it does above a black. Numbers that follow from the display have three digits:
// more would say nothing to a reader, and hang on the last bit of a fit.
func (w Want) words(a aim.Aim, blackCdM2 float64) string {
	s := "tone " + a.Curve().String()
	if f, ok := a.Tone.(tone.HLG); ok {
		s = fmt.Sprintf("hybrid log-gamma with a system gamma of %.3g", f.Gamma())
	}
	if blackCdM2 < leastBlack {
		return s
	}
	policy := "stretched above"
	if _, ok := a.Tone.(aim.GSDF); ok {
		policy = "above"
	} else if a.Black == aim.BlackLift {
		policy = "lifted to"
	}
	return fmt.Sprintf("%s, %s a black of %.3g cd/m²", s, policy, blackCdM2)
}

// leastBlack is a black in cd/m² below which a tone is told without it: instruments
// read less as none.
const leastBlack = 0.001

// rounded returns the table with all values on codes, and how many values along
// the greys had to be raised so that no grey falls.
func (d draft) rounded() (t Table, raised int) {
	t, raised = d.Table, d.raised
	top := t.top()
	code := func(v float64) float64 { return math.Round(limit(v)*top) / top }
	for c := range 3 {
		t.before[c], t.after[c] = rounded(d.before[c], code), rounded(d.after[c], code)
	}
	n := t.lattice.n
	t.lattice.values = make([][3]float64, len(d.lattice.values))
	for i, v := range d.lattice.values {
		for c := range v {
			x := code(v[c])
			if !d.plain {
				x = d.keepEnd(x, v[c], d.ends[i][c])
			}
			t.lattice.values[i][c] = x
		}
	}
	for i := 1; i < n; i++ {
		at, last := t.lattice.values[i*(n*n+n+1)], t.lattice.values[(i-1)*(n*n+n+1)]
		for c := range at {
			if at[c] < last[c] {
				at[c] = last[c]
				raised++
			}
		}
		t.lattice.values[i*(n*n+n+1)] = at
	}
	return t, raised
}

// keepEnd sees to it that an end of the display stays an end when it is rounded to
// x: that it comes no higher than the last entry of the curve that is black, no
// lower than the first that is full.
func (d draft) keepEnd(x, exact float64, e end) float64 {
	top, last := d.top(), float64(d.scale.entries-1)
	switch e {
	case atBlack:
		return math.Min(x, math.Floor(d.scale.at(0)*top)/top)
	case atFull:
		return math.Max(x, math.Min(1, math.Ceil(math.Ceil(exact*last-1e-9)/last*top)/top))
	}
	return x
}

func rounded(t []float64, code func(float64) float64) []float64 {
	out := make([]float64, len(t))
	for i, v := range t {
		out[i] = code(v)
	}
	return out
}
