package icc

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"example.org/primaries/colorimetry"
)

// device is an invented display or printer, whose colour is a smooth function
// of its channels: light adds up, ink takes away.
func device(space Signature) func([]float64) colorimetry.XYZ {
	if space == SpaceCMYK {
		return func(d []float64) colorimetry.XYZ {
			k := 1 - 0.95*d[3]
			return colorimetry.XYZ{
				X: 0.9642 * k * (1 - 0.8*d[0]) * (1 - 0.5*d[1]) * (1 - 0.1*d[2]),
				Y: k * (1 - 0.6*d[0]) * (1 - 0.75*d[1]) * (1 - 0.08*d[2]),
				Z: 0.8249 * k * (1 - 0.3*d[0]) * (1 - 0.6*d[1]) * (1 - 0.85*d[2]),
			}
		}
	}
	m := colorimetry.Matrix{{0.436, 0.385, 0.1432}, {0.2225, 0.7169, 0.0606}, {0.0139, 0.0971, 0.7139}}
	return func(d []float64) colorimetry.XYZ {
		l := [3]float64{}
		for i := range l {
			l[i] = 0.003 + 0.997*math.Pow(d[i%len(d)], 2.2)
		}
		return m.FromLinear(colorimetry.RGB{R: l[0], G: l[1], B: l[2]})
	}
}

// encodeAs returns colours of the device side or the connection space as a
// table holds them, from 0 to 1.
func encodeAs(kind encoding, pcs Signature, c colorimetry.XYZ) []float64 {
	v := vec{c.X, c.Y, c.Z}
	run(append(fromXYZ(pcs), kind.encode(pcs)...), &v)
	return []float64{clamp(v[0]), clamp(v[1]), clamp(v[2])}
}

// grids calls f with the place of each node, from 0 to 1, in the order of a
// table.
func grids(grid []int, f func([]float64)) {
	at := make([]int, len(grid))
	place := make([]float64, len(grid))
	for {
		for i := range at {
			place[i] = float64(at[i]) / float64(max(1, grid[i]-1))
		}
		f(place)
		i := len(grid) - 1
		for ; i >= 0; i-- {
			if at[i]++; at[i] < grid[i] {
				break
			}
			at[i] = 0
		}
		if i < 0 {
			return
		}
	}
}

// even returns a grid of n points in each of some channels.
func even(channels, n int) []int {
	g := make([]int, channels)
	for i := range g {
		g[i] = n
	}
	return g
}

// nodesOf fills a table: of the device's colours, or of device values for them,
// with some noise so that no two ways of interpolating agree.
func nodesOf(grid []int, outputs, width int, seed uint64, noise float64, at func([]float64) []float64) CLUT {
	r := rand.New(rand.NewPCG(seed, 5))
	c := CLUT{Grid: grid, Outputs: outputs}
	grids(grid, func(place []float64) {
		for _, v := range at(place) {
			v = clamp(v + noise*(r.Float64()-0.5))
			switch width {
			case 1:
				c.Bytes = append(c.Bytes, uint8(255*v+0.5))
			case 2:
				c.Words = append(c.Words, uint16(65535*v+0.5))
			default:
				c.Floats = append(c.Floats, float32(v))
			}
		}
	})
	return c
}

// towards returns, for a place in a table from the connection space, about the
// device values that make its colour.
func towards(kind encoding, pcs, space Signature) func([]float64) []float64 {
	m := colorimetry.Matrix{{0.436, 0.385, 0.1432}, {0.2225, 0.7169, 0.0606}, {0.0139, 0.0971, 0.7139}}
	inverse, err := m.Inverse()
	if err != nil {
		panic(err)
	}
	return func(p []float64) []float64 {
		v := vec{p[0], p[1], p[2]}
		run(append(kind.decode(pcs), toXYZ(pcs)...), &v)
		if space == SpaceCMYK {
			c := []float64{1 - v[0]/0.9642, 1 - v[1], 1 - v[2]/0.8249, 0}
			c[3] = clamp(min(c[0], c[1], c[2])*1.5 - 0.5)
			return c
		}
		l := inverse.ToLinear(colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]})
		out := make([]float64, Channels(space))
		for i, x := range []float64{l.R, l.G, l.B} {
			out[i] = math.Pow(clamp((x-0.003)/0.997), 1/2.2)
		}
		return out
	}
}

// bent returns n curves of so many samples.
func bent(n, samples int) []Curve {
	out := make([]Curve, n)
	for i := range out {
		c := make(SampledCurve, samples)
		for k := range c {
			c[k] = uint16(65535*math.Pow(float64(k)/float64(samples-1), 0.8+0.2*float64(i)) + 0.5)
		}
		out[i] = c
	}
	return out
}

// powers returns n parametric curves without jumps, at which rounding would
// decide.
func powers(n int) []Curve {
	out := make([]Curve, n)
	for i := range out {
		c := ParametricCurve{Function: 3, G: 1.5 + 0.2*float64(i), A: 0.95, B: 0.05, D: 0.03}
		c.C = math.Pow(c.A*c.D+c.B, c.G) / c.D
		out[i] = c
	}
	return out
}

func samplesOf(curves []Curve) (words [][]uint16, bytes [][]uint8) {
	for _, c := range curves {
		var w []uint16
		var b []uint8
		for _, e := range c.(SampledCurve) {
			w, b = append(w, e), append(b, uint8(e>>8))
		}
		words, bytes = append(words, w), append(bytes, b)
	}
	return words, bytes
}

// nearIdentity is a matrix near the identity that leads nowhere beyond 0 to 1, where
// ICC.1 clips and Little CMS does not.
func nearIdentity() *Affine {
	return &Affine{colorimetry.Matrix{{0.9, 0.05, 0.02}, {0.03, 0.93, 0.01}, {0.01, 0.04, 0.9}}, [3]float64{0.01, 0.02, 0.03}}
}

// bare returns a profile without tables.
func bare(version Version, class, space, pcs Signature) *Profile {
	p := &Profile{Header: Header{Version: version, Class: class, Space: space, PCS: pcs, Illuminant: encodedD50()}}
	if version.Major() == 2 {
		p.Set(TagDescription, TextDescription{ASCII: "Table"})
		p.Set(TagCopyright, Text("None"))
	} else {
		p.Set(TagDescription, LocalizedText{{"en", "US", "Table"}})
		p.Set(TagCopyright, LocalizedText{{"en", "US", "None"}})
	}
	p.Set(TagMediaWhite, XYZArray{encodedD50()})
	return p
}

// setAll gives the table of every intent the same value: without one of its own
// Little CMS takes an intent's black for 0.
func setAll(p *Profile, tags [4]Signature, v Value) {
	for _, sig := range tags {
		p.Set(sig, v)
	}
}

// someNoise makes ways of interpolating differ.
const someNoise = 0.02

// tableKinds returns, by name, what sets both tables of a profile, with noise in
// their nodes.
func tableKinds(noise float64) map[string]func(p *Profile) {
	type side struct {
		from, to int
		at       func(kind encoding) func([]float64) []float64
	}
	sides := func(p *Profile) (a, b side) {
		n := Channels(p.Header.Space)
		look := device(p.Header.Space)
		a = side{n, 3, func(kind encoding) func([]float64) []float64 {
			return func(d []float64) []float64 { return encodeAs(kind, p.Header.PCS, look(d)) }
		}}
		b = side{3, n, func(kind encoding) func([]float64) []float64 { return towards(kind, p.Header.PCS, p.Header.Space) }}
		return a, b
	}
	lut := func(width int) func(p *Profile) {
		return func(p *Profile) {
			a, b := sides(p)
			for i, s := range []side{a, b} {
				kind := legacy
				if width == 1 {
					kind = modern
				}
				t := nodesOf(even(s.from, 9), s.to, width, uint64(i), noise, s.at(kind))
				m := colorimetry.Identity()
				if p.Header.PCS == SpaceXYZ && i == 1 {
					m = nearIdentity().Matrix
				}
				in, in8 := samplesOf(bent(s.from, 256))
				out, out8 := samplesOf(bent(s.to, 256))
				var v Value = Lut16{m, in, t, out}
				if width == 1 {
					v = Lut8{m, in8, t, out8}
				}
				setAll(p, [2][4]Signature{toTables, fromTables}[i], v)
			}
		}
	}
	parts := func(width int, curves func(int) []Curve, table, matrix bool) func(p *Profile) {
		return func(p *Profile) {
			a, b := sides(p)
			to, from := LutAToB{B: curves(3)}, LutBToA{B: curves(3)}
			if table {
				gridA, gridB := []int{7, 9, 8, 5}[:a.from], []int{8, 7, 9}
				t := nodesOf(gridA, 3, width, 1, noise, a.at(modern))
				u := nodesOf(gridB, b.to, width, 2, noise, b.at(modern))
				to.A, to.Table, from.A, from.Table = curves(a.from), &t, curves(b.to), &u
			}
			if matrix {
				to.M, to.Matrix, from.M, from.Matrix = curves(3), nearIdentity(), curves(3), nearIdentity()
			}
			setAll(p, toTables, to)
			setAll(p, fromTables, from)
		}
	}
	return map[string]func(p *Profile){
		"lut8":                         lut(1),
		"lut16":                        lut(2),
		"B curves":                     parts(2, powers, false, false),
		"matrix":                       parts(2, powers, false, true),
		"table of 8 bits":              parts(1, powers, true, false),
		"table of 16 bits":             parts(2, powers, true, false),
		"table and matrix":             parts(2, powers, true, true),
		"table, matrix, sampled curve": parts(2, func(n int) []Curve { return bent(n, 64) }, true, true),
		"elements": func(p *Profile) {
			for intent := range Absolute + 1 {
				to, from := elements(p, noise)
				p.Set(toElements[intent], to)
				p.Set(fromElements[intent], from)
			}
			// Readers without elements find these.
			lut(2)(p)
		},
	}
}

// elements returns multiprocess elements of every kind, from the device to the
// connection space and the other way.
func elements(p *Profile, noise float64) (to, from MultiProcess) {
	n := Channels(p.Header.Space)
	look := device(p.Header.Space)
	formula := func(f int, parameters ...float32) Segment { return Segment{Function: f, Parameters: parameters} }
	curve := SegmentedCurve{
		Breaks: []float32{0, 0.2, 0.7},
		Segments: []Segment{
			formula(0, 1, 1, 0, 0),
			{Samples: []float32{0.05, 0.12, 0.21}},
			formula(0, 1.2, 1, 0, 0.06),
			formula(1, 1, 0.4, 1, 0.3, 0.7),
		},
	}
	other := SegmentedCurve{
		Breaks:   []float32{0.5},
		Segments: []Segment{formula(2, 0.3, 2, 1, 0.2, -0.3), formula(0, 1, 0.9, -0.26263486, 0)},
	}
	set := func(k int) (s CurveSet) {
		for i := range k {
			s = append(s, []SegmentedCurve{curve, other}[i%2])
		}
		return s
	}
	// The last matrix brings 0 to 1 to the connection space's own units, the
	// first one back.
	scale, offset := []float32{100, 0, 0, 0, 200, 0, 0, 0, 200}, []float32{0, -100, -100}
	back, backOffset := []float32{0.01, 0, 0, 0, 0.005, 0, 0, 0, 0.005}, []float32{0, 0.5, 0.5}
	own := func(d []float64) []float64 { return []float64{100 * d[0], 200*d[1] - 100, 200*d[2] - 100} }
	at := func(d []float64) []float64 {
		c := look(d).Lab(colorimetry.D50())
		return []float64{c.L / 100, c.A/200 + 0.5, c.B/200 + 0.5}
	}
	if p.Header.PCS == SpaceXYZ {
		scale, offset, back, backOffset = []float32{1, 0, 0, 0, 1, 0, 0, 0, 1}, []float32{0, 0, 0}, []float32{1, 0, 0, 0, 1, 0, 0, 0, 1}, []float32{0, 0, 0}
		own = func(d []float64) []float64 { return d }
		at = func(d []float64) []float64 { c := look(d); return []float64{c.X, c.Y, c.Z} }
	}
	to = MultiProcess{Inputs: n, Outputs: 3, Elements: []Element{
		set(n), CLUTElement{nodesOf([]int{6, 7, 8, 5}[:n], 3, 4, 3, noise, at)}, MatrixElement{3, scale, offset},
	}}
	from = MultiProcess{Inputs: 3, Outputs: n, Elements: []Element{
		MatrixElement{3, back, backOffset}, set(3), CLUTElement{nodesOf([]int{7, 6, 8}, n, 4, 4, noise, func(d []float64) []float64 {
			return towards(plain, p.Header.PCS, p.Header.Space)(own(d))
		})}, set(n),
	}}
	return to, from
}

// tableRounding is what rounding comes to here. A half step of 16 bits in a curve
// before the table grows by its slope, 3 at the foot, and there is another one
// behind; on the way to the device there is the slope of the table in the dark,
// 4 for XYZ, and of the curve behind it, 3.
func tableRounding(version Version, pcs Signature) rounding {
	r := rounding{xyz: (0.5*3 + 0.5) / 32768, device: (0.5*3*4*3 + 0.5) / 65535}
	if pcs == SpaceXYZ {
		r.xyz *= 2
		r.device *= 2 // there is a matrix, and the curve is met in the dark
	}
	return r
}

// Tables of every kind, in every version that has them, between every kind of
// device and both connection spaces, against Little CMS.
func TestLittleCMSOnTables(t *testing.T) {
	for name, set := range tableKinds(someNoise) {
		for _, space := range []Signature{SpaceRGB, SpaceCMYK} {
			for _, pcs := range []Signature{SpaceLab, SpaceXYZ} {
				for _, version := range []Version{V2, V4} {
					old := name == "lut8" || name == "lut16"
					if version == V2 && !old || space == SpaceCMYK && (name == "B curves" || name == "matrix") {
						continue
					}
					what := fmt.Sprintf("%s, version %d, %v to %v", name, version.Major(), space, pcs)
					t.Run(what, func(t *testing.T) {
						class := ClassDisplay
						if space == SpaceCMYK {
							class = ClassOutput
						}
						p := bare(version, class, space, pcs)
						set(p)
						b, q := mustEncode(t, p)
						file := filepath.Join(t.TempDir(), "table.icc")
						if err := os.WriteFile(file, b, 0o600); err != nil {
							t.Fatal(err)
						}
						t.Logf("worst ΔE*ab %.4f", against(t, q, file, tableRounding(version, pcs)))
					})
				}
			}
		}
	}
}
