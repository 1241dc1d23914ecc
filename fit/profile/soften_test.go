package profile_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// reach is the solids, in Oklab by hue, of the narrow display as the connection
// space has it in version 2, and of BT.2020 on its black.
type reach struct {
	own, wide *gamut.Hues
	space     gamut.Space
}

var reaches = sync.OnceValues(func() (r reach, err error) {
	if r.space, err = gamut.Oklab(colorimetry.D50()); err != nil {
		return r, err
	}
	white := narrow.White()
	chad, err := colorimetry.Bradford(white.Scale(1/white.Y), colorimetry.D50())
	if err != nil {
		return r, err
	}
	colour, err := bt2020(profile.V2, icc.Perceptual)
	if err != nil {
		return r, err
	}
	own, err := gamut.New(func(s colorimetry.RGB) colorimetry.XYZ {
		return chad.Apply(narrow.XYZ(s)).Scale(1 / white.Y)
	}, r.space, gamut.Options{Steps: 64})
	if err != nil {
		return r, err
	}
	wide, err := gamut.New(func(s colorimetry.RGB) colorimetry.XYZ {
		return colour(colorimetry.RGB{R: math.Pow(s.R, 2.4), G: math.Pow(s.G, 2.4), B: math.Pow(s.B, 2.4)})
	}, r.space, gamut.Options{Steps: 64})
	if err != nil {
		return r, err
	}
	r.own, r.wide = own.Hues(), wide.Hues()
	return r, nil
})

// Perceptual tables, through the bytes, along lines of one lightness and hue from
// grey to the end of BT.2020: what the display has well inside stays, chroma does
// not fall, lightness and hue stay, and what a colorimetric table would make one
// colour still differs. Right at a ridge of the gamut, as at magenta's, what lies
// between nodes leaves a ripple of a hundredth of the chroma.
func TestPerceptualSoftens(t *testing.T) {
	t.Parallel()
	for _, version := range []icc.Version{profile.V4, profile.V2} {
		t.Run(fmt.Sprint(version), func(t *testing.T) { softens(t, version) })
	}
}

func softens(t *testing.T, version icc.Version) {
	r, err := reaches()
	if err != nil {
		t.Fatal(err)
	}
	own, wide, space := r.own, r.wide, r.space
	_, soft := narrowCase.profile(t, version, icc.Perceptual)
	_, hard := narrowCase.profile(t, version, icc.Relative)
	// What the display shows lies higher in version 4's perceptual tables: its
	// black of 0.001 is the medium's there (ICC.1:2022, 6.3.3), its white D50.
	scale := 1.0
	if version == profile.V4 {
		scale = (1 - 0.0034731) / (1 - 0.001)
	}
	lift := func(c colorimetry.XYZ, s float64) colorimetry.XYZ {
		return c.Scale(s).Add(colorimetry.D50().Scale(1 - s))
	}
	shown := func(c colorimetry.XYZ) colorimetry.XYZ {
		return lift(soft.ToPCS(soft.FromPCS(lift(c, scale))), 1/scale)
	}
	clipped := func(c colorimetry.XYZ) colorimetry.XYZ { return hard.ToPCS(hard.FromPCS(c)) }
	var inside, fell, lifted, turned float64
	kept, lost, lines := 0, 0, 0
	for i := range 24 * 6 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i%24) / 24)
		l := 0.3 + 0.1*float64(i/24)
		unit := gamut.Coordinates{L: l, A: cos, B: sin}
		mine, all := own.Reach(l, unit), wide.Reach(l, unit)
		if all < 1.1*mine {
			continue
		}
		lines++
		at := func(show func(colorimetry.XYZ) colorimetry.XYZ, chroma float64) (asked, got colorimetry.XYZ, q gamut.Coordinates) {
			asked, _ = space.XYZ(gamut.Coordinates{L: l, A: chroma * cos, B: chroma * sin})
			got = show(asked)
			q, _ = space.Coordinates(got)
			return asked, got, q
		}
		last := -1.0
		for k := range 41 {
			chroma := all * float64(k) / 40
			asked, got, q := at(shown, chroma)
			now := math.Hypot(q.A, q.B)
			if chroma < 0.75*mine {
				inside = math.Max(inside, difference.CIEDE2000(lab(asked), lab(got)))
			}
			fell = math.Max(fell, last-now)
			last = now
			lifted = math.Max(lifted, math.Abs(q.L-l))
			if chroma > 0.04 {
				turned = math.Max(turned, math.Abs(q.B*cos-q.A*sin))
			}
		}
		_, _, a := at(shown, mine)
		_, _, b := at(shown, all)
		if math.Hypot(b.A, b.B)-math.Hypot(a.A, a.B) > 0.04*mine {
			kept++
		}
		_, _, a = at(clipped, 1.02*mine)
		_, _, b = at(clipped, all)
		if math.Hypot(b.A-a.A, b.B-a.B) < 0.04*mine {
			lost++
		}
	}
	t.Logf("%d lines: well inside %.3f ΔE00, chroma falls by %.4f, lightness moves by %.4f, hue sideways by %.4f; the last part has room on %d, in the colorimetric table on %d", lines, inside, fell, lifted, turned, kept, lines-lost)
	if lines < 50 || inside > 0.3 || fell > 3e-3 || lifted > 0.005 || turned > 0.005 || kept < lines*9/10 || kept <= lines-lost {
		t.Error("want at most 0.3, 0.003, 0.005 and 0.005, and room on nine of ten lines")
	}
}

// A knee of 1 leaves perceptual tables as the colorimetric ones are, but for the
// black: version 2's are the same bytes.
func TestKneeOfOne(t *testing.T) {
	t.Parallel()
	o := tabled(profile.V2)
	o.Grid, o.Knee = 17, 1
	r, _ := build(t, narrow, narrow.White(), tone.Channels{}, o)
	a, b := r.Profile.Value(icc.TagBToA0).(icc.Lut16), r.Profile.Value(icc.TagBToA1).(icc.Lut16)
	for i, w := range a.Table.Words {
		if w != b.Table.Words[i] {
			t.Fatalf("entry %d is %d in the perceptual table and %d in the colorimetric one", i, w, b.Table.Words[i])
		}
	}
}

// MappingToGrey keeps lightness where MappingNearest moves it.
func TestMappingToGrey(t *testing.T) {
	t.Parallel()
	r, err := reaches()
	if err != nil {
		t.Fatal(err)
	}
	own, wide, space := r.own, r.wide, r.space
	var move [2]float64
	for k, c := range []tableCase{narrowCase, greyCase} {
		_, e := c.profile(t, profile.V4, icc.Relative)
		n := 0
		for i := range 24 * 6 {
			sin, cos := math.Sincos(2 * math.Pi * float64(i%24) / 24)
			l := 0.3 + 0.1*float64(i/24)
			unit := gamut.Coordinates{L: l, A: cos, B: sin}
			chroma := wide.Reach(l, unit)
			if chroma < 1.1*own.Reach(l, unit) {
				continue
			}
			c, _ := space.XYZ(gamut.Coordinates{L: l, A: chroma * cos, B: chroma * sin})
			q, _ := space.Coordinates(e.ToPCS(e.FromPCS(c)))
			move[k] += math.Abs(q.L - l)
			n++
		}
		move[k] /= float64(n)
	}
	t.Logf("L of Oklab moves by %.4f to the nearest and %.4f towards grey", move[0], move[1])
	if move[1] > 0.005 || move[1] > move[0]/3 {
		t.Error("want at most 0.005, and a third of the other")
	}
}

// With BlackPoint the perceptual tables of version 2 do what Little CMS's black
// point compensation (ISO 18619) does with the colorimetric ones, both ways.
func TestBlackPointInLittleCMS(t *testing.T) {
	t.Parallel()
	m := leaky
	m.black = m.primaries.FromLinear(colorimetry.Gray(0.004))
	o := tabled(profile.V2)
	o.Grid, o.Knee, o.BlackPoint = 33, 1, true
	r, _ := build(t, m, m.White(), tone.Channels{}, o)
	file := filepath.Join(t.TempDir(), "test.icc")
	if err := os.WriteFile(file, r.Bytes, 0o666); err != nil {
		t.Fatal(err)
	}
	e, err := icc.NewEvaluator(r.Profile, icc.Perceptual)
	if err != nil {
		t.Fatal(err)
	}
	var device [][3]float64
	some := signals(500)
	for _, s := range some {
		device = append(device, [3]float64{255 * s.R, 255 * s.G, 255 * s.B})
	}
	// From the display to Lab without a black of its own, and back.
	there := transicc(t, file, "*Lab", icc.Relative, device, "-b")
	back := transicc(t, "*Lab", file, icc.Relative, there, "-b")
	var to, toDark, from float64
	for i, s := range some {
		l := lab(e.ToPCS(s))
		if e := difference.CIEDE2000(l, colorimetry.Lab{L: there[i][0], A: there[i][1], B: there[i][2]}); l.L > 10 {
			to = math.Max(to, e)
		} else {
			toDark = math.Max(toDark, e)
		}
		got := e.FromPCS(colorimetry.Lab{L: there[i][0], A: there[i][1], B: there[i][2]}.XYZ(colorimetry.D50()))
		want := colorimetry.RGB{R: back[i][0] / 255, G: back[i][1] / 255, B: back[i][2] / 255}
		from = math.Max(from, difference.CIEDE2000(m.XYZ(got).Lab(m.White()), m.XYZ(want).Lab(m.White())))
	}
	black := e.ToPCS(colorimetry.RGB{})
	t.Logf("black at %.6f; apart by %.3f ΔE00 from signals, below L* 10 %.3f, %.3f to signals", black.Y, to, toDark, from)
	if black.Y > 2e-5 || to > 0.15 || toDark > 0.3 || from > 0.15 {
		t.Error("want black at 0, and at most 0.15, 0.3 and 0.15, which its 16-bit XYZ and curves leave")
	}
}
