package profile_test

import (
	"fmt"
	"time"

	"example.org/primaries/fit/profile"
)

func ExampleFileName() {
	day := time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)
	fmt.Println(profile.FileName(day, "Studio display", "native", "D65 100 power 2.2"))
	// Output: 2026-11-25_studio-display_native_d65-100-power-2.2.icc
}
