package transform

import (
	"math"
	"slices"
)

// polyline is a sampled curve, or what undoes one: lines between its entries, which the
// bits of a float32 lead near to, so that few are passed by. It is what the chain has,
// leaps where a curve is flat included, at the cost of a moment's search.
type polyline struct {
	shift uint
	base  int
	first []int32 // by the first bits of a value: the first line that it may be on
	lines []segment
}

// segment is a line up to an end and with it, from behind that of the one before.
type segment struct{ end, begin, value, slope float32 }

// newPolyline returns the lines of a function between its bends.
func newPolyline(f func(float64) float64, bends []float64) *polyline {
	ends := []float32{0, 1}
	for _, x := range bends {
		if x > 0 && x < 1 {
			ends = append(ends, float32(x))
		}
	}
	slices.Sort(ends)
	ends = slices.Compact(ends)
	p := &polyline{lines: make([]segment, len(ends))}
	p.lines[0] = segment{value: float32(f(0))}
	for i, end := range ends[1:] {
		begin := math.Nextafter32(ends[i], 2)
		from, to := f(float64(begin)), f(float64(end))
		s := segment{end: end, begin: begin, value: float32(from)}
		if end > begin {
			s.slope = float32((to - from) / (float64(end) - float64(begin)))
		}
		p.lines[i+1] = s
	}
	// About as many places in the octave to 1 as it may have ends.
	bits := min(max(bitsOf(len(ends)), 5), 12)
	p.shift = uint(23 - bits)
	p.base = int(math.Float32bits(leastFloat) >> p.shift)
	p.first = make([]int32, octaves<<bits+2)
	k := 0
	for i := range p.first {
		if i > 0 {
			for from := math.Float32frombits(uint32(p.base+i-1) << p.shift); k < len(ends)-1 && ends[k] < from; {
				k++
			}
		}
		p.first[i] = int32(k)
	}
	return p
}

// run replaces values by what the curve makes of them.
func (p *polyline) run(row []float32) {
	lines, first, shift, base := p.lines, p.first, p.shift&31, p.base-1
	for i, x := range row {
		at := 0
		switch {
		case x > 1:
			x, at = 1, len(first)-1
		case x >= leastFloat:
			at = int(math.Float32bits(x)>>shift) - base
		case !(x > 0):
			x = 0
		}
		k := int(first[at])
		for x > lines[k].end {
			k++
		}
		l := &lines[k]
		row[i] = l.value + l.slope*(x-l.begin)
	}
}
