package transform

import (
	"math"
	"sync"

	"example.org/primaries/icc"
)

// streamed computes pixels block by block.
type streamed struct {
	in, out  place
	from, to []unit32
	// lookup has, for each channel of integer samples, what each becomes by the steps
	// before passes; nil for floats.
	lookup           [planes][]float32
	passes           []pass
	alphaIn          float32 // scale of opacity coming in
	alphaOut         float32
	divide, multiply bool
	matrix           *affine        // what follows lookup, nil for none
	codes            [planes]*curve // from what passes leave to codes, nil for none
	blocks           sync.Pool
}

type unit32 struct{ scale, offset float32 }

// plainStream returns a block kernel without passes.
func (k *Kernel) plainStream() *streamed {
	s := &streamed{
		in: k.in, out: k.out, divide: k.from.Premultiplied, multiply: k.to.Premultiplied,
		alphaIn: float32(1 / k.from.Depth.top()), alphaOut: float32(k.to.Depth.top()),
	}
	s.blocks.New = func() any { return new(block) }
	for _, u := range k.from.units(k.t.From(), k.in.channels) {
		s.from = append(s.from, unit32{float32(u.scale), float32(u.offset)})
	}
	for _, u := range k.to.units(k.t.To(), k.out.channels) {
		s.to = append(s.to, unit32{float32(1 / u.scale), float32(-u.offset / u.scale)})
	}
	return s
}

// stream returns the block kernel, nil where a step needs more than float32.
func (k *Kernel) stream() *streamed {
	if k.in.channels > planes || k.out.channels > planes {
		return nil
	}
	s := k.plainStream()
	steps := k.t.steps
	if k.from.Depth <= Depth16 && !k.from.Premultiplied {
		steps = s.look(steps, k)
	}
	var ok bool
	if s.passes, ok = passes(k.t.steps[:len(k.t.steps)-len(steps)], steps); !ok {
		return nil
	}
	s.join(k)
	return s
}

// join takes the first and the last pass into the loops that load and store pixels
// of three channels, where they are a matrix and curves: each loop saves a way to
// memory and back.
func (s *streamed) join(k *Kernel) {
	if k.in.channels == 3 && s.lookup[0] != nil && len(s.passes) > 0 {
		if a, ok := s.passes[0].(*affine); ok && a.in == 3 && a.out == 3 {
			s.matrix, s.passes = a, s.passes[1:]
		}
	}
	if k.out.channels != 3 || k.to.Depth > Depth16 || k.to.Premultiplied || len(s.passes) == 0 || k.t.To() == icc.SpaceLab || k.t.To() == icc.SpaceXYZ {
		return
	}
	last := &k.t.steps[len(k.t.steps)-1]
	functions, _ := s.passes[len(s.passes)-1].(curves)
	if c, ok := functions.tables(); ok && len(c) > 0 && inUnit([]step{*last}) {
		top := float32(k.to.Depth.top())
		for i := range c {
			if i > 0 && c[i] == c[i-1] {
				s.codes[i] = s.codes[i-1]
				continue
			}
			s.codes[i] = c[i].scaled(top)
		}
		s.passes = s.passes[:len(s.passes)-1]
	}
}

// ownSteps splits steps into those that each channel takes alone and the others.
func ownSteps(steps []step) (own, rest []step) {
	n := 0
	for n < len(steps) && (steps[n].Kind == icc.StepClamp || steps[n].Kind == icc.StepCurves) {
		n++
	}
	return steps[:n], steps[n:]
}

// look fills lookup with the steps that each channel takes alone, and returns the
// others.
func (s *streamed) look(steps []step, k *Kernel) []step {
	own, steps := ownSteps(steps)
	k.byCode(own, func(c int, values []float64, again bool) {
		if again {
			s.lookup[c] = s.lookup[c-1]
			return
		}
		s.lookup[c] = make([]float32, len(values))
		for i, v := range values {
			s.lookup[c][i] = float32(v)
		}
	})
	return steps
}

// byCode calls use with what the codes of each channel become by steps that it takes
// alone; again says that they are those of the channel before. Values are good until
// use returns.
func (k *Kernel) byCode(own []step, use func(c int, values []float64, again bool)) {
	units := k.from.units(k.t.From(), k.in.channels)
	values := make([]float64, int(k.from.Depth.top())+1)
	for c := range k.in.channels {
		again := c > 0 && units[c] == units[c-1] && sameCurves(own, c, c-1)
		if !again {
			for i := range values {
				values[i] = channel(own, c, float64(i)*units[c].scale+units[c].offset)
			}
		}
		use(c, values, again)
	}
}

// channel sends one channel's value through steps of channels alone.
func channel(steps []step, c int, v float64) float64 {
	for i := range steps {
		if steps[i].Kind == icc.StepCurves {
			v = steps[i].Curve(c, v)
		} else {
			v = min(max(v, 0), 1)
		}
	}
	return v
}

func sameCurves(steps []step, a, b int) bool {
	for i := range steps {
		if steps[i].Kind == icc.StepCurves && !steps[i].SameCurve(a, b) {
			return false
		}
	}
	return true
}

// inBlocks returns the row function of what computes a block of pixels.
func inBlocks[D, S Sample](k *streamed, compute func(b *block, dst []D, src []S, n int)) func(dst []D, src []S, n int) {
	return func(dst []D, src []S, n int) {
		b := k.blocks.Get().(*block)
		defer k.blocks.Put(b)
		for n > 0 {
			m := min(n, blockPixels)
			compute(b, dst, src, m)
			n -= m
			src, dst = src[m*k.in.step:], dst[m*k.out.step:]
		}
	}
}

// streamRow returns the row function of two kinds of samples.
func streamRow[D, S Sample](k *streamed) func(dst []D, src []S, n int) {
	return inBlocks(k, func(b *block, dst []D, src []S, n int) {
		load(k, b, src, n)
		for _, p := range k.passes {
			p.run(b, n)
		}
		store(k, b, dst, n)
	})
}

// blockRow returns the row function of what takes the channels of a block's pixels all
// the way.
func blockRow[D, S uint8 | uint16](k *streamed, channels func(b *block, dst []D, src []S, n int)) func(dst []D, src []S, n int) {
	return inBlocks(k, func(b *block, dst []D, src []S, n int) {
		loadAlpha(k, b, src, n)
		channels(b, dst, src, n)
		if k.out.alpha >= 0 {
			put(dst, b.alpha[:n], k.out.alpha, k.out.step, unit32{k.alphaOut, 0})
		}
	})
}

// loadAlpha fills the block's opacity.
func loadAlpha[S Sample](k *streamed, b *block, src []S, n int) {
	if k.in.alpha >= 0 {
		at := k.in.alpha
		for i := range b.alpha[:n] {
			b.alpha[i] = float32(src[at]) * k.alphaIn
			at += k.in.step
		}
	} else if k.out.alpha >= 0 || k.multiply {
		for i := range b.alpha[:n] {
			b.alpha[i] = 1
		}
	}
}

// load fills the block with n pixels.
func load[S Sample](k *streamed, b *block, src []S, n int) {
	loadAlpha(k, b, src, n)
	if k.matrix != nil {
		loadMatrix(k, b, src, n)
		return
	}
	for c := range k.in.channels {
		at, step, row := k.in.at[c], k.in.step, b.v[c][:n]
		if table := k.lookup[c]; table != nil {
			for i := range row {
				row[i] = table[int(src[at])]
				at += step
			}
			continue
		}
		u := k.from[c]
		for i := range row {
			row[i] = float32(src[at])*u.scale + u.offset
			at += step
		}
		if k.divide {
			for i, a := range b.alpha[:n] {
				if !(a > 0) {
					row[i] = 0
					continue
				}
				row[i] /= a
			}
		}
	}
}

// loadMatrix fills the block with what lookup and the matrix make of n pixels.
func loadMatrix[S Sample](k *streamed, b *block, src []S, n int) {
	m, offset := &k.matrix.m, &k.matrix.offset
	x, y, z := b.v[0][:n], b.v[1][:n], b.v[2][:n]
	red, green, blue := k.lookup[0], k.lookup[1], k.lookup[2]
	ri, gi, bi := k.in.at[0], k.in.at[1], k.in.at[2]
	for i := range x {
		u, v, w := red[int(src[ri])], green[int(src[gi])], blue[int(src[bi])]
		x[i] = m[0][0]*u + m[0][1]*v + m[0][2]*w + offset[0]
		y[i] = m[1][0]*u + m[1][1]*v + m[1][2]*w + offset[1]
		z[i] = m[2][0]*u + m[2][1]*v + m[2][2]*w + offset[2]
		ri, gi, bi = ri+k.in.step, gi+k.in.step, bi+k.in.step
	}
}

// store writes n pixels of the block.
func store[D Sample](k *streamed, b *block, dst []D, n int) {
	for c := range k.out.channels {
		at, step, row := k.out.at[c], k.out.step, b.v[c][:n]
		if curve := k.codes[c]; curve != nil {
			putCodes(dst, row, at, step, curve)
			continue
		}
		u := k.to[c]
		if k.multiply {
			for i, a := range b.alpha[:n] {
				row[i] *= a
			}
		}
		put(dst, row, at, step, u)
	}
	if k.out.alpha >= 0 {
		put(dst, b.alpha[:n], k.out.alpha, k.out.step, unit32{k.alphaOut, 0})
	}
}

// putCodes writes a channel of pixels as the codes that a curve makes of it.
func putCodes[D Sample](dst []D, row []float32, at, step int, c *curve) {
	lines, shift, base, mask, inverse := c.at, c.shift, c.base-1, c.mask, c.inverse
	for _, x := range row {
		if x > 1 {
			x = 1
		}
		if x >= leastFloat {
			u := math.Float32bits(x)
			l := &lines[int(u>>(shift&31))-base]
			dst[at] = D(int32(l.value + l.rise*(float32(int32(u&mask))*inverse)))
		} else {
			if !(x > 0) {
				x = 0
			}
			dst[at] = D(int32(lines[0].value + lines[0].rise*(x/leastFloat)))
		}
		at += step
	}
}

// put writes a channel of pixels, rounded where samples are whole.
func put[D Sample](dst []D, row []float32, at, step int, u unit32) {
	var zero D
	top := float32(0)
	switch any(zero).(type) {
	case uint8:
		top = 255.5
	case uint16:
		top = 65535.5
	}
	if top == 0 {
		for _, v := range row {
			dst[at] = D(v*u.scale + u.offset)
			at += step
		}
		return
	}
	for _, v := range row {
		w := v*u.scale + u.offset + 0.5
		if !(w >= 1) {
			w = 0
		}
		if w > top {
			w = top
		}
		dst[at] = D(int32(w))
		at += step
	}
}
