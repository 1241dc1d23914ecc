package tone_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

func TestChannelsApply(t *testing.T) {
	c, err := tone.NewChannels([]float64{0, 0.25, 1}, []float64{0.1, 0.1, 0.9}, []float64{0, 0.5, 0.5})
	if err != nil {
		t.Fatal(err)
	}
	got := c.Apply(colorimetry.RGB{R: 0.25, G: 0.75, B: 2})
	want := colorimetry.RGB{R: 0.125, G: 0.5, B: 0.5}
	const tol = 1.0 / 65535 // entries are rounded to 16 bits
	if math.Abs(got.R-want.R) > tol || math.Abs(got.G-want.G) > tol || math.Abs(got.B-want.B) > tol {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := (tone.Channels{}).Apply(colorimetry.RGB{R: -1, G: 0.3, B: 7}); got != (colorimetry.RGB{G: 0.3, B: 1}) {
		t.Errorf("no curves give %v", got)
	}
	r, _, _ := c.Codes()
	r[1] = 9
	if again, _, _ := c.Codes(); again[1] != 16384 {
		t.Errorf("entry 1 of red is %d, want 16384, and not the caller's to change", again[1])
	}
}

func TestIdentity(t *testing.T) {
	for _, n := range []int{2, 256, 1024, 4096} {
		c := tone.Identity(n)
		if c.Len() != n {
			t.Errorf("%d entries, want %d", c.Len(), n)
		}
		for i := 0; i <= 100; i++ {
			v := float64(i) / 100
			if got := c.Apply(colorimetry.Gray(v)); math.Abs(got.R-v) > 0.5/65535 || got.R != got.G || got.R != got.B {
				t.Errorf("%d entries: %g becomes %v", n, v, got)
			}
		}
	}
	for _, n := range []int{-1, 0, 1, 4097} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("Identity(%d) does not panic", n)
				}
			}()
			tone.Identity(n)
		}()
	}
}

func TestDigest(t *testing.T) {
	if got := (tone.Channels{}).Digest(); got != "none" {
		t.Errorf("no curves are called %q", got)
	}
	// SHA-256 of 00 00 ff ff three times, by another program (sha256sum).
	if got, want := tone.Identity(2).Digest(), "09af43c981ac536d"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	if tone.Identity(256).Digest() == tone.Identity(257).Digest() {
		t.Error("different curves have one name")
	}
}

func TestNewChannelsRefuses(t *testing.T) {
	ok := []float64{0, 1}
	for name, k := range map[string]struct {
		r, g, b []float64
		says    string
	}{
		"lengths": {ok, ok, []float64{0, 0.5, 1}, "same number"},
		"short":   {[]float64{0}, []float64{0}, []float64{0}, "2 to 4096"},
		"long":    {make([]float64, 4097), make([]float64, 4097), make([]float64, 4097), "2 to 4096"},
		"NaN":     {ok, []float64{0, math.NaN()}, ok, "from 0 to 1"},
		"above":   {ok, ok, []float64{0, 1.01}, "from 0 to 1"},
		"falling": {[]float64{0.5, 0.4}, ok, ok, "falls"},
	} {
		if _, err := tone.NewChannels(k.r, k.g, k.b); err == nil || !strings.Contains(err.Error(), k.says) {
			t.Errorf("%s: error %v, want one saying %q", name, err, k.says)
		}
	}
}
