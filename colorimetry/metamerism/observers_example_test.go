package metamerism_test

import (
	"fmt"

	"example.org/primaries/colorimetry/metamerism"
)

// Ten kinds of observers as observers, ready to look at anything.
func ExampleObservers() {
	observers, err := metamerism.Observers(metamerism.Categories())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(observers))
	// Output: 10
}

// The colours at which displays are compared.
func ExampleLattice() {
	fmt.Println(len(metamerism.Lattice()), metamerism.Lattice()[0])
	// Output: 26 {0 0 0.2}
}
