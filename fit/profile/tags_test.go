package profile_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// bothKinds runs a check on a matrix and a table profile of both versions.
func bothKinds(t *testing.T, o profile.Options, m fit.Model, curves tone.Channels, check func(*testing.T, profile.Result)) {
	t.Helper()
	for _, kind := range []profile.Kind{profile.KindMatrix, profile.KindTable} {
		for _, version := range []icc.Version{profile.V4, profile.V2} {
			o.Kind, o.Version, o.Grid = kind, version, 9
			r, _ := build(t, m, m.XYZ(colorimetry.Gray(1)), curves, o)
			check(t, r)
			for _, f := range r.Profile.Check() {
				if f.Severity > icc.Remark {
					t.Errorf("kind %d, version %v: %v", kind, version, f)
				}
			}
			id, err := icc.ProfileID(r.Bytes)
			if err != nil || id != r.Profile.Header.ID {
				t.Errorf("kind %d, version %v: the profile's ID is %x, its bytes' %x (%v)", kind, version, r.Profile.Header.ID, id, err)
			}
		}
	}
}

// chrm holds the chromaticities of the light that the channels add, not adapted
// (ICC.1:2022, 9.2.16 and 10.2), in s15Fixed16; targ the readings.
func TestTags(t *testing.T) {
	t.Parallel()
	o := options()
	o.Readings = []byte("CGATS.17\nNUMBER_OF_FIELDS 3\n")
	bothKinds(t, o, leaky, tone.Channels{}, func(t *testing.T, r profile.Result) {
		v, ok := r.Profile.Value(icc.TagChromaticity).(icc.ChromaticityValue)
		if !ok || v.Colorant != 0 || len(v.Channels) != 3 {
			t.Fatalf("chrm is %+v", r.Profile.Value(icc.TagChromaticity))
		}
		for c, got := range v.Channels {
			p := primaries.Column(c)
			x, y := p.X/(p.X+p.Y+p.Z), p.Y/(p.X+p.Y+p.Z)
			if math.Abs(got.X-x) > 1.0/65536 || math.Abs(got.Y-y) > 1.0/65536 {
				t.Errorf("channel %d is %v, its light %.5f, %.5f", c, got, x, y)
			}
		}
		if got := r.Profile.Value(icc.TagCharTarget); got != icc.Text(o.Readings) {
			t.Errorf("targ is %q", got)
		}
		if r.Profile.Value(icc.TagCICP) != nil || r.Profile.Value(icc.TagHardwareCalibration) != nil {
			t.Error("cicp or MHC2 is there, and nobody asked for it")
		}
	})
}

// The treatment of the black is in the file, whatever the version, and in the
// result.
func TestBlackIsStated(t *testing.T) {
	t.Parallel()
	for black, words := range map[profile.Black][3]string{
		profile.BlackMeasured: {"measured", "", "measured black"},
		profile.BlackZero:     {"zero", "black at zero", "begin at zero"},
		profile.BlackNeutral:  {"neutral", "neutral black", "colour of the white"},
	} {
		for _, version := range []icc.Version{profile.V4, profile.V2} {
			o := options()
			o.Black, o.Version = black, version
			r, _ := build(t, leaky, leaky.White(), tone.Channels{}, o)
			if !strings.Contains(r.Profile.Description(), words[1]) || !strings.Contains(r.Diagnostics.Black, words[2]) {
				t.Errorf("%q and %q, want %q and %q", r.Profile.Description(), r.Diagnostics.Black, words[1], words[2])
			}
			if version == profile.V2 {
				continue
			}
			stated := ""
			for _, e := range r.Profile.Value(icc.TagMetadata).(icc.Dict) {
				if e.Name == "black" {
					stated = e.Value
				}
			}
			if stated != words[0] {
				t.Errorf("meta says %q, want %q", stated, words[0])
			}
		}
	}
}

// A profile with tables is named by the black that they hold, which is the
// measured one whatever the matrix beside them does; meta and the result tell of
// that.
func TestBlackOfTablesIsStated(t *testing.T) {
	t.Parallel()
	o := options()
	o.Kind, o.Grid, o.Black = profile.KindTable, 9, profile.BlackZero
	r, predict := build(t, leaky, leaky.White(), tone.Channels{}, o)
	if got := predict(colorimetry.RGB{}).Y; math.Abs(got-leaky.black.Y) > 0.01*leaky.black.Y {
		t.Errorf("the tables hold a black of %g, the model has %g", got, leaky.black.Y)
	}
	if s := r.Profile.Description(); strings.Contains(s, "black") {
		t.Errorf("the profile is called %q", s)
	}
	stated := map[string]string{}
	for _, e := range r.Profile.Value(icc.TagMetadata).(icc.Dict) {
		stated[e.Name] = e.Value
	}
	if stated["black"] != "measured" || stated["matrix black"] != "zero" {
		t.Errorf("meta says %q, of the matrix %q", stated["black"], stated["matrix black"])
	}
	if s := r.Diagnostics.Black; !strings.Contains(s, "tables carry the measured black") || !strings.Contains(s, "Only the matrix beside them begins at zero") {
		t.Errorf("the result says %q", s)
	}
}

// cicp comes into version 4.4 alone (ICC.1:2022, 9.2.17), and only if asked for.
func TestCodingTag(t *testing.T) {
	t.Parallel()
	codes, ok := profile.Coding(rgb.SRGB())
	if !ok {
		t.Fatal("sRGB has no codes")
	}
	o := options()
	o.Coding = &codes
	for _, kind := range []profile.Kind{profile.KindMatrix, profile.KindTable} {
		o.Kind, o.Grid = kind, 9
		r, _ := build(t, narrow, narrow.White(), tone.Channels{}, o)
		if got := r.Profile.Value(icc.TagCICP); got != codes || r.Profile.Header.Version != icc.V4Dot4 {
			t.Errorf("kind %d: cicp is %v in version %v", kind, got, r.Profile.Header.Version)
		}
	}
	o.Version = profile.V2
	if _, err := profile.Build(narrow, narrow.White(), tone.Channels{}, o); err == nil {
		t.Error("version 2 takes a cicp tag")
	}
}

// Codes of ITU-T H.273, tables 2 and 3. sRGB's 1 and 13, Display P3's 12 and 13,
// and BT.2100's 9 with 16 or 18 are those that the cICP chunk of PNG's third
// edition is shown with; from memory.
func TestCoding(t *testing.T) {
	odd := rgb.SRGB()
	odd.White.X += 0.0001
	short := rgb.BT2100PQ()
	short.Curve = tone.PQ{PeakCdM2: 1000}
	linear := rgb.BT2020()
	linear.Curve = tone.Linear{}
	theatre := rgb.P3DCI()
	theatre.Curve = tone.Linear{}
	for name, c := range map[string]struct {
		space rgb.Space
		want  icc.CICP
		ok    bool
	}{
		"sRGB":            {rgb.SRGB(), icc.CICP{Primaries: 1, Transfer: 13, FullRange: 1}, true},
		"Display P3":      {rgb.DisplayP3(), icc.CICP{Primaries: 12, Transfer: 13, FullRange: 1}, true},
		"PQ":              {rgb.BT2100PQ(), icc.CICP{Primaries: 9, Transfer: 16, FullRange: 1}, true},
		"HLG":             {rgb.BT2100HLG(), icc.CICP{Primaries: 9, Transfer: 18, FullRange: 1}, true},
		"linear BT.2020":  {linear, icc.CICP{Primaries: 9, Transfer: 8, FullRange: 1}, true},
		"theatre, linear": {theatre, icc.CICP{Primaries: 11, Transfer: 8, FullRange: 1}, true},
		"odd white":       {odd, icc.CICP{}, false},
		"PQ to 1000":      {short, icc.CICP{}, false},
		"BT.1886":         {rgb.BT709(), icc.CICP{}, false},
		"Adobe RGB":       {rgb.AdobeRGB(), icc.CICP{}, false},
	} {
		if got, ok := profile.Coding(c.space); got != c.want || ok != c.ok {
			t.Errorf("%s: %v, %v, want %v, %v", name, got, ok, c.want, c.ok)
		}
	}
}

// MHC2 holds the curves in force to the bit and the luminances in s15Fixed16, and
// no matrix.
func TestSystemCalibration(t *testing.T) {
	t.Parallel()
	up := make([]float64, 1024)
	for i := range up {
		up[i] = math.Pow(float64(i)/1023, 1.05)
	}
	curves, err := tone.NewChannels(up, up, up)
	if err != nil {
		t.Fatal(err)
	}
	o := options()
	o.SystemCalibration = true
	bothKinds(t, o, leaky, curves, func(t *testing.T, r profile.Result) {
		v, ok := r.Profile.Value(icc.TagHardwareCalibration).(icc.HardwareCalibration)
		if !ok || v.HasMatrix || math.Abs(v.PeakCdM2-leaky.White().Y) > 1.0/65536 || math.Abs(v.MinCdM2-leaky.black.Y) > 1.0/65536 {
			t.Fatalf("MHC2 is %+v", v)
		}
		red, _, blue := curves.Codes()
		for i := range red {
			// Both are numbers of 16 bits, of which one ends at 65535 and the
			// other at 65536.
			if math.Abs(v.Curves[0][i]-float64(red[i])/65535) > 0.5/65536 || math.Abs(v.Curves[2][i]-float64(blue[i])/65535) > 0.5/65536 {
				t.Fatalf("entry %d is %g", i, v.Curves[0][i])
			}
		}
	})
	r, _ := build(t, leaky, leaky.White(), tone.Channels{}, o)
	if v := r.Profile.Value(icc.TagHardwareCalibration).(icc.HardwareCalibration); v.Curves[0] != nil {
		t.Error("MHC2 has curves where none are in force")
	}
	o.Relative = true
	if _, err := profile.Build(leaky, leaky.White(), curves, o); err == nil || !strings.Contains(err.Error(), "MHC2") {
		t.Errorf("unknown luminances: %v", err)
	}
}

// The columns' sum is D50 exactly in table profiles too (ICC.1:2022, 7.2.16), and
// what it cost is told.
func TestTablesAddUpToD50(t *testing.T) {
	t.Parallel()
	white := leaky.White()
	white.X *= 1.004
	for _, kind := range []profile.Kind{profile.KindMatrix, profile.KindTable} {
		o := options()
		o.Kind, o.Grid = kind, 9
		r, _ := build(t, leaky, white, tone.Channels{}, o)
		c, err := r.Profile.Colorants()
		if err != nil {
			t.Fatal(err)
		}
		if x, y, z := c[0].X+c[1].X+c[2].X, c[0].Y+c[1].Y+c[2].Y, c[0].Z+c[1].Z+c[2].Z; x*65536 != 63190 || y != 1 || z*65536 != 54061 {
			t.Errorf("kind %d: columns add up to %g, %g, %g", kind, x, y, z)
		}
		if d := r.Diagnostics; !(d.PrimaryDelta > 0.05 && d.PrimaryDelta < 2) || !(d.WhiteDelta > 0.05) {
			t.Errorf("kind %d: primaries moved by %g, white by %g", kind, d.PrimaryDelta, d.WhiteDelta)
		}
	}
}
