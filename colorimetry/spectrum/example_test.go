package spectrum_test

import (
	"errors"
	"fmt"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// A spectrum from a table, as the light that an eye sees. The figures are
// invented.
func ExampleReadCSV() {
	table := `wavelength_nm,white
400,0.0001
450,0.0021
500,0.0009
550,0.0016
600,0.0014
650,0.0006
700,0.0001
`
	names, spectra, err := spectrum.ReadCSV(strings.NewReader(table))
	if err != nil {
		fmt.Println(err)
		return
	}
	c := spectrum.CIE1931().Emission(spectra[0])
	fmt.Printf("%s: %.1f cd/m², x %.4f, y %.4f\n", names[0], c.Y, c.Chromaticity().X, c.Chromaticity().Y)
	// Output: white: 98.2 cd/m², x 0.3121, y 0.3195
}

// A table with a mistake: the error says where and what to do.
func ExampleFormatError() {
	_, _, err := spectrum.ReadCSV(strings.NewReader("wavelength_nm,R\n400,0.1\n405,n/a\n"))
	fmt.Println(err)
	// Output: spectrum: line 3: "n/a" is no finite number; write numbers with a decimal point, as in 0.0012 or 1.2e-3
}

func ExampleCCT() {
	kelvin, duv, err := spectrum.CCT(colorimetry.Chromaticity{X: 0.3127, Y: 0.3290})
	if err != nil && !errors.Is(err, spectrum.ErrFarFromLocus) {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f K, Duv %+.4f\n", kelvin, duv)
	// Output: 6504 K, Duv +0.0032
}

func ExampleDaylight() {
	c, err := spectrum.Daylight(5003)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.4f\n", c)
	// Output: {0.3457 0.3586}
}

func ExamplePanelSources() {
	for _, p := range spectrum.PanelSources() {
		fmt.Printf("%s: %s\n", p.Key, p.Description)
	}
	// Output:
	// blue-yellow: white LEDs: blue chip and yellow phosphor
	// blue-red-green: white LEDs: blue chip, green phosphor and narrow-line red phosphor
	// blue-quantum-dots: blue LEDs and quantum dots
	// rgb-leds: separate red, green and blue LEDs
	// self-luminous-rgb: self-luminous red, green and blue pixels
	// self-luminous-white: self-luminous white pixels behind colour filters
}
