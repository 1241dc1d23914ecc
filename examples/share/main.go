// Command share settles one aim for several displays: a desk with two, a room
// with ten.
//
// It shows aim.Share, and what a display must be known by for it: in source.go
// the report of a run, a table of readings or a description becomes an
// aim.Display; simulated.go takes the readings by itself.
package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/fit/aim"
)

const synopsis = `share [options] [[NAME=]FILE ...]

share settles one aim for several displays: a white that all can have, the
luminance that the dimmest reaches there, and what their gamuts have in common.
It prints one row a display as CSV: the highest luminance at that white, the
shares of its light and of its gamut (u'v') that it keeps, how far its white has
to move in u'v', its own black, and whether it can have the aim. Standard error
says the aim, the largest red, green and blue that all can show, and which display
settled what. -save-aim keeps the aim for each display's own run: characterise
takes it with -aim.

Each FILE is a display, one of
  report.json of a characterise run: the display as it was found
  a table of readings (CSV or CGATS.17, absolute) with black and full red, green
    and blue, and best white too: the display in the state it was read in
  a description of a simulated display (JSON)
Displays are called by the name in the file, tables by their path, or by NAME.
Without a FILE simulated displays are read, whose instrument is invented.
The shared black is that of the displays as read: what dims a panel's own light on
the way to the aim dims its black too, so that a lower one may do.

Where the channels together do not add up to the white as read, they are scaled
until they do: the white is then right, colours far from it are not. A report
tells no colour of the black; it counts as that of the white.

Readings that agree need not look alike on displays whose light differs: match
the white by eye on one, and give what is read there as -white. Displays for
diagnosis fall under rules of their own and a qualified medical physicist.

Exit status: 0 done, 1 not all can have the aim asked for (the nearest is saved),
2 bad input or use, 4 output failed, 130 interrupted.`

// options are the command line.
type options struct {
	words            aim.Words
	aimFile, saveAim string
	from             string
	simulated, seed  int
	spare            int // percent
}

// shared is the word for the black of which the brightest of all is that.
const shared = "shared"

func main() { cli.Program{Name: "share", Run: run}.Main() }

func run(ctx context.Context, args []string, std cli.IO) error {
	var o options
	f := cli.NewFlags("share", synopsis, std)
	f.StringVar(&o.aimFile, "aim", "", "saved aim to begin with (JSON `file`); single values below change it")
	f.StringVar(&o.words.Ambient, "ambient", "", "light that the screens reflect in their room, in `cd/m²`, as measured; \"0.4 estimated\" where it was not")
	f.StringVar(&o.words.Black, "black", "native", "luminance of black in `cd/m²`, a ratio such as 1000:1, native, or shared: that of the display with the brightest black")
	f.Choice(&o.words.Policy, "black-policy", "stretch", "what the tone does above a black that is not dark", "stretch", "lift")
	f.StringVar(&o.from, "from", "", "`document` to take the aim from: "+strings.Join(starts(), ", ")+"; single values change it")
	f.StringVar(&o.words.Luminance, "luminance", "native", "luminance of white in `cd/m²`, that of paper, such as paper 0.85 in 500 lx, or native: the highest that all reach")
	f.StringVar(&o.saveAim, "save-aim", "", "save the aim to this `file`")
	f.Whole(&o.seed, "seed", 1, 0, 1<<31-1, "without files: `number` that varies the simulated noise")
	f.Whole(&o.simulated, "simulated", 2, 1, len(room), "without files: `number` of displays that are simulated")
	f.Whole(&o.spare, "spare", 0, 0, 50, "with -luminance native: `percent` of the dimmest display's light that is left unused, since displays fade")
	f.StringVar(&o.words.Tone, "tone", "power 2.2", "`tone` of the greys: a power such as 2.2, srgb or any curve that package tone parses")
	f.StringVar(&o.words.White, "white", "D65", "`white`: D50, D55, D65, D75, a colour temperature, x,y, or native: amid the displays' own")
	f.Exclude("an aim comes from one place", "aim", "from")
	files, err := f.ParseAny(args)
	if err != nil {
		return err
	}
	for _, option := range []string{"seed", "simulated"} {
		if len(files) > 0 && f.Given()[option] {
			return cli.Bad("-%s goes without files: %q is named", option, files[0])
		}
	}
	in := cli.Inputs{In: std.In}
	want, sharedBlack, err := o.want(&in, f.Given())
	if err != nil {
		return err
	}
	if o.spare > 0 && want.Luminance != 0 {
		return cli.Bad("-spare goes with -luminance native: it is a share of what the dimmest display has, and %g cd/m² is asked for", want.Luminance)
	}
	displays, err := o.displays(ctx, &in, files, std.Err)
	if err != nil {
		return err
	}
	s, err := settle(want, displays, sharedBlack, float64(o.spare)/100)
	if err != nil {
		return cli.Give(cli.BadInput, err)
	}
	if err := cli.Save("save-aim", o.saveAim, s.Aim.Write); err != nil {
		return err
	}
	if err := write(std.Out, displays, s); err != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing the displays: %w", err))
	}
	tell(std.Err, s)
	if !s.OK {
		return cli.Give(cli.Failed, fmt.Errorf("not all displays can have the aim as it was asked for; the nearest that they can is above"))
	}
	return nil
}

// want returns the aim before it is shared, and whether its black is to be that
// of the display with the brightest.
func (o *options) want(in *cli.Inputs, given map[string]bool) (want aim.Aim, sharedBlack bool, err error) {
	words := o.words
	if o.from != "" {
		start, err := aim.StartNamed(o.from)
		if err != nil {
			return want, false, cli.Bad("-from: %w", err)
		}
		want = start.Aim
	}
	if err := in.Read(o.aimFile, func(r io.Reader) (err error) { want, err = aim.Read(r); return err }); err != nil {
		return want, false, err
	}
	if o.from != "" || o.aimFile != "" {
		words = words.Only(func(part string) bool { return given[part] })
	}
	if sharedBlack = words.Black == shared; sharedBlack {
		words.Black = "native"
	}
	if want, err = want.With(words); err == nil {
		err = want.Judgeable()
	}
	return want, sharedBlack, cli.Give(cli.BadInput, err)
}

// starts are the names that -from takes.
func starts() (names []string) {
	for _, s := range aim.Starts() {
		names = append(names, s.Name)
	}
	return names
}

// settle shares the aim: first what the displays settle by themselves, then with
// light to spare and the brightest black, where these are asked for.
func settle(want aim.Aim, displays []aim.Display, sharedBlack bool, spare float64) (aim.Shared, error) {
	s, err := want.Share(displays)
	if err != nil {
		return s, err
	}
	if sharedBlack {
		want.BlackCdM2 = threeDigitsUp(s.HighestBlack)
	}
	if want.Luminance == 0 && spare > 0 {
		want.Luminance = threeDigitsDown(s.Aim.Luminance * (1 - spare))
	}
	return want.Share(displays)
}

// threeDigitsUp rounds what is above 0 up to three significant digits.
func threeDigitsUp(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	unit := math.Pow(10, math.Floor(math.Log10(v))-2)
	return math.Ceil(v/unit) * unit
}

// threeDigitsDown rounds what is above 0 down to three significant digits.
func threeDigitsDown(v float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(v))-2)
	return math.Floor(v/unit) * unit
}

// write prints a line a display.
func write(w io.Writer, displays []aim.Display, s aim.Shared) error {
	out := csv.NewWriter(w)
	out.Write([]string{"display", "max_cd_m2", "luminance_share", "gamut_share", "white_shift_uv", "black_cd_m2", "has_aim"})
	number := func(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) }
	for i, d := range s.Displays {
		has := "yes"
		if !d.Reached.OK {
			has = "no"
		}
		out.Write([]string{d.Name, number(d.Reached.MaxLuminance, 2), number(d.Luminance, 4), number(d.Gamut, 4), number(d.WhiteShift, 5), number(displays[i].Black.Y, 4), has})
	}
	out.Flush()
	return out.Error()
}

// tell says the aim and what settled it.
func tell(w io.Writer, s aim.Shared) {
	black := "the display's own black"
	switch a := s.Aim; {
	case a.BlackRatio > 0:
		black = fmt.Sprintf("a black of 1/%.4g of that", a.BlackRatio)
	case a.BlackCdM2 > 0:
		black = fmt.Sprintf("a black of %.3g cd/m²", a.BlackCdM2)
	}
	fmt.Fprintf(w, "shared aim: white %v, %.4g cd/m², %s, tone %v\n", s.Aim.White, s.Aim.Luminance, black, s.Aim.Curve())
	words := func(uv colorimetry.UV) string {
		c := uv.Chromaticity()
		return fmt.Sprintf("%.4f,%.4f", c.X, c.Y)
	}
	fmt.Fprintf(w, "all can show: red %s, green %s, blue %s (x,y)\n", words(s.Primaries[0]), words(s.Primaries[1]), words(s.Primaries[2]))
	for _, text := range s.Sentences {
		fmt.Fprintln(w, cli.Printable(text))
	}
}
