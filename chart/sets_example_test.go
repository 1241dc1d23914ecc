package chart_test

import (
	"fmt"
	"slices"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

func ExampleHalton() {
	for _, p := range chart.Halton(4, chart.Options{Bits: 8}) {
		fmt.Printf("%.3f %.3f %.3f\n", p.Signal.R, p.Signal.G, p.Signal.B)
	}
	// Output:
	// 0.000 0.000 0.000
	// 0.553 0.384 0.184
	// 0.345 0.565 0.345
	// 0.765 0.243 0.498
}

func ExampleSobol() {
	// A longer set begins with the shorter one: a run can be extended.
	o := chart.Options{Bits: 10, Space: chart.CAM16UCS, Seed: 1}
	first, all := chart.Sobol(64, o), chart.Sobol(256, o)
	fmt.Println(len(first), len(all), slices.Equal(first, all[:64]))
	// Output: 64 256 true
}

func ExampleMaximin_space() {
	// 17 levels of grey, red, green and blue, and patches that are far from them
	// and from each other in CAM16-UCS.
	set := chart.Maximin(200, chart.Options{Bits: 10, Ramps: 17, Space: chart.CAM16UCS})
	fmt.Println(len(set), "patches in", chart.CAM16UCS)
	// Output: 200 patches in CAM16-UCS
}

func ExampleSurface() {
	inside := 0
	set := chart.Surface(98, chart.Options{Bits: 8})
	for _, p := range set {
		if p.Signal.Min() > 0 && p.Signal.Max() < 1 {
			inside++
		}
	}
	fmt.Println(len(set), "patches,", inside, "inside the cube")
	// Output: 98 patches, 0 inside the cube
}

func ExampleDensify() {
	set := chart.Default(175, chart.Options{Bits: 8})
	dark := chart.LightnessSlab(0, 20)
	more := chart.Densify(set, dark, 2, chart.Options{Bits: 8})
	count := func(s chart.Set) (n int) {
		for _, p := range s {
			if dark(p.Signal) {
				n++
			}
		}
		return n
	}
	fmt.Println("twice as many dark patches:", count(more) == 2*count(set))
	fmt.Println("the first new one is", more[len(set)].ID)
	// Output:
	// twice as many dark patches: true
	// the first new one is d1
}

func ExampleBall() {
	// Ten patches more around a skin colour.
	skin := chart.Ball(colorimetry.Lab{L: 65, A: 18, B: 18}, 10)
	set := chart.Densify(chart.Lattice(3), skin, 11, chart.Options{})
	fmt.Println(len(set)-27, "patches more")
	// Output: 10 patches more
}

func ExampleLightnessSlab() {
	dark := chart.LightnessSlab(0, 20)
	fmt.Println(dark(colorimetry.Gray(0.1)), dark(colorimetry.Gray(0.5)))
	// Output: true false
}

func ExampleHueSector() {
	reds := chart.HueSector(0, 60, 20)
	fmt.Println(reds(colorimetry.RGB{R: 0.8}), reds(colorimetry.RGB{B: 0.8}), reds(colorimetry.Gray(0.8)))
	// Output: true false false
}

func ExampleRegion() {
	// Any function of a signal is a region.
	highlights := chart.Region(func(s colorimetry.RGB) bool { return s.Max() >= 0.95 })
	fmt.Println(highlights(colorimetry.RGB{R: 1, G: 0.2}))
	// Output: true
}

func ExampleThin() {
	// Room for 60 of a long chart's patches.
	long := chart.Number(chart.Lattice(9), "p")
	short := chart.Thin(long, 60, chart.CAM16UCS)
	fmt.Println(len(long), "patches became", len(short), "from", short[0].ID, "to", short[len(short)-1].ID)
	// Output: 729 patches became 60 from p001 to p729
}

func ExampleDistinct() {
	both := chart.Union(chart.Neutral(33), chart.Lattice(5))
	fmt.Println(len(both), "patches,", len(chart.Distinct(both, 2, chart.CIELAB)), "more than ΔE 2 apart")
	// Output: 156 patches, 150 more than ΔE 2 apart
}

func ExampleSpace_String() {
	fmt.Println(chart.CIELAB, chart.CAM16UCS)
	// Output: CIELAB CAM16-UCS
}

func ExampleCodeRange() {
	video := chart.CodeRange{Bits: 10, Narrow: true}
	fmt.Println("black", video.Black(), "white", video.White(), "levels", video.Codes())
	// Output: black 64 white 940 levels 877
}

func ExampleCodeRange_Black() {
	fmt.Println(chart.CodeRange{Bits: 8, Narrow: true}.Black(), chart.CodeRange{Bits: 8}.Black())
	// Output: 16 0
}

func ExampleCodeRange_White() {
	fmt.Println(chart.CodeRange{Bits: 8, Narrow: true}.White(), chart.CodeRange{Bits: 8}.White())
	// Output: 235 255
}

func ExampleCodeRange_Codes() {
	fmt.Println(chart.CodeRange{Bits: 8, Narrow: true}.Codes(), chart.CodeRange{Bits: 8}.Codes())
	// Output: 220 256
}

func ExampleCodeRange_Code() {
	video := chart.CodeRange{Bits: 10, Narrow: true}
	fmt.Println(video.Code(0), video.Code(0.5), video.Code(1))
	// Output: 64 502 940
}

func ExampleCodeRange_Signal() {
	video := chart.CodeRange{Bits: 10, Narrow: true}
	fmt.Printf("%.4f %.4f %.4f\n", video.Signal(64), video.Signal(502), video.Signal(1019))
	// Output: 0.0000 0.5000 1.0902
}

func ExampleCodeRange_Quantise() {
	video := chart.CodeRange{Bits: 8, Narrow: true}
	grey := video.Quantise(chart.Neutral(3))[1].Signal.R
	fmt.Printf("code %d, signal %.4f\n", video.Code(grey), grey)
	// Output: code 93, signal 0.3516
}

func ExamplePace_Seconds() {
	var usual chart.Pace // 100 cd/m², a filter colorimeter
	fmt.Printf("white %.1f s, black %.1f s\n", usual.Seconds(colorimetry.Gray(1)), usual.Seconds(colorimetry.Gray(0)))
	// Output: white 1.4 s, black 10.4 s
}

func ExamplePace_Duration() {
	slow := chart.Pace{SettleS: 1, IntegrateS: 3, SlowBelowCdM2: 5, LongestS: 30}
	set := chart.Order(chart.Default(175, chart.Options{Bits: 8}), chart.OrderOptions{})
	fmt.Println(slow.Duration(set).Round(time.Minute))
	// Output: 27m0s
}

func ExamplePace_Patches() {
	// The size of a chart that is measured in a quarter of an hour.
	slow := chart.Pace{SettleS: 1, IntegrateS: 3, SlowBelowCdM2: 5, LongestS: 30}
	o := chart.Options{Bits: 8}
	n := slow.Patches(15*time.Minute, o)
	set := chart.Order(chart.Default(n, o), chart.OrderOptions{})
	fmt.Println("about", (n+5)/10*10, "patches and", len(set)-n, "repeats of white")
	fmt.Println("in time:", slow.Duration(set) <= 15*time.Minute)
	// Output:
	// about 100 patches and 6 repeats of white
	// in time: true
}
