package transform

import (
	"math"

	"example.org/primaries/icc"
)

// labWay is the way of pixels of 8 or 16 bits through a table that L*a*b* indexes, to
// codes of 8 or 16 bits.
type labWay struct {
	*labSums
	*labCells
}

// newLabWay returns the way, nil where the steps or the layouts are others.
func (k *Kernel) newLabWay() *labWay {
	if k.from.Depth > Depth16 || k.to.Depth > Depth16 || k.from.Premultiplied || k.to.Premultiplied ||
		k.in.channels != 3 || k.out.channels != 3 || k.t.To() == icc.SpaceLab || k.t.To() == icc.SpaceXYZ {
		return nil
	}
	own, rest := ownSteps(k.t.steps)
	t, n := newLabTable(own, rest)
	if t == nil || !inUnit(rest[:n]) {
		return nil
	}
	curves := rest[n:]
	if len(curves) > 1 || len(curves) == 1 && (curves[0].Kind != icc.StepCurves || !inUnit(curves)) {
		return nil
	}
	sums := newLabSums(t, k, own)
	if sums == nil {
		return nil
	}
	cells := newLabCells(sums, k, curves)
	if cells == nil {
		return nil
	}
	return &labWay{sums, cells}
}

// endCurves has, for each sample of a pixel, the codes that the curves at the end make
// of codes of 16 bits; nil for none.
type endCurves [3]*[1 << 16]uint16

// newEndCurves returns the codes, false where a curve is so steep that codes of 16 bits
// are too few before it.
func newEndCurves(curves []step, k *Kernel) (e endCurves, ok bool) {
	if len(curves) == 0 {
		return e, true
	}
	top := k.to.Depth.top()
	for sample := range e {
		channel := k.to.order(sample)
		if sample > 0 && curves[0].SameCurve(channel, k.to.order(sample-1)) {
			e[sample] = e[sample-1]
			continue
		}
		e[sample] = new([1 << 16]uint16)
		last := math.NaN()
		for i := range e[sample] {
			v := curves[0].Curve(channel, float64(i)/65535) * top
			// An eighth of a code of 8 bits, 4 codes of 16.
			if math.Abs(v-last) > max(0.125, top/16384) {
				return e, false
			}
			last = v
			e[sample][i] = uint16(whole(v, top))
		}
	}
	return e, true
}

// labRows returns the row function of two depths.
func labRows(from, to Depth, k *streamed, w *labWay) any {
	switch {
	case from == Depth8 && to == Depth8:
		return labRow(k, w.of8, readCells[uint8](w.labCells))
	case from == Depth8:
		return labRow(k, w.of8, readCells[uint16](w.labCells))
	case to == Depth8:
		return labRow(k, w.of16, readCells[uint8](w.labCells))
	}
	return labRow(k, w.of16, readCells[uint16](w.labCells))
}

func labRow[D, S uint8 | uint16](k *streamed, sums func(b *block, src []S, n int), read func(dst []D, b *block, n int)) func(dst []D, src []S, n int) {
	return blockRow(k, func(b *block, dst []D, src []S, n int) {
		sums(b, src, n)
		read(dst, b, n)
	})
}
