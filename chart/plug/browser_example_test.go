package plug_test

import (
	"errors"
	"fmt"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
)

// A page has 8 bits a channel; what it has not got is refused, and who asks is
// told where to go.
func ExampleOpenBrowser() {
	b, err := plug.OpenBrowser(plug.BrowserOptions{Screen: measure.ScreenInfo{Name: "Studio panel", WindowShare: 0.04}})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer b.Close()
	fmt.Println(b.Screen().Bits, "bits, curves applied by the", b.Screen().CurvesBy)

	_, err = plug.OpenBrowser(plug.BrowserOptions{Screen: measure.ScreenInfo{Name: "Studio panel", Bits: 10}})
	fmt.Println(errors.Is(err, plug.ErrBrowserCannot))
	fmt.Println(err)
	// Output:
	// 8 bits, curves applied by the page
	// true
	// plug: signals of 10 bits: a browser's page cannot show this, whose colours have 8 bits a channel and the full range of an SDR signal; plug an external program in (Process) for it
}
