package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/image/tiff"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
	"example.org/primaries/icc"
	"example.org/primaries/icc/embed"
)

func call(t *testing.T, want int, args ...string) string {
	t.Helper()
	out, errs, status := clitest.Call(run, "", args...)
	if status != want || out != "" {
		t.Fatalf("%q: status %d, want %d: %s%s", args, status, want, out, errs)
	}
	return errs
}

func save(t *testing.T, name string, b []byte) string {
	t.Helper()
	if err := os.WriteFile(name, b, 0o666); err != nil {
		t.Fatal(err)
	}
	return name
}

func load(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// known returns the profile of an encoding that has a name.
func known(t *testing.T, name string) device {
	t.Helper()
	d, err := open(name)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// drawn is a picture drawn for these tests: a ramp of greys above, below it a meadow
// with a round flower that has a soft edge and is lit from the left.
func drawn(w, h int) *image.NRGBA64 {
	m := image.NewNRGBA64(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			u, v := float64(x)/float64(w-1), float64(y)/float64(h-1)
			c := [3]float64{u, u, u}
			if v > 0.2 {
				blades := 0.5 + 0.5*math.Sin(40*u+25*v*v)
				c = [3]float64{0.1 + 0.2*blades*v, 0.35 + 0.4*blades, 0.05 + 0.1*u}
				r := math.Hypot((u-0.5)*float64(w)/float64(h), v-0.6)
				edge := math.Min(1, math.Max(0, (0.3-r)*40))
				for i, f := range [3]float64{0.95 - 0.5*u, 0.15 + 0.5*r, 0.3 + 0.4*u} {
					c[i] += (f - c[i]) * edge
				}
			}
			q := func(v float64) uint16 { return uint16(math.Round(65535 * math.Min(1, math.Max(0, v)))) }
			m.SetNRGBA64(x, y, color.NRGBA64{q(c[0]), q(c[1]), q(c[2]), 65535})
		}
	}
	return m
}

// drawn8 is drawn in 8 bits.
func drawn8(w, h int) *image.RGBA { return rounded(drawn(w, h)).(*image.RGBA) }

func encode(t *testing.T, m image.Image, format string) []byte {
	t.Helper()
	var b bytes.Buffer
	var err error
	switch format {
	case "png":
		err = png.Encode(&b, m)
	case "jpg":
		err = jpeg.Encode(&b, m, &jpeg.Options{Quality: 95})
	case "tif":
		err = tiff.Encode(&b, m, nil)
	}
	if err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func with(t *testing.T, b, profile []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := embed.Insert(&out, bytes.NewReader(b), int64(len(b)), profile, embed.Options{}); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// result reads a picture that was written, and its profile.
func result(t *testing.T, name string) *picture {
	t.Helper()
	p, err := read(name)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// python runs a script by Debian's own Python with Pillow, a program that is not ours.
func python(t *testing.T, script string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath("/usr/bin/python3")
	if err != nil {
		t.Skip("Debian's package python3 is not installed")
	}
	out, err := exec.Command(path, append([]string{"-c", script}, args...)...).CombinedOutput()
	if bytes.Contains(out, []byte("No module named")) {
		t.Skip("Debian's package python3-pil is not installed")
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return strings.TrimSpace(string(out))
}

// press is a CMYK profile of Debian's package libgs-common.
func press(t *testing.T) string {
	t.Helper()
	const path = "/usr/share/color/icc/ghostscript/default_cmyk.icc"
	if _, err := os.Stat(path); err != nil {
		t.Skip("Debian's package libgs-common is not installed")
	}
	return path
}

// Every format and depth, with the profile inside: what comes out is what the chain in
// float64 makes of what is in the file, to a code of 8 bits or 12 of 16.
func TestConvertsFiles(t *testing.T) {
	dir := t.TempDir()
	from, to := known(t, "adobe-rgb"), known(t, "display-p3")
	transparent := image.NewNRGBA(image.Rect(0, 0, 60, 40))
	for i := range transparent.Pix {
		transparent.Pix[i] = uint8(i * 7)
	}
	sampled := image.NewPaletted(image.Rect(0, 0, 60, 40), color.Palette{color.NRGBA{200, 30, 60, 255}, color.NRGBA{20, 130, 60, 255}})
	for i := range sampled.Pix {
		sampled.Pix[i] = uint8(i / 7 % 2)
	}
	chain, err := icc.Join(icc.Options{Intent: icc.Relative}, from.profile, to.profile)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, in, out string
		m             image.Image
		kind          string
		limit         float64 // of 65535
	}{
		{"8 bits", "png", "png", drawn8(90, 60), "*image.RGBA", 1.5 * 257},
		{"16 bits", "png", "png", drawn(90, 60), "*image.RGBA64", 12.5},
		{"16 bits", "png", "tif", drawn(90, 60), "*image.RGBA64", 12.5},
		{"16 bits", "tif", "png", drawn(90, 60), "*image.RGBA64", 12.5},
		{"8 bits", "tif", "tiff", drawn8(90, 60), "*image.RGBA", 1.5 * 257},
		{"8 bits", "jpg", "png", drawn8(90, 60), "*image.RGBA", 1.5 * 257},
		{"opacity", "png", "png", transparent, "*image.NRGBA", 1.5 * 257},
		{"opacity", "png", "tif", transparent, "*image.NRGBA", 1.5 * 257},
		{"a palette", "png", "png", sampled, "*image.Paletted", 1.5 * 257},
		{"a palette", "png", "tif", sampled, "*image.RGBA", 1.5 * 257},
	} {
		t.Run(fmt.Sprintf("%s %s to %s", c.name, c.in, c.out), func(t *testing.T) {
			in := save(t, filepath.Join(dir, "in."+c.in), with(t, encode(t, c.m, c.in), from.bytes))
			out := filepath.Join(t.TempDir(), "out."+c.out)
			if note := call(t, 0, "-to", "display-p3", in, out); note != "" {
				t.Errorf("said %q", note)
			}
			got := result(t, out)
			if !bytes.Equal(got.profile, to.bytes) {
				t.Errorf("the profile inside has %d bytes, want %d", len(got.profile), len(to.bytes))
			}
			if kind := fmt.Sprintf("%T", got.image); kind != c.kind {
				t.Errorf("became %s, want %s", kind, c.kind)
			}
			src := result(t, in).image
			worst := 0.0
			for y := range src.Bounds().Dy() {
				for x := range src.Bounds().Dx() {
					a := color.NRGBA64Model.Convert(src.At(x, y)).(color.NRGBA64)
					if n, ok := src.At(x, y).(color.NRGBA); ok {
						a = color.NRGBA64{uint16(n.R) * 257, uint16(n.G) * 257, uint16(n.B) * 257, uint16(n.A) * 257}
					}
					if c, ok := src.At(x, y).(color.YCbCr); ok { // as 8 bits have it
						r, g, b := color.YCbCrToRGB(c.Y, c.Cb, c.Cr)
						a = color.NRGBA64{uint16(r) * 257, uint16(g) * 257, uint16(b) * 257, 65535}
					}
					b := color.NRGBA64Model.Convert(got.image.At(x, y)).(color.NRGBA64)
					if n, ok := got.image.At(x, y).(color.NRGBA); ok {
						b = color.NRGBA64{uint16(n.R) * 257, uint16(n.G) * 257, uint16(n.B) * 257, uint16(n.A) * 257}
					}
					if a.A != b.A {
						t.Fatalf("%d,%d: opacity %d became %d", x, y, a.A, b.A)
					}
					v := []float64{float64(a.R) / 65535, float64(a.G) / 65535, float64(a.B) / 65535}
					chain.Eval(v, v)
					for i, g := range []uint16{b.R, b.G, b.B} {
						worst = max(worst, math.Abs(65535*v[i]-float64(g)))
					}
				}
			}
			if worst > c.limit {
				t.Errorf("%.1f of 65535 from the chain, at most %.1f are let pass", worst, c.limit)
			}
		})
	}
}

// A JPEG is the standard library's of what a PNG would hold, 16 bits rounded to 8, and
// that is said.
func TestJPEGIsWhatPNGHolds(t *testing.T) {
	dir := t.TempDir()
	for name, m := range map[string]image.Image{"8": drawn8(90, 60), "16": drawn(90, 60), "gray16": image.NewGray16(image.Rect(0, 0, 9, 9))} {
		in := save(t, filepath.Join(dir, "in.png"), encode(t, m, "png"))
		out, jpg := filepath.Join(dir, "out.png"), filepath.Join(dir, "out.jpeg")
		call(t, 0, "-to", "display-p3", "-force", in, out)
		note := call(t, 0, "-to", "display-p3", "-quality", "80", "-force", in, jpg)
		if strings.Contains(note, "rounded") != (name != "8") {
			t.Errorf("%s: said %q", name, note)
		}
		var want bytes.Buffer
		if err := jpeg.Encode(&want, rounded(result(t, out).image), &jpeg.Options{Quality: 80}); err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(load(t, jpg), with(t, want.Bytes(), known(t, "display-p3").bytes)) {
			t.Errorf("%s: the JPEG is another", name)
		}
	}
}

// Pillow opens what was written, with the profile that was asked for and the depth
// that there was, and its Little CMS makes the same of the original.
func TestAnotherProgramOpensThem(t *testing.T) {
	dir := t.TempDir()
	from := known(t, "srgb")
	in := save(t, filepath.Join(dir, "in.png"), with(t, encode(t, drawn8(120, 80), "png"), from.bytes))
	deep := save(t, filepath.Join(dir, "deep.png"), with(t, encode(t, drawn(120, 80), "png"), from.bytes))
	for _, c := range []struct{ in, name, to, mode string }{
		{in, "out.png", "display-p3", "RGB"}, {in, "out.jpg", "adobe-rgb", "RGB"}, {in, "out.tif", "display-p3", "RGB"},
		{in, "inks.tif", press(t), "CMYK"}, {deep, "deep-inks.tif", press(t), "CMYK"},
	} {
		out := filepath.Join(dir, c.name)
		note := call(t, 0, "-to", c.to, c.in, out)
		if rounded := c.name == "deep-inks.tif"; strings.Contains(note, "rounded") != rounded {
			t.Errorf("%s: said %q", c.name, note)
		}
		profile := save(t, filepath.Join(dir, "to.icc"), known(t, c.to).bytes)
		// Mode, whether the profile is the one asked for, and by how many codes the file
		// differs from what Little CMS makes of the 8-bit original: the most and the mean.
		got := python(t, `
import sys, io
from PIL import Image, ImageCms, ImageChops, ImageStat
a, b, p = Image.open(sys.argv[1]), Image.open(sys.argv[2]), open(sys.argv[3], 'rb').read()
t = ImageCms.buildTransform(io.BytesIO(a.info['icc_profile']), io.BytesIO(p), 'RGB', b.mode, renderingIntent=1, flags=0x100)
d = ImageStat.Stat(ImageChops.difference(ImageCms.applyTransform(a.convert('RGB'), t), b))
print(b.mode, b.info['icc_profile'] == p, max(v[1] for v in d.extrema), '%.3f' % max(d.mean))
`, in, out, profile)
		var mode, same string
		var most, mean float64
		if _, err := fmt.Sscan(got, &mode, &same, &most, &mean); err != nil {
			t.Fatalf("%q: %v", got, err)
		}
		t.Logf("%s: %s", c.name, got)
		limit, meanLimit := 1.0, 0.02
		switch c.name {
		case "out.jpg": // what JPEG loses at the flower's edge and of the blades
			limit, meanLimit = 40, 4
		case "deep-inks.tif": // half a code that 8 bits round is up to 3 of ink where that grows fast
			limit, meanLimit = 4, 0.3
		}
		if mode != c.mode || same != "True" || most > limit || mean > meanLimit {
			t.Errorf("%s: Pillow says %s", c.name, got)
		}
	}
	// exiftool reads the depth of 16-bit files, and the description inside.
	path, err := exec.LookPath("exiftool")
	if err != nil {
		t.Skip("exiftool of Debian's package libimage-exiftool-perl is not installed")
	}
	for _, name := range []string{"16.png", "16.tif"} {
		out := filepath.Join(dir, name)
		call(t, 0, "-to", "display-p3", deep, out)
		got, err := exec.Command(path, "-s3", "-BitDepth", "-BitsPerSample", "-ProfileDescription", out).CombinedOutput()
		if err != nil {
			t.Fatalf("%v\n%s", err, got)
		}
		if s := string(got); !strings.HasPrefix(s, "16") || !strings.Contains(s, known(t, "display-p3").profile.Description()) {
			t.Errorf("%s: exiftool says %q", name, s)
		}
	}
}

// Pictures without profiles are sRGB, and that is said; -from overrules what a file
// says; code points come before a profile.
func TestWhereTheNumbersComeFrom(t *testing.T) {
	dir := t.TempDir()
	m := image.NewNRGBA(image.Rect(0, 0, 1, 1))
	m.SetNRGBA(0, 0, color.NRGBA{200, 40, 90, 255})
	bare := encode(t, m, "png")
	become := func(from string) color.Color {
		chain, err := icc.Join(icc.Options{Intent: icc.Relative}, known(t, from).profile, known(t, "adobe-rgb").profile)
		if err != nil {
			t.Fatal(err)
		}
		v := []float64{200.0 / 255, 40.0 / 255, 90.0 / 255}
		chain.Eval(v, v)
		return color.RGBA{uint8(255*v[0] + 0.5), uint8(255*v[1] + 0.5), uint8(255*v[2] + 0.5), 255}
	}
	coded := func(c icc.CICP) []byte {
		var out bytes.Buffer
		if err := embed.Insert(&out, bytes.NewReader(bare), int64(len(bare)), known(t, "adobe-rgb").bytes, embed.Options{CICP: &c}); err != nil {
			t.Fatal(err)
		}
		return out.Bytes()
	}
	p3 := coded(icc.CICP{Primaries: 12, Transfer: 13, FullRange: 1})
	for _, c := range []struct {
		name string
		b    []byte
		args []string
		note string
		want string
	}{
		{"bare", bare, nil, "taken for sRGB", "srgb"},
		{"stated", bare, []string{"-from", "display-p3"}, "", "display-p3"},
		{"inside", with(t, bare, known(t, "display-p3").bytes), nil, "", "display-p3"},
		{"overruled", with(t, bare, known(t, "display-p3").bytes), []string{"-from", "srgb"}, "", "srgb"},
		{"code points", p3, nil, "", "display-p3"},
	} {
		out := filepath.Join(dir, c.name+".out.png")
		note := call(t, 0, append(append([]string{"-to", "adobe-rgb"}, c.args...), save(t, filepath.Join(dir, "in.png"), c.b), out)...)
		if (note != "") != (c.note != "") || !strings.Contains(note, c.note) {
			t.Errorf("%s: said %q", c.name, note)
		}
		if got := result(t, out).image.At(0, 0); got != become(c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, become(c.want))
		}
	}
	in := save(t, filepath.Join(dir, "pq.png"), coded(icc.CICP{Primaries: 9, Transfer: 16, FullRange: 1}))
	if errs := call(t, cli.BadInput, "-to", "srgb", in, filepath.Join(dir, "pq.out.png")); !strings.Contains(errs, "-from") {
		t.Errorf("unknown code points: %s", errs)
	}
}

// Pixels are turned as Exif says: Pillow turns the same files.
func TestTurnsUpright(t *testing.T) {
	dir := t.TempDir()
	plain := save(t, filepath.Join(dir, "plain.png"), encode(t, drawn8(31, 20), "png"))
	python(t, `
import sys
from PIL import Image
m = Image.open(sys.argv[1]).convert('RGB')
for o in range(1, 9):
    for end in 'jpg', 'png', 'tif':
        e = Image.Exif()
        e[274] = o
        m.save('%s/%d.%s' % (sys.argv[2], o, end), exif=e, **({'subsampling': 0} if end == 'jpg' else {}))
`, plain, dir)
	for o := 1; o <= 8; o++ {
		for _, end := range []string{"jpg", "png", "tif"} {
			in := filepath.Join(dir, fmt.Sprint(o, ".", end))
			call(t, 0, "-to", "srgb", "-from", "srgb", in, in+".out.png")
		}
	}
	// Decoders differ by some codes in JPEG.
	got := python(t, `
import sys
from PIL import Image, ImageOps, ImageChops
for o in range(1, 9):
    for end in 'jpg', 'png', 'tif':
        name = '%s/%d.%s' % (sys.argv[1], o, end)
        a, b = Image.open(name), Image.open(name + '.out.png').convert('RGB')
        a.load() # turns a TIFF
        if end != 'tif':
            a = ImageOps.exif_transpose(a)
        if a.size != b.size or max(v[1] for v in ImageChops.difference(a.convert('RGB'), b).getextrema()) > 5:
            print(end, 'with orientation', o)
`, dir)
	if got != "" {
		t.Errorf("not turned as Pillow turns it: %s", got)
	}
}

// A proof shows paper and ink as Little CMS has them, and -beside puts before and after
// into one picture.
func TestProofAndBeside(t *testing.T) {
	dir := t.TempDir()
	white := image.NewGray(image.Rect(0, 0, 80, 40))
	for y := range 40 {
		for x := range 80 {
			white.SetGray(x, y, color.Gray{uint8(255 * (x / 40))})
		}
	}
	in := save(t, filepath.Join(dir, "in.png"), encode(t, white, "png"))
	out := filepath.Join(dir, "beside.png")
	call(t, 0, "-to", "srgb", "-proof", press(t), "-beside", in, out)
	m := result(t, out).image
	if r := m.Bounds(); r.Dx() != 164 || r.Dy() != 40 {
		t.Fatalf("before and after are %v", r)
	}
	at := func(x int) [3]float64 {
		r, g, b, _ := m.At(x, 20).RGBA()
		return [3]float64{float64(r) / 257, float64(g) / 257, float64(b) / 257}
	}
	if at(20) != [3]float64{} || at(60) != [3]float64{255, 255, 255} {
		t.Errorf("before: black %v, white %v", at(20), at(60))
	}
	if g := at(82); g != [3]float64{119, 119, 119} { // L* 50 in sRGB
		t.Errorf("the gap is %v", g)
	}
	theirs := python(t, `
import sys
from PIL import Image, ImageCms
s, paper = sys.argv[1:3]
m = Image.new('RGB', (2, 1))
m.putpixel((1, 0), (255, 255, 255))
t = ImageCms.buildProofTransform(s, s, paper, 'RGB', 'RGB', renderingIntent=1, proofRenderingIntent=3, flags=0x4100)
print(*[c for p in ImageCms.applyTransform(m, t).getdata() for c in p])
`, save(t, filepath.Join(dir, "srgb.icc"), known(t, "srgb").bytes), press(t))
	var want [2][3]float64
	if _, err := fmt.Sscan(theirs, &want[0][0], &want[0][1], &want[0][2], &want[1][0], &want[1][1], &want[1][2]); err != nil {
		t.Fatalf("%q: %v", theirs, err)
	}
	t.Logf("ink %v and paper %v, Little CMS %v", at(104), at(144), want)
	for i, got := range [][3]float64{at(104), at(144)} {
		for c := range got {
			if math.Abs(got[c]-want[i][c]) > 2 {
				t.Errorf("pixel %d: %v, Little CMS %v", i, got, want[i])
			}
		}
	}
	// What the press cannot reproduce is grey: blue light, but not the greys.
	blue := image.NewNRGBA(image.Rect(0, 0, 3, 1))
	copy(blue.Pix, []uint8{0, 0, 255, 255, 150, 150, 150, 255, 0, 255, 0, 255})
	in = save(t, filepath.Join(dir, "blue.png"), encode(t, blue, "png"))
	call(t, 0, "-to", "srgb", "-proof", press(t), "-alarm", "-force", in, out)
	m = result(t, out).image
	grey := color.RGBA{119, 119, 119, 255}
	if m.At(0, 0) != grey || m.At(1, 0) == grey || m.At(2, 0) != grey {
		t.Errorf("alarms: %v %v %v", m.At(0, 0), m.At(1, 0), m.At(2, 0))
	}
	// Without a proof, before has the numbers as they were.
	red := drawn8(80, 40)
	in = save(t, filepath.Join(dir, "red.png"), encode(t, red, "png"))
	call(t, 0, "-to", "display-p3", "-beside", "-force", in, out)
	m = result(t, out).image
	for y := range 40 {
		for x := range 80 {
			if m.At(x, y) != red.At(x, y) {
				t.Fatalf("%d,%d before is %v, in the file %v", x, y, m.At(x, y), red.At(x, y))
			}
		}
	}
}

// CMYK comes from JPEG, goes to TIFF, and back through a profile inside.
func TestInks(t *testing.T) {
	dir := t.TempDir()
	in := save(t, filepath.Join(dir, "in.png"), encode(t, drawn8(60, 40), "png"))
	inks := filepath.Join(dir, "inks.tif")
	call(t, 0, "-to", press(t), in, inks)
	jpg := filepath.Join(dir, "inks.jpg")
	python(t, `
import sys
from PIL import Image
m = Image.open(sys.argv[1])
m.save(sys.argv[2], quality=98, subsampling=0, icc_profile=m.info['icc_profile'])
`, inks, jpg)
	back := filepath.Join(dir, "back.png")
	call(t, 0, "-to", "srgb", jpg, back)
	got, want := result(t, back).image, drawn8(60, 40)
	sum := 0.0
	for y := range 8 { // the greys, which ink has
		for x := range 60 {
			r, g, b, _ := got.At(x, y).RGBA()
			c := want.RGBAAt(x, y)
			sum += math.Abs(float64(r)/257-float64(c.R)) + math.Abs(float64(g)/257-float64(c.G)) + math.Abs(float64(b)/257-float64(c.B))
		}
	}
	if mean := sum / (8 * 60 * 3); mean > 12 { // the press's black is lighter than 0
		t.Errorf("greys come back %.1f codes away on average", mean)
	}
	python(t, `
import sys
from PIL import Image
Image.open(sys.argv[1]).save(sys.argv[2], quality=98)
`, inks, jpg)
	if errs := call(t, cli.BadInput, "-to", "srgb", "-force", with0(t, dir, jpg), back); !strings.Contains(errs, "-from") {
		t.Errorf("inks without a profile: %s", errs)
	}
}

// with0 returns the path of a file's copy without its profile.
func with0(t *testing.T, dir, name string) string {
	t.Helper()
	b := load(t, name)
	var out bytes.Buffer
	if err := embed.Remove(&out, bytes.NewReader(b), int64(len(b)), embed.Options{}); err != nil {
		t.Fatal(err)
	}
	return save(t, filepath.Join(dir, "without.jpg"), out.Bytes())
}

// A folder of pictures, and files that are there.
func TestFolder(t *testing.T) {
	dir := t.TempDir()
	a := save(t, filepath.Join(dir, "a.png"), encode(t, drawn8(20, 10), "png"))
	b := save(t, filepath.Join(dir, "b.jpg"), encode(t, drawn8(20, 10), "jpg"))
	out := filepath.Join(dir, "made", "here")
	call(t, 0, "-to", "display-p3", "-out", out, a, b)
	for _, name := range []string{"a.png", "b.jpg"} {
		if p := result(t, filepath.Join(out, name)); p.image.Bounds().Dx() != 20 || p.profile == nil {
			t.Errorf("%s: %v", name, p.image.Bounds())
		}
	}
	before := load(t, filepath.Join(out, "a.png"))
	if errs := call(t, cli.BadInput, "-to", "adobe-rgb", "-out", out, b, a); !strings.Contains(errs, "-force") {
		t.Errorf("files that are there: %s", errs)
	}
	if !bytes.Equal(before, load(t, filepath.Join(out, "a.png"))) {
		t.Error("a file was replaced without -force")
	}
	call(t, 0, "-to", "adobe-rgb", "-out", out, "-force", b, a)
	if bytes.Equal(before, load(t, filepath.Join(out, "a.png"))) {
		t.Error("-force replaced nothing")
	}
}

// What is wrong is said before anything is written, with what to do.
func TestRefuses(t *testing.T) {
	dir := t.TempDir()
	in := save(t, filepath.Join(dir, "in.png"), encode(t, drawn8(20, 10), "png"))
	clear := save(t, filepath.Join(dir, "clear.png"), encode(t, image.NewNRGBA(image.Rect(0, 0, 4, 4)), "png"))
	cut := save(t, filepath.Join(dir, "cut.png"), load(t, in)[:60])
	gray := save(t, filepath.Join(dir, "gray.png"), with(t, encode(t, drawn8(20, 10), "png"), known(t, "srgb").bytes))
	out := filepath.Join(dir, "out.png")
	for _, c := range []struct {
		name, mentions string
		args           []string
	}{
		{"no target", "-to", []string{in, out}},
		{"no files", "IN OUT", []string{"-to", "srgb"}},
		{"one file", "-out", []string{"-to", "srgb", in}},
		{"three files", "-out", []string{"-to", "srgb", in, out, out}},
		{"an unknown end", ".png, .jpg or .tif", []string{"-to", "srgb", in, filepath.Join(dir, "out.bmp")}},
		{"no folder", "make it", []string{"-to", "srgb", in, filepath.Join(dir, "none", "out.png")}},
		{"twice one name", "two folders", []string{"-to", "srgb", "-out", filepath.Join(dir, "x"), in, in}},
		{"a file that is there", "-force", []string{"-to", "srgb", in, gray}},
		{"no profile", "give the path", []string{"-to", filepath.Join(dir, "none.icc"), in, out}},
		{"a picture for a profile", "in.png", []string{"-to", in, in, out}},
		{"no picture", "save it", []string{"-to", "srgb", save(t, filepath.Join(dir, "x.txt"), []byte("text")), out}},
		{"a cut picture", "cut.png", []string{"-to", "srgb", cut, out}},
		{"opacity into JPEG", "PNG or TIFF", []string{"-to", "srgb", clear, filepath.Join(dir, "clear.jpg")}},
		{"opacity into inks", "background", []string{"-to", press(t), clear, filepath.Join(dir, "clear.tif")}},
		{"opacity into gray", "RGB profile", []string{"-to", "/usr/share/color/icc/ghostscript/default_gray.icc", clear, out}},
		{"inks into PNG", ".tif", []string{"-to", press(t), in, out}},
		{"a profile of inks for RGB", "-from", []string{"-to", "srgb", "-from", press(t), in, out}},
		{"black point of absolute", "-black-point", []string{"-to", "srgb", "-black-point", "-intent", "absolute", in, out}},
		{"an alarm of nothing", "-proof", []string{"-to", "srgb", "-alarm", in, out}},
		{"no intent", "there are", []string{"-to", "srgb", "-intent", "best", in, out}},
		{"no quality", "1 to 100", []string{"-to", "srgb", "-quality", "0", in, out}},
		{"inks beside RGB", "-proof", []string{"-to", press(t), "-beside", in, filepath.Join(dir, "x.tif")}},
	} {
		errs := call(t, cli.BadInput, c.args...)
		if last := errs[strings.LastIndexByte(strings.TrimSpace(errs), '\n')+1:]; !strings.Contains(last, c.mentions) {
			t.Errorf("%s: %q lacks %q", c.name, last, c.mentions)
		}
		if _, err := os.Stat(out); err == nil {
			t.Fatalf("%s: something was written", c.name)
		}
	}
}

// Damaged files never panic: every start of a file with orientation.
func TestCutFiles(t *testing.T) {
	for _, format := range []string{"png", "jpg", "tif"} {
		b := encode(t, drawn8(20, 10), format)
		for n := range len(b) {
			if got := orientation(b[:n]); got != 1 {
				t.Fatalf("%s of %d bytes is turned by %d", format, n, got)
			}
		}
	}
}

// FuzzOrientation looks for orientation in any bytes, and does not panic.
func FuzzOrientation(f *testing.F) {
	exif := "MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00\x06\x00\x00\x00\x00\x00\x00"
	inJPEG := "\xff\xd8\xff\xe1\x00\x22Exif\x00\x00" + exif + "\xff\xda"
	inPNG := "\x89PNG\r\n\x1a\n\x00\x00\x00\x1aeXIf" + exif + "\x00\x00\x00\x00"
	for _, b := range []string{exif, inJPEG, inPNG} {
		if o := orientation([]byte(b)); o != 6 {
			f.Errorf("%q: orientation %d, want 6", b, o)
		}
		f.Add([]byte(b))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		o := orientation(b)
		if o < 1 || o > 8 {
			t.Fatalf("orientation %d", o)
		}
	})
}

// The TIFFs that are written here hold every sample, in one strip and in many, as
// x/image reads them.
func TestTIFFKeepsSamples(t *testing.T) {
	for _, r := range []image.Rectangle{image.Rect(0, 0, 1, 1), image.Rect(0, 0, 37, 23), image.Rect(0, 0, 300, 400)} {
		gray, deep := image.NewGray(r), image.NewGray16(r)
		clear, clear64 := image.NewNRGBA(r), image.NewNRGBA64(r)
		solid, solid64 := image.NewRGBA(r), image.NewRGBA64(r)
		for _, pix := range [][]uint8{gray.Pix, deep.Pix, clear.Pix, clear64.Pix, solid.Pix, solid64.Pix} {
			for i := range pix {
				pix[i] = uint8(i * i >> 3)
			}
		}
		for i := 3; i < len(solid.Pix); i += 4 {
			solid.Pix[i], solid64.Pix[2*i], solid64.Pix[2*i+1] = 255, 255, 255
		}
		clear.Pix[3], clear64.Pix[6] = 7, 7 // not opaque, however small
		for _, m := range []image.Image{gray, deep, clear, clear64, solid, solid64} {
			var b bytes.Buffer
			if err := writeTIFF(&b, m, 0); err != nil {
				t.Fatal(err)
			}
			got, err := tiff.Decode(&b)
			if err != nil {
				t.Fatalf("%T %v: %v", m, r, err)
			}
			if fmt.Sprintf("%T", got) != fmt.Sprintf("%T", m) || !bytes.Equal(samplesOf(got).pix, samplesOf(m).pix) {
				t.Errorf("%T %v became a %T with other samples", m, r, got)
			}
		}
	}
}
