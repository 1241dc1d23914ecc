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
package plug
