package transform

// compile chooses the kernel's row function.
func (k *Kernel) compile() {
	if k.t.o.Precision == Bounded {
		if row := k.wideRow(); row != nil {
			k.row, k.bound = row, streamBound
			return
		}
		if m := k.matrix8(); m != nil {
			k.row, k.bound = m.row, "one code of 255, in far less than one pixel of a hundred"
			return
		}
		if s := k.stream(); s != nil {
			k.row, k.bound = streamRows(k.from.Depth, k.to.Depth, s), streamBound
			if s.first != nil {
				k.row = laneRows(k.to.Depth, s)
			}
			return
		}
	}
	k.row, k.bound = exactRows(k.from.Depth, k.to.Depth, k.exact()), "the rounding of the samples themselves"
}

// streamBound is what float32 and tables of curves cost.
const streamBound = "5e-5 of full scale through curves and matrices, 5e-4 through tables, 0.005 in L*a*b*, and the rounding of the samples themselves"

// streamRows returns the row function of two depths, which Depth counts.
func streamRows(from, to Depth, k *streamed) any {
	return [...]any{streamInto[uint8](to, k), streamInto[uint16](to, k), streamInto[float32](to, k), streamInto[float64](to, k)}[from]
}

func streamInto[S Sample](to Depth, k *streamed) any {
	return [...]any{streamRow[uint8, S](k), streamRow[uint16, S](k), streamRow[float32, S](k), streamRow[float64, S](k)}[to]
}

// laneRows is streamRows for pixels of 8 bits that begin with lanes.
func laneRows(to Depth, k *streamed) any {
	return [...]any{laneRow[uint8](k), laneRow[uint16](k), laneRow[float32](k), laneRow[float64](k)}[to]
}

// exactRows is streamRows for the exact precision.
func exactRows(from, to Depth, k *exact) any {
	return [...]any{exactInto[uint8](to, k), exactInto[uint16](to, k), exactInto[float32](to, k), exactInto[float64](to, k)}[from]
}

func exactInto[S Sample](to Depth, k *exact) any {
	return [...]any{exactRow[uint8, S](k), exactRow[uint16, S](k), exactRow[float32, S](k), exactRow[float64, S](k)}[to]
}
