// Package plug connects what is outside this process: external programs that
// drive a screen, an instrument or controls, and a page in a browser as a
// screen.
//
// # Programs
//
// A [Process] is any program as [measure.Screen], [measure.Instrument],
// [measure.Controls] and, where the device is simulated, [measure.Clock]. It is
// talked to in lines of JSON on its standard input and output. PROTOCOL.md, the
// page beside this file, describes them: a driver in any language can be written
// from it alone, and examples/driver was. [Conform] holds a program against the
// page.
//
//	command, err := plug.ParseCommand(`process:mydriver -port "USB 1"`)
//	...
//	p, err := plug.Start(ctx, command, plug.Options{})
//	...
//	defer p.Close()
//	instrument, err := p.Instrument()
//
// What a program says is a stranger's word: lines are bounded and decoded
// strictly, what cannot be is refused, and errors quote it escaped and cut. A
// program that hangs is ended with its process group, one that failed is started
// again and told how things stood; see [Process].
//
// The screen in front of a person is the program's business, the pace is the
// session's: [measure.Session] keeps the flash limit between patches, and a
// program must show a patch at once and whole, without any transition.
//
// # The browser screen
//
// A [Browser] is a page on this machine as [measure.Screen]. A person opens its
// address on the display under test and clicks Start; the page fills the screen,
// marks where the instrument goes, and shows each patch as 8-bit codes in a
// window of whole pixels.
//
//	b, err := plug.OpenBrowser(plug.BrowserOptions{Screen: measure.ScreenInfo{Name: "Studio panel"}})
//	...
//	defer b.Close()
//	fmt.Println("open", b.Address())
//	err = b.Wait(ctx)
//	...
//	session, err := measure.Open(ctx, measure.Setup{Screen: b, Instrument: instrument, Journal: file})
//	...
//	route, err := plug.CheckRoute(ctx, session, b, plug.RouteOptions{})
//
// Nobody but this machine can reach the page, and nobody there without the token
// in its address. One page shows; a second is told so. Show returns once two
// frames have begun since the patch was painted; [Browser.CheckScreen] says
// whether it stood there all the time, and names what came between. A page that
// was closed, reloaded or cut off ends Show with what to do, after it has waited
// for a person; the same address goes on with the same patch. [Browser.Finish]
// makes the page say that all is done, [Browser.Close] without it that the run
// stopped.
//
// Browsers convert the colours of pages to the display profile that the system
// gives them. [CheckRoute] measures whether this one does, before the first
// patch. Correction curves are looked up by the page, in 8 bits; [HandOver]
// has a person give them to the system, and measures whether they are in force
// there. Depths other than 8 bits, the limited range and PQ are refused: a
// [Process] is the way for those.
package plug
