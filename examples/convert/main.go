// Command convert takes pictures from the colours of one device to those of another.
//
// It shows transform.New, Transform.Convert and Transform.Image: way.go joins the
// profiles, picture.go reads a picture with what its numbers mean, write.go writes one
// with its new profile inside.
package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/icc"
)

const synopsis = `convert -to PROFILE [options] IN OUT
convert -to PROFILE -out FOLDER [options] IN…

convert takes PNG, JPEG and TIFF pictures to the colours of a device and puts its
profile into them. What a picture's numbers mean its own profile says; where it has
none they are taken for sRGB, and standard error says so. PROFILE is a file, or the
name of an encoding whose profile is made here from its published figures:
` + encodingNames + `.

The name of OUT decides on its format; with -out files keep their names. 16 bits
stay 16 bits, and opacity stays, wherever the format has them: not in JPEG. CMYK
pictures are read from JPEG and written to TIFF, in 8 bits. Pixels are turned
upright as their Exif orientation says. Everything else that a file carries beside
its pixels is lost: Exif and captions, resolution, previews, all pages of a TIFF but
the first, frames of an animation. A picture that cannot be converted ends the run;
those before it are there.

With -proof a picture looks as another device would have it, such as a press: by
-intent it comes to that device, and by the absolute intent from there on, so that
paper is as dark and yellow, and ink as light, as they are beside the white of the
display. -alarm paints colours that the device cannot reproduce. -beside writes a
picture beside itself, before and after. With -proof, before is without the proof.
Without, before is how the numbers look where nobody converts them: taken for the
new device's as they are. By -intent perceptual shadows may be lost between a profile
of a matrix and one of tables, unless -black-point brings their blacks together.

Exit status: 0 done, 2 bad input or use, 4 output failed, 130 interrupted.`

func main() {
	cli.Program{Name: "convert", Run: run, Kept: "pictures that were finished are whole"}.Main()
}

// options are the command line.
type options struct {
	to, from, proof, intent string
	out                     string
	quality                 int
	alarm, beside           bool
	blackPoint, force       bool
	jobs                    []job
}

// job is a picture to convert.
type job struct {
	in, out string
	format  format
}

func parse(args []string, std cli.IO) (*options, error) {
	o := &options{}
	f := cli.NewFlags("convert", synopsis, std)
	f.BoolVar(&o.alarm, "alarm", false, "with -proof: paint grey what that device cannot reproduce, by more than 3 in CIEDE2000")
	f.BoolVar(&o.beside, "beside", false, "write before and after side by side, in the new colours")
	f.BoolVar(&o.blackPoint, "black-point", false, "move the black of one device onto that of the next (ISO 18619)")
	f.BoolVar(&o.force, "force", false, "replace files that are there")
	f.StringVar(&o.from, "from", "", "`profile` that the pictures' numbers are for, whatever the files say")
	f.Choice(&o.intent, "intent", "relative", "the rendering intent", "perceptual", "relative", "saturation", "absolute")
	f.StringVar(&o.out, "out", "", "`folder` to write pictures to, by the names that they have")
	f.StringVar(&o.proof, "proof", "", "`profile` of a device to simulate")
	f.Whole(&o.quality, "quality", 92, 1, 100, "`number` for the quality of JPEG, which has colours at half the resolution here")
	f.StringVar(&o.to, "to", "", "`profile` of the device that the pictures are for")
	f.Need("proof", "alarm")
	files, err := f.ParseSome(args, "IN OUT, or with -out IN…,")
	if err != nil {
		return nil, err
	}
	switch {
	case o.to == "":
		return nil, cli.Bad("no target is given; -to takes the profile of the device that the pictures are for")
	case o.blackPoint && o.intent == icc.Absolute.String():
		return nil, cli.Bad("-black-point and -intent absolute exclude each other: absolute colours keep their black")
	case o.out == "" && len(files) != 2:
		return nil, cli.Bad("%d files are named; give IN and OUT, or -out with a folder for several", len(files))
	case o.out == "":
		o.jobs = []job{{in: files[0], out: files[1]}}
	default:
		for _, in := range files {
			o.jobs = append(o.jobs, job{in: in, out: filepath.Join(o.out, filepath.Base(in))})
		}
	}
	return o, o.check()
}

// check refuses output that could not be written, before anything is read.
func (o *options) check() error {
	taken := map[string]string{}
	for i := range o.jobs {
		j := &o.jobs[i]
		var ok bool
		if j.format, ok = formats[strings.ToLower(filepath.Ext(j.out))]; !ok {
			return cli.Bad("%s: the name does not say which format to write; end it in .png, .jpg or .tif", j.out)
		}
		if other, ok := taken[j.out]; ok {
			return cli.Bad("%s and %s would both become %s; convert them to two folders", other, j.in, j.out)
		}
		taken[j.out] = j.in
		switch _, err := os.Stat(j.out); {
		case err == nil && !o.force:
			return cli.Bad("%s is there already; give another name or folder, or -force to replace it", j.out)
		case err != nil && !errors.Is(err, os.ErrNotExist):
			return cli.Bad("%w; give another file", err)
		}
		if folder, err := os.Stat(filepath.Dir(j.out)); o.out == "" && (err != nil || !folder.IsDir()) {
			return cli.Bad("%s: there is no folder %s; make it, or give another file", j.out, filepath.Dir(j.out))
		}
	}
	return nil
}

func run(ctx context.Context, args []string, std cli.IO) error {
	o, err := parse(args, std)
	if err != nil {
		return err
	}
	w, err := o.ways()
	if err != nil {
		return err
	}
	if o.out != "" {
		if err := os.MkdirAll(o.out, 0o777); err != nil {
			return cli.Bad("the folder cannot be made: %w; give another with -out", err)
		}
	}
	for _, j := range o.jobs {
		if err := o.convert(ctx, w, j, std); err != nil {
			return err
		}
	}
	return nil
}

// convert reads, converts and writes one picture.
func (o *options) convert(ctx context.Context, w *ways, j job, std cli.IO) error {
	p, err := read(j.in)
	if err != nil {
		return err
	}
	source, note, err := w.source(p)
	if err != nil {
		return cli.Bad("%s: %w", j.in, err)
	}
	if note != "" {
		fmt.Fprintf(std.Err, "%s: %s\n", cli.Printable(j.in), note)
	}
	if o.beside || o.alarm || j.format.name == "TIFF" {
		p.expand()
	}
	t, err := w.way(source, o.end())
	if err != nil {
		return cli.Bad("%s: %w", j.in, err)
	}
	m, err := t.Convert(ctx, p.image)
	if err != nil {
		return o.failed(j.in, err)
	}
	if o.alarm {
		if err := w.alarm(ctx, m, p, source); err != nil {
			return o.failed(j.in, err)
		}
	}
	m = upright(m, p.orientation)
	if o.beside {
		before, err := o.before(ctx, w, p, source)
		if err != nil {
			return o.failed(j.in, err)
		}
		if m, err = beside(upright(before, p.orientation), m, w.grey); err != nil {
			return cli.Bad("%s: %w", j.in, err)
		}
	}
	if note := j.format.loses(p.image, m); note != "" {
		fmt.Fprintf(std.Err, "%s: %s\n", cli.Printable(j.out), note)
	}
	return j.format.save(j.out, m, w.target.bytes, o.quality)
}

// failed gives the error of a conversion its status.
func (o *options) failed(in string, err error) error {
	if errors.Is(err, context.Canceled) {
		return err
	}
	return cli.Bad("%s: %w", in, err)
}
