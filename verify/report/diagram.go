package report

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

func (p Primary) uv() colorimetry.UV { return colorimetry.Chromaticity{X: p.X, Y: p.Y}.UV() }

// at returns the primary of that name and state.
func (r *Report) at(name, when string) (colorimetry.UV, bool) {
	for _, p := range r.Primaries {
		if p.Name == name && p.When == when {
			return p.uv(), true
		}
	}
	return colorimetry.UV{}, false
}

// triangle returns the closed triangle of the primaries in one state.
func (r *Report) triangle(when string) []point {
	var t []point
	for _, name := range [...]string{"red", "green", "blue", "red"} {
		c, ok := r.at(name, when)
		if !ok {
			return nil
		}
		t = append(t, point{c.U, c.V})
	}
	return t
}

// diagram draws the primaries in the u'v' diagram, both axes on one scale.
func diagram(r *Report) *plot {
	found, with := r.triangle(AsFound), r.triangle(WithCurves)
	if found == nil && with == nil {
		return nil
	}
	// 0.66 by 0.63 in a frame of 374 by 357 pixels.
	const left, width, height = 52, 52 + 374 + 14, 30 + 357 + 40
	p := newPlot("Primaries and white", width, height, left, axisOver(0, 0.66, 6, "u'"), axisOver(0, 0.63, 6, "v'"), r.triangleKeys(found, with)...)
	p.Note = "CIE 1976 u', v', CIE 1931 observer. The outline is that of all colours."
	p.line(locus(), "outline")
	for _, nm := range [...]float64{460, 480, 500, 520, 560, 600, 640} {
		q := spectral(nm)
		p.Dots = append(p.Dots, dot{n(p.x(q.x)), n(p.y(q.y)), "1.5", "mark"})
		x, y, anchor := p.x(q.x)-5, p.y(q.y)+3, "end"
		if nm >= 520 {
			x, y, anchor = p.x(q.x), p.y(q.y)-6, "middle"
		}
		p.text(x, y, fmt.Sprintf("%.0f", nm), anchor, "tick")
	}
	p.line(found, "was")
	p.line(with, "got")
	names := with
	if names == nil {
		names = found
	}
	for k, name := range [...]string{"red", "green", "blue"} {
		q := names[k]
		dx, dy, anchor := 8.0, 4.0, "start"
		if k == 1 {
			dx, dy = 6, 16
		}
		p.text(p.x(q.x)+dx, p.y(q.y)+dy, name, anchor, "name")
		p.dot(q, 3, "mark")
	}
	aim := colorimetry.Chromaticity{X: r.Aim.White.X, Y: r.Aim.White.Y}.UV()
	white := colorimetry.Chromaticity{X: r.White.X, Y: r.White.Y}.UV()
	p.dot(point{white.U, white.V}, 2.6, "mark")
	p.dot(point{aim.U, aim.V}, 5.5, "ring")
	p.text(p.x(white.U)+9, p.y(white.V)+13, "white, ring: aim", "start", "tick")
	return p
}

func (r *Report) triangleKeys(found, with []point) []key {
	var keys []key
	if with != nil {
		keys = append(keys, key{"got", "with curves"})
	}
	if found != nil {
		keys = append(keys, key{"was", "as found"})
	}
	return keys
}

// spectral returns the chromaticity of one wavelength.
func spectral(nm float64) point {
	o := spectrum.CIE1931()
	c := colorimetry.XYZ{X: o.XBar.At(nm), Y: o.YBar.At(nm), Z: o.ZBar.At(nm)}.UV()
	return point{c.U, c.V}
}

// locus returns the outline of all colours, closed. Beyond 400 and 700 nm it
// hardly moves.
func locus() []point {
	var t []point
	for nm := 400.0; nm <= 700; nm += 2 {
		t = append(t, spectral(nm))
	}
	return append(t, t[0])
}

// whiteChart draws the white beside the aim, enlarged.
func whiteChart(r *Report) *plot {
	aim := colorimetry.Chromaticity{X: r.Aim.White.X, Y: r.Aim.White.Y}.UV()
	white := colorimetry.Chromaticity{X: r.White.X, Y: r.White.Y}.UV()
	if d := aim.Distance(white); !(r.Aim.White.Y > 0 && r.White.Y > 0 && d-d == 0) {
		return nil
	}
	limit, judged := r.verdict("white.delta_uv")
	span := larger(0.003, 1.3*aim.Distance(white))
	if judged {
		span = larger(span, 1.5*limit.Limit.Value)
	}
	if s := r.White.SpreadUV; s > 0 {
		span = larger(span, 1.1*(aim.Distance(white)+radius95*s))
	}
	found, has := r.at("white", AsFound)
	has = has && r.Run.Adjusted // else it is the reading itself
	if d := aim.Distance(found); has && d < 0.02 {
		span = larger(span, 1.15*d)
	}
	// A square frame of 357 pixels.
	const left, width, height = 62, 62 + 357 + 14, 30 + 357 + 40
	round := func(mid float64, name string) axis { return axisOver(mid-span, mid+span, 5, name) }
	keys := []key{{"ring", "aim"}, {"mark", r.reachedWord()}}
	if judged {
		keys = append(keys, key{"limit", "limit"})
	}
	p := newPlot("White beside the aim, enlarged", width, height, left, round(aim.U, "u'"), round(aim.V, "v'"), keys...)
	p.Note = "The tint around the reading holds it in 19 of 20 repetitions. The frame is centred on the aim."
	if r.White.SystematicUV > 0 {
		p.Note = "The tint around the reading holds the display's white in 19 of 20 cases: noise and the instrument's own error together. The frame is centred on the aim."
	}
	if s := r.White.SpreadUV; s > 0 {
		p.Bands = append(p.Bands, shape{p.circle(white, radius95*s), "band"})
	}
	if judged {
		p.Lines = append(p.Lines, shape{p.circle(aim, limit.Limit.Value), "limit"})
	}
	if has && p.inside(found.U, found.V) {
		p.line([]point{{found.U, found.V}, {white.U, white.V}}, "was")
		p.dot(point{found.U, found.V}, 3, "pale")
		below := 17.0 // away from the line to the reading
		if found.V > white.V {
			below = -9
		}
		p.text(p.x(found.U), p.y(found.V)+below, "as found", "middle", "tick")
	}
	p.dot(point{aim.U, aim.V}, 6, "ring")
	p.dot(point{white.U, white.V}, 3.2, "mark")
	return p
}

// circle returns a path of the given radius in u'v'. Both axes have one scale.
func (p *plot) circle(c colorimetry.UV, r float64) string {
	px := r / (p.x1 - p.x0) * (p.right - p.left)
	return fmt.Sprintf("M%s %sa%s %s 0 1 0 %s 0a%s %s 0 1 0 %s 0Z", n(p.x(c.U)-px), n(p.y(c.V)), n(px), n(px), n(2*px), n(px), n(px), n(-2*px))
}
