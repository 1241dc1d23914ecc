package profile_test

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// model is an invented separable model that is known exactly.
type model struct {
	black     colorimetry.XYZ
	primaries colorimetry.Matrix
	curve     tone.Curve
}

func (m model) Name() string                                        { return "invented" }
func (m model) Black() colorimetry.XYZ                              { return m.black }
func (m model) White() colorimetry.XYZ                              { return m.XYZ(colorimetry.Gray(1)) }
func (m model) Primaries() colorimetry.Matrix                       { return m.primaries }
func (m model) Curve(int) tone.Curve                                { return m.curve }
func (m model) Jacobian(colorimetry.RGB) colorimetry.Matrix         { return colorimetry.Matrix{} }
func (m model) Covariance(s colorimetry.RGB) (c colorimetry.Matrix) { return c }
func (m model) XYZ(s colorimetry.RGB) colorimetry.XYZ {
	s = s.Clamp()
	return m.black.Add(m.primaries.FromLinear(colorimetry.RGB{R: m.curve.Light(s.R), G: m.curve.Light(s.G), B: m.curve.Light(s.B)}))
}

// other is a model that is not separable.
type other struct{ fit.Model }

var (
	primaries = colorimetry.Columns(
		colorimetry.XYZ{X: 57.1, Y: 26.6, Z: 0.4}, colorimetry.XYZ{X: 30.2, Y: 81.3, Z: 5.1}, colorimetry.XYZ{X: 22.9, Y: 9.2, Z: 121.7})
	leaky   = model{primaries.FromLinear(colorimetry.RGB{R: 0.004, G: 0.002, B: 0.02}), primaries, tone.Power{Gamma: 2.2}}
	flare   = model{colorimetry.XYZ{X: 0.1, Y: 0.6, Z: 0.1}, primaries, tone.Power{Gamma: 2.2}} // greener than green
	created = time.Date(2026, 11, 25, 10, 30, 0, 0, time.UTC)
)

func options() profile.Options {
	return profile.Options{Created: created, Display: "Studio display", Aim: "D65 100 power 2.2"}
}

func build(t *testing.T, m fit.Model, white colorimetry.XYZ, curves tone.Channels, o profile.Options) (profile.Result, func(colorimetry.RGB) colorimetry.XYZ) {
	t.Helper()
	r, err := profile.Build(m, white, curves, o)
	if err != nil {
		t.Fatal(err)
	}
	predict, err := profile.Predictor(r.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	return r, predict
}

// The bytes must give the model back: what 16 bits leave is below 0.02 ΔE00
// (half a 16-bit step at black is 0.007 L*).
func TestBytesGiveTheModelBack(t *testing.T) {
	for _, version := range []icc.Version{0, profile.V4, profile.V2} {
		o := options()
		o.Version = version
		white := leaky.White()
		r, predict := build(t, leaky, white, tone.Channels{}, o)
		var worst float64
		for i := range 11 * 11 * 11 {
			s := colorimetry.RGB{R: float64(i%11) / 10, G: float64(i/11%11) / 10, B: float64(i/121) / 10}
			worst = math.Max(worst, difference.CIEDE2000(leaky.XYZ(s).Lab(white), predict(s).Lab(white)))
		}
		t.Logf("version %v: worst %.4f ΔE00, %d entries, %+v", version, worst, r.Diagnostics.Entries, r.Diagnostics)
		if worst > 0.02 || r.Diagnostics.LossMax > 0.02 {
			t.Errorf("version %v: the bytes miss the model by %.4f ΔE00, diagnostics say %.4f", version, worst, r.Diagnostics.LossMax)
		}
		if d := predict(colorimetry.RGB{}).Sub(leaky.black); math.Abs(d.X)+math.Abs(d.Y)+math.Abs(d.Z) > 0.01 {
			t.Errorf("version %v: coloured black is off by %v cd/m²", version, d)
		}
	}
}

// The encoded columns add up to the encoded D50 exactly (ICC.1:2022, 7.2.16
// gives D50 as 0.9642, 1, 0.8249: 63190, 65536, 54061 in s15Fixed16), chad
// leads from the measured white to D50, and lumi is its luminance.
func TestWhiteIsTheMeasuredOne(t *testing.T) {
	white := leaky.White()
	white.X *= 1.002
	white.Z *= 0.997
	r, predict := build(t, leaky, white, tone.Channels{}, options())
	c, err := r.Profile.Colorants()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range []struct {
		sum  float64
		want float64
	}{{c[0].X + c[1].X + c[2].X, 63190}, {c[0].Y + c[1].Y + c[2].Y, 65536}, {c[0].Z + c[1].Z + c[2].Z, 54061}} {
		if got := row.sum * 65536; got != row.want {
			t.Errorf("encoded columns add up to %g, want %g", got, row.want)
		}
	}
	chad, err := r.Profile.Adaptation()
	if err != nil {
		t.Fatal(err)
	}
	d := chad.Apply(white.Scale(1 / white.Y)).Sub(colorimetry.D50())
	// Nine coefficients of 16 fractional bits.
	if math.Abs(d.X) > 5e-5 || math.Abs(d.Y) > 5e-5 || math.Abs(d.Z) > 5e-5 {
		t.Errorf("chad takes the measured white to D50 but for %v", d)
	}
	if l, ok := r.Profile.Luminance(); !ok || math.Abs(l-white.Y) > 1.0/65536 {
		t.Errorf("lumi is %g, the white %g cd/m²", l, white.Y)
	}
	if e := difference.CIEDE2000(predict(colorimetry.Gray(1)).Lab(white), white.Lab(white)); e > 0.01 {
		t.Errorf("predicted white is %.4f ΔE00 from the measured one", e)
	}
	if e := difference.CIEDE2000(leaky.White().Lab(white), white.Lab(white)); math.Abs(e-r.Diagnostics.WhiteDelta) > 1e-9 || e == 0 {
		t.Errorf("white delta %.4f, want %.4f", r.Diagnostics.WhiteDelta, e)
	}
}

func TestBlackOptions(t *testing.T) {
	white := leaky.White()
	o := options()
	o.Black = profile.BlackZero
	r, predict := build(t, leaky, white, tone.Channels{}, o)
	if k := predict(colorimetry.RGB{}); k != (colorimetry.XYZ{}) {
		t.Errorf("zero black is %v", k)
	}
	t.Log(r.Diagnostics.Black)
	o.Black = profile.BlackNeutral
	r, predict = build(t, leaky, white, tone.Channels{}, o)
	k := predict(colorimetry.RGB{})
	if d := k.UV().Distance(white.UV()); math.Abs(k.Y-leaky.black.Y) > 0.003 || d > 1e-3 {
		t.Errorf("neutral black is %v, %.5f in u'v' from the white; the model's has %.3f cd/m²", k, d, leaky.black.Y)
	}
	t.Log(r.Diagnostics.Black)

	// A black outside the primaries' cone is told.
	o.Black = profile.BlackMeasured
	r, predict = build(t, flare, flare.White(), tone.Channels{}, o)
	t.Log(r.Diagnostics.Black, r.Diagnostics.Warnings)
	if r.Diagnostics.BlackDelta < 0.5 || len(r.Diagnostics.Warnings) == 0 || !strings.Contains(r.Diagnostics.Black, "cannot mix") {
		t.Errorf("a black that no primaries mix is not told: %+v", r.Diagnostics)
	}
	// Nothing that the primaries can mix is nearer, over the white's.
	w := flare.White()
	miss := func(c colorimetry.XYZ) float64 {
		d := c.Sub(flare.black)
		return math.Sqrt(d.X*d.X/w.X/w.X + d.Y*d.Y/w.Y/w.Y + d.Z*d.Z/w.Z/w.Z)
	}
	least := miss(predict(colorimetry.RGB{}))
	for i := range 40 * 40 * 40 {
		c := primaries.FromLinear(colorimetry.RGB{R: float64(i%40) * 5e-4, G: float64(i/40%40) * 5e-4, B: float64(i/1600) * 5e-4})
		if miss(c) < least*0.99 {
			t.Fatalf("%v is nearer to the black than what was written (%g < %g)", c, miss(c), least)
		}
	}
}

// Curves in force come back from the vcgt tag to the bit, and none write none.
func TestCurvesInForce(t *testing.T) {
	up := make([]float64, 256)
	for i := range up {
		up[i] = math.Pow(float64(i)/255, 1.1)
	}
	curves, err := tone.NewChannels(up, up, up)
	if err != nil {
		t.Fatal(err)
	}
	r, _ := build(t, leaky, leaky.White(), curves, options())
	got, err := r.Profile.CurvesInForce()
	if err != nil || got.Digest() != curves.Digest() {
		t.Errorf("curves come back as %s, want %s (%v)", got.Digest(), curves.Digest(), err)
	}
	r, _ = build(t, leaky, leaky.White(), tone.Channels{}, options())
	if r.Profile.Value(icc.TagVideoCurves) != nil {
		t.Error("a profile without curves in force has a vcgt tag")
	}
}

func TestSameBytes(t *testing.T) {
	o := options()
	o.Meta = map[string]string{"note": "x", "room": "y", "a": "z"}
	o.Readings = []byte("CGATS.17\n")
	a, _ := build(t, leaky, leaky.White(), tone.Channels{}, o)
	for range 5 {
		if b, _ := build(t, leaky, leaky.White(), tone.Channels{}, o); !bytes.Equal(a.Bytes, b.Bytes) {
			t.Fatal("equal input gave other bytes")
		}
	}
	if want := "2026-11-25_studio-display_native_d65-100-power-2.2.icc"; a.FileName != want {
		t.Errorf("file name %q, want %q", a.FileName, want)
	}
	if d := a.Profile.Description(); d != "Studio display, native, D65 100 power 2.2, 2026-11-25" {
		t.Errorf("description %q", d)
	}
}

// A steep or bent curve gets more entries than a gentle one.
func TestEntriesFollowTheCurve(t *testing.T) {
	gentle, _ := build(t, leaky, leaky.White(), tone.Channels{}, options())
	steep := leaky
	steep.black = colorimetry.XYZ{}
	var err error
	if steep.curve, err = tone.NewSampled([]float64{0, 0.012, 0.013, 0.05, 1}, []float64{0, 0, 0.004, 0.01, 1}); err != nil {
		t.Fatal(err)
	}
	bent, _ := build(t, steep, steep.White(), tone.Channels{}, options())
	t.Logf("%d and %d entries, misses %.4f and %.4f L*", gentle.Diagnostics.Entries, bent.Diagnostics.Entries, gentle.Diagnostics.CurveError, bent.Diagnostics.CurveError)
	if gentle.Diagnostics.Entries >= bent.Diagnostics.Entries || bent.Diagnostics.Entries > 4096 {
		t.Errorf("%d entries for the gentle curve, %d for the bent one", gentle.Diagnostics.Entries, bent.Diagnostics.Entries)
	}
	o := options()
	o.Entries = 33
	if r, _ := build(t, leaky, leaky.White(), tone.Channels{}, o); r.Diagnostics.Entries != 33 {
		t.Errorf("%d entries, 33 were asked for", r.Diagnostics.Entries)
	}
}

func TestBuildRefuses(t *testing.T) {
	white := leaky.White()
	flat := leaky
	flat.primaries = colorimetry.Columns(white, white, white)
	bad := func(f func(*profile.Options)) profile.Options { o := options(); f(&o); return o }
	for _, c := range []struct {
		name  string
		m     fit.Model
		white colorimetry.XYZ
		o     profile.Options
	}{
		{"not separable", other{leaky}, white, bad(func(o *profile.Options) { o.Kind = profile.KindMatrix })},
		{"unknown kind", leaky, white, bad(func(o *profile.Options) { o.Kind = 3 })},
		{"unknown grid", leaky, white, bad(func(o *profile.Options) { o.Grid = 12 })},
		{"no white", leaky, colorimetry.XYZ{}, options()},
		{"NaN white", leaky, colorimetry.XYZ{X: math.NaN(), Y: 1, Z: 1}, options()},
		{"white of another state", leaky, white.Scale(0.5), options()},
		{"equal primaries", flat, white, options()},
		{"one entry", leaky, white, bad(func(o *profile.Options) { o.Entries = 1 })},
		{"many entries", leaky, white, bad(func(o *profile.Options) { o.Entries = 5000 })},
		{"unknown black", leaky, white, bad(func(o *profile.Options) { o.Black = 7 })},
		{"unknown mapping", leaky, white, bad(func(o *profile.Options) { o.Mapping = 2 })},
		{"knee beyond the surface", leaky, white, bad(func(o *profile.Options) { o.Knee = 1.1 })},
		{"knee of NaN", leaky, white, bad(func(o *profile.Options) { o.Knee = math.NaN() })},
		{"unknown version", leaky, white, bad(func(o *profile.Options) { o.Version = 5 })},
	} {
		if _, err := profile.Build(c.m, c.white, tone.Channels{}, c.o); err == nil {
			t.Errorf("%s: no error", c.name)
		} else {
			t.Logf("%s: %v", c.name, err)
		}
	}
}

func TestPredictorRefuses(t *testing.T) {
	r, _ := build(t, leaky, leaky.White(), tone.Channels{}, options())
	for n := 0; n < len(r.Bytes); n += 97 {
		if _, err := profile.Predictor(r.Bytes[:n]); err == nil {
			t.Fatalf("a profile cut after %d bytes gives no error", n)
		}
	}
	r.Profile.Remove(icc.TagLuminance)
	b, err := r.Profile.Encode()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := profile.Predictor(b); err == nil || !strings.Contains(err.Error(), "lumi") {
		t.Errorf("a profile without luminance: %v", err)
	}
	r.Profile.Header.Space = icc.SpaceCMYK
	if b, err = r.Profile.Encode(); err != nil {
		t.Fatal(err)
	}
	if _, err := profile.Predictor(b); !errors.Is(err, icc.ErrUnsupported) {
		t.Errorf("a profile for inks: %v", err)
	}
}

func TestFileName(t *testing.T) {
	for _, c := range []struct{ display, mode, aim, want string }{
		{"Studio display", "", "D65 100 power 2.2", "2026-11-25_studio-display_native_d65-100-power-2.2.icc"},
		{"", "", "", "2026-11-25_display_native_as-measured.icc"},
		{"Écran Größe 2", "sRGB", "x", "2026-11-25_ecran-grosse-2_srgb_x.icc"},
		{"../../etc/passwd", `a\b:c*?"<>|`, "..", "2026-11-25_etc-passwd_a-b-c_as-measured.icc"},
		{"表示装置", "\x00\n", "a_b", "2026-11-25_display_native_a-b.icc"},
		{strings.Repeat("long ", 40), "m", "a", "2026-11-25_long-long-long-long-long-long-long-long-long-lon_m_a.icc"},
	} {
		if got := profile.FileName(created, c.display, c.mode, c.aim); got != c.want {
			t.Errorf("FileName(%q, %q, %q) = %q, want %q", c.display, c.mode, c.aim, got, c.want)
		}
	}
	// 23:30 in New York is the next day in UTC.
	late := time.Date(2026, 11, 24, 23, 30, 0, 0, time.FixedZone("", -5*3600))
	if got := profile.FileName(late, "d", "m", "a"); !strings.HasPrefix(got, "2026-11-25_") {
		t.Errorf("local evening: %q", got)
	}
}
