package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// plot is a drawing in the report's one ink: lists of shapes that the page's
// template writes as SVG. Shapes carry a class that the style sheet draws:
// aim (dashed), got (solid), was (thin tint), band (tinted area), grid, frame.
type plot struct {
	Name          string // caption
	Note          string // what the marks mean
	Width, Height float64
	Bands         []shape // paths, under everything
	Lines         []shape // paths
	Dots          []dot
	Words         []word

	left, right, top, bottom float64 // of the frame
	x0, x1, y0, y1           float64 // data at its edges
}

type shape struct{ D, Class string }

type dot struct {
	X, Y, R string
	Class   string
}

type word struct {
	X, Y   string
	Text   string
	Anchor string // start, middle or end
	Class  string
	Turned bool // read from below
}

// axis is a range, its ticks and how they are written.
type axis struct {
	from, to float64
	name     string
	ticks    []float64
	format   func(float64) string
}

// axisOver returns an axis from lo to hi with about n ticks at round figures.
func axisOver(lo, hi float64, n int, name string) axis {
	if !(hi > lo) {
		hi = lo + 1
	}
	step := roundStep((hi - lo) / float64(n))
	a := axis{from: lo, to: hi, name: name}
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+1e-9*step; k++ {
		a.ticks = append(a.ticks, k*step)
	}
	places := max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
	a.format = func(v float64) string { return figure(v, places) }
	return a
}

// roundStep returns the smallest of 1, 2 and 5 times a power of ten that is no
// less than v.
func roundStep(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, k := range [...]float64{1, 2, 5} {
		if k*p >= v*(1-1e-9) {
			return k * p
		}
	}
	return 10 * p
}

// key explains a class of lines or dots.
type key struct{ Class, Text string }

// newPlot draws the frame, the grid and the words of two axes, and the keys
// above the frame. left is the room for the words of the y axis.
func newPlot(name string, width, height, left float64, x, y axis, keys ...key) *plot {
	p := &plot{Name: name, Width: width, Height: height, left: left, right: width - 14, top: 12, bottom: height - 40, x0: x.from, x1: x.to, y0: y.from, y1: y.to}
	if len(keys) > 0 {
		p.top = 30
	}
	p.keys(keys)
	for _, v := range x.ticks {
		p.Lines = append(p.Lines, shape{fmt.Sprintf("M%s %sV%s", n(p.x(v)), n(p.top), n(p.bottom)), "grid"})
		p.text(p.x(v), p.bottom+14, x.format(v), "middle", "tick")
	}
	for _, v := range y.ticks {
		p.Lines = append(p.Lines, shape{fmt.Sprintf("M%s %sH%s", n(p.left), n(p.y(v)), n(p.right)), "grid"})
		p.text(p.left-6, p.y(v)+3.5, y.format(v), "end", "tick")
	}
	p.Lines = append(p.Lines, shape{fmt.Sprintf("M%s %sV%sH%s", n(p.left), n(p.top), n(p.bottom), n(p.right)), "frame"})
	p.text((p.left+p.right)/2, height-7, x.name, "middle", "axis")
	if y.name != "" {
		p.Words = append(p.Words, word{n(13), n((p.top + p.bottom) / 2), y.name, "middle", "axis", true})
	}
	return p
}

func (p *plot) x(v float64) float64 { return p.left + (v-p.x0)/(p.x1-p.x0)*(p.right-p.left) }
func (p *plot) y(v float64) float64 { return p.bottom - (v-p.y0)/(p.y1-p.y0)*(p.bottom-p.top) }

// inside reports whether a point lies in the frame, and is a number.
func (p *plot) inside(x, y float64) bool {
	return x >= p.x0 && x <= p.x1 && y >= p.y0 && y <= p.y1
}

// larger and smaller widen a range by b, unless b is no number.
func larger(a, b float64) float64 {
	if b > a && !math.IsInf(b, 0) {
		return b
	}
	return a
}

func smaller(a, b float64) float64 {
	if b < a && !math.IsInf(b, 0) {
		return b
	}
	return a
}

// point is one point of data.
type point struct{ x, y float64 }

// line draws straight lines through the points, as far as they lie in the frame.
// Points that are no number break them.
func (p *plot) line(points []point, class string) {
	var b strings.Builder
	var end point // where the pen is
	for i := 1; i < len(points); i++ {
		from, to, ok := p.clip(points[i-1], points[i])
		if !ok {
			continue
		}
		if b.Len() == 0 || from != end {
			fmt.Fprintf(&b, "M%s %s", n(p.x(from.x)), n(p.y(from.y)))
		}
		fmt.Fprintf(&b, "L%s %s", n(p.x(to.x)), n(p.y(to.y)))
		end = to
	}
	if b.Len() > 0 {
		p.Lines = append(p.Lines, shape{b.String(), class})
	}
}

// clip returns the part of a straight line that lies in the frame, not ok where
// none does or an end is no number.
//
// Source: Liang and Barsky, ACM Trans. Graph. 3(1) 1–22 (1984) (from memory).
func (p *plot) clip(a, b point) (from, to point, ok bool) {
	dx, dy := b.x-a.x, b.y-a.y
	if dx-dx != 0 || dy-dy != 0 {
		return a, b, false
	}
	enter, leave := 0.0, 1.0
	for _, side := range [...]struct{ run, room float64 }{{-dx, a.x - p.x0}, {dx, p.x1 - a.x}, {-dy, a.y - p.y0}, {dy, p.y1 - a.y}} {
		switch t := side.room / side.run; {
		case side.run == 0:
			if side.room < 0 {
				return a, b, false
			}
		case side.run < 0:
			enter = math.Max(enter, t)
		default:
			leave = math.Min(leave, t)
		}
	}
	if enter > leave {
		return a, b, false
	}
	from, to = a, b
	if enter > 0 {
		from = point{a.x + enter*dx, a.y + enter*dy}
	}
	if leave < 1 {
		to = point{a.x + leave*dx, a.y + leave*dy}
	}
	return from, to, true
}

// around draws the outline of an area; points beyond the frame are drawn on its
// edge, and those that are no number break it.
func (p *plot) around(points []point) string {
	var b strings.Builder
	pen := "M"
	for _, q := range points {
		if q.x-q.x != 0 || q.y-q.y != 0 {
			pen = "M"
			continue
		}
		fmt.Fprintf(&b, "%s%s %s", pen, n(p.x(min(max(q.x, p.x0), p.x1))), n(p.y(min(max(q.y, p.y0), p.y1))))
		pen = "L"
	}
	return b.String()
}

// band tints the area between two lines over the same points of x.
func (p *plot) band(low, high []point) {
	outline := append([]point(nil), low...)
	for i := range high {
		outline = append(outline, high[len(high)-1-i])
	}
	if d := p.around(outline); d != "" {
		p.Bands = append(p.Bands, shape{d + "Z", "band"})
	}
}

// dot marks a point; one beyond the frame becomes a ring on its edge.
func (p *plot) dot(q point, r float64, class string) {
	if q.x-q.x != 0 || q.y-q.y != 0 {
		return
	}
	if !p.inside(q.x, q.y) {
		q.x, q.y = min(max(q.x, p.x0), p.x1), min(max(q.y, p.y0), p.y1)
		if class != "pale ring" {
			class = "ring"
		}
	}
	p.Dots = append(p.Dots, dot{n(p.x(q.x)), n(p.y(q.y)), n(r), class})
}

// beyond marks those points of a pale line that lie beyond the frame.
func (p *plot) beyond(points []point) {
	for _, q := range points {
		if !p.inside(q.x, q.y) {
			p.dot(q, 3, "pale ring")
		}
	}
}

func (p *plot) text(x, y float64, s, anchor, class string) {
	p.Words = append(p.Words, word{n(x), n(y), s, anchor, class, false})
}

// keys writes the keys from the left edge of the drawing.
func (p *plot) keys(keys []key) {
	x := 8.0
	for _, k := range keys {
		switch k.Class {
		case "mark", "ring":
			p.Dots = append(p.Dots, dot{n(x + 11), n(10), "3.2", k.Class})
		case "band":
			p.Bands = append(p.Bands, shape{fmt.Sprintf("M%s 5h22v10h-22Z", n(x)), k.Class})
		default:
			p.Lines = append(p.Lines, shape{fmt.Sprintf("M%s 10h22", n(x)), k.Class})
		}
		p.text(x+27, 13.5, k.Text, "start", "tick")
		x += 27 + 5.6*float64(len([]rune(k.Text))) + 14
	}
}

// n prints a coordinate: a tenth of a pixel is more than anybody sees.
func n(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	return strings.TrimSuffix(s, ".0")
}
