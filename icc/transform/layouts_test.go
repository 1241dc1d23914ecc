package transform_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// layoutsOf returns every layout of a depth for device colours, or for those of
// the connection space.
func layoutsOf(d transform.Depth, device bool) (out []transform.Layout) {
	for _, reversed := range []bool{false, true} {
		for alpha := transform.NoAlpha; alpha <= transform.AlphaFirst; alpha++ {
			for _, premultiplied := range []bool{false, true} {
				if premultiplied && (alpha == transform.NoAlpha || !device) {
					continue
				}
				out = append(out, transform.Layout{Depth: d, Reversed: reversed, Alpha: alpha, Premultiplied: premultiplied})
			}
		}
	}
	return out
}

// places returns where the channels and the opacity of a pixel lie, -1 for none,
// and how many samples it has.
func places(l transform.Layout, channels int) (at []int, alpha, step int) {
	for c := range channels {
		at = append(at, c)
		if l.Reversed {
			at[c] = channels - 1 - c
		}
	}
	switch l.Alpha {
	case transform.AlphaLast:
		return at, channels, channels + 1
	case transform.AlphaFirst:
		for c := range at {
			at[c]++
		}
		return at, 0, channels + 1
	}
	return at, -1, channels
}

func topOf(d transform.Depth) float64 { return unitsOf(d, icc.SpaceRGB)[0].top }

// byHand returns the samples that a pixel becomes, before they are rounded.
func byHand(chain *icc.Chain, from, to transform.Layout, pixel []float64) []float64 {
	at, alpha, _ := places(from, chain.Inputs())
	opacity := 1.0
	if alpha >= 0 {
		opacity = pixel[alpha] / topOf(from.Depth)
	}
	v := make([]float64, 16)
	units := unitsOf(from.Depth, chain.From())
	for c, place := range at {
		switch v[c] = units[c].value(pixel[place]); {
		case from.Premultiplied && opacity == 0:
			v[c] = 0
		case from.Premultiplied:
			v[c] /= opacity
		}
	}
	chain.Eval(v, v)
	at, alpha, step := places(to, chain.Outputs())
	out := make([]float64, step)
	units = unitsOf(to.Depth, chain.To())
	for c, place := range at {
		if to.Premultiplied {
			v[c] *= opacity
		}
		out[place] = (v[c] - units[c].start) / units[c].span * units[c].top
	}
	if alpha >= 0 {
		out[alpha] = opacity * topOf(to.Depth)
	}
	return out
}

// pixelsFor returns some pixels of a layout: opaque ones, transparent ones and
// others, in premultiplied layouts some with more colour than opacity allows.
func pixelsFor[S transform.Sample](l transform.Layout, space icc.Signature, n int) []S {
	channels := icc.Channels(space)
	at, alpha, step := places(l, channels)
	r := rand.New(rand.NewPCG(6, uint64(step)))
	units := unitsOf(l.Depth, space)
	out := make([]S, 0, n*step)
	for i, c := range colours(space, n, 4) {
		pixel := make([]S, step)
		opacity := []float64{1, 0, 0.5, r.Float64(), r.Float64() / 20}[i%5]
		if alpha >= 0 {
			opacity = math.Round(opacity*255) / 255
			pixel[alpha] = S(opacity * topOf(l.Depth))
		}
		for k, place := range at {
			if l.Premultiplied && r.IntN(10) > 0 {
				c[k] *= opacity
			}
			pixel[place] = units[k].sample(c[k], S(0)).(S)
		}
		out = append(out, pixel...)
	}
	return out
}

// layoutCase is a way that every layout is tried on, and how far samples of each
// depth may be from the chain's: the figures of the accuracy tests.
type layoutCase struct {
	name     string
	o        transform.Options
	profiles []*icc.Profile
	far      [4]float64
	many     bool // a third of all pairs of layouts, otherwise a few of them
}

func layoutCases() []layoutCase {
	matrix, table := [4]float64{1, 12, 5e-5, 5e-5}, [4]float64{2, 100, 5e-4, 5e-4}
	toXYZ := relative
	toXYZ.PCS = icc.SpaceXYZ
	return []layoutCase{
		{"matrix", relative, []*icc.Profile{srgb(), p3()}, matrix, true},
		{"table", relative, []*icc.Profile{srgb(), clut33()}, table, true},
		{"inks to display", relative, []*icc.Profile{inks(), srgb()}, table, false},
		{"display to inks", relative, []*icc.Profile{p3(), inks()}, table, false},
		{"grey to display", relative, []*icc.Profile{grey(), srgb()}, matrix, false},
		{"display to grey", relative, []*icc.Profile{srgb(), grey()}, matrix, false},
		{"L*a*b*", relative, []*icc.Profile{clut33()}, [4]float64{1, 2, 0.005, 0.005}, false},
		{"XYZ", toXYZ, []*icc.Profile{p3()}, [4]float64{0, 12, 5e-5, 5e-5}, false},
		{"L*a*b* to L*a*b*", relative, []*icc.Profile{abstract()}, [4]float64{1, 2, 0.005, 0.005}, false},
	}
}

// Every layout to others of every depth, on ways of all kinds, in both precisions, against
// the chain and an arithmetic of layouts that is the test's own.
func TestLayouts(t *testing.T) {
	for _, c := range layoutCases() {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			layoutsFrom[uint8](t, c, transform.Depth8)
			layoutsFrom[uint16](t, c, transform.Depth16)
			layoutsFrom[float32](t, c, transform.Float32)
			layoutsFrom[float64](t, c, transform.Float64)
		})
	}
}

func layoutsFrom[S transform.Sample](t *testing.T, c layoutCase, from transform.Depth) {
	layoutsBetween[uint8, S](t, c, from, transform.Depth8)
	layoutsBetween[uint16, S](t, c, from, transform.Depth16)
	layoutsBetween[float32, S](t, c, from, transform.Float32)
	layoutsBetween[float64, S](t, c, from, transform.Float64)
}

func layoutsBetween[D, S transform.Sample](t *testing.T, c layoutCase, from, to transform.Depth) {
	tr, err := transform.New(c.o, c.profiles...)
	if err != nil {
		t.Fatal(err)
	}
	c.o.Precision = transform.Exact
	exact, err := transform.New(c.o, c.profiles...)
	if err != nil {
		t.Fatal(err)
	}
	if from == transform.Depth8 && tr.From() == icc.SpaceXYZ || to == transform.Depth8 && tr.To() == icc.SpaceXYZ {
		return
	}
	sources := layoutsOf(from, tr.From() != icc.SpaceLab && tr.From() != icc.SpaceXYZ)
	targets := layoutsOf(to, tr.To() != icc.SpaceLab && tr.To() != icc.SpaceXYZ)
	for i, f := range sources {
		for k, g := range targets {
			every := 3
			if !c.many {
				every = len(targets)
			}
			if testing.Short() {
				every = len(sources) * len(targets) // one
			}
			if (i*(len(targets)+1)+k+7*int(from)+3*int(to))%every != 0 {
				continue
			}
			checkLayouts[D, S](t, tr, f, g, c.far[to])
			checkLayouts[D, S](t, exact, f, g, 0)
		}
	}
}

// checkLayouts sends some pixels and compares each sample.
func checkLayouts[D, S transform.Sample](t *testing.T, tr *transform.Transform, from, to transform.Layout, far float64) {
	t.Helper()
	k, err := tr.Between(from, to)
	if err != nil {
		t.Fatal(err)
	}
	const n = 40
	in, out := tr.Channels()
	_, _, step := places(from, in)
	_, alpha, outStep := places(to, out)
	src, dst := pixelsFor[S](from, tr.From(), n), make([]D, n*outStep)
	if err := transform.Row(k, dst, src, n); err != nil {
		t.Fatal(err)
	}
	pixel := make([]float64, step)
	for i := range n {
		for c := range pixel {
			pixel[c] = float64(src[i*step+c])
		}
		for c, want := range byHand(tr.Chain(), from, to, pixel) {
			limit := far
			if c == alpha {
				limit = 0
			}
			// Whole samples may be rounded from either side, and a float32 has 24 bits.
			if to.Depth <= transform.Depth16 {
				want = min(max(want, 0), topOf(to.Depth))
				limit += 0.5 + 1e-3
			} else {
				limit += 1e-7 * max(1, math.Abs(want))
			}
			got := float64(dst[i*outStep+c])
			if !(math.Abs(got-want) <= limit) {
				t.Fatalf("%+v to %+v: %v, sample %d is %g instead of %g", from, to, pixel, c, got, want)
			}
		}
	}
}

// Rows in place, in pieces of every length about that of a block, and with what
// lies behind them left alone.
func TestRowsInPieces(t *testing.T) {
	for _, c := range []struct {
		name string
		to   *icc.Profile
	}{{"matrix", p3()}, {"table", clut33()}} {
		t.Run(c.name, func(t *testing.T) {
			rowsInPieces[uint8](t, transform.Plain8, c.to)
			rowsInPieces[uint16](t, transform.Plain16, c.to)
			rowsInPieces[float32](t, transform.Plain32F, c.to)
			rowsInPieces[uint8](t, transform.Alpha8, c.to)
			rowsInPieces[uint16](t, transform.Layout{Depth: transform.Depth16, Reversed: true, Alpha: transform.AlphaFirst}, c.to)
			rowsInPieces[float32](t, transform.Alpha32F, c.to)
			rowsInPieces[uint8](t, transform.Layout{Alpha: transform.AlphaFirst, Premultiplied: true}, c.to)
			rowsInPieces[float64](t, transform.Layout{Depth: transform.Float64, Reversed: true, Alpha: transform.AlphaLast}, c.to)
		})
	}
}

func rowsInPieces[S transform.Sample](t *testing.T, l transform.Layout, to *icc.Profile) {
	t.Helper()
	const n = 700
	k := kernelOf(t, relative, l, l, srgb(), to)
	src := pixelsFor[S](l, icc.SpaceRGB, n)
	step := len(src) / n
	whole := make([]S, len(src))
	if err := transform.Row(k, whole, src, n); err != nil {
		t.Fatal(err)
	}
	same := func(what string, got []S) {
		t.Helper()
		for i := range got {
			if got[i] != whole[i] {
				t.Fatalf("%+v, %s: sample %d is %v instead of %v", l, what, i, got[i], whole[i])
			}
		}
	}
	place := append([]S(nil), src...)
	if err := transform.Row(k, place, place, n); err != nil {
		t.Fatal(err)
	}
	same("in place", place)
	for _, piece := range []int{1, 2, 3, 7, 8, 15, 16, 17, 255, 256, 257, 511, 513} {
		got := make([]S, len(src))
		for i := 0; i < n; i += piece {
			m := min(piece, n-i)
			// Slices without room to spare show who reads on.
			if err := transform.Row(k, got[i*step:(i+m)*step:(i+m)*step], src[i*step:(i+m)*step:(i+m)*step], m); err != nil {
				t.Fatal(err)
			}
			for j := (i + m) * step; j < len(got); j++ {
				if got[j] != 0 {
					t.Fatalf("%+v: %d pixels, and sample %d behind them was written", l, m, j)
				}
			}
		}
		same(fmt.Sprintf("%d at once", piece), got)
	}
}

// What layouts cannot be is said.
func TestLayoutErrors(t *testing.T) {
	way := func(o transform.Options, p ...*icc.Profile) *transform.Transform { return must(transform.New(o, p...)) }
	device, lab := way(relative, srgb(), p3()), way(relative, srgb())
	xyz := way(transform.Options{PCS: icc.SpaceXYZ}, srgb())
	for name, err := range map[string]error{
		"depth":              second(device.Between(transform.Layout{Depth: 4}, transform.Plain8)),
		"depth going out":    second(device.Between(transform.Plain8, transform.Layout{Depth: 200})),
		"opacity":            second(device.Between(transform.Layout{Alpha: 3}, transform.Plain8)),
		"no opacity":         second(device.Between(transform.Layout{Premultiplied: true}, transform.Plain8)),
		"premultiplied Lab":  second(lab.Between(transform.Plain8, transform.Layout{Alpha: transform.AlphaLast, Premultiplied: true})),
		"XYZ of 8 bits":      second(xyz.Between(transform.Plain8, transform.Plain8)),
		"premultiplied XYZ":  second(xyz.Between(transform.Plain8, transform.Layout{Depth: transform.Float32, Alpha: transform.AlphaLast, Premultiplied: true})),
		"precision":          second(transform.New(transform.Options{Precision: 2}, srgb(), p3())),
		"workers":            second(transform.New(transform.Options{Workers: -1}, srgb(), p3())),
		"no profiles":        second(transform.New(relative)),
		"a profile is nil":   second(transform.New(relative, srgb(), nil)),
		"intent":             second(transform.New(transform.Options{Intent: 4}, srgb(), p3())),
		"too few intents":    second(transform.New(transform.Options{Intents: []icc.Intent{1}}, srgb(), inks(), inks(), p3())),
		"too many intents":   second(transform.New(transform.Options{Intents: []icc.Intent{1, 1}}, srgb(), p3())),
		"intents of nothing": second(transform.New(transform.Options{Intents: []icc.Intent{}}, srgb(), p3())),
		"connection space":   second(transform.New(transform.Options{PCS: icc.SpaceRGB}, srgb())),
		"do not fit":         second(transform.New(relative, srgb(), p3(), inks())),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := xyz.Between(transform.Plain8, transform.Plain16); err != nil {
		t.Error(err)
	}
}

func second[T any](_ T, err error) error { return err }
