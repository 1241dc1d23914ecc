package transform_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// imaginary has primaries that no light has, so that L*a*b* of its colours leads beyond
// what tables hold. The primaries are those of ROMM RGB, ISO 22028-2 (from memory).
func imaginary() *icc.Profile {
	return matrixOf("imaginary", colorimetry.Chromaticity{X: 0.7347, Y: 0.2653}, colorimetry.Chromaticity{X: 0.1596, Y: 0.8404}, colorimetry.Chromaticity{X: 0.0366, Y: 0.0001},
		icc.ParametricCurve{G: 1.8})
}

// jumping has a curve that leaps by a fiftieth of a percent between two codes of 16 bits.
func jumping() *icc.Profile {
	return matrixOf("jumping", colorimetry.Chromaticity{X: 0.64, Y: 0.33}, colorimetry.Chromaticity{X: 0.30, Y: 0.60}, colorimetry.Chromaticity{X: 0.15, Y: 0.06},
		icc.ParametricCurve{Function: 4, G: 1, A: 0.998, C: 0.998, D: 167.5 / 65535, E: 0.0002})
}

func powers(exponent float64) []icc.Curve {
	c := sampled(256, func(x float64) float64 { return math.Pow(x, exponent) })
	return []icc.Curve{c, c, c}
}

// tabledBy returns p3's colours in a table of a grid, which curves follow.
func tabledBy(version icc.Version, grid []int, curves []icc.Curve) *icc.Profile {
	from := must(icc.FromPCS(p3(), icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}))
	scale := [2]float64{100, 255} // as in tabled
	if version.Major() == 2 {
		scale = [2]float64{100 * 65535.0 / 65280, 65535.0 / 256}
	}
	btoa := tableOf(grid, 3, func(out, in []float64) {
		from.Eval(out, []float64{in[0] * scale[0], in[1]*scale[1] - 128, in[2]*scale[1] - 128})
	})
	var b icc.Value = icc.LutBToA{A: curves, Table: &btoa, B: straight(3)}
	if version.Major() == 2 {
		ends := [][]uint16{{0, 65535}, {0, 65535}, {0, 65535}}
		out := make([][]uint16, 3)
		for i := range out {
			out[i] = []uint16(curves[i].(icc.SampledCurve))
		}
		b = icc.Lut16{Matrix: colorimetry.Identity(), Input: ends, Table: btoa, Output: out}
	}
	p := bare(version, icc.ClassDisplay, icc.SpaceRGB, icc.SpaceLab)
	for _, tag := range []icc.Signature{icc.TagBToA0, icc.TagBToA1, icc.TagBToA2} {
		p.Set(tag, b)
	}
	return p
}

// The ways of integers into tables that L*a*b* indexes, against the chain: colours
// beyond the table, grids of other sizes, curves at the end, which may differ, and
// every pair of depths.
func TestIntoLabTables(t *testing.T) {
	gentle := []icc.Curve{sampled(256, func(x float64) float64 { return 0.9*x + 0.1*x*x }), sampled(256, func(x float64) float64 { return x }), sampled(256, func(x float64) float64 { return 1 - x })}
	steep := []icc.Curve{icc.ParametricCurve{G: 0.4}, icc.ParametricCurve{G: 0.5}, icc.ParametricCurve{G: 0.4}}
	for _, c := range []struct {
		name     string
		from, to *icc.Profile
		way      string
	}{
		{"narrow", srgb(), clut33(), "lab"},
		{"beyond the table", matrixOf("wide", colorimetry.Chromaticity{X: 0.70, Y: 0.30}, colorimetry.Chromaticity{X: 0.10, Y: 0.85}, colorimetry.Chromaticity{X: 0.14, Y: 0.03}, icc.ParametricCurve{G: 1.8}), clut33(), "lab"},
		{"less than no light", imaginary(), clut33(), "blocks"},
		{"other grids", p3(), tabledBy(icc.V4, []int{17, 9, 21}, straight(3)), "lab"},
		{"curves at the end", srgb(), tabledBy(icc.V4, []int{33, 17, 17}, gentle), "lab"},
		{"curves of version 2", p3(), tabledBy(icc.V2, []int{17, 17, 17}, gentle), "lab"},
		{"curves of a display", srgb(), tabledBy(icc.V2, []int{17, 17, 17}, powers(2.2)), ""},
		{"curves less steep", srgb(), tabledBy(icc.V2, []int{17, 17, 17}, powers(1.4)), ""},
		{"two nodes", srgb(), tabledBy(icc.V4, []int{2, 2, 2}, straight(3)), "lab"},
		{"few nodes", srgb(), tabledBy(icc.V4, []int{3, 5, 2}, straight(3)), "lab"},
		{"a jump between codes", jumping(), clut33(), "blocks"},
		{"steep curves", srgb(), tabledBy(icc.V4, []int{17, 17, 17}, steep), "blocks"},
		{"large tables", srgb(), tabledBy(icc.V4, []int{41, 41, 41}, straight(3)), "blocks"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			chain := must(icc.JoinLinks(
				icc.Link{Profile: c.from, Options: icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}},
				icc.Link{Profile: c.to, Options: icc.Options{Intent: icc.Relative, PCS: icc.SpaceLab}}))
			in := colours(icc.SpaceRGB, accuracyColours()/4, 3)
			for _, from := range []transform.Depth{transform.Depth8, transform.Depth16} {
				for _, to := range []transform.Depth{transform.Depth8, transform.Depth16} {
					k := kernelOf(t, relative, transform.Layout{Depth: from}, transform.Layout{Depth: to}, c.from, c.to)
					if way := transform.Way(k); way != c.way && c.way != "" && (c.way != "blocks" || from == transform.Depth16) {
						t.Errorf("%v to %v goes by %s, want %s", from, to, way, c.way)
					}
					limit := figure{0.002, 1}
					if to == transform.Depth16 {
						limit = figure{0.5, 16}
					}
					var got figure
					switch {
					case from == transform.Depth8 && to == transform.Depth8:
						got = apart[uint8, uint8](t, k, chain, in)
					case from == transform.Depth8:
						got = apart[uint16, uint8](t, k, chain, in)
					case to == transform.Depth8:
						got = apart[uint8, uint16](t, k, chain, in)
					default:
						got = apart[uint16, uint16](t, k, chain, in)
					}
					t.Logf("%v to %v: mean %.3g, at most %.3g", from, to, got.mean, got.max)
					if got.mean > limit.mean || got.max > limit.max {
						t.Errorf("%v to %v: mean %g, at most %g; %g and %g are the limits", from, to, got.mean, got.max, limit.mean, limit.max)
					}
				}
			}
		})
	}
}

// White and black are the table's own, to the code, and greys stay greys, in every
// depth: what lanes and roots round leaves them alone.
func TestGreysIntoLabTables(t *testing.T) {
	for _, depth := range []transform.Depth{transform.Depth8, transform.Depth16} {
		k := kernelOf(t, relative, transform.Layout{Depth: depth}, transform.Plain16, srgb(), tabledBy(icc.V4, []int{33, 33, 33}, straight(3)))
		exact := kernelOf(t, transform.Options{Intent: icc.Relative, Precision: transform.Exact}, transform.Layout{Depth: depth}, transform.Plain16, srgb(), tabledBy(icc.V4, []int{33, 33, 33}, straight(3)))
		for code := 0; code < 256; code++ {
			got, want := make([]uint16, 3), make([]uint16, 3)
			for i, to := range [][]uint16{got, want} {
				by := []*transform.Kernel{k, exact}[i]
				var err error
				if depth == transform.Depth8 {
					err = transform.Row(by, to, []uint8{uint8(code), uint8(code), uint8(code)}, 1)
				} else {
					err = transform.Row(by, to, []uint16{uint16(code * 257), uint16(code * 257), uint16(code * 257)}, 1)
				}
				if err != nil {
					t.Fatal(err)
				}
			}
			off := 0
			for i := range got {
				off = max(off, int(got[i])-int(want[i]), int(want[i])-int(got[i]))
			}
			if limit := map[bool]int{true: 1, false: 4}[code == 0 || code == 255]; off > limit {
				t.Errorf("%v grey %d: %v, the chain has %v", depth, code, got, want)
			}
		}
	}
}
