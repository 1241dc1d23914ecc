// Command inspect tells what an ICC profile is, or the profile inside an image,
// and where it departs from the standard.
//
// It shows how profiles from strangers are read: embed.Extract takes one out of
// an image, icc.DecodeLimited reads it within limits, Check judges it, and the
// methods of icc.Profile answer the usual questions. What is told is gathered in
// describe.go.
package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/icc"
	"example.org/primaries/icc/embed"
)

const synopsis = `inspect [options] FILE…

inspect tells what each file's ICC profile is: of a profile, or of a PNG, JPEG or
TIFF that has one inside. White, primaries and black are those of the device as it
was measured, with the adaptation to D50 undone where the profile says how. What
departs from the standard comes last: remarks, departures, which common readers
tolerate, and what is broken, which they do not.

With -json each file is an object on a line of its own: "file", and either
"error" or "profile" and "findings".

Exit status: 0 done, 1 with -strict where there is more than remarks, 2 bad input
or use or a file that cannot be decoded, 4 output failed, 130 interrupted.`

func main() { cli.Program{Name: "inspect", Run: run}.Main() }

// answer is what is told of a file.
type answer struct {
	File     string       `json:"file"`
	Error    string       `json:"error,omitempty"`
	Profile  *description `json:"profile,omitempty"`
	Findings *[]finding   `json:"findings,omitempty"`
}

type finding struct {
	Tag      string `json:"tag"`
	Clause   string `json:"clause"`
	Severity string `json:"severity"`
	Text     string `json:"text"`
}

func run(ctx context.Context, args []string, std cli.IO) error {
	var asJSON, strict bool
	f := cli.NewFlags("inspect", synopsis, std)
	f.BoolVar(&asJSON, "json", false, "print an object a file, one a line")
	f.BoolVar(&strict, "strict", false, "status 1 where a profile departs from the standard")
	files, err := f.ParseSome(args, "FILE…, the profiles or images to look at,")
	if err != nil {
		return err
	}
	out := bufio.NewWriter(std.Out)
	undecoded, departing := 0, 0
	inputs := cli.Inputs{In: std.In}
	for i, path := range files {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		a, departs := inspect(&inputs, path)
		if departs {
			departing++
		}
		if a.Error != "" {
			undecoded++
		}
		if asJSON {
			err = json.NewEncoder(out).Encode(a)
		} else {
			err = a.print(out, i > 0)
		}
		if err != nil {
			break
		}
	}
	if flushed := out.Flush(); flushed != nil || err != nil {
		return cli.Give(cli.RunFailure, fmt.Errorf("writing what was found: %w", errors.Join(err, flushed)))
	}
	switch {
	case undecoded > 0:
		return cli.Bad("%d of %d files could not be decoded: the output says why", undecoded, len(files))
	case strict && departing > 0:
		return cli.Give(cli.Failed, fmt.Errorf("%d of %d profiles depart from the standard: the output says where", departing, len(files)))
	}
	return nil
}

// inspect reads a file and tells whether there is more than remarks.
func inspect(inputs *cli.Inputs, path string) (a answer, departs bool) {
	a.File = path
	err := inputs.Read(path, func(r io.Reader) error {
		p, size, image, err := read(r)
		if err != nil {
			return err
		}
		a.Profile = describe(p, size, image)
		all := []finding{}
		for _, f := range p.Check() {
			all = append(all, finding{f.Tag, f.Clause, f.Severity.String(), f.Text})
			departs = departs || f.Severity > icc.Remark
		}
		a.Findings = &all
		return nil
	})
	if err != nil {
		a.Error = err.Error()
	}
	return a, departs
}

// read decodes a profile, or that inside an image, whose format it returns.
func read(r io.Reader) (p *icc.Profile, size int, image string, err error) {
	b, err := cli.All(r, 512, "give a profile, or an image with one")
	if err != nil {
		return nil, 0, "", err
	}
	found, err := embed.Extract(bytes.NewReader(b), int64(len(b)), embed.Limits{})
	switch {
	case errors.Is(err, embed.ErrFormat): // no image, so a profile or nothing
	case err != nil:
		return nil, 0, "", err
	case found.Profile == nil:
		return nil, 0, "", fmt.Errorf("the %s has no profile inside", found.Format)
	default:
		b, image = found.Profile, string(found.Format)
	}
	p, err = icc.Decode(b)
	return p, len(b), image, err
}
