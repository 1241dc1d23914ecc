package curves

import (
	"cmp"
	"context"
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
)

// Correct makes correction curves for want in a closed loop and leaves them in
// force.
//
// It takes away the curves that are in force, reads the display as found,
// and then reads the greys through its curves in up to Options.Passes passes.
// It ends early when a pass calls for no change to speak of and the greys'
// colour is known to a sixth of 0.001 in u'v'. A last reading of white and a few greys through the final curves
// is recorded, and not learned from.
//
// A luminance above what the display has at the aim's white is lowered to
// that, and said; refusing such an aim is the caller's business (aim.Reach).
// An aim whose white lies outside the display's primaries, or is no brighter
// than its black, is an error. Errors of the session come back wrapped; what was read is in its journal.
func Correct(ctx context.Context, s *measure.Session, want aim.Aim, opt Options) (Result, error) {
	// A session takes a path that states no depth for one of 8 bits.
	o, err := opt.filled(cmp.Or(s.Screen().Bits, 8))
	if err != nil {
		return Result{}, err
	}
	e, err := found(ctx, s, o)
	if err != nil {
		return Result{}, err
	}
	if err := e.refuse(want); err != nil {
		return Result{}, err
	}
	l := loop{estimate: e, session: s, want: want, options: o}
	if err := l.solve(); err != nil {
		return Result{}, err
	}
	if err := l.run(ctx); err != nil {
		return Result{}, err
	}
	return l.result(), nil
}

// refuse returns an error for an aim that no curves lead to: a white outside
// the primaries, or no brighter than the black.
func (e *estimate) refuse(want aim.Aim) error {
	reach, err := aim.Reach(aim.Aim{White: want.White}, e.space.primaries, e.space.black)
	if err != nil {
		return fmt.Errorf("curves: %w", err)
	}
	if !reach.OK {
		return fmt.Errorf("curves: %s", reach.Sentence)
	}
	if dark := max(e.black().Y, want.BlackCdM2); want.Luminance > 0 && want.Luminance <= dark {
		return fmt.Errorf("curves: a white of %.4g cd/m² is no brighter than the black of %.4g; ask for more luminance", want.Luminance, dark)
	}
	return nil
}

// filled returns o with its defaults, checked.
func (o Options) filled(bits int) (Options, error) {
	set := func(v *int, usual int) {
		if *v == 0 {
			*v = usual
		}
	}
	set(&o.Averages, 2)
	set(&o.Bits, bits)
	set(&o.ChannelLevels, 17)
	set(&o.Entries, min(max(1<<o.Bits, 256), 1024))
	set(&o.GrayLevels, 24)
	set(&o.MostAverages, 64)
	set(&o.NeutralLevels, 33)
	set(&o.Passes, 4)
	set(&o.WhiteAverages, 16)
	if o.GrayUncertainty == 0 {
		o.GrayUncertainty = 0.0015
	}
	if !(o.GrayUncertainty > 0 && o.GrayUncertainty <= 0.1) {
		return o, fmt.Errorf("curves: a gray uncertainty of %g in u'v'; give a figure above 0 and up to 0.1, or 0 for the default", o.GrayUncertainty)
	}
	if o.LuminanceWeight == 0 {
		o.LuminanceWeight = usualLightWeight
	}
	if !(o.LuminanceWeight > 0 && o.LuminanceWeight <= 10) {
		return o, fmt.Errorf("curves: a luminance weight of %g; give a figure above 0 and up to 10, or 0 for the default", o.LuminanceWeight)
	}
	for _, c := range []struct {
		name      string
		v, lo, hi int
	}{
		{"averages", o.Averages, 1, 100}, {"bits", o.Bits, 6, 16}, {"channel levels", o.ChannelLevels, 5, 65},
		{"entries", o.Entries, 2, 4096}, {"gray levels", o.GrayLevels, 4, 64}, {"neutral levels", o.NeutralLevels, 9, 129},
		{"most averages", o.MostAverages, o.Averages, 1000},
		{"passes", o.Passes, 1, 8}, {"white averages", o.WhiteAverages, 1, 400},
	} {
		if c.v < c.lo || c.v > c.hi {
			return o, fmt.Errorf("curves: %d %s; give %d to %d, or 0 for the default", c.v, c.name, c.lo, c.hi)
		}
	}
	return o, nil
}

// loop is the state of the closed loop.
type loop struct {
	*estimate
	session *measure.Session
	want    aim.Aim
	options Options
	wished  wish
	most    float64 // luminance reachable at the white, cd/m²
	path    path
	passes  []Pass
	// check holds the readings through the final curves, comb those of
	// neighbouring dark greys where the display's tone is uneven.
	check, comb []measure.Reading
}

// solve makes the curves that the estimate calls for.
func (l *loop) solve() error {
	a, most := l.resolve(l.want)
	l.most, l.wished = most, l.estimate.wish(a)
	c, err := l.estimate.solve(l.wished, l.options.Entries)
	if err != nil {
		return fmt.Errorf("curves: %w", err)
	}
	l.path = path{c, l.options.Bits}
	return nil
}

// run does the passes and the last look.
func (l *loop) run(ctx context.Context) error {
	for i := range l.options.Passes {
		was, old := l.path, l.wished
		readings, err := l.pass(ctx, l.session, was, l.list(i), fmt.Sprintf("pass %d of at most %d", i+1, l.options.Passes), l.options.Progress)
		if err != nil {
			return err
		}
		p := record(was, old, readings)
		l.learn()
		l.last = i == l.options.Passes-1
		if err := l.solve(); err != nil {
			return err
		}
		p.Change = largestChange(was, l.path)
		l.passes = append(l.passes, p)
		if i > 0 && l.settled(was) && l.sure() {
			break
		}
	}
	if err := l.session.LoadCurves(ctx, l.path.curves); err != nil {
		return fmt.Errorf("curves: loading: %w", err)
	}
	var list []request
	for i, q := range grays(l.options, l.options.Passes, l.wished.Floor) {
		if i%3 == 0 || q.patch.Signal.R == 1 {
			q.patch.ID = "check" + q.patch.ID[len("pass-n"):]
			list = append(list, q)
		}
	}
	var err error
	if l.check, err = read(ctx, l.session, list, "last look", l.options.Progress); err != nil {
		return err
	}
	l.passes = append(l.passes, record(l.path, l.wished, l.check))
	if l.uneven() {
		l.comb, err = read(ctx, l.session, comb(l.options, l.wished.Floor), "last look at dark greys", l.options.Progress)
	}
	return err
}

// settled reports whether the curves that a pass led to show, by the estimate,
// what those before it showed: white within 0.0002 in u'v' and 0.1 % of
// luminance, greys within 0.5 %.
func (l *loop) settled(was path) bool {
	change := func(s float64) (uv, y float64) {
		a, b := l.xyz(was.device(colorimetry.Gray(s))), l.xyz(l.path.device(colorimetry.Gray(s)))
		return a.UV().Distance(b.UV()), math.Abs(a.Y/b.Y - 1)
	}
	if uv, y := change(1); uv > 0.0002 || y > 0.001 {
		return false
	}
	for i := 1; i < 32; i++ {
		s := float64(i) / 32
		if s < l.wished.Floor {
			continue
		}
		// One code more or less, as the rounding falls, is no change.
		if _, y := change(s); y > 0.005+2*l.halfStep(s) {
			return false
		}
	}
	return true
}

// sure reports whether the estimate knows the greys' colour well enough: to a
// sixth of what is wanted of them, from the floor and 5 % signal up. A tone
// that is uneven is known code by code or not at all.
func (l *loop) sure() bool {
	if l.uneven() {
		return false
	}
	_, gaps := l.uncertainties(l.path)
	for i, gap := range gaps {
		if s := float64(i) / float64(len(gaps)-1); s >= math.Max(l.wished.Floor, 0.05) && gap > wanted/6 {
			return false
		}
	}
	return true
}

// wanted is what is wanted of the greys' colour in u'v'.
const wanted = 0.001

// halfStep returns the relative change of luminance by half a code of every
// channel at a grey.
func (l *loop) halfStep(s float64) float64 {
	d, h := l.path.device(colorimetry.Gray(s)), 0.5/l.top
	return l.xyz(colorimetry.RGB{R: d.R + h, G: d.G + h, B: d.B + h}).Y/l.xyz(d).Y - 1
}

// largestChange returns the largest change of a channel between two curves.
func largestChange(a, b path) float64 {
	var most float64
	for i := range 256 {
		s := colorimetry.Gray(float64(i) / 255)
		p, q := a.curves.Apply(s), b.curves.Apply(s)
		most = max(most, math.Abs(p.R-q.R), math.Abs(p.G-q.G), math.Abs(p.B-q.B))
	}
	return most
}
