package difference_test

import (
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
)

func ExampleCIEDE2000() {
	wanted := colorimetry.Lab{L: 50, A: 2.6772, B: -79.7751}
	shown := colorimetry.Lab{L: 50, A: 0, B: -82.7485}
	fmt.Printf("%.4f\n", difference.CIEDE2000(wanted, shown))
	// Output: 2.0425
}

// Two readings in cd/m², compared relative to the display's white.
func ExampleXYZ2000() {
	white := colorimetry.XYZ{X: 95.0, Y: 100.0, Z: 109.0}
	predicted := colorimetry.XYZ{X: 20.1, Y: 21.0, Z: 23.5}
	read := colorimetry.XYZ{X: 20.4, Y: 21.2, Z: 23.1}
	fmt.Printf("%.2f\n", difference.XYZ2000(predicted, read, white))
	// Output: 1.30
}
