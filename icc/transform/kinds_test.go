package transform_test

import (
	"math"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// elements returns a profile of multiprocess elements, which do not clip: colours
// leave 0 to 1 on their way and come back.
func elements() *icc.Profile {
	curve := icc.SegmentedCurve{Breaks: []float32{0, 1}, Segments: []icc.Segment{
		{Function: 0, Parameters: []float32{1, 0.5, 0, 0}},
		{Function: 0, Parameters: []float32{2.2, 1, 0, 0}},
		{Function: 0, Parameters: []float32{1, 2.2, 0, -1.2}},
	}}
	back := icc.SegmentedCurve{Breaks: []float32{0, 1}, Segments: []icc.Segment{
		{Function: 0, Parameters: []float32{1, 2, 0, 0}},
		{Function: 0, Parameters: []float32{1 / 2.2, 1, 0, 0}},
		{Function: 0, Parameters: []float32{1, 1 / 2.2, 0, 1.2 / 2.2}},
	}}
	m := colorimetry.Matrix{{0.436, 0.385, 0.143}, {0.222, 0.717, 0.061}, {0.014, 0.097, 0.714}}
	flat := func(m colorimetry.Matrix) (out []float32) {
		for _, r := range m {
			out = append(out, float32(r[0]), float32(r[1]), float32(r[2]))
		}
		return out
	}
	p := bare(icc.V4, icc.ClassDisplay, icc.SpaceRGB, icc.SpaceXYZ)
	p.Set(icc.TagDToB1, icc.MultiProcess{Inputs: 3, Outputs: 3, Elements: []icc.Element{
		icc.MatrixElement{Inputs: 3, Matrix: []float32{1.2, -0.1, -0.1, -0.1, 1.2, -0.1, -0.1, -0.1, 1.2}, Offset: []float32{0, 0, 0}},
		icc.CurveSet{curve, curve, curve},
		icc.MatrixElement{Inputs: 3, Matrix: flat(m), Offset: []float32{0, 0, 0}},
	}})
	p.Set(icc.TagBToD1, icc.MultiProcess{Inputs: 3, Outputs: 3, Elements: []icc.Element{
		icc.MatrixElement{Inputs: 3, Matrix: flat(must(m.Inverse())), Offset: []float32{0, 0, 0}},
		icc.CurveSet{back, back, back},
	}})
	return p
}

// inXYZ returns a display of tables in XYZ, with matrices and three sets of curves.
func inXYZ() *icc.Profile {
	p := bare(icc.V4, icc.ClassDisplay, icc.SpaceRGB, icc.SpaceXYZ)
	atob := tableOf(even(3, 9), 3, smooth(3))
	btoa := tableOf([]int{9, 11, 8}, 3, smooth(3))
	near := &icc.Affine{Matrix: colorimetry.Matrix{{0.45, 0.02, 0.01}, {0.01, 0.46, 0.02}, {0.02, 0.01, 0.4}}, Offset: [3]float64{0.01, 0, 0.02}}
	wide := &icc.Affine{Matrix: colorimetry.Diagonal(1.9, 1.9, 2.2), Offset: [3]float64{-0.02, 0, -0.03}}
	setAll(p, icc.LutAToB{A: bent(3, 64), Table: &atob, M: bent(3, 16), Matrix: near, B: straight(3)},
		icc.LutBToA{B: straight(3), Matrix: wide, M: bent(3, 33), Table: &btoa, A: bent(3, 64)})
	return p
}

// lut8 returns a printer of three inks in tables of 8 bits.
func lut8() *icc.Profile {
	p := bare(icc.V2, icc.ClassOutput, icc.SpaceRGB, icc.SpaceLab)
	ramp := make([]uint8, 256)
	for i := range ramp {
		ramp[i] = uint8(math.Round(255 * math.Pow(float64(i)/255, 1.3)))
	}
	sides := [2]icc.Lut8{}
	for i := range sides {
		t := tableOf(even(3, 7), 3, smooth(3))
		bytes := icc.CLUT{Grid: t.Grid, Outputs: 3}
		for _, w := range t.Words {
			bytes.Bytes = append(bytes.Bytes, uint8(w>>8))
		}
		sides[i] = icc.Lut8{Matrix: colorimetry.Identity(), Input: [][]uint8{ramp, ramp, ramp}, Table: bytes, Output: [][]uint8{ramp, ramp, ramp}}
	}
	setAll(p, sides[0], sides[1])
	return p
}

// oneWay returns clut33 without its tables to the device, which icc.Chain finds by
// search.
func oneWay() *icc.Profile {
	p := *clut33()
	p.Tags = append([]icc.Tag(nil), p.Tags...)
	for _, sig := range []icc.Signature{icc.TagBToA0, icc.TagBToA1, icc.TagBToA2} {
		p.Remove(sig)
	}
	return &p
}

// Profiles of the other kinds, whose steps kernels may know or leave to the chain.
func TestOtherKinds(t *testing.T) {
	for _, c := range []struct {
		name     string
		count    int
		profiles []*icc.Profile
	}{
		{"elements to a display", 2000, []*icc.Profile{elements(), srgb()}},
		{"display to elements", 2000, []*icc.Profile{srgb(), elements()}},
		{"elements to a table", 2000, []*icc.Profile{elements(), clut33()}},
		{"tables of XYZ to a display", 2000, []*icc.Profile{inXYZ(), srgb()}},
		{"display to tables of XYZ", 2000, []*icc.Profile{p3(), inXYZ()}},
		{"tables of XYZ to tables of L*a*b*", 2000, []*icc.Profile{inXYZ(), inks()}},
		{"tables of 8 bits to a display", 2000, []*icc.Profile{lut8(), srgb()}},
		{"display to tables of 8 bits", 2000, []*icc.Profile{srgb(), lut8()}},
		{"search", 20, []*icc.Profile{srgb(), oneWay()}},
		{"inks to grey", 2000, []*icc.Profile{inks(), grey()}},
		{"grey to inks", 2000, []*icc.Profile{grey(), inks()}},
		{"six profiles", 2000, []*icc.Profile{srgb(), p3(), p3(), clut33(), lut33(), srgb()}},
		{"there and back", 2000, []*icc.Profile{srgb(), p3(), p3(), srgb()}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tr, err := transform.New(relative, c.profiles...)
			if err != nil {
				t.Fatal(err)
			}
			in := colours(tr.From(), c.count, 21)
			oddly[float32](t, c.name, tr, transform.Plain32F, in, 5e-4)
			oddly[uint16](t, c.name, tr, transform.Plain16, in, 100)
			oddly[uint8](t, c.name, tr, transform.Plain8, in, 2)
			if tr.To() == icc.SpaceRGB {
				exact := must(transform.New(transform.Options{Intent: icc.Relative, Precision: transform.Exact}, c.profiles...))
				oddly[float64](t, c.name+", exact", exact, transform.Plain64F, in, 0)
			}
		})
	}
}

// Elements may multiply by what float32 hardly holds. Whatever the chain makes of
// that, kernels neither stop at it nor give what is no number.
func TestHugeElements(t *testing.T) {
	const far = 3e38
	for _, m := range [][]float32{
		{far, -far, far, -far, far, -far, far, far, far},
		{far, far, far, far, far, far, -far, -far, -far},
		{1e-38, 1e-45, 0, -1e-45, far, 0, 0, 0, -far},
	} {
		p := bare(icc.V4, icc.ClassDisplay, icc.SpaceRGB, icc.SpaceXYZ)
		huge := icc.MultiProcess{Inputs: 3, Outputs: 3, Elements: []icc.Element{
			icc.MatrixElement{Inputs: 3, Matrix: m, Offset: []float32{far, -far, 0}},
			icc.MatrixElement{Inputs: 3, Matrix: m, Offset: []float32{-far, 0, far}},
		}}
		for _, sig := range []icc.Signature{icc.TagDToB1, icc.TagDToB3, icc.TagBToD1, icc.TagBToD3} {
			p.Set(sig, huge)
		}
		p.Set(icc.TagMediaWhite, icc.XYZArray{{X: 0.5, Y: 0.8, Z: 0.9}})
		for _, intent := range []icc.Intent{icc.Relative, icc.Absolute} {
			for _, profiles := range [][]*icc.Profile{{p, clut33()}, {p, srgb()}, {p, inks()}, {p}, {srgb(), p}, {clut33(), p}, {p, p, p, grey()}} {
				tr, err := transform.New(transform.Options{Intent: intent}, profiles...)
				if err != nil {
					t.Fatal(err)
				}
				_, channels := tr.Channels()
				in := noisePicture[float32](300, 3)
				for _, v := range row[float32](t, must(tr.Between(transform.Plain32F, transform.Plain32F)), channels, in, 300) {
					if v != v || math.IsInf(float64(v), 0) {
						t.Errorf("%v, %v, %d profiles to %v: %v came out", m, intent, len(profiles), tr.To(), v)
						break
					}
				}
				row[uint8](t, must(tr.Between(transform.Plain32F, transform.Plain8)), channels, in, 300)
				row[uint16](t, must(tr.Between(transform.Plain16, transform.Plain16)), channels, noisePicture[uint16](300, 3), 300)
			}
		}
	}
}
