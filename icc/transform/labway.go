package transform

import (
	"math"

	"example.org/primaries/icc"
)

// labWay is the way of pixels of 8 or 16 bits through a table that L*a*b* indexes, to
// codes of 8 or 16 bits.
type labWay struct {
	*labSums
	words  *labWords // where all have 8 bits, nil elsewhere
	floats *labFloats
}

// newLabWay returns the way, nil where the steps or the layouts are others.
func (k *Kernel) newLabWay() *labWay {
	if k.from.Depth > Depth16 || k.to.Depth > Depth16 || k.from.Premultiplied || k.to.Premultiplied ||
		k.in.channels != 3 || k.out.channels != 3 || k.t.To() == icc.SpaceLab || k.t.To() == icc.SpaceXYZ {
		return nil
	}
	own, rest := ownSteps(k.t.steps)
	t, n := newLabTable(own, rest)
	if t == nil || len(t.nodes) > mostNodes || !inUnit(rest[:n]) {
		return nil
	}
	curves := rest[n:]
	if len(curves) > 1 || len(curves) == 1 && (curves[0].Kind != icc.StepCurves || !inUnit(curves)) {
		return nil
	}
	w := &labWay{labSums: newLabSums(t, k, own)}
	if w.labSums == nil {
		return nil
	}
	if k.from.Depth == Depth8 && k.to.Depth == Depth8 {
		if w.words = newLabWords(w.labSums, k, curves); w.words != nil {
			return w
		}
	}
	if w.floats = newLabFloats(w.labSums, k, curves); w.floats == nil {
		return nil
	}
	return w
}

// mostNodes is what an index of 16 bits reaches. The neighbours of the last nodes,
// which count for nothing, lie anywhere.
const mostNodes = 1 << 16

// endCurves has, for each sample of a pixel, the codes that the curves at the end make
// of codes of 16 bits; nil for none.
type endCurves [3]*[1 << 16]uint16

// newEndCurves returns the codes, false where they are too steep for codes that are
// known to so many bits only.
func newEndCurves(curves []step, k *Kernel, bits int) (e endCurves, ok bool) {
	if len(curves) == 0 {
		return e, true
	}
	top, apart := k.to.Depth.top(), 1<<(16-bits)
	var last [16]float64
	for sample := range e {
		channel := k.to.order(sample)
		if sample > 0 && curves[0].SameCurve(channel, k.to.order(sample-1)) {
			e[sample] = e[sample-1]
			continue
		}
		e[sample] = new([1 << 16]uint16)
		for i := range e[sample] {
			v := curves[0].Curve(channel, float64(i)/65535) * top
			// An eighth of a code of 8 bits, 4 codes of 16.
			if i >= apart && math.Abs(v-last[i%apart]) > max(0.125, top/16384) {
				return e, false
			}
			last[i%apart] = v
			e[sample][i] = uint16(whole(v, top))
		}
	}
	return e, true
}

// labRows returns the row function of two depths.
func labRows(from, to Depth, k *streamed, w *labWay) any {
	switch {
	case w.words != nil:
		return labRow(k, w.of8, w.words.read)
	case from == Depth8:
		return labRow(k, w.of8, readFloats[uint16](w.floats))
	case to == Depth8:
		return labRow(k, w.of16, readFloats[uint8](w.floats))
	}
	return labRow(k, w.of16, readFloats[uint16](w.floats))
}

func labRow[D, S uint8 | uint16](k *streamed, sums func(b *block, src []S, n int), read func(dst []D, b *block, n int)) func(dst []D, src []S, n int) {
	return blockRow(k, func(b *block, dst []D, src []S, n int) {
		sums(b, src, n)
		read(dst, b, n)
	})
}
