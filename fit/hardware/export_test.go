package hardware

import (
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

func WantedOf(m fit.Model, w Want, s colorimetry.RGB) colorimetry.XYZ {
	d, _ := newDisplay(m)
	t, _ := w.on(d)
	return t.wanted(s)
}
