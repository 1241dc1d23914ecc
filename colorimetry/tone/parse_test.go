package tone_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry/tone"
)

func TestParseReadsWhatStringWrites(t *testing.T) {
	for _, c := range everyCurve(t) {
		back, err := tone.Parse(c.String())
		if err != nil {
			t.Errorf("%s: %v", c, err)
			continue
		}
		if back.String() != c.String() {
			t.Errorf("%s comes back as %s", c, back)
		}
		for s := 0.0; s <= 1; s += 0.125 {
			if back.Light(s) != c.Light(s) {
				t.Errorf("%s: light at %g is %g, then %g", c, s, c.Light(s), back.Light(s))
			}
		}
	}
}

func TestParse(t *testing.T) {
	for text, want := range map[string]tone.Curve{
		"2.2":                tone.Power{Gamma: 2.2},
		"  Power   1.8 ":     tone.Power{Gamma: 1.8},
		"SRGB":               tone.SRGB{},
		"L*":                 tone.LStar{},
		"lstar":              tone.LStar{},
		"bt709":              tone.BT709{},
		"bt1886":             tone.BT1886{},
		"bt2020":             tone.BT2020{},
		"bt2020 10":          tone.BT2020{Bits: 10},
		"BT2020 12":          tone.BT2020{Bits: 12},
		"gsdf 400 0.4 0.3":   gsdf(t, 400, 0.4, 0.3),
		"hlg":                tone.HLG{},
		"hlg 600 0.01":       tone.HLG{WhiteCdM2: 600, BlackCdM2: 0.01},
		"hlg 600 0 1.3":      tone.HLG{WhiteCdM2: 600, SystemGamma: 1.3},
		"HLG-camera":         tone.HLGCamera{},
		"icc 0 2.2":          parametric(t, 0, 2.2),
		"icc 3 2 1 0 .25 .3": parametric(t, 3, 2, 1, 0, 0.25, 0.3),
		"linear":             tone.Linear{},
		"pq":                 tone.PQ{},
		"pq 1000":            tone.PQ{PeakCdM2: 1000},
		"romm":               tone.ROMM{},
		"bt1886 100 0.05":    tone.BT1886{WhiteCdM2: 100, BlackCdM2: 0.05},
		"lift 0 srgb":        tone.SRGB{},
		"stretch 0.01 2.4":   tone.Stretch(tone.Power{Gamma: 2.4}, 0.01),
		"lift 0.01 power 2.": tone.Lift(tone.Power{Gamma: 2}, 0.01),
	} {
		if got, err := tone.Parse(text); err != nil || got != want {
			t.Errorf("%q: %v, %v; want %v", text, got, err, want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for text, says := range map[string]string{
		"":                                      "empty",
		"   ":                                   "empty",
		"gamma":                                 "no curve is called",
		"power":                                 "one number",
		"power 2.2 3":                           "one number",
		"power x":                               `is "x"; give a number from 0.1 to 10`,
		"220":                                   "from 0.1 to 10",
		"nan":                                   "from 0.1 to 10",
		"0":                                     "from 0.1 to 10",
		"srgb 2":                                "takes no number",
		"bt1886 100":                            "white and black",
		"bt1886 100 100":                        "below its white",
		"bt1886 100 120":                        "from 0 to 100",
		"bt2020 8":                              "10 or 12",
		"gsdf":                                  "white, black and ambient",
		"gsdf 400 x 0":                          "the black of gsdf",
		"gsdf 400 0 0":                          "in its black",
		"hlg 1000":                              "white and black",
		"hlg 1000 1000":                         "the black of hlg",
		"hlg 1000 0 0":                          "system gamma",
		"icc":                                   "a form and its parameters",
		"icc 2.5 1":                             "the form of icc",
		"icc 9 1":                               "from 0 to 4",
		"icc 0 x":                               "icc parameter 1",
		"icc 0 2 2":                             "takes 1 numbers",
		"linear 1":                              "takes no number",
		"pq 20000":                              "the peak of pq",
		"pq 1 2":                                "peak in cd/m²",
		"lift 0.1":                              "relative black and a curve",
		"lift 1 srgb":                           "from 0 to 0.999",
		"points":                                "0 points",
		"points 0,0 1":                          "point 2",
		"points 0,0 1,nan":                      "point 2",
		"points 0,0 0.5,1 1,0.5":                "falls",
		strings.Repeat("lift 0.1 ", 9) + "srgb": "black policies",
		strings.Repeat(" ", 5<<20):              "bytes",
	} {
		c, err := tone.Parse(text)
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%.40q: %v, error %v, want one saying %q", text, c, err, says)
		}
		if err != nil && strings.Count(err.Error(), "tone:") != 1 {
			t.Errorf("%.40q: the package is named more than once: %v", text, err)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"2.2", "power 2.4", "srgb", "l*", "bt1886 100 0.05", "points 0,0 0.5,0.2 1,1", "lift 0.01 stretch 0.1 srgb", "bt709", "bt2020 12", "gsdf 400 0.4 0.1", "hlg 600 0.01 1.1", "hlg-camera", "icc 4 2.2 0.95 0.05 0.1 0.08 0.01 0.005", "icc 2 3 1 0 0.1", "linear", "pq 1000", "romm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		c, err := tone.Parse(s)
		if err != nil {
			return
		}
		back, err := tone.Parse(c.String())
		if err != nil || back.String() != c.String() {
			t.Fatalf("%q gives %q, which gives %v, %v", s, c, back, err)
		}
		before := math.Inf(-1)
		for i := range 17 {
			v := c.Light(float64(i) / 16)
			// Rounding may cost the last digits of the light's own scale.
			if math.IsNaN(v) || v < before-1e-14*math.Max(1, math.Abs(before)) {
				t.Fatalf("%q falls to %g at %d/16", s, v, i)
			}
			before = v
			if b := c.Signal(v); !(b >= -1e-9 && b <= 1+1e-9) {
				t.Fatalf("%q: signal %g", s, b)
			}
		}
	})
}
