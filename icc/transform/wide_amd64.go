//go:build goexperiment.simd && amd64

package transform

import (
	"simd/archsimd"

	"example.org/primaries/icc"
)

// vectors says that the processor has what the passes by vectors take: registers of
// sixteen float32 and permutations of two of them. Without, the portable passes run.
var vectors = archsimd.X86.AVX512() && archsimd.X86.FMA()

// wideRoom is what a block holds for passes by vectors.
type wideRoom struct {
	samples       [planes * blockPixels]float32 // of pixels of up to four
	cubic         [blockPixels]uint32           // of a wideCurve
	second, third [blockPixels]int32            // corners of a tetrahedron, where cell has the first
	bytes         wideBytes
}

// wideCurves is a pass of one curve for each channel.
type wideCurves []*wideCurve

// newWideCurves returns the pass of a step, nil where there is none.
func newWideCurves(s *step) pass {
	if !vectors {
		return nil
	}
	out := make(wideCurves, s.Inputs)
	for c := range out {
		if c > 0 && s.SameCurve(c, c-1) {
			out[c] = out[c-1]
			continue
		}
		if out[c] = newWideCurve(func(x float64) float64 { return s.Curve(c, x) }); out[c] == nil {
			return nil
		}
	}
	return out
}

func (w wideCurves) run(b *block, n int) {
	for c, curve := range w {
		curve.run(&b.v[c], &b.wide.cubic, n)
	}
}

// wideRow returns the row function that reads and writes pixels of three or four
// samples by vectors, nil for others, and where the portable one has tables of whole
// samples for a curve that is no wideCurve.
func (k *Kernel) wideRow() any {
	if !vectors || k.from.Premultiplied || k.to.Premultiplied || k.from.Depth > Float32 || k.to.Depth > Float32 ||
		k.in.step != 3 && k.in.step != 4 || k.out.step != 3 && k.out.step != 4 {
		return nil
	}
	if _, _, _, ok := shape(k.t.steps); ok && k.from.Depth == Depth8 && k.to.Depth == Depth8 && !(byteVectors && k.in.step == 3 && k.out.step == 3) {
		return nil // matrix8 takes less time
	}
	s := k.plainStream()
	steps := k.t.steps
	if k.from.Depth == Depth8 {
		steps = s.look(steps, k)
	}
	var ok bool
	if s.passes, ok = passes(k.t.steps[:len(k.t.steps)-len(steps)], steps); !ok {
		return nil
	}
	for _, p := range s.passes {
		switch p.(type) {
		case curves, curvesByStep:
			if k.from.Depth == Depth16 || k.to.Depth <= Depth16 {
				return nil
			}
		}
	}
	w := &wideStream{streamed: s, load: newOrder(&s.in, s.from, s.alphaIn), store: newOrder(&s.out, s.to, s.alphaOut)}
	if k.from.Depth == Depth8 {
		w.begin()
	}
	w.finish(k)
	return [...]any{wideInto[uint8](k.to.Depth, w), wideInto[uint16](k.to.Depth, w), wideInto[float32](k.to.Depth, w)}[k.from.Depth]
}

// sampler is a pass that finds all channels of a pixel at once: sample leaves them as
// four samples a pixel, which run turns into planes.
type sampler interface {
	pass
	sample(b *block, n int)
}

// wideStream is a block kernel by vectors.
type wideStream struct {
	*streamed
	load, store order
	codes       [planes][256]float32 // of 8 bits, in the order of memory: what each becomes before passes
	parts       [3]*byteTable        // of codes, where pixels have three, and there are vectors of bytes
	ends        wideCurves           // the last pass where it leads to codes of 8 bits, scaled to them, or nil
	last        sampler              // the last pass where its samples are squeezed into pixels, or nil
	squeeze
}

// begin fills codes from lookup.
func (w *wideStream) begin() {
	for c := range w.in.channels {
		copy(w.codes[w.in.at[c]][:], w.lookup[c])
	}
	if w.in.alpha >= 0 {
		for i := range w.codes[w.in.alpha] {
			w.codes[w.in.alpha][i] = float32(i) * w.alphaIn
		}
	}
	if byteVectors && w.in.step == 3 {
		for c := range w.parts {
			w.parts[c] = newByteTable(&w.codes[c])
		}
	}
}

// finish takes the last pass apart where pixels have three samples and it leaves
// samples, or is of curves that end in codes of 8 bits.
func (w *wideStream) finish(k *Kernel) {
	if len(w.passes) == 0 || w.out.step != 3 {
		return
	}
	switch last := w.passes[len(w.passes)-1].(type) {
	case sampler:
		w.last, w.squeeze = last, newSqueeze(&w.out, w.to)
	case wideCurves:
		if !byteVectors || k.to.Depth != Depth8 || k.t.To() == icc.SpaceLab || !inUnit(k.t.steps) {
			return
		}
		w.ends = make(wideCurves, 3)
		for c := range w.ends {
			w.ends[w.out.at[c]] = last[c].scaled(255)
		}
	default:
		return
	}
	w.passes = w.passes[:len(w.passes)-1]
}

func wideInto[S Sample](to Depth, s *wideStream) any {
	return [...]any{wideRowOf[uint8, S](s), wideRowOf[uint16, S](s), wideRowOf[float32, S](s)}[to]
}

// wideRowOf returns the row function of two kinds of samples.
func wideRowOf[D, S Sample](k *wideStream) func(dst []D, src []S, n int) {
	return func(dst []D, src []S, n int) {
		b := k.blocks.Get().(*block)
		defer k.blocks.Put(b)
		for n > 0 {
			m := min(n, blockPixels)
			wideLoad(k, b, src[:m*k.in.step], m)
			for _, p := range k.passes {
				p.run(b, m)
			}
			wideStore(k, b, dst[:m*k.out.step], m)
			n -= m
			src, dst = src[m*k.in.step:], dst[m*k.out.step:]
		}
	}
}

// wideLoad fills the block with n pixels.
func wideLoad[S Sample](k *wideStream, b *block, src []S, n int) {
	if bytes, ok := any(src).([]uint8); ok {
		k.look(b, bytes, n)
	} else {
		samples, ready := any(src).([]float32)
		if !ready || n%wideLanes != 0 {
			samples = b.wide.samples[:]
			widen(samples, src)
		}
		k.load.split(b, samples, n, k.in.step)
	}
	if k.in.alpha < 0 && k.out.alpha >= 0 {
		for i := range b.alpha[:n] {
			b.alpha[i] = 1
		}
	}
}

// look fills planes with what codes become.
func (w *wideStream) look(b *block, src []uint8, n int) {
	if w.parts[0] != nil {
		b.wide.bytes.split(src, n)
		for c, t := range w.parts {
			b.wide.bytes.look(t, &b.wide.bytes.plane[c], w.load.row(b, c), n)
		}
		return
	}
	x, y, z := w.load.row(b, 0)[:n], w.load.row(b, 1)[:n], w.load.row(b, 2)[:n]
	if w.in.step == 3 {
		for i := range x {
			s := src[3*i : 3*i+3]
			x[i], y[i], z[i] = w.codes[0][s[0]], w.codes[1][s[1]], w.codes[2][s[2]]
		}
		return
	}
	v := w.load.row(b, 3)[:n]
	for i := range x {
		s := src[4*i : 4*i+4]
		x[i], y[i], z[i], v[i] = w.codes[0][s[0]], w.codes[1][s[1]], w.codes[2][s[2]], w.codes[3][s[3]]
	}
}

// wideStore writes n pixels of the block.
func wideStore[D Sample](k *wideStream, b *block, dst []D, n int) {
	if bytes, ok := any(dst).([]uint8); ok && byteVectors && k.out.step == 3 && k.last == nil {
		for c := range 3 {
			row, codes := k.store.row(b, c), &b.wide.bytes.plane[c]
			if k.ends != nil {
				k.ends[c].codes(codes, row, &b.wide.cubic, n)
			} else {
				b.wide.bytes.code(codes, row, k.store.unit[c], n)
			}
		}
		b.wide.bytes.join(bytes, n)
		return
	}
	samples, ready := any(dst).([]float32)
	if !ready || n%wideLanes != 0 {
		samples = b.wide.samples[:]
	}
	if k.last != nil {
		k.last.sample(b, n)
		k.squeeze.run(samples, b.wide.samples[:], n)
	} else {
		k.store.join(b, samples, n, k.out.step)
	}
	if !ready || n%wideLanes != 0 {
		narrow(dst, samples)
	}
}
