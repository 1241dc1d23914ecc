package controls

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
)

// Guide brings the controls to the steps nearest to want and returns what was
// reached. have lists the controls to use, with the steps in force; those
// that guidance does not know by name are left alone, and none at all makes
// it read the white and move nothing.
//
// Brightness is set so that the luminance left at the exact white of the aim,
// once curves have taken back what is too strong, is nearest to the aim; the
// gains so that as little as possible is to be taken back; then brightness
// again if that moved it; then, where the aim names a black, the controls of
// the black towards it, and gains, brightness and black once more as long as that
// moved the white. A control is moved only where the readings so far
// say, by at least their own uncertainty, that another step is nearer; where
// two steps cannot be told apart it reads them again, up to
// Options.MostAverages integrations each.
//
// Any curves in force are taken away. Errors of the session come back
// wrapped; what was read is in its journal. An aim whose white lies outside
// the display's primaries is an error.
func Guide(ctx context.Context, s *measure.Session, have []measure.Control, want aim.Aim, opt Options) (Result, error) {
	g := &guide{session: s, want: want, options: opt.filled()}
	g.use(have)
	if s.Curves().Len() > 0 {
		if err := s.LoadCurves(ctx, tone.Channels{}); err != nil {
			return Result{}, fmt.Errorf("controls: taking the old curves away: %w", err)
		}
	}
	if err := g.begin(ctx); err != nil {
		return Result{}, err
	}
	for _, stage := range []func(context.Context) error{g.nearBrightness, g.setGains, g.setBrightness, g.setBlack, g.setAgain} {
		if err := stage(ctx); err != nil && !errors.Is(err, errEnough) {
			return Result{}, err
		}
	}
	return g.result(), nil
}

// setAgain sets gains and brightness, and with them the black, once more as long
// as the black's controls moved the white.
func (g *guide) setAgain(ctx context.Context) error {
	for range mostRounds {
		if !g.whiteMoved {
			return nil
		}
		g.whiteMoved = false
		was := g.now
		if err := g.setGains(ctx); err != nil {
			return err
		}
		if err := g.setBrightness(ctx); err != nil || g.now == was {
			return err
		}
		for i := range g.offsets {
			o := &g.offsets[i]
			o.seen, o.floor, o.over = nil, 0, false
		}
		if err := g.setBlack(ctx); err != nil {
			return err
		}
	}
	return nil
}

// mostRounds bounds how often white and black are set in turn: each changes the
// other by a few parts in a hundred of what it was changed by itself.
const mostRounds = 4

// errEnough ends a stage when Options.MaxReadings are taken.
var errEnough = errors.New("controls: enough readings")

// guide is the state of guidance.
type guide struct {
	session *measure.Session
	want    aim.Aim
	options Options

	names    [4]string // of the controls there are, "" for others
	zero     [4]int    // the steps in force at the beginning
	low, top setting   // the range of each control, counted from there
	offsets  []offset  // the controls of the black, the common one first
	others   []measure.Control

	now setting
	// primaries is what the channels add to the black at the beginning; inverse
	// leads back to amounts of them. The white is counted in amounts with its
	// black, so that what a channel leaks is a part of it.
	primaries, inverse colorimetry.Matrix
	// need is the amounts that the aim's white takes per cd/m².
	need     [3]float64
	response response
	taken    map[setting]int // integrations of white at a setting
	over     bool            // brightness went over to the likelier of two steps
	steps    []Step
	notes    []string // what a stage has to say
	blacks   []blackRead
	// whiteMoved says that the black's controls moved the white.
	whiteMoved bool
}

// use sorts out the controls that guidance knows.
func (g *guide) use(have []measure.Control) {
	known := [4]string{measure.Brightness, measure.RedGain, measure.GreenGain, measure.BlueGain}
	for _, c := range have {
		found := false
		for i, name := range known {
			if c.Name == name && c.Min <= c.Now && c.Now <= c.Max {
				g.names[i], g.zero[i] = name, c.Now
				g.low[i], g.top[i] = c.Min-c.Now, c.Max-c.Now
				found = true
			}
		}
		if !found && !g.useOffset(c) {
			g.others = append(g.others, c)
		}
	}
	slices.SortStableFunc(g.offsets, func(a, b offset) int { return a.channel - b.channel })
}

// begin reads black, the primaries and the white, and settles what the aim's
// white takes of each channel.
func (g *guide) begin(ctx context.Context) error {
	g.taken = map[setting]int{}
	full := [5]colorimetry.RGB{{}, {R: 1}, {G: 1}, {B: 1}, {R: 1, G: 1, B: 1}}
	names := [5]string{"black", "red", "green", "blue", "white"}
	var read [5]colorimetry.XYZ
	var last measure.Reading
	for i, c := range full {
		r, err := g.read(ctx, names[i], c, 2*g.options.Averages)
		if err != nil {
			return err
		}
		read[i], last = r.XYZ, r
	}
	black, white := read[0], read[4]
	g.primaries = colorimetry.Columns(read[1].Sub(black), read[2].Sub(black), read[3].Sub(black))
	inv, err := g.primaries.Inverse()
	if err != nil {
		return fmt.Errorf("controls: the primaries as read do not span the colours (is the instrument on the display?): %w", err)
	}
	g.inverse = inv
	reach, err := aim.Reach(aim.Aim{White: g.want.White}, g.primaries, black)
	if err != nil {
		return fmt.Errorf("controls: %w", err)
	}
	if !reach.OK {
		return fmt.Errorf("controls: %s", reach.Sentence)
	}
	n := inv.ToLinear(g.want.Resolved(white).White.XYZ(1))
	g.need = [3]float64{n.R, n.G, n.B}
	return g.learn(last, 2*g.options.Averages, Step{})
}

// read takes one reading.
func (g *guide) read(ctx context.Context, name string, c colorimetry.RGB, averages int) (measure.Reading, error) {
	r, err := g.session.Read(ctx, measure.ReadRequest{Stage: measure.StageControls, Patch: chart.Patch{ID: "controls-" + name, Signal: c}, Averages: averages})
	if err != nil {
		return r, fmt.Errorf("controls: reading %s: %w", name, err)
	}
	return r, nil
}

// learn takes a reading of white in.
func (g *guide) learn(r measure.Reading, averages int, step Step) error {
	amount := g.inverse.ToLinear(r.XYZ)
	o := sight{at: g.now}
	carry := g.inverse
	for c, v := range [3]float64{amount.R, amount.G, amount.B} {
		if !(v > 0) {
			return fmt.Errorf("controls: the white as read (%v) has no light of one channel; is the instrument on the display?", r.XYZ)
		}
		o.amount[c] = math.Log(v)
		for j := range 3 {
			carry[c][j] /= v
		}
	}
	o.noise = carry.Mul(r.Covariance).Mul(carry.Transpose())
	g.taken[g.now] += averages
	step.White, step.Averages = r.XYZ, averages
	if !g.want.White.IsNative() {
		step.DeltaUV = r.XYZ.UV().Distance(g.want.White.At.UV())
	}
	step.Sentence = g.say(step)
	g.steps = append(g.steps, step)
	return g.response.add(o)
}

// look reads the white at the present setting.
func (g *guide) look(ctx context.Context, averages int, step Step) error {
	if len(g.steps) >= g.options.MaxReadings {
		g.note("The limit of %d readings ended the search; the steps in force are the nearest found so far.", g.options.MaxReadings)
		return errEnough
	}
	r, err := g.read(ctx, "white", colorimetry.Gray(1), averages)
	if err != nil {
		return err
	}
	return g.learn(r, averages, step)
}

// move brings control i to a step, counted from the first, and reads.
func (g *guide) move(ctx context.Context, i, to, averages int) error {
	if len(g.steps) >= g.options.MaxReadings {
		return g.look(ctx, averages, Step{})
	}
	step := Step{Control: g.names[i], From: g.zero[i] + g.now[i], To: g.zero[i] + to}
	if err := g.session.SetControl(ctx, g.names[i], step.To); err != nil {
		return fmt.Errorf("controls: %w", err)
	}
	g.now[i] = to
	return g.look(ctx, averages, step)
}

// again reads a setting, of which brightness may differ from the present one,
// once more, with all the integrations that are left of
// Options.MostAverages: in one go, so that nobody is sent back and forth. It
// reports false, reading nothing, where none are left.
func (g *guide) again(ctx context.Context, s setting) (bool, error) {
	n := g.options.MostAverages - g.taken[s]
	if n <= 0 {
		return false, nil
	}
	if s != g.now {
		return true, g.move(ctx, brightness, s[brightness], n)
	}
	return true, g.look(ctx, n, Step{})
}

// readAt reports whether white was read at a step of control i.
func (g *guide) readAt(i, step int) bool {
	for s := range g.taken {
		if s[i] == step {
			return true
		}
	}
	return false
}

func (g *guide) note(format string, args ...any) {
	g.notes = append(g.notes, fmt.Sprintf(format, args...))
}
