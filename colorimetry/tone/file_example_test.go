package tone_test

import (
	"fmt"
	"os"
	"strings"

	"example.org/primaries/colorimetry/tone"
)

// Three correction curves, written and read again.
func ExampleWriteCSV() {
	c, err := tone.NewChannels([]float64{0, 0.48, 1}, []float64{0, 0.5, 0.98}, []float64{0, 0.51, 0.95})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := tone.WriteCSV(os.Stdout, c); err != nil {
		fmt.Println(err)
	}
	// Output:
	// input,R,G,B
	// 0,0,0,0
	// 0.5,0.48000305180437935,0.5000076295109483,0.5100022888532845
	// 1,1,0.979995422293431,0.9499961852445258
}

func ExampleReadCSV() {
	c, err := tone.ReadCSV(strings.NewReader("input,R,G,B\n0,0,0,0\n0.5,0.48,0.5,0.51\n1,1,0.98,0.95\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(c.Len())
	// Output: 3
}

// The system gamma of HLG for a display of 600 cd/m² in a room whose walls have
// 10 cd/m².
func ExampleHLGGamma() {
	fmt.Printf("%.3f\n", tone.HLGGamma(600, 10))
	// Output: 1.085
}
