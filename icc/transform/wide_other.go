//go:build !(goexperiment.simd && amd64)

package transform

// Blocks are this many pixels, few enough to stay in the nearest cache.
const blockPixels = 512

// What follows stands for passes by vectors where there are none.

type block = pixelBlock

func newWideCurves(*step) pass { return nil }

func (*Kernel) wideWay() (row any, bound string) { return nil, "" }

func newWideTable(*table) pass { return nil }

type wideLab struct{}

func newWideLab(*labTable) *wideLab { return nil }

func (*wideLab) find(*block, int) bool { return false }
func (*wideLab) read(*block, int) bool { return false }

func (limit) wide(*block, int) bool   { return false }
func (*affine) wide(*block, int) bool { return false }
func (toLab) wide(*block, int) bool   { return false }
func (toXYZ) wide(*block, int) bool   { return false }
