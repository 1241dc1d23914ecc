// Command evaluate sends colours through ICC profiles: CSV comes in, CSV goes
// out.
//
// It shows how a profile is read and evaluated: one call of icc.ToPCS,
// icc.FromPCS or icc.Join makes the way, and Eval takes a colour along it.
package main

import (
	"bufio"
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/icc"
)

const synopsis = `evaluate -profile FILE -direction to-pcs|from-pcs [options] <COLOURS.csv
evaluate -profile FILE -profile FILE … [options] <COLOURS.csv

evaluate sends the colours on standard input through a profile and prints what
they become. The first line is a header, whose names are free; each further line
is a colour in the profile's own order of channels. Device values run from 0 to
1; L,a,b and X,Y,Z are those of the connection space, under D50, with Y of the
white 1. The result alone is printed, a line a colour, at full precision.

With several profiles, or a lone device link or abstract profile, colours go
through all from left to right: from the first one's device to the second one's,
and so on. -direction and -pcs then have no meaning.

Device values out of range are clamped, and counted on standard error. Values of
the connection space are not, but tables hold no others than theirs.

Exit status: 0 done, 2 bad input or use, 4 output failed, 130 interrupted.`

func main() { cli.Program{Name: "evaluate", Run: run}.Main() }

func run(ctx context.Context, args []string, std cli.IO) error {
	chain, err := prepare(args, std)
	if err != nil {
		return err
	}
	out := bufio.NewWriter(std.Out)
	err = evaluate(ctx, chain, std.In, out, std.Err)
	if flushed := out.Flush(); flushed != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing the colours: %w", flushed))
	}
	return err
}

// options are the command line.
type options struct {
	profiles               []string
	direction, intent, pcs string
	bpc                    bool
}

// prepare reads the command line and makes the way that colours go.
func prepare(args []string, std cli.IO) (*icc.Chain, error) {
	var o options
	f := cli.NewFlags("evaluate", synopsis, std)
	f.BoolVar(&o.bpc, "bpc", false, "compensate for the black points; one that is not given is 0")
	f.Choice(&o.direction, "direction", "", "which way, with a single profile", "to-pcs", "from-pcs")
	f.Choice(&o.intent, "intent", "relative", "the rendering intent", "perceptual", "relative", "saturation", "absolute")
	f.Choice(&o.pcs, "pcs", "", "units of the connection space; without it they are the profile's own", "lab", "xyz")
	f.Func("profile", "`file` of a profile; more than one are joined", func(s string) error {
		o.profiles = append(o.profiles, s)
		return nil
	})
	if err := f.Parse(args); err != nil {
		return nil, err
	}
	if len(o.profiles) == 0 {
		return nil, cli.Bad("no profile is named; give one with -profile")
	}
	var profiles []*icc.Profile
	var inputs cli.Inputs
	for _, path := range o.profiles {
		err := inputs.Read(path, func(r io.Reader) error {
			p, err := decode(r)
			profiles = append(profiles, p)
			return err
		})
		if err != nil {
			return nil, err
		}
	}
	return o.way(profiles, f.Given())
}

// way makes the chain that the options ask for.
func (o *options) way(profiles []*icc.Profile, given map[string]bool) (*icc.Chain, error) {
	settings := icc.Options{BlackPoint: o.bpc, PCS: map[string]icc.Signature{"lab": icc.SpaceLab, "xyz": icc.SpaceXYZ}[o.pcs]}
	for i := range icc.Absolute + 1 {
		if i.String() == o.intent {
			settings.Intent = i
		}
	}
	class := profiles[0].Header.Class
	var chain *icc.Chain
	var err error
	switch joined := len(profiles) > 1 || class == icc.ClassLink || class == icc.ClassAbstract; {
	case joined && (given["direction"] || given["pcs"]):
		return nil, cli.Bad("-direction and -pcs are for a single profile of a device; leave them out")
	case joined:
		chain, err = icc.Join(settings, profiles...)
	case o.direction == "to-pcs":
		chain, err = icc.ToPCS(profiles[0], settings)
	case o.direction == "from-pcs":
		chain, err = icc.FromPCS(profiles[0], settings)
	default:
		return nil, cli.Bad("no direction is given; -direction to-pcs leads from the device to the connection space, from-pcs back")
	}
	return chain, cli.Give(cli.BadInput, err)
}

// mostMiB bounds what is read of a profile's file.
const mostMiB = 256

func decode(r io.Reader) (*icc.Profile, error) {
	b, err := cli.All(r, mostMiB, "no profile is")
	if err != nil {
		return nil, err
	}
	return icc.DecodeLimited(b, icc.Limits{Bytes: mostMiB << 20})
}

// evaluate sends a table through the chain.
func evaluate(ctx context.Context, chain *icc.Chain, in io.Reader, out *bufio.Writer, notes io.Writer) error {
	rows := csv.NewReader(in)
	rows.Comment, rows.FieldsPerRecord, rows.ReuseRecord = '#', -1, true
	head, err := rows.Read()
	if errors.Is(err, io.EOF) {
		return cli.Bad("standard input is empty; begin with a header such as %s", strings.Join(channels(chain.From(), chain.Inputs()), ","))
	}
	if err != nil {
		return cli.Bad("standard input: %w", err)
	}
	names := strings.Join(channels(chain.From(), chain.Inputs()), ",")
	if len(head) != chain.Inputs() {
		return cli.Bad("standard input has %d columns and %v takes %d; give %s, separated by commas", len(head), chain.From(), chain.Inputs(), names)
	}
	if numbers(make([]float64, len(head)), head) == nil {
		return cli.Bad("standard input begins with a colour and not with a header; put a line such as %s before it", names)
	}
	fmt.Fprintln(out, strings.Join(channels(chain.To(), chain.Outputs()), ","))
	src, dst := make([]float64, chain.Inputs()), make([]float64, chain.Outputs())
	device := chain.From() != icc.SpaceLab && chain.From() != icc.SpaceXYZ
	clamped, count := 0, 0
	var line []byte
	for ; ; count++ {
		row, err := rows.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return cli.Bad("standard input: %w", err)
		}
		if count%4096 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		at, _ := rows.FieldPos(0)
		if err := numbers(src, row); err != nil {
			return cli.Bad("standard input, line %d: %w", at, err)
		}
		if device && outside(src) {
			clamped++
		}
		chain.Eval(dst, src)
		line = line[:0]
		for i, v := range dst {
			if i > 0 {
				line = append(line, ',')
			}
			line = strconv.AppendFloat(line, v+0, 'g', -1, 64) // no -0
		}
		if _, err := out.Write(append(line, '\n')); err != nil {
			return nil // Flush tells
		}
	}
	if clamped > 0 {
		fmt.Fprintf(notes, "%d of %d colours had device values outside 0 to 1, which were clamped\n", clamped, count)
	}
	return nil
}

// numbers reads a row.
func numbers(dst []float64, row []string) error {
	if len(row) != len(dst) {
		return fmt.Errorf("%d columns where the header has %d", len(row), len(dst))
	}
	for i, field := range row {
		v, err := strconv.ParseFloat(strings.TrimSpace(field), 64)
		if err != nil || v-v != 0 {
			return fmt.Errorf("%.40q is no finite number; write numbers with a decimal point, as in 0.5", field)
		}
		dst[i] = v
	}
	return nil
}

func outside(v []float64) bool {
	for _, x := range v {
		if x < 0 || x > 1 {
			return true
		}
	}
	return false
}

// channels returns the names of a space's channels.
func channels(space icc.Signature, n int) []string {
	switch space {
	case icc.SpaceLab:
		return []string{"L", "a", "b"}
	case icc.SpaceXYZ:
		return []string{"X", "Y", "Z"}
	case icc.SpaceRGB:
		return []string{"R", "G", "B"}
	case icc.SpaceCMYK:
		return []string{"C", "M", "Y", "K"}
	case icc.SpaceGray:
		return []string{"Gray"}
	}
	names := make([]string, n)
	for i := range names {
		names[i] = fmt.Sprintf("channel%d", i+1)
	}
	return names
}
