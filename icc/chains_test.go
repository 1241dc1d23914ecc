package icc

import (
	"math"
	"path/filepath"
	"testing"

	"example.org/primaries/colorimetry"
)

// Chains of strangers' profiles against Little CMS, an abstract one among them.
func TestLittleCMSOnChains(t *testing.T) {
	const dir = "/usr/share/color/icc/"
	for _, files := range [][]string{
		{"ghostscript/default_cmyk.icc", "sRGB.icc"},
		{"sRGB.icc", "ghostscript/default_cmyk.icc"},
		{"ghostscript/default_cmyk.icc", "CineLogCurve.icc", "sRGB.icc"},
		{"sRGB.icc", "CineLogCurve.icc", "ghostscript/default_cmyk.icc"},
		{"sRGB.icc", "ghostscript/default_cmyk.icc", "ghostscript/default_cmyk.icc", "LStar-RGB.icc"},
	} {
		var profiles []*Profile
		var paths []string
		for _, f := range files {
			profiles, paths = append(profiles, debian(t, f)), append(paths, filepath.Join(dir, f))
		}
		for _, bpc := range []bool{false, true} {
			chain, err := Join(Options{Intent: Relative, BlackPoint: bpc}, profiles...)
			if err != nil {
				t.Fatal(err)
			}
			in := randomColours(chain.From(), lcmsColours, 4)
			in = append(in, make([]float64, chain.Inputs()), []float64{1, 1, 1, 1}[:chain.Inputs()])
			ours, theirs := eval(chain, in), lcms(t, Relative, bpc, in, paths...)
			// Device values are compared by their colours, and in XYZ, since the
			// curves of dark channels are steep.
			to, err := ToPCS(profiles[len(profiles)-1], Options{Intent: Relative, PCS: SpaceXYZ})
			if err != nil {
				t.Fatal(err)
			}
			d := farthest(eval(to, ours), eval(to, theirs))
			t.Logf("%v, black point %v: worst difference in XYZ %.2g", files, bpc, d)
			// Two steps of 16 bits in the sampled curves of each.
			if d > 2*float64(len(files))/32768 {
				t.Errorf("%v, black point %v: %g apart in XYZ", files, bpc, d)
			}
		}
	}
}

// What a caller can build and no file can hold is an error, not a panic and not
// a colour that is none.
func TestImpossibleProfiles(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for name, change := range map[string]func(*Profile){
		"a colorant of NaN":     func(p *Profile) { p.Set(TagRedColorant, XYZArray{{X: nan, Y: 0.2, Z: 0.1}}) },
		"an infinite colorant":  func(p *Profile) { p.Set(TagRedColorant, XYZArray{{X: inf, Y: 0.2, Z: 0.1}}) },
		"an infinite white":     func(p *Profile) { p.Set(TagMediaWhite, XYZArray{{X: inf, Y: 1, Z: 0.8}}) },
		"a nil element":         func(p *Profile) { p.Set(TagDToB3, MultiProcess{Inputs: 3, Outputs: 3, Elements: []Element{nil}}) },
		"a pointer for a curve": func(p *Profile) { p.Set(TagRedCurve, &SampledCurve{}) },
	} {
		p, _ := mustMatrix(t, testSpec(t, V4, true))
		change(p)
		if _, err := ToPCS(p, Options{Intent: Absolute}); err == nil {
			t.Errorf("%s: no error", name)
		}
		p.Check()
	}
	p, _ := mustMatrix(t, testSpec(t, V4, true))
	if _, err := BlackPoint(p, 9); err == nil {
		t.Error("intent 9 has a black")
	}
	to, err := ToPCS(p, Options{})
	if err != nil {
		t.Fatal(err)
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("two of three channels are enough")
			}
		}()
		to.Eval(make([]float64, 3), make([]float64, 2, 3))
	}()
}

// The curve of a grey that leads to L* is no curve to light, and a profile
// without a device has no black.
func TestNoTone(t *testing.T) {
	if _, err := debian(t, "Gray-CIE_L.icc").ToneCurves(); err == nil {
		t.Error("a curve to L* is taken for one to light")
	}
	if curves, err := debian(t, "Gray.icc").ToneCurves(); err != nil || len(curves) != 1 {
		t.Errorf("%d curves, %v", len(curves), err)
	}
	if _, err := debian(t, "CineLogCurve.icc").Black(); err == nil {
		t.Error("an abstract profile has a black")
	}
	if b, err := debian(t, "sRGB.icc").Black(); err != nil || b != (colorimetry.XYZ{}) {
		t.Errorf("black of sRGB: %v, %v", b, err)
	}
}

// XYZ in 8 bits is nowhere defined (ICC.1:2022, 10.11, from memory).
func TestCheckEightBitXYZ(t *testing.T) {
	for _, pcs := range []Signature{SpaceLab, SpaceXYZ} {
		p := bare(V4, ClassDisplay, SpaceRGB, pcs)
		tableKinds(0)["lut8"](p)
		found := false
		for _, f := range p.Check() {
			found = found || f.Severity == Departure && f.Text == "XYZ has no encoding in 8 bits, so that readers may differ; write a table of 16 bits."
		}
		if found != (pcs == SpaceXYZ) {
			t.Errorf("%v: found %v", pcs, found)
		}
	}
}
