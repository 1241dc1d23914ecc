package hardware

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
	"example.org/primaries/fit/internal/level"
)

// sizes are the nodes along an edge that are tried; the first whose loss is no
// more than these, in ΔE00, is taken.
var sizes = [3]int{17, 33, 65}

const (
	meanGoal = 0.05
	mostGoal = 0.5
	greyGoal = 0.3
)

// Build makes the table by which a display that is as the model says shows what
// want asks for, and tells what it loses.
//
// A luminance above what the display has at the wanted white is lowered to that,
// and said. The error says that the white cannot be had, that the model or the
// want is unusable, or which option is; it is the context's where that ended.
// Equal input gives equal tables, whatever the number of workers. Where the model
// is a fit.ResidualModel of 200 readings, 33 nodes an edge take some seconds.
func Build(ctx context.Context, model fit.Model, want Want, o Options) (Table, Diagnostics, error) {
	o, err := o.filled()
	if err != nil {
		return Table{}, Diagnostics{}, err
	}
	b, err := newBuilder(model, want, o)
	if err != nil {
		return Table{}, Diagnostics{}, err
	}
	return b.build(ctx)
}

// builder holds what the tables of one display and want are made of.
type builder struct {
	options Options
	want    Want
	display *display
	target  *target
	surface *surface
	line    *greyline // nil for plain tables
}

func newBuilder(model fit.Model, want Want, o Options) (*builder, error) {
	d, err := newDisplay(model)
	if err != nil {
		return nil, err
	}
	t, err := want.on(d)
	if err != nil {
		return nil, err
	}
	s, err := newSurface(d, t.white, o.Reach)
	if err != nil {
		return nil, err
	}
	b := &builder{o, want, d, t, s, nil}
	if !o.Plain {
		look := search{display: d}
		b.line = newGreyline(d, t, func(l float64, v [3]float64) [3]float64 {
			if within(v, touching) {
				return v
			}
			return b.stand(&look, t.colour([3]float64{l, l, l}), v)
		})
	}
	return b, nil
}

// build makes a table of the size that was asked for, or that is needed.
func (b *builder) build(ctx context.Context) (Table, Diagnostics, error) {
	probes, err := b.probe(ctx)
	if err != nil {
		return Table{}, Diagnostics{}, err
	}
	tried := sizes[:]
	if b.options.Nodes != 0 {
		tried = []int{b.options.Nodes}
	}
	for i, n := range tried {
		exact, err := b.table(ctx, n)
		if err != nil {
			return Table{}, Diagnostics{}, err
		}
		loss, greys := b.loss(exact, probes)
		if i < len(tried)-1 && (loss.Mean > meanGoal || loss.Max > mostGoal || greys.Max > greyGoal) {
			continue
		}
		t, raised := exact.rounded()
		return t, b.diagnose(t, probes, loss, raised), nil
	}
	panic("hardware: no size was tried") // sizes are never empty
}

// axis returns the light of the nodes along each edge.
func (b *builder) axis(n int) []float64 {
	out := make([]float64, n)
	w := newWindow(b.options.WholeScale && b.options.Plain, b.options.Bits)
	first, last := w.inside(n)
	for i := range out {
		at := float64(i) / float64(n-1)
		switch {
		case i <= first:
		case i >= last:
			out[i] = 1
		case b.options.Plain:
			out[i] = b.target.light(w.signal(at))
		default:
			out[i] = level.Tables.Light(at)
		}
	}
	return out
}

// nodeState says where the colour of a node lies.
type nodeState uint8

const (
	shown  nodeState = iota // in reach
	nearby                  // little beyond
	beyond                  // elsewhere
)

// touching is how far beyond 0 and 1 places may be that count as in reach, where
// rounding or the bisection of the white put them.
const touching = 1e-6

// spare is how far beyond 0 and 1 a table holds places, which the curves after it
// limit.
const spare = 1.0 / 13

// table returns the table of n nodes an edge, its values not rounded.
func (b *builder) table(ctx context.Context, n int) (draft, error) {
	axis := b.axis(n)
	places := make([][3]float64, n*n*n)
	state := make([]nodeState, len(places))
	spare := spare
	if b.options.Plain {
		spare = 0
	}
	colour := func(i int) colorimetry.XYZ {
		return b.target.colour([3]float64{axis[i/(n*n)], axis[i/n%n], axis[i%n]})
	}
	if err := b.rows(ctx, n*n, func(row int) {
		s := search{display: b.display}
		for i := row * n; i < (row+1)*n; i++ {
			v, ok := s.find(b.display.levels(colour(i)))
			places[i] = v
			switch {
			case ok && within(v, touching):
			case ok && within(v, spare):
				state[i] = nearby
			default:
				state[i] = beyond
			}
		}
	}); err != nil {
		return draft{}, err
	}
	// Where the surface of the gamut passes between two nodes, the one beyond keeps
	// places beyond 0 and 1, so that what lies between is right up to the surface.
	kept := make([]bool, len(places))
	for i := range places {
		kept[i] = state[i] == shown || state[i] == nearby && besideShown(state, n, i)
	}
	if err := b.rows(ctx, n*n, func(row int) {
		s := search{display: b.display}
		for i := row * n; i < (row+1)*n; i++ {
			if !kept[i] {
				places[i] = b.stand(&s, colour(i), places[i])
			}
		}
	}); err != nil {
		return draft{}, err
	}
	return b.draft(n, places), nil
}

// stand returns the places of the colour that stands for one out of reach.
func (b *builder) stand(s *search, c colorimetry.XYZ, places [3]float64) [3]float64 {
	if near, ok := b.surface.nearest(c); ok {
		if v, ok := s.find(b.display.levels(near)); ok {
			places = v
		}
	}
	return [3]float64{limit(places[0]), limit(places[1]), limit(places[2])}
}

// besideShown reports whether one of the up to 26 neighbours of a node is in
// reach.
func besideShown(state []nodeState, n, i int) bool {
	r, g, b := i/(n*n), i/n%n, i%n
	for x := max(r-1, 0); x <= min(r+1, n-1); x++ {
		for y := max(g-1, 0); y <= min(g+1, n-1); y++ {
			for z := max(b-1, 0); z <= min(b+1, n-1); z++ {
				if state[(x*n+y)*n+z] == shown {
					return true
				}
			}
		}
	}
	return false
}

// rows calls do for each row, from as many goroutines as there are workers. Rows
// know nothing of each other.
func (b *builder) rows(ctx context.Context, count int, do func(row int)) error {
	var next atomic.Int64
	var all sync.WaitGroup
	for range min(b.options.Workers, count) {
		all.Go(func() {
			for row := int(next.Add(1)) - 1; row < count && ctx.Err() == nil; row = int(next.Add(1)) - 1 {
				do(row)
			}
		})
	}
	all.Wait()
	if err := ctx.Err(); err != nil {
		return fmt.Errorf("hardware: the table was not finished: %w", err)
	}
	return nil
}
