package transform

import "math"

// labSums begins the way of pixels of 8 or 16 bits into a table that L*a*b* indexes:
// what the code of a channel adds to the light of X, Y and Z stands in three lanes of
// one word, and three words are added.
type labSums struct {
	table       *labTable
	eight       *[3][256]uint64 // what a code of 8 bits adds, nil where codes have 16
	ramps       *[3][ramps]ramp // what one of 16 bits adds, nil where codes have 8
	first, step int             // samples from the row's beginning, and to the next pixel
	// A sum is light, over the white's and above the least that there can be, times
	// scale and offset more.
	scale, offset float64
}

// ramp is what codes of 16 bits add whose first bits are the same: that of the least,
// and 16 times the rise to each next one.
type ramp struct{ least, rise uint64 }

const (
	rampBits = 4
	rampMask = 1<<rampBits - 1
	ramps    = 1 << (16 - rampBits)
	// Rises are counted from riseBase, so that their sums are not negative.
	riseBits = 4
	riseBase = 1 << (laneBits - 1)
	riseMask = (1<<(laneBits-riseBits) - 1) * oneEach
	// oneEach is one in each lane.
	oneEach = 1 | 1<<laneBits | 1<<(2*laneBits)
)

// newLabSums returns the way into a table, which codes begin by own; nil where light
// has a wide range, or 16 bits have bends that ramps do not follow.
func newLabSums(t *labTable, k *Kernel, own []step) *labSums {
	s := &labSums{table: t, first: min(k.in.at[0], k.in.at[2]), step: k.in.step}
	if t.hi-t.lo > 2 {
		return nil // a lane would be too coarse
	}
	// No light and white stand where lines of roots begin, so that both are exact.
	s.scale = math.Floor((1<<laneBits-3<<lineShift)/(t.hi-t.lo)/(1<<lineShift)) * (1 << lineShift)
	s.offset = math.Ceil(-t.lo*s.scale/(1<<lineShift)+1)*(1<<lineShift) + t.lo*s.scale
	if k.from.Depth == Depth8 {
		s.eight = new([3][256]uint64)
	} else {
		s.ramps = new([3][ramps]ramp)
	}
	ok := true
	k.byCode(own, func(c int, light []float64, _ bool) { ok = ok && s.fill(k.from.order(c), c, light) })
	if !ok {
		return nil
	}
	return s
}

// fill fills what the codes of a channel add, false where light bends too much.
func (s *labSums) fill(sample, channel int, light []float64) bool {
	t := s.table
	var factor, constant [3]float64
	for lane := range 3 {
		factor[lane] = t.light[3*lane+channel] * s.scale
		if channel == 0 {
			constant[lane] = (t.light[9+lane]-t.lo)*s.scale + s.offset
			if s.ramps != nil {
				// Half a unit of what is cut off below rises, and what they begin with.
				constant[lane] += 0.5 - riseBase>>riseBits
			}
		}
	}
	if s.eight != nil {
		for i, v := range light {
			for lane := range 3 {
				s.eight[sample][i] += inLane(v*factor[lane]+constant[lane], lane)
			}
		}
		return true
	}
	for i := range s.ramps[sample] {
		r, of := &s.ramps[sample][i], light[i<<rampBits:(i+1)<<rampBits]
		middle, rise := (of[0]+of[rampMask])/2, (of[rampMask]-of[0])/rampMask
		for j, v := range of {
			if math.Abs(middle+rise*(float64(j)-rampMask/2.)-v)*s.scale > 1 {
				return false
			}
		}
		for lane := range 3 {
			step := math.Round(rise * factor[lane] * (1 << riseBits))
			if math.Abs(step) > riseBase/(3*rampMask+1) {
				return false
			}
			r.rise += inLane(step, lane)
			r.least += inLane(middle*factor[lane]-step*rampMask/(2<<riseBits)+constant[lane], lane)
		}
	}
	return true
}

// inLane returns a number, rounded, in a lane. What is negative borrows from the lane
// above, which gets it back when the others are added.
func inLane(v float64, lane int) uint64 { return uint64(int64(math.Round(v))) << (laneBits * lane) }

// light returns what a sum, of one lane, stands for.
func (s *labSums) light(sum float64) float64 { return (sum-s.offset)/s.scale + s.table.lo }

// of8 fills the block's sums of n pixels of 8 bits.
func (s *labSums) of8(b *block, src []uint8, n int) {
	add, at := s.eight, s.first
	for i := range b.word[:n] {
		p := (*[3]uint8)(src[at : at+3])
		b.word[i] = add[0][p[0]] + add[1][p[1]] + add[2][p[2]]
		at += s.step
	}
}

// of16 fills the block's sums of n pixels of 16 bits.
func (s *labSums) of16(b *block, src []uint16, n int) {
	add, at, step := s.ramps, s.first, s.step
	for i := range b.word[:n] {
		p := (*[3]uint16)(src[at : at+3])
		u, v, w := &add[0][p[0]>>rampBits], &add[1][p[1]>>rampBits], &add[2][p[2]>>rampBits]
		rise := u.rise*uint64(p[0]&rampMask) + v.rise*uint64(p[1]&rampMask) + w.rise*uint64(p[2]&rampMask) + riseBase*oneEach
		b.word[i] = u.least + v.least + w.least + rise>>riseBits&riseMask
		at += step
	}
}
