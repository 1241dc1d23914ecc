package hardware_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/hardware"
)

// byHand returns the device signal at which wide shows a source signal: by the
// encoding's matrix, the display's and its powers.
func byHand(t testing.TB, from rgb.Space, s colorimetry.RGB) colorimetry.RGB {
	t.Helper()
	d := wide(t)
	inv, err := d.mix.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	l := inv.ToLinear(matrix(t, from, 120).FromLinear(from.Linear(s)))
	return colorimetry.RGB{R: math.Pow(l.R, 1/d.gamma[0]), G: math.Pow(l.G, 1/d.gamma[1]), B: math.Pow(l.B, 1/d.gamma[2])}
}

// Between equal primaries the table is the identity, and the curves do it all: no
// more than the rounding of values and the lines between 4096 entries are left.
func TestEqualPrimaries(t *testing.T) {
	t.Parallel()
	table, d := build(t, wide(t), hardware.Want{Space: rgb.DisplayP3()}, hardware.Options{Bits: 16, Nodes: 9})
	content := table.Contents()
	for i, v := range content.Values {
		at := [3]int{i / 81, i / 9 % 9, i % 9}
		for c := range v {
			// Places lie evenly between those of black and white.
			lo, hi := float64(content.Values[0][c]), float64(content.Values[len(content.Values)-1][c])
			if want := lo + float64(at[c])/8*(hi-lo); math.Abs(float64(v[c])-want) > 2 {
				t.Errorf("node %v, channel %d: %d, want %.1f", at, c, v[c], want)
			}
		}
	}
	var worst float64
	for _, s := range randomSignals(3000, 3) {
		if s.Min() > 0.03 {
			worst = math.Max(worst, apart(table.Apply(s), byHand(t, rgb.DisplayP3(), s)))
		}
	}
	t.Logf("largest difference %.6f of a signal; %+v", worst, d.Chromatic)
	if worst > 1e-4 || d.Chromatic.Max > 0.02 {
		t.Errorf("largest difference %.6f of a signal, %.4f ΔE00", worst, d.Chromatic.Max)
	}
}

// sRGB on a wider display, against the closed form: nodes hold it, and between
// them the colours are within the goals of the default size.
func TestAgainstClosedForm(t *testing.T) {
	t.Parallel()
	for _, plain := range []bool{false, true} {
		table, d := build(t, wide(t), hardware.Want{Space: rgb.SRGB()}, hardware.Options{Bits: 16, Plain: plain})
		n := table.Nodes()
		var node, worst, mean float64
		for i := range n * n * n {
			s := [3]float64{float64(i/(n*n)) / float64(n-1), float64(i/n%n) / float64(n-1), float64(i%n) / float64(n-1)}
			if !plain {
				// The curves before the table lead to levels; the signal that stands on
				// a node is found by asking them.
				before := table.Contents().Before
				for c := range s {
					s[c] = reached(before[c], s[c]*65535)
				}
				if i%7 != 0 {
					continue
				}
			}
			source := colorimetry.RGB{R: s[0], G: s[1], B: s[2]}
			if source.Min() > 0.02 {
				node = math.Max(node, apart(table.Apply(source), byHand(t, rgb.SRGB(), source)))
			}
		}
		signals := randomSignals(2000, 4)
		for _, s := range signals {
			e := difference2000(wide(t).XYZ(table.Apply(s)), matrix(t, rgb.SRGB(), 120).FromLinear(rgb.SRGB().Linear(s)), d.White)
			worst, mean = math.Max(worst, e), mean+e/float64(len(signals))
		}
		t.Logf("plain %t: %d nodes, %.6f of a signal off at nodes; between them mean %.4f and largest %.3f ΔE00", plain, n, node, mean, worst)
		if node > 2e-4 || mean > 0.05 || worst > 0.5 {
			t.Errorf("plain %t: %.6f of a signal off at nodes; between them mean %.4f and largest %.3f ΔE00", plain, node, mean, worst)
		}
		if d.Beyond.Count > 0 || d.Chromatic.Count+d.Greys.Count != 1071 || math.Abs(d.Interpolation.Mean-mean) > 0.03 {
			t.Errorf("plain %t: %+v", plain, d)
		}
	}
}

// reached returns the signal at which rising entries reach a code.
func reached(entries []uint16, code float64) float64 {
	for i := 1; i < len(entries); i++ {
		if a, b := float64(entries[i-1]), float64(entries[i]); b >= code && b > a {
			return (float64(i-1) + (code-a)/(b-a)) / float64(len(entries)-1)
		}
	}
	return 1
}

// The source is told in words for people: of the black that its tone is stretched
// above, the luminance in no more digits than say something.
func TestSourceInWords(t *testing.T) {
	t.Parallel()
	m := exact(invented[0])
	table, _ := build(t, m, hardware.Want{Space: rgb.SRGB(), Aim: aim.Aim{Luminance: 90}}, hardware.Options{Bits: 10, Nodes: 2})
	want := fmt.Sprintf("%s, tone srgb, stretched above a black of %.3g cd/m²", rgb.SRGB().Name, m(colorimetry.RGB{}).Y)
	if table.Source() != want {
		t.Errorf("the source is %q, want %q", table.Source(), want)
	}
}

// Greys have the luminance that IEC 61966-2-1 gives them over the display's black
// (stretched), and the chromaticity of D65 well above the black; they never fall.
// The displays are ones whose channels disturb each other.
func TestGreys(t *testing.T) {
	t.Parallel()
	for _, e := range invented {
		for _, plain := range []bool{false, true} {
			m := exact(e)
			nodes := 9 // greys do not depend on them
			if plain {
				nodes = 17
			}
			table, d := build(t, m, hardware.Want{Space: rgb.SRGB(), Aim: aim.Aim{Luminance: 90}}, hardware.Options{Bits: 16, Nodes: nodes, Plain: plain})
			black := m(colorimetry.RGB{}).Y
			var uv, y float64
			last := colorimetry.RGB{R: -1, G: -1, B: -1}
			for i := range 257 {
				s := float64(i) / 256
				device := table.Apply(colorimetry.Gray(s))
				if device.R < last.R || device.G < last.G || device.B < last.B {
					t.Errorf("%v, plain %t: grey %.4f falls from %v to %v", e, plain, s, last, device)
				}
				last = device
				got := m(device)
				if s >= math.Max(0.1, 3*d.FloorSignal) {
					uv = math.Max(uv, got.UV().Distance(colorimetry.D65().UV()))
					y = math.Max(y, math.Abs(got.Y/(black+(90-black)*tone.SRGB{}.Light(s))-1))
				}
			}
			t.Logf("%v, plain %t: %.5f in u'v', %.4f of luminance, black from %v", e, plain, uv, y, table.Apply(colorimetry.RGB{}))
			limit := [2]float64{0.0005, 0.002}
			if plain {
				limit = [2]float64{0.002, 0.01} // lines between signals 1/16 apart
			}
			if uv > limit[0] || y > limit[1] || table.Apply(colorimetry.RGB{}) != (colorimetry.RGB{}) {
				t.Errorf("%v, plain %t: %.5f in u'v', %.4f of luminance, black from %v", e, plain, uv, y, table.Apply(colorimetry.RGB{}))
			}
		}
	}
}

// Where half of green's signal brings light into red at a stroke, red would have
// to fall along the greys. The table's does not, and the diagnostics say so.
func TestFallingGreys(t *testing.T) {
	t.Parallel()
	d := wide(t)
	m := truth(func(s colorimetry.RGB) colorimetry.XYZ {
		s = s.Clamp()
		light := 0.9*math.Pow(s.R, 2.2) + 0.05*(1+math.Tanh((s.G-0.5)/0.01))
		return d.XYZ(colorimetry.RGB{R: math.Pow(light, 1/2.2), G: s.G, B: s.B})
	})
	for _, plain := range []bool{false, true} {
		table, told := build(t, m, hardware.Want{Space: rgb.SRGB(), Aim: aim.Aim{Luminance: 80}}, hardware.Options{Bits: 12, Nodes: 33, Plain: plain})
		last := -1.0
		for i := range 1025 {
			r := table.Apply(colorimetry.Gray(float64(i) / 1024)).R
			if r < last-1e-12 {
				t.Fatalf("plain %t: red falls at %d", plain, i)
			}
			last = r
		}
		if told.Raised == 0 || !strings.Contains(strings.Join(told.Warnings, " "), "raised") {
			t.Errorf("plain %t: %d raised, warnings %q", plain, told.Raised, told.Warnings)
		}
	}
}

// ITU-R BT.1886, annex 1: L = a·max(V + b, 0)^2.4 with a and b from white and
// black.
func TestBT1886(t *testing.T) {
	t.Parallel()
	d := wide(t)
	d.black = colorimetry.D65().Scale(0.12)
	table, _ := build(t, d, hardware.Want{Space: rgb.BT709(), Aim: aim.Aim{Luminance: 100, Black: aim.BlackLift}},
		hardware.Options{Bits: 16, PathBits: 10, Nodes: 17, In: hardware.Limited, Out: hardware.Limited})
	w, k := math.Pow(100, 1/2.4), math.Pow(0.12, 1/2.4)
	a, b := math.Pow(w-k, 2.4), k/(w-k)
	for code := 64; code <= 940; code += 4 {
		v := float64(code-64) / 876
		want := a * math.Pow(v+b, 2.4)
		if got := d.XYZ(table.Apply(colorimetry.Gray(v))); math.Abs(got.Y/want-1) > 0.002 {
			t.Errorf("code %d: %.4f cd/m², want %.4f", code, got.Y, want)
		}
	}
}

// PQ means luminances, up to the white of the display. ITU-R BT.2100-2, table 4.
func TestPQ(t *testing.T) {
	t.Parallel()
	d := wide(t)
	table, diagnostics := build(t, d, hardware.Want{Space: rgb.BT2100PQ()}, hardware.Options{Bits: 16, Nodes: 17})
	for _, cdM2 := range []float64{1, 5, 26, 80, 110, 300} {
		want := math.Min(cdM2, diagnostics.White.Y)
		if got := d.XYZ(table.Apply(colorimetry.Gray(tone.PQSignal(cdM2)))).Y; math.Abs(got/want-1) > 0.005 {
			t.Errorf("the signal of %g cd/m² shows %.3f, want %.3f", cdM2, got, want)
		}
	}
}

// Colours beyond the display: they are counted as its matrix has it, keep their
// hue in Oklab, and are nearer where hue is free.
func TestReach(t *testing.T) {
	t.Parallel()
	want := hardware.Want{Space: rgb.BT2020()}
	at := map[hardware.Reach]hardware.Diagnostics{}
	for _, r := range []hardware.Reach{hardware.ReachHue, hardware.ReachNearest, hardware.ReachClip} {
		table, d := build(t, wide(t), want, hardware.Options{Bits: 16, Nodes: 33, Reach: r})
		at[r] = d
		inv, err := wide(t).mix.Inverse()
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range randomSignals(1000, 5) {
			l := inv.ToLinear(matrix(t, want.Space, 120).FromLinear(want.Space.Linear(s)))
			if l.Min() < 0.02 || l.Max() > 0.98 {
				continue // cells that the surface passes through
			}
			if e := difference2000(wide(t).XYZ(table.Apply(s)), matrix(t, want.Space, 120).FromLinear(want.Space.Linear(s)), d.White); e > 0.5 {
				t.Errorf("reach %d: %v, well inside, is %.2f ΔE00 off", r, s, e)
			}
		}
		t.Logf("reach %d: within %+v, beyond %+v, hue turned by %.2f°", r, d.Chromatic, d.Beyond, d.HueTurn)
	}
	if h := at[hardware.ReachHue].HueTurn; h > 1.2 || at[hardware.ReachClip].HueTurn < 2*h || at[hardware.ReachNearest].HueTurn < 2*h {
		t.Error("hue is not kept")
	}
	if at[hardware.ReachHue].Beyond.Count < 300 || at[hardware.ReachHue].Beyond.Mean > at[hardware.ReachClip].Beyond.Mean*1.5 {
		t.Error("colours beyond the display come out too far from what was meant")
	}
}

func TestWhites(t *testing.T) {
	t.Parallel()
	d := wide(t)
	d.mix = d.mix.Mul(colorimetry.Diagonal(1, 1, 0.9)) // a yellowish white
	own := d.XYZ(colorimetry.Gray(1))
	for name, c := range map[string]struct {
		want hardware.Want
		xy   colorimetry.Chromaticity
		y    float64
		says string
	}{
		"all its own":  {hardware.Want{}, own.Chromaticity(), own.Y, ""},
		"encoding":     {hardware.Want{Space: rgb.SRGB()}, rgb.SRGB().White, 0, ""},
		"asked":        {hardware.Want{Space: rgb.SRGB(), Aim: aim.Aim{White: aim.XY(0.34, 0.35), Luminance: 70}}, colorimetry.Chromaticity{X: 0.34, Y: 0.35}, 70, ""},
		"too bright":   {hardware.Want{Aim: aim.Aim{Luminance: 500}}, own.Chromaticity(), own.Y, "in place of 500"},
		"black raised": {hardware.Want{Aim: aim.Aim{Luminance: 80, BlackCdM2: 0.5}}, own.Chromaticity(), 80, ""},
	} {
		table, got := build(t, d, c.want, hardware.Options{Nodes: 5, Bits: 16})
		shown := d.XYZ(table.Apply(colorimetry.Gray(1)))
		if shown.UV().Distance(c.xy.UV()) > 1e-4 || c.y != 0 && math.Abs(shown.Y/c.y-1) > 1e-3 || math.Abs(shown.Y/got.White.Y-1) > 1e-3 {
			t.Errorf("%s: %v of %.2f cd/m², want %v of %.2f", name, shown.Chromaticity(), shown.Y, c.xy, c.y)
		}
		if all := strings.Join(got.Warnings, " "); c.says == "" && all != "" || !strings.Contains(all, c.says) {
			t.Errorf("%s: want %q, got %q", name, c.says, all)
		}
		if k := d.XYZ(table.Apply(colorimetry.RGB{})).Y; math.Abs(k-c.want.Aim.BlackCdM2) > 0.002 {
			t.Errorf("%s: a black of %.4f cd/m², want %.4f", name, k, c.want.Aim.BlackCdM2)
		}
	}
}

// The tone of displays for diagnosis says whose business those are.
func TestCautions(t *testing.T) {
	t.Parallel()
	d := wide(t)
	d.black = colorimetry.D65().Scale(0.2)
	table, told := build(t, d, hardware.Want{Aim: aim.Aim{Tone: aim.GSDF{}, Ambient: aim.MeasuredAmbient(0.3)}}, hardware.Options{Nodes: 5, Bits: 16})
	if !strings.Contains(strings.Join(told.Warnings, " "), "medical physicist") {
		t.Errorf("warnings %q", told.Warnings)
	}
	// DICOM PS3.14: steps of equal indices between black and white, the room's
	// light included.
	last := d.XYZ(table.Apply(colorimetry.RGB{})).Y
	white := d.XYZ(table.Apply(colorimetry.Gray(1))).Y
	from, ok := tone.GSDFIndex(last + 0.3)
	to, also := tone.GSDFIndex(white + 0.3)
	if !ok || !also {
		t.Fatalf("no indices for %g and %g cd/m²", last, white)
	}
	for i := range 17 {
		s := float64(i) / 16
		want, _ := tone.GSDFLuminance(from + s*(to-from))
		if got := d.XYZ(table.Apply(colorimetry.Gray(s))).Y + 0.3; math.Abs(got/want-1) > 0.002 {
			t.Errorf("at %.3f: %.4f cd/m², want %.4f", s, got, want)
		}
	}
}

func TestBuildRefuses(t *testing.T) {
	t.Parallel()
	bad := func(f func(*additive)) fit.Model {
		d := wide(t)
		f(&d)
		return d
	}
	for says, c := range map[string]struct {
		model fit.Model
		want  hardware.Want
		o     hardware.Options
	}{
		"9 bits":           {o: hardware.Options{Bits: 9}},
		"path of 14":       {o: hardware.Options{PathBits: 14}},
		"1 nodes":          {o: hardware.Options{Nodes: 1}},
		"5 entries":        {o: hardware.Options{Entries: 5}},
		"reach 7":          {o: hardware.Options{Reach: 7}},
		"whole scale":      {o: hardware.Options{WholeScale: true}},
		"-1 workers":       {o: hardware.Options{Workers: -1}},
		"no text":          {o: hardware.Options{Display: "\n"}},
		"outside":          {want: hardware.Want{Aim: aim.Aim{White: aim.XY(0.1, 0.8)}}},
		"surround":         {want: hardware.Want{Space: rgb.BT2100HLG(), SurroundCdM2: -5}},
		"system gamma":     {want: hardware.Want{Aim: aim.Aim{Tone: tone.HLG{BlackCdM2: 2000}}}},
		"ambient":          {want: hardware.Want{Aim: aim.Aim{Tone: aim.GSDF{}}}},
		"do not differ":    {model: bad(func(d *additive) { d.mix = colorimetry.Columns(d.mix.Column(0), d.mix.Column(0), d.mix.Column(0)) })},
		"no finite colour": {model: truth(holed(wide(t)))},
		"no mixture": {model: truth(func(s colorimetry.RGB) colorimetry.XYZ {
			return wide(t).XYZ(colorimetry.RGB{R: s.R, G: s.G * (1 - s.R), B: s.B}).Add(colorimetry.XYZ{Z: -300 * s.R * s.G})
		})},
	} {
		m := c.model
		if m == nil {
			m = wide(t)
		}
		if _, _, err := hardware.Build(context.Background(), m, c.want, c.o); err == nil || !strings.Contains(err.Error(), says) || !strings.HasPrefix(err.Error(), "hardware: ") {
			t.Errorf("want %q, got %v", says, err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, _, err := hardware.Build(ctx, wide(t), hardware.Want{}, hardware.Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// holed returns a display without an answer in the middle of the greys.
func holed(d additive) truth {
	return func(s colorimetry.RGB) colorimetry.XYZ {
		if s.R == s.G && s.G == s.B && s.R > 0.4 && s.R < 0.6 {
			return colorimetry.XYZ{X: math.NaN()}
		}
		return d.XYZ(s)
	}
}

func TestBuildIsDeterministic(t *testing.T) {
	t.Parallel()
	want := hardware.Want{Space: rgb.BT2020()}
	first, told := build(t, exact(simulate.FourSubpixels), want, hardware.Options{Nodes: 9, Workers: 1})
	for _, workers := range []int{2, 7} {
		again, also := build(t, exact(simulate.FourSubpixels), want, hardware.Options{Nodes: 9, Workers: workers})
		if again.Digest() != first.Digest() || told.Chromatic != also.Chromatic {
			t.Errorf("%d workers make another table", workers)
		}
	}
}

// The default size is the first that keeps its goals, and predicted figures are
// those of the display.
func TestDefaultSize(t *testing.T) {
	t.Parallel()
	for _, e := range []simulate.Example{simulate.SaggingPanel, simulate.FourSubpixels} {
		if testing.Short() && e != simulate.SaggingPanel {
			continue
		}
		m := exact(e)
		table, d := build(t, m, hardware.Want{Space: rgb.SRGB(), Aim: aim.Aim{Luminance: 80}}, hardware.Options{Bits: 12, PathBits: 10})
		var mean float64
		signals := randomSignals(500, 6)
		for _, s := range signals {
			s = s.Quantise(10)
			light := tone.SRGB{}
			want := matrix(t, rgb.SRGB(), 80).FromLinear(colorimetry.RGB{R: light.Light(s.R), G: light.Light(s.G), B: light.Light(s.B)})
			mean += difference2000(m(table.Through(s)), want, d.White) / float64(len(signals))
		}
		t.Logf("%v: %d nodes, within %+v, greys %+v, between nodes %+v; by the truth %.4f", e, d.Nodes, d.Chromatic, d.Greys, d.Interpolation, mean)
		if d.Interpolation.Mean > 0.05 || d.Interpolation.Max > 0.5 || d.Chromatic.Mean > 0.2 || math.Abs(mean-d.Chromatic.Mean) > 0.03 {
			t.Errorf("%v: %+v; by the truth %.4f", e, d, mean)
		}
	}
}

// A box of the limited range that addresses nodes by all codes has black and white
// between two nodes, and shows them and what lies between as one that does not.
func TestWholeScale(t *testing.T) {
	t.Parallel()
	d := wide(t)
	d.black = colorimetry.D65().Scale(0.1)
	want := hardware.Want{Space: rgb.BT709(), Aim: aim.Aim{Luminance: 100}}
	for _, c := range []struct {
		nodes int
		plain bool
	}{{17, true}, {33, true}, {65, true}, {17, false}} {
		o := hardware.Options{Nodes: c.nodes, Bits: 16, Plain: c.plain, In: hardware.Limited, Out: hardware.Limited}
		_, apart := build(t, d, want, o)
		o.WholeScale = true
		table, whole := build(t, d, want, o)
		t.Logf("%+v: within %+v, greys %+v; on the whole scale %+v, %+v", c, apart.Chromatic, apart.Greys, whole.Chromatic, whole.Greys)
		// Cells are 1/0.856 times as large, and the loss grows with their square.
		if whole.Chromatic.Mean > 1.5*apart.Chromatic.Mean+0.01 || whole.Greys.Max > 1.6*apart.Greys.Max+0.03 {
			t.Errorf("%+v: within %+v, greys %+v; on the whole scale %+v, %+v", c, apart.Chromatic, apart.Greys, whole.Chromatic, whole.Greys)
		}
		for _, s := range []colorimetry.RGB{{}, {R: 1, G: 1, B: 1}} {
			if e := difference2000(d.XYZ(table.Through(s)), whole.White.Scale(s.R).Add(d.black.Scale(1-s.R)), whole.White); e > 0.05 {
				t.Errorf("%+v: %v is %.3f ΔE00 off", c, s, e)
			}
		}
		// The last node lies beyond white, and so does what it holds.
		values := table.Contents().Values
		last, white := values[len(values)-1], 4096+table.Apply(colorimetry.Gray(1)).G*(60160-4096)
		if c.plain && float64(last[1]) < white+200 {
			t.Errorf("%+v: the last node holds %d, white needs %.0f", c, last[1], white)
		}
	}
}
