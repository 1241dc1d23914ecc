package icc

import (
	"errors"
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
)

// Profile to profile, against Little CMS, which evaluates sampled curves with 16
// bits in and out. Half a step of signal before the first profile's curves, times
// their slope of up to 2.4, and half a step of light behind them are multiplied by
// up to 1.9 in the matrices; half a step comes before the second one's, which are
// so steep in the dark that all of it grows, and half a step of signal behind.
// Where channels are not dark 7e-5 holds; the tables state 5e-5.
func TestJoinTables(t *testing.T) {
	cases := []struct{ from, to, table string }{
		{"sRGB.icc", "compatibleWithAdobeRGB1998.icc", "lcms_srgb_to_adobergb_compatible.csv"},
		{"compatibleWithAdobeRGB1998.icc", "sRGB.icc", "lcms_adobergb_compatible_to_srgb.csv"},
		{"LStar-RGB.icc", "sRGB.icc", "lcms_lstar_rgb_to_srgb.csv"},
		{"sRGB.icc", "LStar-RGB.icc", "lcms_srgb_to_lstar_rgb.csv"},
	}
	for _, c := range cases {
		for _, bpc := range []bool{false, true} {
			columns := []string{"R_relcol", "G_relcol", "B_relcol"}
			if bpc {
				for i := range columns {
					columns[i] += "_bpc"
				}
			}
			chain, err := Join(Options{Intent: Relative, BlackPoint: bpc}, debian(t, c.from), debian(t, c.to))
			if err != nil {
				t.Fatal(err)
			}
			curves, _, err := debian(t, c.to).light()
			if err != nil {
				t.Fatal(err)
			}
			worst, bright := 0.0, 0.0
			for _, r := range readTable(t, c.table) {
				got, want := make([]float64, 3), r.nums(columns...)
				chain.Eval(got, r.nums("R", "G", "B"))
				for k := range got {
					const h = 1e-3
					slope := (curves.curves[k].at(want[k]+h) - curves.curves[k].at(want[k]-h)) / h / 2
					d, limit := math.Abs(got[k]-clamp(want[k])), (((2.4+1)*1.9+1)*0.5/slope+0.5)/65535
					if worst = max(worst, d); d > limit {
						t.Errorf("%s to %s, black point %v: %v, channel %d: %.6f, want %.6f", c.from, c.to, bpc, r.nums("R", "G", "B"), k, got[k], want[k])
					}
					if want[k] > 0.2 {
						bright = max(bright, d)
					}
				}
			}
			t.Logf("%s to %s, black point %v: worst difference %.2g, of channels above 0.2 %.2g", c.from, c.to, bpc, worst, bright)
			if bright > 7e-5 {
				t.Errorf("%s to %s, black point %v: worst difference above 0.2 is %g", c.from, c.to, bpc, bright)
			}
		}
	}
}

func debian(t testing.TB, name string) *Profile {
	t.Helper()
	p, err := Decode(debianProfile(t, name))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// lifted returns a display whose blacks emit the share k of its white.
func lifted(t *testing.T, primaries string, gamma, k float64) *Profile {
	t.Helper()
	c := map[string][3]colorimetry.Chromaticity{
		"BT.709": {{X: 0.64, Y: 0.33}, {X: 0.30, Y: 0.60}, {X: 0.15, Y: 0.06}},
		"P3":     {{X: 0.68, Y: 0.32}, {X: 0.265, Y: 0.69}, {X: 0.15, Y: 0.06}},
	}[primaries]
	white := colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}.XYZ(1)
	m := colorimetry.Columns(c[0].XYZ(1), c[1].XYZ(1), c[2].XYZ(1))
	inverse, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	a, err := colorimetry.Bradford(white, colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	s := inverse.Apply(white)
	m = a.Mul(m.Mul(colorimetry.Diagonal(s.X, s.Y, s.Z)))
	p := bare(V4, ClassDisplay, SpaceRGB, SpaceXYZ)
	for i, sig := range []Signature{TagRedColorant, TagGreenColorant, TagBlueColorant} {
		p.Set(sig, XYZArray{m.Column(i)})
	}
	curve := ParametricCurve{Function: 2, G: gamma, A: math.Pow(1-k, 1/gamma), C: k}
	for _, sig := range []Signature{TagRedCurve, TagGreenCurve, TagBlueCurve} {
		p.Set(sig, curve)
	}
	return p
}

// Five pairs of displays with black points of their own.
func TestBlackPointTable(t *testing.T) {
	for _, r := range readTable(t, "blackpoint.csv") {
		in := lifted(t, r.m["primaries_in"], r.num("gamma_in"), r.num("black_in"))
		out := lifted(t, r.m["primaries_out"], r.num("gamma_out"), r.num("black_out"))
		for _, c := range []struct {
			p       *Profile
			columns []string
		}{{in, []string{"bp_in_X", "bp_in_Y", "bp_in_Z"}}, {out, []string{"bp_out_X", "bp_out_Y", "bp_out_Z"}}} {
			black, err := BlackPoint(c.p, Relative)
			if err != nil {
				t.Fatal(err)
			}
			if d := farthest([][]float64{{black.X, black.Y, black.Z}}, [][]float64{r.nums(c.columns...)}); d > 1e-6 {
				t.Errorf("black %v is %g from %v", black, d, r.nums(c.columns...))
			}
		}
		checkBlackRow(t, r, in, out)
	}
}

func checkBlackRow(t *testing.T, r row, in, out *Profile) {
	t.Helper()
	colour, err := ToPCS(out, Options{Intent: Relative, PCS: SpaceXYZ})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		bpc      bool
		profiles []*Profile
		columns  string // the device or the connection space
	}{
		{false, []*Profile{in}, "X_pcs_in Y_pcs_in Z_pcs_in"},
		{false, []*Profile{in, out}, "R_out_nobpc G_out_nobpc B_out_nobpc"},
		{true, []*Profile{in, out}, "R_out_bpc G_out_bpc B_out_bpc"},
		{true, []*Profile{in, out}, "X_pcs_from_lcms_bpc_out Y_pcs_from_lcms_bpc_out Z_pcs_from_lcms_bpc_out"},
	} {
		chain, err := Join(Options{Intent: Relative, BlackPoint: c.bpc, PCS: SpaceXYZ}, c.profiles...)
		if err != nil {
			t.Fatal(err)
		}
		got, want := make([]float64, 3), r.nums(strings.Fields(c.columns)...)
		chain.Eval(got, r.nums("R", "G", "B"))
		// Device values are compared by their colours: near black single precision
		// is 1e-4 of a signal.
		if len(c.profiles) == 2 {
			colour.Eval(got, got)
			if c.columns[0] == 'R' {
				colour.Eval(want, want)
			}
		}
		if d := farthest([][]float64{got}, [][]float64{want}); d > 1e-6 {
			t.Errorf("%s: %v is %g from %v", c.columns, got, d, want)
		}
	}
}

// A chain goes where its profiles lead.
func TestJoin(t *testing.T) {
	rgb, cmyk := lifted(t, "BT.709", 2.2, 0), bare(V4, ClassOutput, SpaceCMYK, SpaceLab)
	tableKinds(someNoise)["table of 16 bits"](cmyk)
	abstract := bare(V4, ClassAbstract, SpaceLab, SpaceLab)
	abstract.Set(TagAToB0, LutAToB{B: []Curve{SampledCurve{}, SampledCurve{}, SampledCurve{}}})
	link := bare(V4, ClassLink, SpaceRGB, SpaceCMYK)
	u := nodesOf(even(3, 3), 4, 2, 1, 0, func([]float64) []float64 { return []float64{0, 0.5, 0.5, 0} })
	link.Set(TagAToB0, LutAToB{A: bent(3, 4), Table: &u, B: bent(4, 4)})
	named := bare(V4, ClassNamedColor, SpaceRGB, SpaceLab)
	for _, c := range []struct {
		name     string
		profiles []*Profile
		from, to Signature
		says     string
	}{
		{"one", []*Profile{rgb}, SpaceRGB, SpaceXYZ, ""},
		{"two", []*Profile{rgb, cmyk}, SpaceRGB, SpaceCMYK, ""},
		{"three", []*Profile{rgb, cmyk, cmyk}, SpaceRGB, SpaceLab, ""},
		{"four", []*Profile{rgb, cmyk, cmyk, rgb}, SpaceRGB, SpaceRGB, ""},
		{"abstract", []*Profile{abstract}, SpaceLab, SpaceLab, ""},
		{"abstract between", []*Profile{rgb, abstract, cmyk}, SpaceRGB, SpaceCMYK, ""},
		{"link", []*Profile{link}, SpaceRGB, SpaceCMYK, ""},
		{"link, then its printer", []*Profile{link, cmyk}, SpaceRGB, SpaceLab, ""},
		{"none", nil, 0, 0, "no profiles"},
		{"does not fit", []*Profile{rgb, cmyk, rgb}, 0, 0, "profile 3 of 3: icc: colours come as CMYK and the profile takes RGB"},
		{"abstract on a device", []*Profile{link, abstract}, 0, 0, "colours come as CMYK and an abstract profile takes"},
		{"link on inks", []*Profile{link, link}, 0, 0, "colours come as CMYK and the device link takes RGB"},
		{"link in the middle", []*Profile{rgb, link}, 0, 0, "colours come as XYZ and the device link takes RGB"},
		{"named", []*Profile{named}, 0, 0, "named colours"},
	} {
		chain, err := Join(Options{Intent: Relative}, c.profiles...)
		if c.says != "" {
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%s: error is %v", c.name, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if chain.From() != c.from || chain.To() != c.to || chain.Inputs() != Channels(c.from) || chain.Outputs() != Channels(c.to) {
			t.Errorf("%s: leads from %v to %v", c.name, chain.From(), chain.To())
		}
	}
}

func TestChainOptions(t *testing.T) {
	p := lifted(t, "BT.709", 2.2, 0.01)
	for _, c := range []struct {
		o    Options
		says string
	}{
		{Options{Intent: 4}, "intent 4"},
		{Options{Intent: Absolute, BlackPoint: true}, "no meaning in the absolute intent"},
		{Options{PCS: SpaceRGB}, "connection space RGB"},
	} {
		for _, f := range []func() (*Chain, error){
			func() (*Chain, error) { return ToPCS(p, c.o) },
			func() (*Chain, error) { return FromPCS(p, c.o) },
			func() (*Chain, error) { return Join(c.o, p) },
		} {
			if _, err := f(); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%+v: error is %v", c.o, err)
			}
		}
	}
	link := bare(V4, ClassLink, SpaceRGB, SpaceRGB)
	if _, err := ToPCS(link, Options{}); !errors.Is(err, ErrUnsupported) {
		t.Errorf("a device link: %v", err)
	}
	// A chain that ends in the connection space has 0 for its black there.
	for _, bpc := range []bool{false, true} {
		chain, err := ToPCS(p, Options{Intent: Relative, BlackPoint: bpc})
		if err != nil {
			t.Fatal(err)
		}
		v := make([]float64, 3)
		chain.Eval(v, v)
		if want := map[bool]float64{false: 0.01, true: 0}[bpc]; math.Abs(v[1]-want) > 1e-12 {
			t.Errorf("black point %v: black has Y %g", bpc, v[1])
		}
	}
}

// Nothing is allocated for a colour, whatever the way.
func TestChainAllocations(t *testing.T) {
	for name, set := range tableKinds(someNoise) {
		p := bare(V4, ClassDisplay, SpaceRGB, SpaceLab)
		set(p)
		for _, sig := range fromTables {
			p.Remove(sig) // so that the search is among them
		}
		to, err := ToPCS(p, Options{Intent: Relative})
		if err != nil {
			t.Fatal(err)
		}
		from, err := FromPCS(p, Options{Intent: Relative})
		if err != nil {
			t.Fatal(err)
		}
		v := []float64{0.3, 0.5, 0.7}
		if n := testing.AllocsPerRun(10, func() {
			to.Eval(v, v)
			from.Eval(v, v)
		}); n != 0 {
			t.Errorf("%s: %g allocations", name, n)
		}
	}
}

// Tables from a device alone are inverted by search: colours that the device
// makes come back to themselves, others to a colour that no neighbour betters.
func TestSearch(t *testing.T) {
	for name, set := range tableKinds(0) {
		p := bare(V4, ClassDisplay, SpaceRGB, SpaceLab)
		set(p)
		for i := range fromTables {
			p.Remove(fromTables[i])
			p.Remove(fromElements[i])
		}
		o := Options{Intent: Relative, PCS: SpaceLab}
		to, err := ToPCS(p, o)
		if err != nil {
			t.Fatal(err)
		}
		from, err := FromPCS(p, o)
		if err != nil {
			t.Fatal(err)
		}
		signals := randomColours(SpaceRGB, 300, 3)
		labs := eval(to, signals)
		worst, _ := worstLab(eval(to, eval(from, labs)), labs)
		t.Logf("%s: colours of the device come back within %.2g", name, worst)
		limit := 1e-6
		if name == "lut8" {
			limit = 0.5 // its rounding, of 0.2 to 0.4, folds the darkest colours
		}
		if worst > limit {
			t.Errorf("%s: a colour of the device comes back %g away", name, worst)
		}
		betters(t, name, to, from)
	}
	four := bare(V4, ClassOutput, SpaceCMYK, SpaceLab)
	tableKinds(someNoise)["lut16"](four)
	for _, sig := range fromTables {
		four.Remove(sig)
	}
	if _, err := FromPCS(four, Options{}); !errors.Is(err, ErrUnsupported) {
		t.Errorf("four channels: %v", err)
	}
}

// betters looks for device values nearer to colours out of gamut than those
// found.
func betters(t *testing.T, name string, to, from *Chain) {
	t.Helper()
	for _, c := range randomColours(SpaceLab, 50, 5) {
		found := make([]float64, 3)
		from.Eval(found, c)
		least := colourDistance(to, found, c)
		for i := range 27 {
			near := make([]float64, 3)
			for k, step := range []int{i%3 - 1, i/3%3 - 1, i/9 - 1} {
				near[k] = clamp(found[k] + 1e-3*float64(step))
			}
			if d := colourDistance(to, near, c); d < least-0.01 {
				t.Errorf("%s: %v for %v is %g away, %v %g", name, found, c, least, near, d)
				return
			}
		}
	}
}

func colourDistance(to *Chain, device, lab []float64) float64 {
	got := make([]float64, 3)
	to.Eval(got, device)
	d, _ := worstLab([][]float64{got}, [][]float64{lab})
	return d
}
