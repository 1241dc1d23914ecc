package transform

// compile chooses the kernel's row function: the first way that takes its steps and
// layouts, and at last the chain itself.
func (k *Kernel) compile() {
	if k.t.o.Precision == Bounded {
		for _, way := range []func() (row any, bound string){k.wideWay, k.matrix8Way, k.matrix16Way, k.labWay, k.streamWay} {
			if k.row, k.bound = way(); k.row != nil {
				return
			}
		}
	}
	k.row, k.bound = exactRows(k.from.Depth, k.to.Depth, k.exact()), "the rounding of the samples themselves"
}

// streamBound is what float32 and tables of curves cost.
const streamBound = "5e-5 of full scale through curves and matrices, 5e-4 through tables, 0.005 in L*a*b*, and the rounding of the samples themselves; " +
	"ten times as much in the dark where channels nearly cancel before a steep curve, and more where a curve jumps"

func (k *Kernel) matrix8Way() (row any, bound string) {
	m := k.matrix8()
	if m == nil {
		return nil, ""
	}
	return m.row, "one code of 255, in far less than one pixel of a hundred"
}

func (k *Kernel) matrix16Way() (row any, bound string) {
	m := k.matrix16()
	if m == nil {
		return nil, ""
	}
	return matrixRows(k.from.Depth, k.to.Depth, k.plainStream(), m), streamBound
}

func (k *Kernel) labWay() (row any, bound string) {
	w := k.newLabWay()
	if w == nil {
		return nil, ""
	}
	return labRows(k.from.Depth, k.to.Depth, k.plainStream(), w), streamBound
}

func (k *Kernel) streamWay() (row any, bound string) {
	s := k.stream()
	if s == nil {
		return nil, ""
	}
	return streamRows(k.from.Depth, k.to.Depth, s), streamBound
}

// streamRows returns the row function of two depths, which Depth counts.
func streamRows(from, to Depth, k *streamed) any {
	return [...]any{streamInto[uint8](to, k), streamInto[uint16](to, k), streamInto[float32](to, k), streamInto[float64](to, k)}[from]
}

func streamInto[S Sample](to Depth, k *streamed) any {
	return [...]any{streamRow[uint8, S](k), streamRow[uint16, S](k), streamRow[float32, S](k), streamRow[float64, S](k)}[to]
}

// exactRows is streamRows for the exact precision.
func exactRows(from, to Depth, k *exact) any {
	return [...]any{exactInto[uint8](to, k), exactInto[uint16](to, k), exactInto[float32](to, k), exactInto[float64](to, k)}[from]
}

func exactInto[S Sample](to Depth, k *exact) any {
	return [...]any{exactRow[uint8, S](k), exactRow[uint16, S](k), exactRow[float32, S](k), exactRow[float64, S](k)}[to]
}
