package controls

import (
	"context"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// offset is a control of the black: of all channels or of one.
type offset struct {
	name     string
	channel  int // −1 for all
	low, top int
	now      int
	seen     map[int]dark
	// floor is the light up to which the display counts as being at its own
	// black; 0 where that was not met.
	floor float64
	over  bool // went over to the likelier of two steps
}

// dark is what was read of the black at a step of one control, all others as
// they are: the light that matters to it and the variance of that.
type dark struct {
	light, variance float64
	averages        int
}

// useOffset takes in a control of the black and reports whether c is one.
func (g *guide) useOffset(c measure.Control) bool {
	if slices.ContainsFunc(g.offsets, func(o offset) bool { return o.name == c.Name }) {
		return false
	}
	for i, name := range [4]string{measure.Black, measure.RedOffset, measure.GreenOffset, measure.BlueOffset} {
		if c.Name == name && c.Min <= c.Now && c.Now <= c.Max {
			g.offsets = append(g.offsets, offset{name: name, channel: i - 1, low: c.Min, top: c.Max, now: c.Now})
			return true
		}
	}
	return false
}

// wantedBlack returns the black of the aim in cd/m² at the luminance that is
// left, 0 where the aim leaves it to the display.
func (g *guide) wantedBlack() float64 {
	if g.want.BlackRatio > 0 {
		white := g.want.Luminance
		if white == 0 {
			white, _ = g.left(g.now)
		}
		room := g.want.Ambient.CdM2
		return math.Max((white+room)/g.want.BlackRatio-room, 0)
	}
	return g.want.BlackCdM2
}

// setBlack brings the controls of the black to the steps nearest to the aim's:
// the common one to its luminance, then each channel to its share of the white.
// Since a control of the black may move the white too, white is looked at
// again.
func (g *guide) setBlack(ctx context.Context) error {
	y := g.wantedBlack()
	if y == 0 || len(g.offsets) == 0 {
		return nil
	}
	moved := false
	for i := range g.offsets {
		o := &g.offsets[i]
		for done := false; !done; {
			was := o.now
			var err error
			if done, err = g.blackStep(ctx, o, y); err != nil {
				return err
			}
			moved = moved || o.now != was
		}
	}
	if !moved {
		return nil
	}
	return g.afterBlack(ctx)
}

// afterBlack looks at the white once the black moved, and forgets what was read
// before where that moved the white.
func (g *guide) afterBlack(ctx context.Context) error {
	was, sd := g.left(g.now)
	uvWas, uvSD := g.place(g.now)
	fresh := *g
	fresh.response, fresh.taken = response{}, map[setting]int{}
	if err := fresh.look(ctx, g.options.MostAverages/2, Step{}); err != nil {
		g.steps, g.notes = fresh.steps, fresh.notes
		return err
	}
	is, isSD := fresh.left(g.now)
	uv, isUVSD := fresh.place(g.now)
	g.steps = fresh.steps
	moved := math.Abs(math.Log(is/was)) > 2*math.Hypot(sd, isSD) || uv.Distance(uvWas) > 2*math.Hypot(uvSD, isUVSD)
	if !moved {
		g.taken[g.now] += fresh.taken[g.now]
		return g.response.add(fresh.response.seen[0])
	}
	g.response, g.taken, g.over = fresh.response, fresh.taken, false
	g.whiteMoved = true
	return nil
}

// target returns the light that control o is to bring the black to.
func (g *guide) target(o *offset, y float64) float64 {
	if o.channel < 0 {
		return y
	}
	return component(g.inverse.ToLinear(g.blackOf(y)), o.channel)
}

// blackOf returns the colour of a black of y cd/m² at the aim's white.
func (g *guide) blackOf(y float64) colorimetry.XYZ {
	return g.want.Resolved(g.color(g.response.at(g.now))).White.At.XYZ(y)
}

func component(c colorimetry.RGB, channel int) float64 {
	return [3]float64{c.R, c.G, c.B}[channel]
}

// blackStep takes one reading of the black, with a move of control o or
// without, or reports that nothing is left to do.
func (g *guide) blackStep(ctx context.Context, o *offset, y float64) (done bool, err error) {
	if o.seen == nil {
		o.seen = map[int]dark{}
		if k, v, n := g.blackNow(); n > 0 {
			o.seen[o.now] = g.darkOf(o, k, v, n)
			return false, nil
		}
		return false, g.lookBlack(ctx, o, g.blackAverages(y), Step{})
	}
	if o.floor > 0 {
		return g.floorStep(ctx, o, y)
	}
	at := o.seen[o.now]
	target := g.target(o, y)
	near := g.options.BlackEnough * target
	if math.Abs(at.light-target) <= near {
		if more := g.options.MostAverages - at.averages; 2*math.Sqrt(at.variance) > near && more > 0 {
			return false, g.lookBlack(ctx, o, more, Step{})
		}
		return true, nil
	}
	below, above, has := o.bracket(target)
	switch {
	case has && above-below == 1:
		return g.proveBlack(ctx, o, target, below+above-o.now)
	case has:
		return false, g.moveBlack(ctx, o, o.between(below, above, target), y)
	case at.light > target && g.stuck(o, at):
		return g.meetFloor(ctx, o, at)
	}
	to := o.reach(target)
	if to == o.now {
		end := "highest"
		if at.light > target {
			end = "lowest"
		}
		g.note("%s is at its %s step and the aim's black lies beyond it.", capital(o.name), end)
		return true, nil
	}
	return false, g.moveBlack(ctx, o, to, y)
}

// bracket returns the nearest steps that were read on either side of a target,
// and whether there are such.
func (o *offset) bracket(target float64) (below, above int, ok bool) {
	below, above = o.low-1, o.top+1
	for s, d := range o.seen {
		if d.light <= target {
			below = max(below, s)
		} else {
			above = min(above, s)
		}
	}
	// Noise may turn two neighbours round: then they are all but equal, and
	// either will do.
	if below > above {
		below, above = above, below
	}
	return below, above, below >= o.low && above <= o.top
}

// between returns the step, inside a bracket, at which a straight line meets
// the target.
func (o *offset) between(below, above int, target float64) int {
	a, b := o.seen[below].light, o.seen[above].light
	s := below + int(math.Round(float64(above-below)*(target-a)/(b-a)))
	return min(max(s, below+1), above-1)
}

// reach returns the step towards a target beyond all that was read: a
// twentieth of the range at first, then as far as the last two steps' slope
// leads, but at most three times as far as the one before.
func (o *offset) reach(target float64) int {
	at := o.seen[o.now]
	way := 1
	if at.light > target {
		way = -1
	}
	far := max((o.top-o.low)/20, 1)
	if from, ok := o.before(-way); ok {
		last := max(from-o.now, o.now-from)
		slope := (at.light - o.seen[from].light) / float64(o.now-from)
		far = 3 * last
		if need := math.Abs(target-at.light) / slope; slope > 0 && need < float64(far) {
			far = max(int(math.Round(need)), 1)
		}
	}
	return min(max(o.now+way*far, o.low), o.top)
}

// before returns the nearest step that was read on one side of the present one.
func (o *offset) before(way int) (step int, ok bool) {
	for s := o.now + way; s >= o.low && s <= o.top; s += way {
		if _, ok := o.seen[s]; ok {
			return s, true
		}
	}
	return 0, false
}

// stuck reports whether the light no longer falls with the steps, by what was
// read: the display is at its own black, and going on would only take the
// darkest greys away.
func (g *guide) stuck(o *offset, at dark) bool {
	from, ok := o.before(1)
	if !ok {
		return false
	}
	d := o.seen[from]
	return d.light-at.light <= 2*math.Sqrt(d.variance+at.variance)
}

// meetFloor makes sure that the light does not fall any more and, where that is
// so, takes it for the display's own black.
func (g *guide) meetFloor(ctx context.Context, o *offset, at dark) (done bool, err error) {
	if more := g.options.MostAverages - at.averages; more > 0 {
		return false, g.lookBlack(ctx, o, more, Step{})
	}
	from, _ := o.before(1)
	o.floor = math.Max(at.light, o.seen[from].light) * (1 + g.options.BlackEnough)
	g.note("%s: the black falls no further below step %d; lower steps would only take the darkest greys away.", capital(o.name), from)
	return false, nil
}

// floorStep looks for the highest step at which the display is at its own
// black.
func (g *guide) floorStep(ctx context.Context, o *offset, y float64) (done bool, err error) {
	below, above := o.low, o.top+1
	for s, d := range o.seen {
		if d.light <= o.floor {
			below = max(below, s)
		} else {
			above = min(above, s)
		}
	}
	switch {
	case above <= o.top && above-below > 1:
		return false, g.moveBlack(ctx, o, (below+above)/2, y)
	case below != o.now:
		return false, g.goBlack(ctx, o, below)
	}
	return true, nil
}

// proveBlack decides between the present step and its neighbour on the other
// side of the target.
func (g *guide) proveBlack(ctx context.Context, o *offset, target float64, other int) (done bool, err error) {
	at, next := o.seen[o.now], o.seen[other]
	lead := math.Abs(at.light-target) - math.Abs(next.light-target)
	sd := math.Sqrt(at.variance + next.variance)
	switch {
	case lead < -2*sd:
		return true, nil
	case lead > 2*sd:
		return false, g.goBlack(ctx, o, other)
	}
	if more := g.options.MostAverages - at.averages; more > 0 {
		return false, g.lookBlack(ctx, o, more, Step{})
	}
	if more := g.options.MostAverages - next.averages; more > 0 {
		step := Step{Control: o.name, From: o.now, To: other}
		return false, g.setOffset(ctx, o, step, more)
	}
	if lead > sd && !o.over {
		o.over = true
		return false, g.goBlack(ctx, o, other)
	}
	g.note("%s %d and %d cannot be told apart by this instrument: either is as near to the aim.", capital(o.name), o.now, other)
	return true, nil
}

// goBlack goes back to a step that was read.
func (g *guide) goBlack(ctx context.Context, o *offset, to int) error {
	return g.setOffset(ctx, o, Step{Control: o.name, From: o.now, To: to}, g.options.Averages)
}

// moveBlack brings control o to a step and reads with as many integrations as
// the black wanted takes.
func (g *guide) moveBlack(ctx context.Context, o *offset, to int, y float64) error {
	if to == o.now {
		return nil
	}
	return g.setOffset(ctx, o, Step{Control: o.name, From: o.now, To: to}, g.blackAverages(y))
}

func (g *guide) setOffset(ctx context.Context, o *offset, step Step, averages int) error {
	if err := g.session.SetControl(ctx, o.name, step.To); err != nil {
		return fmt.Errorf("controls: %w", err)
	}
	o.now = step.To
	return g.lookBlack(ctx, o, averages, step)
}

// blackAverages is the number of integrations that tell a black of y cd/m² to
// about half of what is enough, by the noise that the instrument states.
func (g *guide) blackAverages(y float64) int {
	floor := g.session.Instrument().Noise.Assumed().FloorCdM2
	n := math.Ceil(math.Pow(2*floor/math.Max(g.options.BlackEnough*y, 1e-9), 2))
	return int(math.Min(math.Max(n, float64(g.options.Averages)), float64(g.options.MostAverages)))
}

// lookBlack reads the black at the present steps.
func (g *guide) lookBlack(ctx context.Context, o *offset, averages int, step Step) error {
	if len(g.steps) >= g.options.MaxReadings {
		g.note("The limit of %d readings ended the search; the steps in force are the nearest found so far.", g.options.MaxReadings)
		return errEnough
	}
	r, err := g.read(ctx, "black", colorimetry.RGB{}, averages)
	if err != nil {
		return err
	}
	d, was := g.darkOf(o, r.XYZ, r.Covariance, averages), o.seen[o.now]
	n, m := float64(was.averages), float64(averages)
	o.seen[o.now] = dark{
		(n*was.light + m*d.light) / (n + m), (n*n*was.variance + m*m*d.variance) / ((n + m) * (n + m)), was.averages + averages,
	}
	g.blacks = append(g.blacks, blackRead{g.blackAt(), r.XYZ, r.Covariance, averages})
	step.Black, step.White, step.Averages = true, r.XYZ, averages
	step.Sentence = g.say(step)
	g.steps = append(g.steps, step)
	return nil
}

// darkOf returns what a black is to a control.
func (g *guide) darkOf(o *offset, k colorimetry.XYZ, v colorimetry.Matrix, averages int) dark {
	if o.channel < 0 {
		return dark{k.Y, v[1][1], averages}
	}
	carried := g.inverse.Mul(v).Mul(g.inverse.Transpose())
	return dark{component(g.inverse.ToLinear(k), o.channel), carried[o.channel][o.channel], averages}
}

// blackRead is a reading of the black with the steps that were in force.
type blackRead struct {
	at         blackSetting
	xyz        colorimetry.XYZ
	covariance colorimetry.Matrix
	averages   int
}

// blackSetting is the steps of all controls that move the black.
type blackSetting struct {
	white   setting
	offsets [4]int
}

// blackAt returns the steps in force.
func (g *guide) blackAt() blackSetting {
	at := blackSetting{white: g.now}
	for i, o := range g.offsets {
		at.offsets[i] = o.now
	}
	return at
}

// blackNow returns the black at the steps in force, all readings there
// weighted, the covariance of that and the number of integrations.
func (g *guide) blackNow() (k colorimetry.XYZ, v colorimetry.Matrix, averages int) {
	for _, b := range g.blacks {
		if b.at == g.blackAt() {
			m := float64(b.averages)
			k, v, averages = k.Add(b.xyz.Scale(m)), v.Add(b.covariance.Scale(m*m)), averages+b.averages
		}
	}
	if n := float64(averages); n > 0 {
		k, v = k.Scale(1/n), v.Scale(1/(n*n))
	}
	return k, v, averages
}
