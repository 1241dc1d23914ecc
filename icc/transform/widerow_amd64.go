//go:build goexperiment.simd && amd64

package transform

import "example.org/primaries/icc"

// sampler is a pass that finds all channels of a pixel at once: sample leaves them as
// four samples a pixel, which run turns into planes.
type sampler interface {
	pass
	sample(b *block, n int)
}

// wideStream is a block kernel by vectors. What it has for each sample of a pixel is in
// the order of memory.
type wideStream struct {
	*streamed
	load, store order
	codes       [planes]*byteTable // of 8 bits: what they become before passes
	ends        [planes]*wideCurve // the last pass where it leads to codes of 8 bits, scaled to them, or nil
	last        sampler            // the last pass where its samples are squeezed into pixels, or nil
	squeeze
}

// begin fills codes.
func (w *wideStream) begin() {
	for c := range w.in.channels {
		w.codes[w.in.at[c]] = newByteTable(func(code int) float32 { return w.lookup[c][code] })
	}
	if w.in.alpha >= 0 {
		w.codes[w.in.alpha] = newByteTable(func(code int) float32 { return float32(code) * w.alphaIn })
	}
}

// finish takes the last pass apart where it leaves samples that pixels have three of,
// or is of curves that end in codes of 8 bits.
func (w *wideStream) finish(k *Kernel) {
	if len(w.passes) == 0 {
		return
	}
	switch last := w.passes[len(w.passes)-1].(type) {
	case sampler:
		if w.out.step != 3 || w.out.channels != 3 {
			return
		}
		w.last, w.squeeze = last, newSqueeze(&w.out, w.to)
	case wideCurves:
		if k.to.Depth != Depth8 || k.t.To() == icc.SpaceLab || !inUnit(k.t.steps) {
			return
		}
		for c, curve := range last {
			w.ends[w.out.at[c]] = curve.scaled(255)
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
	return inBlocks(k.streamed, func(b *block, dst []D, src []S, n int) {
		wideLoad(k, b, src[:n*k.in.step], n)
		for _, p := range k.passes {
			p.run(b, n)
		}
		wideStore(k, b, dst[:n*k.out.step], n)
	})
}

// wideLoad fills the block with n pixels.
func wideLoad[S Sample](k *wideStream, b *block, src []S, n int) {
	if bytes, ok := any(src).([]uint8); ok {
		b.wide.bytes.split(bytes, n, k.in.step)
		for c := range k.in.step {
			b.wide.bytes.look(k.codes[c], &b.wide.bytes.plane[c], k.load.row(b, c), n)
		}
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

// wideStore writes n pixels of the block.
func wideStore[D Sample](k *wideStream, b *block, dst []D, n int) {
	if bytes, ok := any(dst).([]uint8); ok && k.last == nil {
		for c := range k.out.step {
			row, codes := k.store.row(b, c), &b.wide.bytes.plane[c]
			if end := k.ends[c]; end != nil {
				end.codes(codes, row, &b.wide.cubic, n)
			} else {
				b.wide.bytes.code(codes, row, k.store.unit[c], n)
			}
		}
		b.wide.bytes.join(bytes, n, k.out.step)
		return
	}
	samples, ready := any(dst).([]float32)
	ready = ready && n%wideLanes == 0
	if !ready {
		samples = b.wide.samples[:]
	}
	if k.last != nil {
		k.last.sample(b, n)
		k.squeeze.run(samples, b.wide.samples[:], n)
	} else {
		k.store.join(b, samples, n, k.out.step)
	}
	if !ready {
		narrow(dst, samples)
	}
}
