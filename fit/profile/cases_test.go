package profile_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// truth is a display's truth as a model.
type truth struct {
	fit.Model
	show func(colorimetry.RGB) colorimetry.XYZ
}

func (t truth) Name() string                          { return "truth" }
func (t truth) XYZ(s colorimetry.RGB) colorimetry.XYZ { return t.show(s.Clamp()) }

// example is an invented display's truth through a path of 16 bits. With the usual
// 10, truth has steps that no table follows, and no fitted model has: they alone
// come to a mean of 0.05 ΔE00.
func example(e simulate.Example) fit.Model {
	return truth{show: simulate.Invented(e, simulate.Options{Bits: 16}).Truth}
}
func tabled(version icc.Version) (o profile.Options) {
	o = options()
	o.Version, o.Kind = version, profile.KindTable
	return o
}
func lab(c colorimetry.XYZ) colorimetry.Lab { return c.Lab(colorimetry.D50()) }

// narrow is a display of sRGB's primaries, which shows little of BT.2020.
var narrow = func() model {
	m := leaky
	m.primaries, _ = rgb.SRGB().Matrix()
	m.primaries = m.primaries.Scale(100)
	m.black = m.primaries.FromLinear(colorimetry.Gray(0.001))
	return m
}()

// A tableCase is a display and its profiles with tables of full size, which are
// made once for all tests.
type tableCase struct {
	name string
	m    fit.Model
	made map[icc.Version]func() (profile.Result, error)
}

var tableCases = []tableCase{
	newCase("additive", leaky, profile.MappingNearest),
	newCase("additive, coloured black", flare, profile.MappingNearest),
	newCase("coupled", example(simulate.CoupledLCD), profile.MappingNearest),
	newCase("sagging", example(simulate.SaggingPanel), profile.MappingNearest),
}

var (
	narrowCase = newCase("narrow", narrow, profile.MappingNearest)
	greyCase   = newCase("narrow, towards grey", narrow, profile.MappingToGrey)
)

func newCase(name string, m fit.Model, mapping profile.Mapping) tableCase {
	c := tableCase{name, m, map[icc.Version]func() (profile.Result, error){}}
	for _, version := range []icc.Version{profile.V4, profile.V2} {
		c.made[version] = sync.OnceValues(func() (profile.Result, error) {
			o := tabled(version)
			o.Grid, o.Mapping = 33, mapping
			return profile.Build(m, c.white(), tone.Channels{}, o)
		})
	}
	return c
}

func (c tableCase) white() colorimetry.XYZ { return c.m.XYZ(colorimetry.Gray(1)) }

// profile returns the case's profile of a version and its two ways in an intent.
func (c tableCase) profile(t testing.TB, version icc.Version, intent icc.Intent) (profile.Result, *icc.Evaluator) {
	t.Helper()
	r, err := c.made[version]()
	if err != nil {
		t.Fatal(err)
	}
	e, err := icc.NewEvaluator(r.Profile, intent)
	if err != nil {
		t.Fatal(err)
	}
	return r, e
}

// signals are those that tables are judged on here: other ones than Build's own.
func signals(n int) []colorimetry.RGB {
	rng := rand.New(rand.NewPCG(9, 9))
	var out []colorimetry.RGB
	for i := range n {
		k := 1.0
		if i%4 == 0 {
			k = 0.15
		}
		s := colorimetry.RGB{R: k * rng.Float64(), G: k * rng.Float64(), B: k * rng.Float64()}
		switch i % 8 {
		case 1:
			s = colorimetry.Gray(s.R)
		case 3:
			s.R = math.Round(s.R)
		case 5:
			s.G, s.B = math.Round(s.G), math.Round(s.B)
		}
		out = append(out, s)
	}
	return out
}

// bt2020 leads from linear light of ITU-R BT.2020 to the connection space, its
// black put where an intent of narrow's profile has the display's: that of the
// medium in version 4's perceptual tables (ICC.1:2022, 6.3.3), else its own.
func bt2020(version icc.Version, intent icc.Intent) (func(colorimetry.RGB) colorimetry.XYZ, error) {
	s := rgb.BT2020()
	wide, err := s.Matrix()
	if err != nil {
		return nil, err
	}
	chad, err := colorimetry.Bradford(s.White.XYZ(1), colorimetry.D50())
	if err != nil {
		return nil, err
	}
	wide = chad.Mul(wide)
	black := 0.001
	switch {
	case intent == icc.Relative:
		black = 0 // as pictures are coded
	case version == profile.V4:
		black = 0.0034731
	}
	return func(l colorimetry.RGB) colorimetry.XYZ {
		return wide.FromLinear(l).Scale(1 - black).Add(colorimetry.D50().Scale(black))
	}, nil
}
