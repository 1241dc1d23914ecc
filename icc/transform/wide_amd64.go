//go:build goexperiment.simd && amd64

package transform

import "simd/archsimd"

// vectors says that the processor has what the passes by vectors take: registers of
// sixteen float32 and permutations of two of them. Without, the portable passes run.
var vectors = archsimd.X86.AVX512() && archsimd.X86.FMA()

// wideRoom is what a block holds for passes by vectors.
type wideRoom struct {
	samples       [planes * blockPixels]float32 // of pixels of up to four
	cubic         [blockPixels]uint32           // of a wideCurve
	second, third [blockPixels]int32            // corners of a tetrahedron, where cell has the first
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

// wideRow returns the row function of pixels of three or four samples whose curves,
// if any, are all wideCurves, nil for others. Samples are then read and written by
// vectors, and what would be read from tables of whole samples is computed.
func (k *Kernel) wideRow() any {
	if !vectors || k.from.Premultiplied || k.to.Premultiplied || k.from.Depth > Float32 || k.to.Depth > Float32 ||
		k.in.step != 3 && k.in.step != 4 || k.out.step != 3 && k.out.step != 4 {
		return nil
	}
	s := k.plainStream()
	var ok bool
	if s.passes, ok = passes(nil, k.t.steps); !ok {
		return nil
	}
	for _, p := range s.passes {
		switch p.(type) {
		case curves, curvesByStep:
			return nil
		}
	}
	w := &wideStream{streamed: s}
	w.finish()
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
	last sampler // the last pass where its samples are squeezed into pixels, or nil
	squeeze
}

// finish takes the last pass apart where it leaves samples and pixels have three.
func (w *wideStream) finish() {
	if len(w.passes) == 0 || w.out.step != 3 {
		return
	}
	if last, ok := w.passes[len(w.passes)-1].(sampler); ok {
		w.last, w.passes = last, w.passes[:len(w.passes)-1]
		w.squeeze = newSqueeze(&w.out, w.to)
	}
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
	samples, ready := any(src).([]float32)
	if !ready || n%wideLanes != 0 {
		samples = b.wide.samples[:]
		widen(samples, src)
	}
	o := b.order(&k.in, k.from, k.alphaIn)
	o.split(samples, n, k.in.step)
	if k.in.alpha < 0 && k.out.alpha >= 0 {
		for i := range b.alpha[:n] {
			b.alpha[i] = 1
		}
	}
}

// wideStore writes n pixels of the block.
func wideStore[D Sample](k *wideStream, b *block, dst []D, n int) {
	samples, ready := any(dst).([]float32)
	if !ready || n%wideLanes != 0 {
		samples = b.wide.samples[:]
	}
	if k.last != nil {
		k.last.sample(b, n)
		k.squeeze.run(samples, b.wide.samples[:], n)
	} else {
		o := b.order(&k.out, k.to, k.alphaOut)
		o.join(samples, n, k.out.step)
	}
	if !ready || n%wideLanes != 0 {
		narrow(dst, samples)
	}
}
