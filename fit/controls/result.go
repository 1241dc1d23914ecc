package controls

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
)

// say words a step: the move as guidance, then what was read.
func (g *guide) say(s Step) string {
	out := "White read again"
	switch {
	case s.Black && s.Control == "":
		out = "Black read"
	case len(g.steps) == 0:
		out = "White as found"
	case s.Control != "":
		out = fmt.Sprintf("%s: %s to %d, then read again", capital(s.Control), steps(s.To-s.From), s.To)
	}
	if s.Black {
		return out + fmt.Sprintf(": black %.4f cd/m².", s.White.Y)
	}
	out += fmt.Sprintf(": %.1f cd/m²", s.White.Y)
	if !g.want.White.IsNative() {
		out += fmt.Sprintf(", %.4f from the white in u'v'", s.DeltaUV)
	}
	return out + "."
}

// capital returns a control's name as a sentence begins. Names are ours, in
// ASCII letters.
func capital(name string) string { return string(name[0]-'a'+'A') + name[1:] }

func steps(n int) string {
	way := "up"
	if n < 0 {
		way, n = "down", -n
	}
	if n == 1 {
		return "1 step " + way
	}
	return fmt.Sprintf("%d steps %s", n, way)
}

// result sums guidance up.
func (g *guide) result() Result {
	v := g.response.at(g.now)
	y, sd := g.left(g.now)
	r := Result{Steps: g.steps, White: g.color(v), Reachable: y, Aim: g.want}
	r.LuminanceUncertainty = sd * y
	for i, name := range g.names {
		if name != "" {
			r.Settings = append(r.Settings, measure.Control{Name: name, Min: g.zero[i] + g.low[i], Max: g.zero[i] + g.top[i], Now: g.zero[i] + g.now[i]})
		}
	}
	for _, o := range g.offsets {
		r.Settings = append(r.Settings, measure.Control{Name: o.name, Min: o.low, Max: o.top, Now: o.now})
	}
	r.Settings = append(r.Settings, g.others...)
	if !g.want.White.IsNative() {
		r.DeltaUV, r.WhiteUncertainty = g.off(g.now)
	}
	g.settle(&r)
	g.settleBlack(&r)
	r.Sentences = append(r.Sentences, g.notes...)
	return r
}

// settle decides on the luminance that the curves are to follow.
func (g *guide) settle(r *Result) {
	if !g.want.White.IsNative() {
		r.Sentences = append(r.Sentences, fmt.Sprintf("Controls: the white is %.4f ± %.4f from the aim in u'v'; the curves take up the rest.", r.DeltaUV, 2*r.WhiteUncertainty))
	}
	l := g.want.Luminance
	if l == 0 {
		r.Accepted = true
		r.Sentences = append(r.Sentences, fmt.Sprintf("Controls: %.1f ± %.1f cd/m² can be had at the white of the aim.", r.Reachable, 2*r.LuminanceUncertainty))
		return
	}
	r.DeltaLuminance = r.Reachable - l
	has := fmt.Sprintf("Controls: %.1f ± %.1f cd/m² can be had at the white of the aim, %.1f", r.Reachable, 2*r.LuminanceUncertainty, l)
	switch {
	case math.Abs(r.DeltaLuminance) <= g.options.AcceptCdM2:
		r.Accepted, r.Aim.Luminance = true, r.Reachable
		r.Sentences = append(r.Sentences, fmt.Sprintf("%s were asked for: within the ±%.3g cd/m² that are accepted, so that the curves' aim is the luminance reached.", has, g.options.AcceptCdM2))
	case r.DeltaLuminance > 0:
		r.Accepted = true
		r.Sentences = append(r.Sentences, has+" were asked for: the curves go down to them, at the cost of levels.")
	default:
		r.Aim.Luminance = r.Reachable
		r.Sentences = append(r.Sentences, has+" were asked for: more the controls do not give.")
	}
}

// settleBlack says what became of the black.
func (g *guide) settleBlack(r *Result) {
	want := g.wantedBlack()
	k, v, n := g.blackNow()
	if n == 0 || want == 0 {
		return
	}
	r.Black, r.BlackUncertainty, r.DeltaBlack = k, math.Sqrt(math.Max(v[1][1], 0)), k.Y-want
	r.Sentences = append(r.Sentences, fmt.Sprintf("Controls: the black is %.4f ± %.4f cd/m², %.4f were asked for.", k.Y, 2*r.BlackUncertainty, want))
}
