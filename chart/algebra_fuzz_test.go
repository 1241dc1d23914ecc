package chart_test

import (
	"encoding/binary"
	"math"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// fuzzedSet reads signals of any value, NaN and infinities among them, from
// bytes: eight for each channel where they begin with 0, else one.
func fuzzedSet(b []byte) (set chart.Set) {
	const most = 60
	wide := len(b) > 0 && b[0] == 0
	size := 3
	if wide {
		size = 24
	}
	for ; len(b) >= size && len(set) < most; b = b[size:] {
		s := colorimetry.RGB{R: float64(b[0]) / 200, G: float64(b[1]) / 200, B: float64(b[2]) / 200}
		if wide {
			at := func(i int) float64 { return math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:])) }
			s = colorimetry.RGB{R: at(0), G: at(1), B: at(2)}
		}
		set = append(set, chart.Patch{Signal: s})
	}
	return chart.Number(set, "f")
}

func FuzzThinAndDistinct(f *testing.F) {
	f.Add([]byte{255, 255, 255, 1, 1, 1, 200, 200, 200, 7, 8, 9, 7, 8, 9}, 3, 2.0, false)
	f.Add(append(make([]byte, 30), 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xf8, 0x7f, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14), 9, 0.0, true)
	f.Add([]byte{}, 1, math.NaN(), true)
	f.Fuzz(func(t *testing.T, b []byte, n int, deltaE float64, ucs bool) {
		set, in := fuzzedSet(b), chart.CIELAB
		if ucs {
			in = chart.CAM16UCS
		}
		differ := len(chart.Distinct(set, 0, in))
		if got := len(chart.Thin(set, n, in)); got != max(min(n, differ), 0) {
			t.Errorf("Thin to %d leaves %d of %d that differ", n, got, differ)
		}
		isPart(t, set, chart.Thin(set, n, in))
		isPart(t, set, chart.Distinct(set, deltaE, in))
		if len(set) > 0 && len(chart.Distinct(set, deltaE, in)) == 0 {
			t.Error("Distinct drops the first")
		}
	})
}

// isPart wants part to be patches of set in set's order; names are unique.
func isPart(t *testing.T, set, part chart.Set) {
	t.Helper()
	for _, p := range set {
		if len(part) > 0 && part[0].ID == p.ID {
			part = part[1:]
		}
	}
	if len(part) > 0 {
		t.Errorf("%v is not in the set, or not in its order", part[0])
	}
}

func FuzzDensify(f *testing.F) {
	f.Add([]byte{255, 255, 255, 1, 1, 1, 200, 200, 200}, 50.0, 10.0, -10.0, 20.0, 3.0, uint8(8), uint64(1))
	f.Add([]byte{}, 0.0, 0.0, 0.0, 500.0, 9.0, uint8(0), uint64(0))
	f.Add([]byte{1, 2, 3}, 0.0, 0.0, 0.0, math.Inf(1), 2.0, uint8(17), uint64(0))
	f.Fuzz(func(t *testing.T, b []byte, l, a, c, radius, factor float64, bits uint8, seed uint64) {
		if !(factor >= 1 && factor <= 10) { // others panic or take long
			t.Skip()
		}
		// Beside the ball, some that is never small: what is small is tried long.
		set, ball := fuzzedSet(b), chart.Ball(colorimetry.Lab{L: l, A: a, B: c}, radius)
		in := func(s colorimetry.RGB) bool { return s.R < 0.3 || ball(s) }
		got := chart.Densify(set, in, factor, chart.Options{Bits: int(bits % 17), Seed: seed})
		limit := math.Round((factor - 1) * math.Max(float64(countIn(set, in)), 1))
		if len(got) < len(set) || float64(len(got)-len(set)) > limit {
			t.Fatalf("%d patches became %d, at most %g more were asked for", len(set), len(got), limit)
		}
		seen := signals(set)
		for i, p := range got {
			switch {
			case i < len(set):
				if p.ID != set[i].ID {
					t.Errorf("patch %d was %v and is %v", i, set[i], p)
				}
			case seen[p.Signal] || !in(p.Signal) || p.Signal != p.Signal.Clamp():
				t.Errorf("new patch %v is a repeat, outside the region or outside the cube", p)
			default:
				seen[p.Signal] = true
			}
		}
	})
}
