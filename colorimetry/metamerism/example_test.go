package metamerism_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/metamerism"
	"example.org/primaries/colorimetry/spectrum"
)

// How a 25-year-old and a 75-year-old see violet light, beside light of 550 nm.
func ExamplePhysiology_Cones() {
	for _, years := range []float64{25, 75} {
		c, err := metamerism.Physiology{Years: years}.Cones()
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%g years: M cones %.3f at 430 nm, %.3f at 550 nm\n", years, c.M.At(430), c.M.At(550))
	}
	// Output:
	// 25 years: M cones 0.043 at 430 nm, 0.974 at 550 nm
	// 75 years: M cones 0.014 at 430 nm, 0.997 at 550 nm
}

// The same light for two ages and a field of 10°.
func ExamplePhysiology_Observer() {
	for _, years := range []float64{25, 75} {
		o, err := metamerism.Physiology{Years: years, FieldDegrees: 10}.Observer()
		if err != nil {
			fmt.Println(err)
			return
		}
		c := o.Emission(spectrum.IlluminantD65()).Chromaticity()
		fmt.Printf("%s: x %.4f, y %.4f\n", o.Name, c.X, c.Y)
	}
	// Output:
	// 25 years, 10°: x 0.3152, y 0.3330
	// 75 years, 10°: x 0.3113, y 0.3275
}

func ExampleCategories() {
	for _, p := range metamerism.Categories()[:3] {
		fmt.Printf("%s: %g years, macula %+.0f %%, L cones %+.1f nm\n", p.Name, p.Years, p.Macula, p.ShiftL)
	}
	// Output:
	// category 1 of 2020: 38 years, macula +0 %, L cones +0.0 nm
	// category 2 of 2020: 67 years, macula -12 %, L cones -0.4 nm
	// category 3 of 2020: 22 years, macula +18 %, L cones +0.3 nm
}

func ExamplePopulation() {
	people, err := metamerism.Population(100, metamerism.PopulationOptions{Seed: 1, FromYears: 20, ToYears: 30})
	if err != nil {
		fmt.Println(err)
		return
	}
	observers, err := metamerism.Observers(people)
	fmt.Println(len(observers), observers[99].Name, err)
	// Output: 100 person 100 <nil>
}

// Two typical panels whose whites CIE 1931 calls equal: both are made to be D65.
func ExampleCompare() {
	panels := spectrum.PanelSources()
	first := metamerism.Display{Primaries: panels[0].Primaries}.Light(colorimetry.Gray(1))
	second := metamerism.Display{Primaries: panels[3].Primaries}.Light(colorimetry.Gray(1))
	observers, err := metamerism.Observers(metamerism.Categories())
	if err != nil {
		fmt.Println(err)
		return
	}
	s, err := metamerism.Compare(observers, first, second, first, metamerism.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("CIE 1931: %.1f\n", s.Reference)
	fmt.Printf("ten people: mean %.1f, at most %.1f (%s)\n", s.Mean, s.Max, observers[s.Worst].Name)
	fmt.Printf("what they agree on: L* %+.1f, a* %+.1f, b* %+.1f; what they don't: %.1f\n", s.Shift.L, s.Shift.A, s.Shift.B, s.Scatter)
	// Output:
	// CIE 1931: 0.0
	// ten people: mean 6.0, at most 12.7 (category 7 of 2020)
	// what they agree on: L* +0.0, a* +2.7, b* +1.6; what they don't: 5.0
}

// Which pairs of panels people agree about best.
func ExampleCompareDisplays() {
	panels := spectrum.PanelSources()
	observers, err := metamerism.Observers(metamerism.Categories())
	if err != nil {
		fmt.Println(err)
		return
	}
	a := metamerism.Display{Primaries: panels[0].Primaries}
	for _, i := range []int{3, 4, 5} {
		b := metamerism.Display{Primaries: panels[i].Primaries}
		s, err := metamerism.CompareDisplays(observers, a, b, nil, metamerism.Options{Reference: spectrum.CIE2015TwoDegree()})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s and %s: white %.1f, %d colours %.1f, at most %.1f\n", panels[0].Key, panels[i].Key, s.White.Mean, s.Reached, s.Mean, s.Max)
	}
	// Output:
	// blue-yellow and rgb-leds: white 6.4, 24 colours 1.8, at most 13.8
	// blue-yellow and self-luminous-rgb: white 4.5, 24 colours 1.2, at most 9.1
	// blue-yellow and self-luminous-white: white 2.3, 26 colours 0.6, at most 4.9
}

// How an observer of 60 years would set a panel beside another that shows its
// white: less or more of its primaries than CIE 1931.
func ExampleMatch() {
	panels := spectrum.PanelSources()
	light := metamerism.Display{Primaries: panels[0].Primaries}.Light(colorimetry.Gray(1))
	d := metamerism.Display{Primaries: panels[3].Primaries}
	o, err := metamerism.Physiology{Years: 60}.Observer()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, o := range []spectrum.Observer{spectrum.CIE1931(), o} {
		c, err := metamerism.Match(o, light, d)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%s: red %.3f, green %.3f, blue %.3f\n", o.Name, c.R, c.G, c.B)
	}
	// Output:
	// CIE 1931 2°: red 1.000, green 1.000, blue 1.000
	// 60 years, 2°: red 0.955, green 1.033, blue 1.014
}

// Many colours of two displays before one observer.
func ExampleNewPair() {
	panels := spectrum.PanelSources()
	a := metamerism.Display{Primaries: panels[0].Primaries}
	b := metamerism.Display{Primaries: panels[4].Primaries}
	p, err := metamerism.NewPair(spectrum.CIE1931(), a, b)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, c := range []colorimetry.RGB{{R: 1, G: 1, B: 1}, {R: 0.5, G: 0.2, B: 0.1}} {
		onB := p.Match(c)
		x, y := p.Seen(c, onB)
		fmt.Printf("%v on a is %.3f on b: %.2f and %.2f cd/m²\n", c, onB, x.Y, y.Y)
	}
	// Output:
	// {1 1 1} on a is {1.000 1.000 1.000} on b: 100.00 and 100.00 cd/m²
	// {0.5 0.2 0.1} on a is {0.417 0.217 0.109} on b: 26.23 and 26.23 cd/m²
}

// The index of the CIE's single standard deviate observer for two whites.
func ExampleStandardDeviate() {
	panels := spectrum.PanelSources()
	first := metamerism.Display{Primaries: panels[0].Primaries}.Light(colorimetry.Gray(1))
	second := metamerism.Display{Primaries: panels[3].Primaries}.Light(colorimetry.Gray(1))
	s, err := metamerism.Compare([]spectrum.Observer{metamerism.StandardDeviate()}, first, second, first, metamerism.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f\n", s.Mean)
	// Output: 6.0
}
