package transform_test

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// littleCMS converts a file by Little CMS, by way of Debian's python3-pil: picture,
// profiles from, to and, where it is not empty, the one that a proof simulates, the
// result's kind and the file that its samples go to as they are. Intents 1 and 3 are
// relative and absolute, the flags 0x4000 a proof and 0x100 no optimisation.
const littleCMS = `
import sys
from PIL import Image, ImageCms
picture, source, target, proof, mode, out = sys.argv[1:7]
m = Image.open(picture)
if proof:
    t = ImageCms.buildProofTransform(source, target, proof, m.mode, mode, renderingIntent=1, proofRenderingIntent=3, flags=0x4100)
else:
    t = ImageCms.buildTransform(source, target, m.mode, mode, renderingIntent=1, flags=0x100)
open(out, 'wb').write(ImageCms.applyTransform(m, t).tobytes())
`

func runLittleCMS(t *testing.T, args ...string) {
	t.Helper()
	path, err := exec.LookPath("/usr/bin/python3")
	if err != nil {
		t.Skip("Debian's package python3 is not installed")
	}
	out, err := exec.Command(path, append([]string{"-c", littleCMS}, args...)...).CombinedOutput()
	if bytes.Contains(out, []byte("No module named")) {
		t.Skip("Debian's package python3-pil is not installed")
	}
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}

// photograph draws a picture with what photographs have: a sky that changes slowly, a
// sea with glints, coloured fruit with soft shadows, grain.
func photograph(w, h int) *image.NRGBA {
	rnd := rand.New(rand.NewPCG(1, 2))
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	fruit := []struct{ x, y, r, red, green, blue float64 }{
		{0.25, 0.7, 0.18, 0.85, 0.08, 0.05}, {0.55, 0.75, 0.2, 0.95, 0.6, 0.02}, {0.82, 0.68, 0.15, 0.2, 0.55, 0.05}, {0.68, 0.5, 0.08, 0.35, 0.02, 0.4},
	}
	for y := range h {
		for x := range w {
			u, v := float64(x)/float64(w), float64(y)/float64(h)
			c := [3]float64{0.25 + 0.6*v, 0.45 + 0.4*v, 0.85 + 0.1*v}
			if v > 0.45 {
				wave := 0.06 * math.Sin(90*v*v+12*u) * math.Sin(31*u+5*v)
				c = [3]float64{0.05 + wave + 0.2*v, 0.25 + wave + 0.2*v, 0.3 + wave}
			}
			for _, f := range fruit {
				dx, dy := (u-f.x)/f.r, (v-f.y)/f.r
				if d := dx*dx + dy*dy; d < 1 {
					light := math.Max(0.06, (math.Sqrt(1-d)-0.5*dx-0.6*dy)/1.3)
					shine := math.Pow(math.Max(0, light-0.75)*3.5, 4)
					c = [3]float64{f.red*light + shine, f.green*light + shine, f.blue*light + shine}
				}
			}
			grain := 0.012 * rnd.NormFloat64()
			code := func(v float64) uint8 { return uint8(math.Round(255 * math.Min(1, math.Max(0, v+grain)))) }
			m.SetNRGBA(x, y, color.NRGBA{code(c[0]), code(c[1]), code(c[2]), 255})
		}
	}
	return m
}

// A photograph-like picture through displays, to a press and as a proof, beside Little
// CMS without its optimisation, which evaluates each pixel through all stages: no
// sample is more than one code away, as rounding has it, and few are. (With its default
// flags Little CMS 2.14 is 9 codes away from itself in the proof, 0.6 on average, for it
// samples four profiles into one table.) The proof has the paper's white and the ink's
// black: Little CMS gives the second intent to the step from paper to display.
func TestImageLittleCMS(t *testing.T) {
	dir := t.TempDir()
	save := func(name string, p *icc.Profile) string {
		b, err := p.Encode()
		if err != nil {
			t.Fatal(err)
		}
		return write(t, filepath.Join(dir, name), b)
	}
	files := map[string]string{"narrow": save("narrow.icc", narrow(t)), "wide": save("wide.icc", wide(t)), "press": save("press.icc", press(t))}
	profiles := map[string]*icc.Profile{"narrow": narrow(t), "wide": wide(t), "press": press(t)}
	photo := photograph(480, 320)
	var b bytes.Buffer
	opaque := image.NewRGBA(photo.Rect)
	copy(opaque.Pix, photo.Pix)
	if err := png.Encode(&b, opaque); err != nil {
		t.Fatal(err)
	}
	picture := write(t, filepath.Join(dir, "photograph.png"), b.Bytes())
	for _, c := range []struct{ from, to, proof, mode string }{
		{"narrow", "wide", "", "RGB"},
		{"wide", "narrow", "", "RGB"},
		{"narrow", "press", "", "CMYK"},
		{"narrow", "wide", "press", "RGB"},
	} {
		out := filepath.Join(dir, "out")
		runLittleCMS(t, picture, files[c.from], files[c.to], files[c.proof], c.mode, out)
		theirs, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		o, chain := transform.Options{Intent: icc.Relative}, []*icc.Profile{profiles[c.from]}
		if c.proof != "" {
			o.Intents = []icc.Intent{icc.Relative, icc.Absolute}
			chain = append(chain, profiles[c.proof], profiles[c.proof])
		}
		got, err := way(t, o, append(chain, profiles[c.to])...).Convert(t.Context(), opaque)
		if err != nil {
			t.Fatal(err)
		}
		var ours []uint8
		switch m := got.(type) {
		case *image.CMYK:
			ours = m.Pix
		case *image.RGBA:
			for i := 0; i < len(m.Pix); i += 4 {
				ours = append(ours, m.Pix[i:i+3]...)
			}
		}
		if len(ours) != len(theirs) {
			t.Fatalf("%+v: %d samples, theirs %d", c, len(ours), len(theirs))
		}
		worst, sum := 0.0, 0.0
		for i := range ours {
			d := math.Abs(float64(ours[i]) - float64(theirs[i]))
			worst, sum = max(worst, d), sum+d
		}
		mean := sum / float64(len(ours))
		t.Logf("%s to %s by %q: worst %.0f codes, mean %.3f", c.from, c.to, c.proof, worst, mean)
		if worst > 1 || mean > 0.02 {
			t.Errorf("%s to %s by %q: worst %.0f codes, mean %.3f", c.from, c.to, c.proof, worst, mean)
		}
	}
}

func write(t *testing.T, path string, b []byte) string {
	t.Helper()
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}
