package curves_test

import (
	"context"
	"flag"
	"fmt"
	"strings"
	"math"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/curves"
)

type grayFigures struct {
	worst, floor, excess float64 // Δu'v'
	at                   float64
	beyond, all          int
	envelope             int
	y                    float64
}

func lookGrays(truth, bare func(colorimetry.RGB) colorimetry.XYZ, r curves.Result, bits int) grayFigures {
	top := float64(int(1)<<bits) - 1
	black := truth(colorimetry.RGB{})
	var f grayFigures
	low := int(math.Ceil(math.Max(r.FloorSignal, 0.05) * top))
	n := int(top) + 1
	uvs, floors, ys := make([]float64, n), make([]float64, n), make([]float64, n)
	for k := low; k < n; k++ {
		s := float64(k) / top
		want := r.Aim.Target(s, black, r.Aim.Luminance)
		got := truth(colorimetry.Gray(s))
		d := r.Curves.Apply(colorimetry.Gray(s))
		at := [3]int{int(math.Round(d.R * top)), int(math.Round(d.G * top)), int(math.Round(d.B * top))}
		uvs[k], floors[k], ys[k] = got.UV().Distance(want.UV()), bestAround(bare, at, want, top), got.Y/want.Y-1
	}
	for k := low; k < n; k++ {
		s := float64(k) / top
		floor := 0.0
		for j := max(k-*win, low); j <= min(k+*win, n-1); j++ {
			floor = math.Max(floor, floors[j])
		}
		uv := uvs[k]
		f.all++
		f.floor = math.Max(f.floor, floor)
		f.y = math.Max(f.y, math.Abs(ys[k]))
		f.worst = math.Max(f.worst, uv)
		if uv > math.Max(0.001, 1.5*floors[k]) {
			f.envelope++
		}
		if e := uv / math.Max(0.001, 1.5*floor); e > f.excess {
			f.excess, f.at = e, s
		}
		if uv > math.Max(0.001, 1.5*floor) {
			f.beyond++
			if *verbose {
				fmt.Printf("   %.4f uv %.4f floor %.4f %.4f Y %+.3f\n", s, uv, floor, floors[k], ys[k])
			}
		}
	}
	return f
}

var win = flag.Int("win", 2, "")

func bestAround(bare func(colorimetry.RGB) colorimetry.XYZ, at [3]int, want colorimetry.XYZ, top float64) float64 {
	show := func(t [3]int) colorimetry.XYZ {
		return bare(colorimetry.RGB{R: float64(t[0]) / top, G: float64(t[1]) / top, B: float64(t[2]) / top})
	}
	cost := func(c colorimetry.XYZ) float64 {
		return math.Hypot(c.UV().Distance(want.UV()), wt*(c.Y/want.Y-1))
	}
	best, least := at, cost(show(at))
	for {
		from := best
		for i := -1; i <= 1; i++ {
			for j := -1; j <= 1; j++ {
				for k := -1; k <= 1; k++ {
					t := [3]int{from[0] + i, from[1] + j, from[2] + k}
					if min(t[0], t[1], t[2]) < 0 || max(t[0], t[1], t[2]) > int(top) {
						continue
					}
					if m := cost(show(t)); m < least {
						best, least = t, m
					}
				}
			}
		}
		if best == from {
			return show(best).UV().Distance(want.UV())
		}
	}
}

const wt = 0.1

var quiet = flag.Bool("quiet", false, "")
var gu = flag.Float64("gu", 0, "")
var ma = flag.Int("ma", 0, "")
var levels = flag.Int("levels", 0, "")
var verbose = flag.Bool("vv", false, "")
var only = flag.String("only", "", "")

func TestGrayTable(t *testing.T) {
	specs := []simulate.Spec{simulate.ReferenceOLED.Spec(), simulate.WideGamutLCD.Spec(), simulate.CRT.Spec(), simulate.CoupledLCD.Spec(), simulate.SaggingPanel.Spec(), simulate.FourSubpixels.Spec()}
	for _, k := range []string{"blue-yellow", "rgb-leds", "self-luminous-rgb"} {
		s, err := simulate.Typical(k)
		if err != nil {
			t.Log(err)
			continue
		}
		specs = append(specs, s)
	}
	noise := mainJob(); if *quiet { noise = measure.Noise{} }
	for _, spec := range specs {
		if !strings.Contains(spec.Name, *only) { continue }
		for _, bits := range []int{6, 8, 10} {
			for seed := range *seedCount {
				d, err := simulate.New(spec, simulate.Options{Seed: seed, Bits: bits, ReferenceNoise: &noise})
				if err != nil {
					t.Fatal(err)
				}
				bare, _ := simulate.New(spec, simulate.Options{Bits: bits})
				s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Spectroradiometer(), Clock: d.Clock()})
				if err != nil {
					t.Fatal(err)
				}
				r, err := curves.Correct(context.Background(), s, aim.Aim{White: d65(t), Luminance: 100}, curves.Options{GrayLevels: *levels, GrayUncertainty: *gu, MostAverages: *ma})
				if err != nil {
					t.Fatal(err)
				}
				n := 0
				for _, x := range s.Readings() {
					n += len(x.Repeats)
				}
				f := lookGrays(d.Truth, bare.Truth, r, bits)
				t.Logf("%-34.34s %2d bits: worst %.4f floor %.4f excess %5.2f at %.3f, %3d of %d beyond (own %d), Y %.3f, floor %.3f, hold %.3f, %d passes, %d readings %d integrations", spec.Name, bits, f.worst, f.floor, f.excess, f.at, f.beyond, f.all, f.envelope, f.y, r.FloorSignal, r.HoldSignal, len(r.Passes)-1, len(s.Readings()), n)
			}
		}
	}
}
