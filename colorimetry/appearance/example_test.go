package appearance_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
)

// A grey of 20 % on a display whose white is D65 at 100 cd/m², in a lit room.
func ExampleNewCAM16() {
	m, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65()})
	if err != nil {
		fmt.Println(err)
		return
	}
	a, ok := m.Appearance(colorimetry.D65().Scale(0.2))
	fmt.Printf("lightness %.1f, brightness %.1f, adapted to %.0f %% %v\n", a.J, a.Q, 100*m.Degree(), ok)
	// Output: lightness 41.4, brightness 110.0, adapted to 86 % true
}

// The worked example of CIE 159:2004, section 9. Its numbers are on the scale
// on which the perfect white has 100; here that is 1.
func ExampleNewCIECAM02() {
	m, err := appearance.NewCIECAM02(appearance.Viewing{
		White:        colorimetry.XYZ{X: 0.9888, Y: 0.90, Z: 0.3203},
		AdaptingCdM2: 200,
		Background:   0.18,
		Surround:     appearance.Average(),
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	a, _ := m.Appearance(colorimetry.XYZ{X: 0.1931, Y: 0.2393, Z: 0.1014})
	fmt.Printf("h %.1f H %.1f J %.2f Q %.2f s %.2f C %.2f M %.2f\n", a.Hue, a.Quadrature, a.J, a.Q, a.S, a.C, a.M)
	// Output: h 191.0 H 240.9 J 48.03 Q 183.12 s 46.02 C 38.78 M 38.78
}

func ExampleModel_Appearance() {
	m, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65(), Surround: appearance.Dim()})
	if err != nil {
		fmt.Println(err)
		return
	}
	red := colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}
	a, _ := m.Appearance(red)
	fmt.Printf("J %.1f C %.1f hue %.0f° (quadrature %.0f)\n", a.J, a.C, a.Hue, a.Quadrature)
	_, ok := m.Appearance(colorimetry.XYZ{X: -1, Y: 0, Z: 2})
	fmt.Println("a colour beyond all lights:", ok)
	// Output:
	// J 51.6 C 108.2 hue 27° (quadrature 9)
	// a colour beyond all lights: false
}

// The same look in a dark room: what has to be shown there.
func ExampleModel_XYZ() {
	lit, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65(), AdaptingCdM2: 60})
	if err != nil {
		fmt.Println(err)
		return
	}
	dark, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65(), AdaptingCdM2: 10, Surround: appearance.Dark()})
	if err != nil {
		fmt.Println(err)
		return
	}
	a, _ := lit.Appearance(colorimetry.XYZ{X: 0.12, Y: 0.15, Z: 0.07})
	c, ok := dark.XYZ(a, appearance.ByJC)
	fmt.Printf("%.4f %v\n", c, ok)
	// Output: {0.0655 0.0835 0.0297} true
}

func ExampleModel_Jab() {
	m, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65()})
	if err != nil {
		fmt.Println(err)
		return
	}
	first, _ := m.Jab(colorimetry.XYZ{X: 0.20, Y: 0.21, Z: 0.23}, appearance.UCS())
	second, _ := m.Jab(colorimetry.XYZ{X: 0.21, Y: 0.21, Z: 0.22}, appearance.UCS())
	fmt.Printf("%.2f and %.2f differ by %.2f\n", first, second, appearance.UCS().Distance(first, second))
	// Output: {55.72 -0.96 -1.01} and {55.94 4.34 0.94} differ by 5.65
}

func ExampleModel_FromJab() {
	m, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65()})
	if err != nil {
		fmt.Println(err)
		return
	}
	c, ok := m.FromJab(appearance.Jab{J: 60, A: 10, B: -5}, appearance.UCS())
	fmt.Printf("%.4f %v\n", c, ok)
	// Output: {0.2612 0.2456 0.3102} true
}

func ExampleQuadrature() {
	h := 57.0
	fmt.Printf("hue %.0f° is %.0f %% yellow, the rest red; and back %.0f°\n", h, appearance.Quadrature(h), appearance.HueOf(appearance.Quadrature(h)))
	// Output: hue 57° is 49 % yellow, the rest red; and back 57°
}

// Ottosson's first matrices leave the white a trace of colour, those of CSS
// none that matters.
func ExampleOklabCSS() {
	red := colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}
	fmt.Printf("%.5f\n", appearance.OklabFirst().Oklab(red))
	fmt.Printf("%.5f\n", appearance.OklabCSS().Oklab(red))
	// Output:
	// {0.62793 0.22489 0.12580}
	// {0.62793 0.22492 0.12586}
}

func ExampleOklab_Oklch() {
	c := appearance.OklabCSS().Oklab(colorimetry.XYZ{X: 0.1805, Y: 0.0722, Z: 0.9505}).Oklch()
	fmt.Printf("L %.3f C %.3f h %.1f°\n", c.L, c.C, c.H)
	// Output: L 0.452 C 0.313 h 264.1°
}

// Both take cd/m²: a paper white of 203 cd/m².
func ExampleFromXYZJzazbz() {
	j, ok := appearance.FromXYZJzazbz(colorimetry.D65().Scale(203))
	fmt.Printf("Jz %.4f %v\n", j.J, ok)
	// Output: Jz 0.2221 true
}

func ExampleICtCpForm_FromXYZ() {
	white := colorimetry.D65().Scale(203)
	p, ok := appearance.ICtCpPQ.FromXYZ(white)
	fmt.Printf("I %.4f %v\n", p.I, ok) // the PQ code of 203 cd/m²
	back, _ := appearance.ICtCpPQ.XYZ(p)
	fmt.Printf("%.1f cd/m²\n", back.Y)
	// Output:
	// I 0.5807 true
	// 203.0 cd/m²
}
