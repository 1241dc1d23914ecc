package transform

// compile chooses the kernel's row function.
func (k *Kernel) compile() {
	if k.t.o.Precision == Bounded {
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

// streamRows returns the row function of two depths.
func streamRows(from, to Depth, k *streamed) any {
	switch from {
	case Depth8:
		return streamInto[uint8](to, k)
	case Depth16:
		return streamInto[uint16](to, k)
	case Float32:
		return streamInto[float32](to, k)
	}
	return streamInto[float64](to, k)
}

func streamInto[S Sample](to Depth, k *streamed) any {
	switch to {
	case Depth8:
		return streamRow[uint8, S](k)
	case Depth16:
		return streamRow[uint16, S](k)
	case Float32:
		return streamRow[float32, S](k)
	}
	return streamRow[float64, S](k)
}

// exactRows returns the row function of two depths.
func exactRows(from, to Depth, k *exact) any {
	switch from {
	case Depth8:
		return exactInto[uint8](to, k)
	case Depth16:
		return exactInto[uint16](to, k)
	case Float32:
		return exactInto[float32](to, k)
	}
	return exactInto[float64](to, k)
}

func exactInto[S Sample](to Depth, k *exact) any {
	switch to {
	case Depth8:
		return exactRow[uint8, S](k)
	case Depth16:
		return exactRow[uint16, S](k)
	case Float32:
		return exactRow[float32, S](k)
	}
	return exactRow[float64, S](k)
}
