package pictures_test

import (
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/pictures"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/icc"
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// scene is a picture of ours: a large even sky with a little texture, and a
// coat of saturated red on one pixel in two hundred.
func scene(w, h int) *image.NRGBA {
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.NRGBA{R: uint8(120 + x*20/w), G: uint8(170 + y*20/h), B: 230, A: 255}
			if x < w/10 && y < h/20 {
				c = color.NRGBA{R: 220, G: 10, B: 20, A: 255}
			}
			m.SetNRGBA(x, y, c)
		}
	}
	return m
}

func near(a, b colorimetry.RGB) float64 {
	return math.Abs(a.R-b.R) + math.Abs(a.G-b.G) + math.Abs(a.B-b.B)
}

// photograph is a picture of ours with the noise that cameras leave: a sky on
// 95 % with a gradient, dark green ground on 4.5 %, and a saturated red coat on
// 0.5 %, which grain says how noisy it is, in 8-bit codes.
func photograph(w, h int, grain float64) *image.NRGBA {
	rng := rand.New(rand.NewPCG(7, 7))
	m := image.NewNRGBA(image.Rect(0, 0, w, h))
	near := func(v, sigma float64) uint8 { return uint8(max(0, min(255, v+sigma*rng.NormFloat64()))) }
	for i := range w * h {
		f := float64(i) / float64(w*h)
		c := color.NRGBA{R: near(90+80*f, 12), G: near(140+60*f, 12), B: near(220+20*f, 12), A: 255}
		switch {
		case f >= 0.995:
			c = color.NRGBA{R: near(220, grain), G: near(10, grain), B: near(20, grain), A: 255}
		case f >= 0.95:
			c = color.NRGBA{R: near(80, 20), G: near(110, 20), B: near(50, 20), A: 255}
		}
		m.SetNRGBA(i%w, i/w, c)
	}
	return m
}

// One pixel in two hundred is saturated red: with any seed it has its patch,
// from four patches on, and the patch has the red's share.
func TestTheSkyDoesNotDrownTheCoat(t *testing.T) {
	red := colorimetry.RGB{R: 220.0 / 255, G: 10.0 / 255, B: 20.0 / 255}
	for name, c := range map[string]struct {
		image    image.Image
		colours  int     // at least so many cells
		off      float64 // sum of the channels' distances: the grain's mean shifts where it is cut at 0
		share    float64 // how much the share may miss: colours between red and ground go either way
		atShares int     // from how many patches on
	}{
		"even":             {scene(800, 600), 10, 0.002, 0.0005, 4},
		"noise around":     {photograph(400, 400, 0), 50, 0.002, 0.0005, 8},
		"noise everywhere": {photograph(400, 400, 8), 50, 0.08, 0.0025, 8},
	} {
		for _, n := range []int{4, 8, 50} {
			for seed := range uint64(6) {
				picks, err := pictures.Patches([]pictures.Picture{{Name: name, Image: c.image}}, n,
					pictures.Options{Target: rgb.SRGB(), Seed: seed})
				if err != nil {
					t.Fatal(err)
				}
				if len(picks) < min(n, c.colours) || len(picks) > n {
					t.Errorf("%s: %d patches, want %d", name, len(picks), n)
				}
				best, all, reds := math.Inf(1), 0.0, 0.0
				for _, p := range picks {
					best = min(best, near(p.Signal, red))
					all += p.Share
					if near(p.Signal, red) < 0.3 {
						reds += p.Share
					}
				}
				if best > c.off {
					t.Errorf("%s, %d patches, seed %d: the nearest to the coat's red is %.3f away", name, n, seed, best)
				}
				if n >= c.atShares && math.Abs(reds-0.005) > c.share {
					t.Errorf("%s, %d patches, seed %d: reds have a share of %.4f, want 0.005", name, n, seed, reds)
				}
				if math.Abs(all-1) > 1e-12 {
					t.Errorf("%s: shares add up to %g", name, all)
				}
			}
		}
	}
}

func TestEachPatchNamesItsPicture(t *testing.T) {
	in := []pictures.Picture{{Name: "green", Image: flat(color.NRGBA{G: 200, A: 255}, 40, 30)}, {Name: "grey", Image: flat(color.Gray{Y: 90}, 40, 30)}}
	// Equal shares stand in the order of lightness, the darker first.
	picks, err := pictures.Patches(in, 5, pictures.Options{Bits: 8})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, p := range picks {
		got = append(got, p.ID+" "+p.Picture)
		if p.Signal != p.Signal.Quantise(8) {
			t.Errorf("%v is on no code of 8 bits", p.Signal)
		}
	}
	if diff := cmp.Diff([]string{"picture1 grey", "picture2 green"}, got); diff != "" {
		t.Errorf("two flat pictures give (-want +got)\n%s", diff)
	}
}

func flat(c color.Color, w, h int) image.Image {
	m := image.NewNRGBA64(image.Rect(0, 0, w, h))
	for i := range w * h {
		m.Set(i%w, i/w, c)
	}
	return m
}

// one returns the only patch of a flat picture.
func one(t *testing.T, m image.Image, o pictures.Options) pictures.Pick {
	t.Helper()
	return oneOf(t, pictures.Picture{Name: "flat", Image: m}, o)
}

func oneOf(t *testing.T, in pictures.Picture, o pictures.Options) pictures.Pick {
	t.Helper()
	in.Name = "flat"
	picks, err := pictures.Patches([]pictures.Picture{in}, 3, o)
	if err != nil {
		t.Fatal(err)
	}
	if len(picks) != 1 || picks[0].Share != 1 || picks[0].Picture != "flat" {
		t.Fatalf("a flat picture gives %+v", picks)
	}
	return picks[0]
}

func TestSignalsAreTheDisplays(t *testing.T) {
	// sRGB red in Display P3: the Web Platform Tests for CSS Color 4 print
	// 0.91749 0.20029 0.13856 (from memory; the matrices are checked against
	// files from outside in colorimetry/rgb).
	red := flat(color.NRGBA{R: 255, A: 255}, 4, 4)
	want := colorimetry.RGB{R: 0.91749, G: 0.20029, B: 0.13856}
	p3 := rgb.DisplayP3()
	p3.Name = "" // a target needs no name
	if got := one(t, red, pictures.Options{Target: p3}).Signal; near(got, want) > 3e-5 {
		t.Errorf("sRGB red is %v on the display, want %v", got, want)
	}
	// Colours outside the target are clipped to it: P3 red in sRGB.
	source, err := pictures.Encoded(rgb.DisplayP3())
	if err != nil {
		t.Fatal(err)
	}
	if got := one(t, red, pictures.Options{Source: source, Target: rgb.SRGB()}).Signal; near(got, colorimetry.RGB{R: 1}) > 1e-9 {
		t.Errorf("P3 red is %v on an sRGB display, want 1 0 0", got)
	}
}

// The default target is the display of chart.Nominal: there the patch of a
// colour has that colour's CIELAB. For sRGB's red, green and blue under D65
// these are widely printed, from memory here: 53.24 80.09 67.20, 87.73 −86.18
// 83.18, 32.30 79.19 −107.86.
func TestDefaultTargetIsTheNominalDisplay(t *testing.T) {
	for _, c := range []struct {
		rgb color.NRGBA
		lab colorimetry.Lab
	}{
		{color.NRGBA{R: 255, A: 255}, colorimetry.Lab{L: 53.24, A: 80.09, B: 67.20}},
		{color.NRGBA{G: 255, A: 255}, colorimetry.Lab{L: 87.73, A: -86.18, B: 83.18}},
		{color.NRGBA{B: 255, A: 255}, colorimetry.Lab{L: 32.30, A: 79.19, B: -107.86}},
	} {
		got := chart.Nominal(one(t, flat(c.rgb, 3, 3), pictures.Options{}).Signal)
		// Printed values differ in the second decimal by the white's digits.
		if diff := cmp.Diff(c.lab, got, cmpopts.EquateApprox(0, 0.03)); diff != "" {
			t.Errorf("%v (-printed +nominal)\n%s", c.rgb, diff)
		}
	}
}

// An image in the space of a profile means what the encoding means that the
// profile describes; the profile's white D50 is taken to the display's.
func TestProfiledMeansWhatTheProfileSays(t *testing.T) {
	space := rgb.AdobeRGB()
	m, err := space.Matrix()
	if err != nil {
		t.Fatal(err)
	}
	toD50, err := colorimetry.Bradford(space.White.XYZ(1), colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	adapted := toD50.Mul(m)
	power := &icc.ParametricCurve{G: 563.0 / 256}
	profile, err := icc.MatrixProfile(icc.MatrixSpec{Description: "test", Chad: toD50,
		Colorants:  [3]colorimetry.XYZ{adapted.Column(0), adapted.Column(1), adapted.Column(2)},
		Parametric: [3]*icc.ParametricCurve{power, power, power}})
	if err != nil {
		t.Fatal(err)
	}
	e, err := icc.NewEvaluator(profile, icc.Relative)
	if err != nil {
		t.Fatal(err)
	}
	source, err := pictures.Encoded(space)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []color.Color{color.White, color.NRGBA{R: 200, G: 90, B: 60, A: 255}, color.NRGBA{R: 40, G: 180, B: 120, A: 255}} {
		want := one(t, flat(c, 3, 3), pictures.Options{Source: source, Target: rgb.BT2020()})
		got := one(t, flat(c, 3, 3), pictures.Options{Source: pictures.Profiled(e), Target: rgb.BT2020()})
		// The profile's colorants have 16 bits after the point.
		if near(got.Signal, want.Signal) > 3e-4 {
			t.Errorf("%v: by the profile %v, by the encoding %v", c, got.Signal, want.Signal)
		}
		// The same profile inside the picture is obeyed unasked, and overruled.
		inside := pictures.Picture{Image: flat(c, 3, 3), Profile: encodeProfile(t, profile)}
		if own := oneOf(t, inside, pictures.Options{Target: rgb.BT2020()}); own.Signal != got.Signal {
			t.Errorf("%v: by the profile inside %v, by the same profile %v", c, own.Signal, got.Signal)
		}
		if own := oneOf(t, inside, pictures.Options{Source: source, Target: rgb.BT2020()}); own.Signal != want.Signal {
			t.Errorf("%v: overruled %v, by the encoding %v", c, own.Signal, want.Signal)
		}
	}
}

func encodeProfile(t *testing.T, p *icc.Profile) []byte {
	t.Helper()
	b, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// A profile that cannot be used is an error: nobody knows what the numbers mean.
func TestUnusableProfiles(t *testing.T) {
	m := flat(color.White, 3, 3)
	for name, profile := range map[string][]byte{"damaged": []byte("damaged"), "empty": {}} {
		in := pictures.Picture{Name: name, Image: m, Profile: profile}
		if _, err := pictures.Patches([]pictures.Picture{in}, 1, pictures.Options{}); err == nil || !strings.Contains(err.Error(), name+": its profile is unusable") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Of stripes, one column in some being red, fixed steps through the image would
// fall in with one width or another and meet one of the two colours only.
func TestStripesAreMet(t *testing.T) {
	for every := 2; every <= 6; every++ {
		m := image.NewNRGBA(image.Rect(0, 0, 1600, 1200))
		for i := range 1600 * 1200 {
			c := color.NRGBA{R: 200, G: 200, B: 200, A: 255}
			if i%1600%every == 0 {
				c = color.NRGBA{R: 220, G: 10, B: 20, A: 255}
			}
			m.SetNRGBA(i%1600, i/1600, c)
		}
		picks, err := pictures.Patches([]pictures.Picture{{Name: "stripes", Image: m}}, 2, pictures.Options{Target: rgb.SRGB()})
		if err != nil {
			t.Fatal(err)
		}
		share := 0.0
		for _, p := range picks {
			if p.Signal.G < 0.1 {
				share = p.Share
			}
		}
		// Of 200,000 draws of a share of 1/2 the standard deviation is 0.0011.
		if len(picks) != 2 || math.Abs(share-1/float64(every)) > 0.005 {
			t.Errorf("one column in %d is red, the reds' share is %.4f: %+v", every, share, picks)
		}
	}
}

// counter is a grey image of any size that counts who looks at it.
type counter struct {
	bounds image.Rectangle
	looks  *int
}

func (c counter) ColorModel() color.Model { return color.GrayModel }
func (c counter) Bounds() image.Rectangle { return c.bounds }
func (c counter) At(x, y int) color.Color {
	if !(image.Point{X: x, Y: y}).In(c.bounds) {
		panic("a pixel outside the image")
	}
	*c.looks++
	return color.Gray{Y: uint8(x + y)}
}

func TestPixelsAreBounded(t *testing.T) {
	for _, c := range []struct {
		w, h, pictures int
		least          int // looks; of images with fewer pixels all are wanted
	}{
		{6000, 4000, 1, 195_000}, {800, 600, 1, 195_000}, {3_000_000, 1, 1, 200_000}, {1, 3_000_000, 1, 200_000},
		{3, 2_000_000, 1, 195_000}, {300, 200, 1, 60_000}, {6000, 4000, 7, 195_000}, {1000, 1000, 3, 195_000},
	} {
		looks := 0
		var in []pictures.Picture
		for range c.pictures {
			in = append(in, pictures.Picture{Name: "x", Image: counter{image.Rect(-5, 3, c.w-5, c.h+3), &looks}})
		}
		picks, err := pictures.Patches(in, 4, pictures.Options{})
		if err != nil {
			t.Fatal(err)
		}
		if looks < c.least || looks > 200_000 {
			t.Errorf("%d × %d, %d times: %d pixels looked at", c.w, c.h, c.pictures, looks)
		}
		for _, p := range picks {
			if s := p.Signal; math.Abs(s.R-s.G) > 1e-9 || math.Abs(s.R-s.B) > 1e-9 {
				t.Errorf("a grey image gives %v", s)
			}
		}
	}
}

func TestSameInputSamePatches(t *testing.T) {
	m := photograph(700, 500, 8)
	take := func(seed uint64) []pictures.Pick {
		picks, err := pictures.Patches([]pictures.Picture{{Name: "a", Image: m}, {Name: "b", Image: scene(50, 40)}}, 40,
			pictures.Options{Seed: seed, Bits: 10})
		if err != nil {
			t.Fatal(err)
		}
		return picks
	}
	first := take(1)
	for range 3 {
		if diff := cmp.Diff(first, take(1)); diff != "" {
			t.Fatalf("the same input gives another choice:\n%s", diff)
		}
	}
	if cmp.Equal(first, take(2)) {
		t.Error("another seed gives the same choice")
	}
	// Every patch is another signal, also on a path too coarse for all.
	picks, err := pictures.Patches([]pictures.Picture{{Name: "a", Image: m}}, 40, pictures.Options{Bits: 1})
	if err != nil || len(picks) > 8 {
		t.Errorf("a path of 1 bit has %d signals, error %v", len(picks), err)
	}
	var all float64
	for _, p := range picks {
		all += p.Share
	}
	if math.Abs(all-1) > 1e-12 {
		t.Errorf("shares add up to %g", all)
	}
}

func TestUnusableOptions(t *testing.T) {
	noCurve, noArea := rgb.SRGB(), rgb.SRGB()
	noCurve.Curve = nil
	noArea.G = noArea.R
	in := []pictures.Picture{{Name: "cat", Image: flat(color.White, 2, 2)}}
	for name, c := range map[string]struct {
		in   []pictures.Picture
		n    int
		o    pictures.Options
		says string
	}{
		"no pictures":  {nil, 3, pictures.Options{}, "0 pictures"},
		"no patches":   {in, 0, pictures.Options{}, "0 patches"},
		"no image":     {[]pictures.Picture{{Name: "cat"}}, 3, pictures.Options{}, "cat has no pixels"},
		"ink":          {[]pictures.Picture{{Name: "cat", Image: image.NewCMYK(image.Rect(0, 0, 2, 2))}}, 3, pictures.Options{}, "CMYK"},
		"many bits":    {in, 3, pictures.Options{Bits: 17}, "17 bits"},
		"no curve":     {in, 3, pictures.Options{Target: noCurve}, "no curve"},
		"no area":      {in, 3, pictures.Options{Target: noArea}, "no area"},
		"source white": {in, 3, pictures.Options{Source: pictures.Meaning{XYZ: func(colorimetry.RGB) colorimetry.XYZ { return colorimetry.XYZ{} }}}, "white"},
	} {
		if _, err := pictures.Patches(c.in, c.n, c.o); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", name, err, c.says)
		}
	}
	for _, s := range []rgb.Space{noCurve, noArea} {
		if _, err := pictures.Encoded(s); err == nil {
			t.Errorf("an unusable encoding has a meaning: %+v", s)
		}
	}
}

func TestTransparentPixelsArePassedOver(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 10, 10))
	for i := range 100 {
		m.SetNRGBA(i%10, i/10, color.NRGBA{R: 255})
	}
	if _, err := pictures.Patches([]pictures.Picture{{Name: "glass", Image: m}}, 3, pictures.Options{}); err == nil {
		t.Error("a transparent picture gives patches")
	}
	m.SetNRGBA(5, 5, color.NRGBA{B: 255, A: 200})
	picks, err := pictures.Patches([]pictures.Picture{{Name: "glass", Image: m}}, 3, pictures.Options{Target: rgb.SRGB()})
	if err != nil || len(picks) != 1 || near(picks[0].Signal, colorimetry.RGB{B: 1}) > 0.01 {
		t.Errorf("one blue pixel behind glass gives %v, %v", picks, err)
	}
}
