package hardware_test

import (
	"context"
	"math"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/fit"
	"example.org/primaries/fit/hardware"
)

// additive is a display whose channels do not disturb each other, in closed
// form. All of it is invented.
type additive struct {
	black colorimetry.XYZ
	mix   colorimetry.Matrix // at full signal
	gamma [3]float64
}

func (a additive) Name() string { return "closed form" }

func (a additive) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	s = s.Clamp()
	return a.black.Add(a.mix.FromLinear(colorimetry.RGB{R: math.Pow(s.R, a.gamma[0]), G: math.Pow(s.G, a.gamma[1]), B: math.Pow(s.B, a.gamma[2])}))
}

func (a additive) Jacobian(colorimetry.RGB) colorimetry.Matrix   { return colorimetry.Matrix{} }
func (a additive) Covariance(colorimetry.RGB) colorimetry.Matrix { return colorimetry.Matrix{} }

// matrix returns the primaries of an encoding at a luminance of white in cd/m².
func matrix(t testing.TB, s rgb.Space, cdM2 float64) colorimetry.Matrix {
	t.Helper()
	m, err := s.Matrix()
	if err != nil {
		t.Fatal(err)
	}
	return m.Scale(cdM2)
}

// wide is a display of P3's primaries, 120 cd/m², black without light.
func wide(t testing.TB) additive {
	return additive{mix: matrix(t, rgb.DisplayP3(), 120), gamma: [3]float64{2.2, 2.25, 2.1}}
}

// truth is a display as a function, taken for a model that knows everything.
type truth func(colorimetry.RGB) colorimetry.XYZ

func (f truth) Name() string                                  { return "truth" }
func (f truth) XYZ(s colorimetry.RGB) colorimetry.XYZ         { return f(s) }
func (f truth) Jacobian(colorimetry.RGB) colorimetry.Matrix   { return colorimetry.Matrix{} }
func (f truth) Covariance(colorimetry.RGB) colorimetry.Matrix { return colorimetry.Matrix{} }

// invented are displays whose channels disturb each other.
var invented = []simulate.Example{simulate.CoupledLCD, simulate.SaggingPanel, simulate.FourSubpixels}

// exact returns an invented display as a model: the simulator's truth at 16 bits.
func exact(e simulate.Example) truth {
	return simulate.Invented(e, simulate.Options{Bits: 16}).Truth
}

func build(t testing.TB, m fit.Model, w hardware.Want, o hardware.Options) (hardware.Table, hardware.Diagnostics) {
	t.Helper()
	table, d, err := hardware.Build(context.Background(), m, w, o)
	if err != nil {
		t.Fatal(err)
	}
	return table, d
}

// difference2000 is CIEDE2000 under a white.
func difference2000(a, b, white colorimetry.XYZ) float64 {
	return difference.CIEDE2000(a.Lab(white), b.Lab(white))
}
