// Command patches makes sets of patches, joins them with others and with the
// colours of pictures, and puts them in the order in which they are measured.
//
// It shows package chart and chart/pictures: generators, Union, Quantise, Apart,
// Order, and the tables that sets are exchanged in.
package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/pictures"
	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
)

const synopsis = `patches [options] [FILE…]

patches prints a set of patches: those that -make asks for, then those of each
FILE, which is a table (CGATS.17 or CSV) or a picture (PNG, JPEG, TIFF). A signal
that came before is left out. Pictures give the colours that stand for most of
their pixels, what is rare but different among them; their own profiles say what
their numbers mean.

With -apart the set is one for proof instead: it keeps its distance from the set
that it is given. -order puts patches so that drift is spread over all colours,
with repeats of white between.

Exit status: 0 done, 2 bad input or use, 4 output failed, 130 interrupted.`

func main() { cli.Program{Name: "patches", Run: run}.Main() }

// options are the command line.
type options struct {
	make, format, apart string
	space, repeat       string
	size, picked, bits  int
	anchors, thin       int
	seed                int
	narrow, order       bool
	minutes             float64
	signalMax, writeMax float64
	files               []string
}

func parse(args []string, std cli.IO) (*options, error) {
	o := &options{}
	f := cli.NewFlags("patches", synopsis, std)
	f.Whole(&o.anchors, "anchors", 20, 1, 10000, "with -order: `number` of patches between two repeats of white")
	f.StringVar(&o.apart, "apart", "", "table (`file`) of the set that the new one keeps its distance from")
	f.Whole(&o.bits, "bits", 0, 0, 16, "depth of the path in `bits`, on whose codes signals fall; 0 leaves them continuous")
	f.Choice(&o.format, "format", "csv", "how the set is written", "csv", "cgats")
	f.Choice(&o.make, "make", "none", "what is made: for a display unknown as yet, keeping their distance (maximin counts the faces of the cube in, farthest fills the inside), a lattice, greys, ramps of white and the primaries, ramps of the secondaries, low-discrepancy sequences, the surface of the gamut, nothing",
		"default", "maximin", "farthest", "lattice", "neutral", "ramps", "secondaries", "halton", "sobol", "surface", "none")
	f.Number(&o.minutes, "minutes", 0, 0, 10000, "with -make default: `time` that the set may take instead of a size, at the pace of a filter colorimeter")
	f.BoolVar(&o.narrow, "narrow", false, "with -bits: the path has the narrow range of video, 16 to 235 at 8 bits")
	f.BoolVar(&o.order, "order", false, "put the set in the order in which it is measured")
	f.Whole(&o.picked, "picked", 30, 1, 1000, "`number` of patches from all pictures together")
	f.Choice(&o.repeat, "repeat", "white", "with -order: what is read again and again to show a drift: white, or white, the primaries and a grey", "white", "primaries")
	f.Whole(&o.seed, "seed", 1, 0, 1<<31-1, "`number` that varies space-filling patches, the choice from pictures and the order")
	f.Choice(&o.space, "space", "cielab", "the space in which patches keep their distance", "cielab", "cam16ucs")
	f.Whole(&o.thin, "thin", 0, 0, 100000, "`number` of patches that are kept in the end, far from each other; 0 keeps all")
	f.Number(&o.signalMax, "signal-max", 0, 0, 65536, "`number` that stands for full signal in tables that are read; 0 is 1, or what the table says")
	f.Whole(&o.size, "size", 175, 1, 10000, "`number` of patches; of levels for lattice (6 where it is not said), neutral (33), ramps (17) and secondaries (9)")
	f.Number(&o.writeMax, "write-max", 1, 1, 65536, "`number` that full signal is written as: 1, 100, 255 …")
	f.Exclude("a set for proof is made by its distance alone", "apart", "make", "minutes")
	f.Exclude("one states the size, the other finds it", "minutes", "size")
	f.Need("bits", "narrow")
	f.Need("order", "anchors", "repeat")
	files, err := f.ParseAny(args)
	if err != nil {
		return nil, err
	}
	o.files = files
	if n, ok := usualLevels[o.make]; ok && !f.Given()["size"] {
		o.size = n
	}
	switch {
	case o.make == "lattice" && o.size > 40:
		return nil, cli.Bad("a lattice of %d levels has more than 64,000 patches; give -size 2 to 40", o.size)
	case o.minutes > 0 && o.make != "default":
		return nil, cli.Bad("-minutes goes with -make default")
	case o.narrow && o.bits < 8:
		return nil, cli.Bad("the narrow range begins at 8 bits; give -bits 8 to 16")
	case o.make == "none" && o.apart == "" && len(files) == 0:
		return nil, cli.Bad("nothing is asked for: give -make, -apart or files")
	}
	return o, nil
}

// usualLevels are the levels of sets whose size is not a number of patches.
var usualLevels = map[string]int{"lattice": 6, "neutral": 33, "ramps": 17, "secondaries": 9}

// repeats are the patches that an order repeats beside white.
var repeats = map[string]chart.Set{
	"primaries": {
		{ID: "red", Signal: colorimetry.RGB{R: 1}}, {ID: "green", Signal: colorimetry.RGB{G: 1}},
		{ID: "blue", Signal: colorimetry.RGB{B: 1}}, {ID: "grey", Signal: colorimetry.Gray(0.5)},
	},
}

func run(ctx context.Context, args []string, std cli.IO) error {
	o, err := parse(args, std)
	if err != nil {
		return err
	}
	set, from, err := o.gather(ctx, std)
	if err != nil {
		return err
	}
	if o.order {
		set = chart.Order(set, chart.OrderOptions{Seed: uint64(o.seed), AnchorEvery: o.anchors, Anchors: repeats[o.repeat]})
	}
	out := bufio.NewWriter(std.Out)
	write := chart.WriteCSV
	if o.format == "cgats" {
		write = chart.WriteCGATS
	}
	err = write(out, table(set, from), chart.WriteOptions{SignalMax: o.writeMax})
	if flushed := out.Flush(); err != nil || flushed != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing the set: %w", errors.Join(err, flushed)))
	}
	fmt.Fprintf(std.Err, "patches: %d, about %s with a filter colorimeter\n", len(set), cli.Duration(chart.Pace{}.Duration(set)))
	return nil
}

// gather returns the set, and the picture that a signal comes from, if any.
func (o *options) gather(ctx context.Context, std cli.IO) (chart.Set, map[colorimetry.RGB]string, error) {
	settings := chart.Options{Bits: o.bits, Narrow: o.narrow, Seed: uint64(o.seed)}
	if o.space == "cam16ucs" {
		settings.Space = chart.CAM16UCS
	}
	if o.minutes > 0 {
		o.size = chart.Pace{}.Patches(time.Duration(o.minutes*float64(time.Minute)), settings)
	}
	sets := []chart.Set{o.made(settings)}
	inputs := cli.Inputs{In: std.In}
	if o.apart != "" {
		err := inputs.Read(o.apart, func(r io.Reader) error {
			t, err := chart.Read(r, o.apart, o.reading())
			if err == nil {
				sets[0] = chart.Apart(t.Patches(), o.size, settings)
			}
			return err
		})
		if err != nil {
			return nil, nil, err
		}
	}
	var seen []pictures.Picture
	for _, path := range o.files {
		if ctx.Err() != nil {
			return nil, nil, ctx.Err()
		}
		err := inputs.Read(path, func(r io.Reader) error {
			p, t, err := o.read(r, path)
			if p != nil {
				seen = append(seen, *p)
			}
			if t != nil {
				sets = append(sets, t.Patches())
			}
			return err
		})
		if err != nil {
			return nil, nil, err
		}
	}
	from := map[colorimetry.RGB]string{}
	if len(seen) > 0 {
		picks, err := pictures.Patches(seen, o.picked, pictures.Options{Bits: o.bits, Seed: uint64(o.seed)})
		if err != nil {
			return nil, nil, cli.Give(cli.BadInput, err)
		}
		var set chart.Set
		for _, p := range picks {
			set, from[p.Signal] = append(set, p.Patch), p.Picture
		}
		sets = append(sets, set)
	}
	set := chart.Union(sets...)
	if o.bits > 0 {
		set = chart.Union(chart.CodeRange{Bits: o.bits, Narrow: o.narrow}.Quantise(set))
	}
	if o.thin > 0 {
		set = chart.Thin(set, o.thin, settings.Space)
	}
	return renamed(set), from, nil
}

// made returns what -make asks for.
func (o *options) made(settings chart.Options) chart.Set {
	switch o.make {
	case "default":
		return chart.Default(o.size, settings)
	case "maximin":
		return chart.Number(chart.Maximin(o.size, settings), "m")
	case "farthest":
		return chart.Number(chart.Farthest(o.size, settings), "f")
	case "lattice":
		return chart.Number(chart.Lattice(o.size), "l")
	case "neutral":
		return chart.Number(chart.Neutral(o.size), "n")
	case "ramps":
		return chart.Number(chart.Ramps(o.size), "r")
	case "secondaries":
		return chart.Number(chart.Secondaries(o.size), "s")
	case "halton":
		return chart.Number(chart.Halton(o.size, settings), "h")
	case "sobol":
		return chart.Number(chart.Sobol(o.size, settings), "q")
	case "surface":
		return chart.Number(chart.Surface(o.size, settings), "u")
	}
	return nil
}

// reading is how tables are read.
func (o *options) reading() chart.ReadOptions {
	return chart.ReadOptions{PatchesOnly: true, SignalMax: o.signalMax}
}

// read reads a picture or a table, whichever the first bytes are of.
func (o *options) read(r io.Reader, path string) (*pictures.Picture, *chart.Table, error) {
	b := bufio.NewReader(r)
	head, _ := b.Peek(8) // a shorter file is no picture
	for _, mark := range []string{"\x89PNG\r\n\x1a\n", "\xff\xd8", "II*\x00", "MM\x00*"} {
		if bytes.HasPrefix(head, []byte(mark)) {
			p, err := pictures.Decode(b, path, pictures.Limits{})
			return &p, nil, err
		}
	}
	t, err := chart.Read(b, path, o.reading())
	return nil, &t, err
}

// renamed numbers patches whose names are missing or were taken before.
func renamed(set chart.Set) chart.Set {
	taken := map[string]bool{}
	for i := range set {
		id := set[i].ID
		for n := i + 1; id == "" || taken[id]; n++ {
			id = fmt.Sprintf("x%d", n)
		}
		set[i].ID, taken[id] = id, true
	}
	return set
}

// table returns the set as a table, with the pictures in a column where there
// are any.
func table(set chart.Set, from map[colorimetry.RGB]string) chart.Table {
	var t chart.Table
	if len(from) > 0 {
		t.Extra = []string{"PICTURE"}
	}
	for _, p := range set {
		row := chart.Row{ID: p.ID, Signal: p.Signal}
		if t.Extra != nil {
			row.Extra = []string{strings.Map(plain, from[p.Signal])}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// plain replaces what no table may hold in a text.
func plain(r rune) rune {
	if r < ' ' || r == 0x7f {
		return '_'
	}
	return r
}
