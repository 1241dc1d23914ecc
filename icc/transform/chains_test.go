package transform_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// Every profile is evaluated by the intent of the meeting that it takes part in, as
// chains that are joined by hand from the same links are.
func TestIntentsOfMeetings(t *testing.T) {
	type part = struct {
		p      *icc.Profile
		intent icc.Intent
	}
	for _, c := range []struct {
		name    string
		intents []icc.Intent
		links   []part
	}{
		{"two devices", []icc.Intent{icc.Absolute}, []part{{inks(), icc.Absolute}, {p3(), icc.Absolute}}},
		{"into the connection space", []icc.Intent{icc.Absolute}, []part{{inks(), icc.Absolute}}},
		{"proof with its paper", []icc.Intent{icc.Relative, icc.Absolute},
			[]part{{srgb(), icc.Relative}, {inks(), icc.Relative}, {inks(), icc.Absolute}, {p3(), icc.Absolute}}},
		{"proof without", []icc.Intent{icc.Perceptual, icc.Relative},
			[]part{{srgb(), icc.Perceptual}, {inks(), icc.Perceptual}, {inks(), icc.Relative}, {p3(), icc.Relative}}},
		{"out and back into the connection space", []icc.Intent{icc.Absolute, icc.Relative},
			[]part{{inks(), icc.Absolute}, {srgb(), icc.Absolute}, {srgb(), icc.Relative}}},
		{"abstract between", []icc.Intent{icc.Absolute}, []part{{inks(), icc.Absolute}, {abstract(), icc.Absolute}, {p3(), icc.Absolute}}},
		{"link before", []icc.Intent{icc.Absolute}, []part{{link(), icc.Absolute}, {srgb(), icc.Absolute}, {inks(), icc.Absolute}}},
		{"link behind", []icc.Intent{icc.Relative}, []part{{srgb(), icc.Relative}, {inks(), icc.Relative}, {link(), icc.Perceptual}}},
		{"link alone", []icc.Intent{}, []part{{link(), icc.Perceptual}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			for _, bpc := range []bool{false, true} {
				var profiles []*icc.Profile
				var links []icc.Link
				for _, l := range c.links {
					profiles = append(profiles, l.p)
					links = append(links, icc.Link{Profile: l.p, Options: icc.Options{
						Intent: l.intent, BlackPoint: bpc && l.intent != icc.Absolute, PCS: icc.SpaceLab}})
				}
				tr, err := transform.New(transform.Options{Intents: c.intents, BlackPoint: bpc}, profiles...)
				if err != nil {
					t.Fatal(err)
				}
				chain, err := icc.JoinLinks(links...)
				if err != nil {
					t.Fatal(err)
				}
				a, b := make([]float64, 4), make([]float64, 4)
				for _, in := range colours(chain.From(), 500, 9) {
					tr.Chain().Eval(a, in)
					chain.Eval(b, in)
					if !slices.Equal(a, b) {
						t.Fatalf("black point %v: %v becomes %v, joined by hand %v", bpc, in, a, b)
					}
				}
			}
		})
	}
}

// A proof by the absolute intent shows the paper's white and the ink's black: the
// simulated device's own colours, since the display is taken as it is.
func TestProofShowsPaper(t *testing.T) {
	paper, err := icc.ToPCS(inks(), icc.Options{Intent: icc.Absolute, PCS: icc.SpaceLab})
	if err != nil {
		t.Fatal(err)
	}
	display, err := icc.ToPCS(p3(), icc.Options{Intent: icc.Absolute, PCS: icc.SpaceLab})
	if err != nil {
		t.Fatal(err)
	}
	proof := kernelOf(t, transform.Options{Intents: []icc.Intent{icc.Relative, icc.Absolute}}, transform.Plain64F, transform.Plain64F, srgb(), inks(), inks(), p3())
	toInks := kernelOf(t, relative, transform.Plain64F, transform.Plain64F, srgb(), inks())
	for _, rgb := range [][]float64{{1, 1, 1}, {0, 0, 0}, {0.5, 0.5, 0.5}} {
		shown, ink, want := make([]float64, 3), make([]float64, 4), make([]float64, 3)
		if err := transform.Row(proof, shown, rgb, 1); err != nil {
			t.Fatal(err)
		}
		if err := transform.Row(toInks, ink, rgb, 1); err != nil {
			t.Fatal(err)
		}
		paper.Eval(want, ink)
		display.Eval(shown, shown)
		for c := range want {
			if math.Abs(shown[c]-want[c]) > 0.05 { // two kernels of 5e-4, 100 units of L* each
				t.Errorf("%v is shown as %v; the print has %v", rgb, shown, want)
			}
		}
	}
}

// With black point compensation black becomes black.
func TestBlackPoint(t *testing.T) {
	for _, bpc := range []bool{false, true} {
		k := kernelOf(t, transform.Options{Intent: icc.Relative, BlackPoint: bpc}, transform.Plain32F, transform.Plain32F, srgb(), inks(), inks(), srgb())
		out := make([]float32, 3)
		if err := transform.Row(k, out, []float32{0, 0, 0}, 1); err != nil {
			t.Fatal(err)
		}
		if black := max(out[0], out[1], out[2]) < 0.02; black != bpc {
			t.Errorf("compensation %v: black becomes %v", bpc, out)
		}
	}
}

// Each way says what spaces and channels it leads from and to.
func TestSpaces(t *testing.T) {
	for _, c := range []struct {
		profiles []*icc.Profile
		pcs      icc.Signature
		from, to icc.Signature
	}{
		{[]*icc.Profile{srgb(), inks()}, 0, icc.SpaceRGB, icc.SpaceCMYK},
		{[]*icc.Profile{grey(), srgb()}, icc.SpaceXYZ, icc.SpaceGray, icc.SpaceRGB},
		{[]*icc.Profile{srgb()}, 0, icc.SpaceRGB, icc.SpaceLab},
		{[]*icc.Profile{inks()}, icc.SpaceXYZ, icc.SpaceCMYK, icc.SpaceXYZ},
		{[]*icc.Profile{link()}, 0, icc.SpaceCMYK, icc.SpaceRGB},
		{[]*icc.Profile{abstract(), p3()}, 0, icc.SpaceLab, icc.SpaceRGB},
	} {
		tr, err := transform.New(transform.Options{PCS: c.pcs}, c.profiles...)
		if err != nil {
			t.Fatal(err)
		}
		in, out := tr.Channels()
		if tr.From() != c.from || tr.To() != c.to || in != icc.Channels(c.from) || out != icc.Channels(c.to) {
			t.Errorf("from %v with %d channels to %v with %d, want %v and %v", tr.From(), in, tr.To(), out, c.from, c.to)
		}
	}
	// A chain's error is passed on.
	if _, err := transform.New(relative, link(), srgb(), srgb(), srgb(), link()); err == nil || !strings.HasPrefix(err.Error(), "transform: ") {
		t.Errorf("inks from RGB: %v", err)
	}
}
