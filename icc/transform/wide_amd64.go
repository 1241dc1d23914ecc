//go:build goexperiment.simd && amd64

package transform

import "simd/archsimd"

// vectors says that the processor has what the passes by vectors take: registers of
// sixteen float32, and permutations of two of them and of their bytes. Without, the
// portable passes run.
//
// What is written for vectors has two habits. It clears the upper halves of registers
// when it ends, without which portable code behind it took three times as long (Zen 4).
// And loops keep within 15 registers, all that the compiler gives out: one more, and
// what it puts by on the stack costs more than it saves.
var vectors = archsimd.X86.AVX512() && archsimd.X86.AVX512VBMI() && archsimd.X86.FMA()

// Blocks are this many pixels, few enough to stay in the nearest cache with the room
// that vectors take. With 512, as in other builds, a matrix took a fifth more.
const blockPixels = 256

// block is what passes change.
type block struct {
	pixelBlock
	wide wideRoom
}

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
		if out[c] = newWideCurve(func(x float64) float64 { return s.Curve(c, x) }, s.Bends(c)); out[c] == nil {
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

// wideWay returns the row function that reads and writes pixels of three or four
// samples by vectors, nil for others, and where a portable one has tables of whole
// samples for a curve that is no wideCurve.
func (k *Kernel) wideWay() (row any, bound string) {
	if !vectors || k.from.Premultiplied || k.to.Premultiplied || k.from.Depth > Float32 || k.to.Depth > Float32 ||
		k.in.step != 3 && k.in.step != 4 || k.out.step != 3 && k.out.step != 4 {
		return nil, ""
	}
	s := k.plainStream()
	steps := k.t.steps
	if k.from.Depth == Depth8 {
		steps = s.look(steps, k)
	}
	var ok bool
	if s.passes, ok = passes(k.t.steps[:len(k.t.steps)-len(steps)], steps); !ok {
		return nil, ""
	}
	for _, p := range s.passes {
		switch p.(type) {
		case curves:
			if k.from.Depth == Depth16 || k.to.Depth <= Depth16 {
				return nil, ""
			}
		}
	}
	w := &wideStream{streamed: s, load: newOrder(&s.in, s.from, s.alphaIn), store: newOrder(&s.out, s.to, s.alphaOut)}
	if k.from.Depth == Depth8 {
		w.begin()
	}
	w.finish(k)
	return [...]any{wideInto[uint8](k.to.Depth, w), wideInto[uint16](k.to.Depth, w), wideInto[float32](k.to.Depth, w)}[k.from.Depth], streamBound
}
