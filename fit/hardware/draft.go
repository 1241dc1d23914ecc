package hardware

import (
	"math"
)

// draft is a table before its values are rounded.
type draft struct {
	Table
	places [][3]float64 // of the nodes; 0 and 1 are the ends of the display
	black  float64      // where in the curves after the table place 0 lies
	plain  bool
}

// draft returns the table with these places at its nodes.
func (b *builder) draft(n int, places [][3]float64) draft {
	o := b.options
	d := draft{Table{bits: o.Bits, path: o.PathBits, in: o.In, out: o.Out, lattice: lattice{n, make([][3]float64, len(places))},
		source: b.source(), display: o.Display}, places, 0, o.Plain}
	if o.Plain {
		for i, v := range places {
			for c := range v {
				d.lattice.values[i][c] = b.display.signal(c, v[c])
			}
		}
		return d
	}
	d.black = b.black()
	for i, v := range places {
		for c := range v {
			d.lattice.values[i][c] = limit(d.black + v[c]*(1-2*d.black))
		}
	}
	for c := range 3 {
		before, after := make([]float64, o.Entries), make([]float64, o.Entries)
		for i := range before {
			at := float64(i) / float64(o.Entries-1)
			before[i] = level(b.target.light(at))
			after[i] = b.display.signal(c, (at-d.black)/(1-2*d.black))
		}
		before[0], before[o.Entries-1] = 0, 1
		d.before[c], d.after[c] = before, after
	}
	return d
}

// source says what enters the table.
func (b *builder) source() string {
	name := b.want.Space.Name
	if name == "" {
		name = "the display's own primaries"
	}
	for _, s := range [2]string{name + ", tone " + b.target.tone.String(), name} {
		if plainText(s) {
			return s
		}
	}
	return "source signal"
}

// rounded returns the table with all values on codes, and how many greys' values
// had to be raised so that no grey falls.
func (d draft) rounded() (t Table, raised int) {
	t = d.Table
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
				// The ends of the display stay ends.
				if d.places[i][c] <= touching {
					x = math.Min(x, math.Floor(d.black*top)/top)
				}
				if d.places[i][c] >= 1-touching {
					x = math.Max(x, math.Ceil((1-d.black)*top)/top)
				}
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

func rounded(t []float64, code func(float64) float64) []float64 {
	out := make([]float64, len(t))
	for i, v := range t {
		out[i] = code(v)
	}
	return out
}
