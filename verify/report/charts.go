package report

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/verify"
)

// Sizes of the drawings, pixels of the page.
const (
	half  = 440
	whole = 900
)

func percent() axis { return axisOver(0, 100, 5, "signal, %") }

// toneChart draws the lightness of the greys, aim against reached.
func toneChart(r *Report) *plot {
	if len(r.Greys) < 2 {
		return nil
	}
	white := r.Greys[len(r.Greys)-1].WantCdM2
	l := func(y float64) float64 { return colorimetry.Lightness(y / white) }
	var want, got, found []point
	top := 100.0
	for _, g := range r.Greys {
		x := 100 * g.Signal
		want, got = append(want, point{x, l(g.WantCdM2)}), append(got, point{x, l(g.GotCdM2)})
		if g.FoundCdM2 > 0 {
			found = append(found, point{x, l(g.FoundCdM2)})
			top = larger(top, l(g.FoundCdM2))
		}
		top = larger(top, l(g.GotCdM2))
	}
	p := newPlot("Tone of the greys", half, 300, 52, percent(), axisOver(0, 10*math.Ceil(top/10), 5, "lightness under the aim's white, L*"), r.withFloor(withFound(found,
		key{"aim", "asked for"}, key{"mark", r.reachedWord()})...)...)
	p.Note = "Lightness is drawn because equal steps of it look equal; luminance would crowd the dark half into a corner."
	p.line(found, "was")
	p.line(want, "aim")
	for _, q := range got {
		p.dot(q, 3, "mark")
	}
	p.floor(r)
	return p
}

// withFound adds the key of the state as found, where that was read.
func withFound(found []point, keys ...key) []key {
	if len(found) > 0 {
		keys = append(keys, key{"was", "as found"})
	}
	return keys
}

// reachedWord says what the readings show: a state that was set, or found.
func (r *Report) reachedWord() string {
	if r.Run.Adjusted {
		return "reached"
	}
	return "as read"
}

// withFloor adds the key of the floor, where there is one.
func (r *Report) withFloor(keys ...key) []key {
	if r.hasFloor() {
		keys = append(keys, key{"limit", "floor"})
	}
	return keys
}

func (r *Report) hasFloor() bool { return r.FloorSignal > 0 && r.FloorSignal < 1 }

// floor marks the lowest signal at which the aim can be had.
func (p *plot) floor(r *Report) {
	if r.hasFloor() {
		p.line([]point{{100 * r.FloorSignal, p.y0}, {100 * r.FloorSignal, p.y1}}, "limit")
	}
}

// offChart draws how far the luminance of each grey lies from the aim.
func offChart(r *Report) *plot {
	span := 4.0
	for _, g := range r.Greys {
		if g.BelowFloor || !(g.WantCdM2 > 0) {
			continue
		}
		off := 115 * math.Abs(g.GotCdM2/g.WantCdM2-1)
		if g.Signal < 0.2 { // the darkest do not flatten the others
			off = smaller(off, 15)
		}
		span = larger(span, off)
	}
	if len(r.Greys) < 2 {
		return nil
	}
	span = smaller(math.Ceil(span), 100)
	p := newPlot("Luminance of the greys beside the aim", half, 300, 52, percent(), axisOver(-span, span, 6, "off by, %"),
		r.withFloor(key{"mark", r.reachedWord()}, key{"noise", "± 2 standard deviations"}, key{"band", "± 2 %"})...)
	p.Note = "Rings on the edge lie beyond it. ± 2 % is this project's own target."
	p.band([]point{{0, -2}, {100, -2}}, []point{{0, 2}, {100, 2}})
	p.line([]point{{0, 0}, {100, 0}}, "aim")
	for _, g := range r.Greys {
		if !(g.WantCdM2 > 0) {
			continue
		}
		x, y, s := 100*g.Signal, 100*(g.GotCdM2/g.WantCdM2-1), 200*g.SpreadShare*g.GotCdM2/g.WantCdM2
		p.line([]point{{x, y - s}, {x, y + s}}, "noise")
		p.dot(point{x, y}, 3, "mark")
	}
	p.floor(r)
	return p
}

// greyChart draws the distance of the greys from the aim's chromaticity.
func greyChart(r *Report) *plot {
	if len(r.Greys) < 2 {
		return nil
	}
	var zero, noise, found, got []point
	span := 0.004
	for _, g := range r.Greys {
		x := 100 * g.Signal
		got = append(got, point{x, g.DeltaUV})
		if g.FoundCdM2 > 0 {
			found = append(found, point{x, g.FoundDelta})
			if g.Signal > 0.3 {
				span = larger(span, g.FoundDelta*1.15)
			}
		}
		if !g.BelowFloor && g.DeltaUV-g.DeltaUV == 0 {
			span = larger(span, g.DeltaUV*1.15)
		}
		if s := g.SpreadUV; s-s == 0 {
			zero, noise = append(zero, point{x, 0}), append(noise, point{x, radius95 * s})
		}
	}
	span = min(span, 0.06)
	p := newPlot("Colour of the greys beside the aim", half, 300, 60, percent(), axisOver(0, span, 5, "distance in u'v'"), r.withFloor(withFound(found,
		key{"mark", r.reachedWord()}, key{"band", "noise, 19 of 20"})...)...)
	p.Note = "Rings on the edge lie beyond it, and lines end there. Towards black the noise of the instrument hides the colour."
	p.band(zero, noise)
	p.line(found, "was")
	p.beyond(found)
	p.line(got, "got")
	for _, q := range got {
		p.dot(q, 3, "mark")
	}
	p.floor(r)
	return p
}

// radius95 is the radius of a round two-dimensional normal distribution that
// holds 95 %, in standard deviations of one axis: √(−2 ln 0.05).
const radius95 = 2.448

// warmUpCharts draw luminance and white over the minutes.
func warmUpCharts(w *WarmUp) []*plot {
	if w == nil || len(w.Trace) < 2 {
		return nil
	}
	last := w.Trace[len(w.Trace)-1]
	var light, colour []point
	lo, hi, top := -1.0, 1.0, 0.001
	for _, s := range w.Trace {
		y := 100 * (s.LuminanceCdM2/last.LuminanceCdM2 - 1)
		light, colour = append(light, point{s.Minutes, y}), append(colour, point{s.Minutes, s.DeltaUV})
		lo, hi, top = smaller(lo, y*1.1), larger(hi, y*1.1), larger(top, s.DeltaUV*1.1)
	}
	minutes := func() axis { return axisOver(0, larger(1, last.Minutes), 6, "minutes since the first reading") }
	a := newPlot("Warm-up: luminance", half, 230, 52, minutes(), axisOver(lo, hi, 5, "beside the last, %"))
	a.line([]point{{0, 0}, {last.Minutes, 0}}, "aim")
	b := newPlot("Warm-up: colour of white", half, 230, 60, minutes(), axisOver(0, top, 5, "from the last, u'v'"))
	for _, d := range []struct {
		p *plot
		q []point
	}{{a, light}, {b, colour}} {
		d.p.line(d.q, "got")
		for _, q := range d.q {
			d.p.dot(q, 2.2, "mark")
		}
	}
	return []*plot{a, b}
}

// curvesChart draws what the correction curves add to a signal.
func curvesChart(c *Curves) *plot {
	if c == nil || len(c.Red) < 2 || len(c.Green) != len(c.Red) || len(c.Blue) != len(c.Red) {
		return nil
	}
	lo, hi := -1.0, 1.0
	var lines [3][]point
	for k, t := range [...][]float64{c.Red, c.Green, c.Blue} {
		for i, v := range t {
			x := 100 * float64(i) / float64(len(t)-1)
			y := 100*v - x
			lines[k] = append(lines[k], point{x, y})
			lo, hi = smaller(lo, y*1.1), larger(hi, y*1.1)
		}
	}
	p := newPlot("Correction curves in force", half, 300, 52, axisOver(0, 100, 5, "signal in, %"), axisOver(lo, hi, 6, "signal out less signal in, %"),
		key{"got", "red"}, key{"aim", "green"}, key{"dots", "blue"})
	for k, class := range [...]string{"got", "aim", "dots"} {
		p.line(lines[k], class)
	}
	return p
}

// stripChart draws every patch's difference, one row a stratum.
func stripChart(a verify.Accuracy) *plot {
	if len(a.Patches) == 0 {
		return nil
	}
	rows := []verify.Stratum{{Name: "all", DeltaE2000: a.DeltaE2000, NoiseFloor: a.NoiseFloor}}
	rows = append(rows, a.Strata...)
	count := float64(len(rows))
	y := axis{from: 0, to: count}
	p := newPlot("Differences, patch by patch", whole, 60+34*count, 190, axisOver(0, larger(1, a.DeltaE2000.Max*1.05), 8, "ΔE00, "+a.Reference+", "+a.Basis), y,
		key{"tickmark", "a patch"}, key{"heavy", "mean"}, key{"limit", "95th percentile"}, key{"band", "mean that noise alone shows"})
	p.Note = "A patch may stand in several rows: on the boundary and in the dark errors gather that a mean over everything hides."
	for k, row := range rows {
		low, high := count-float64(k)-0.85, count-float64(k)-0.15
		mid := (low + high) / 2
		p.text(p.left-8, p.y(mid)-1, row.Name, "end", "name")
		p.text(p.left-8, p.y(mid)+11, patches(row.DeltaE2000.Count), "end", "tick")
		if row.NoiseFloor.Known {
			p.band([]point{{0, low}, {row.NoiseFloor.Mean, low}}, []point{{0, high}, {row.NoiseFloor.Mean, high}})
		}
		for _, e := range a.Patches {
			if row.Name == "all" || verify.InStratum(row.Name, e) {
				p.line([]point{{e.DeltaE2000, mid - 0.2}, {e.DeltaE2000, mid + 0.2}}, "tickmark")
			}
		}
		p.line([]point{{row.DeltaE2000.Mean, low}, {row.DeltaE2000.Mean, high}}, "heavy")
		p.line([]point{{row.DeltaE2000.P95, low}, {row.DeltaE2000.P95, high}}, "limit")
	}
	return p
}

func patches(count int) string {
	if count == 1 {
		return "1 patch"
	}
	return fmt.Sprintf("%d patches", count)
}
