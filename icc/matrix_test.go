package icc

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/colorimetry"
	"github.com/google/go-cmp/cmp"
)

// The invented display of these tests: P3 primaries (SMPTE EG 432-1), a white
// at D65, an exponent of 2.2.
func testColorants(t testing.TB) (colorants [3]colorimetry.XYZ, chad colorimetry.Matrix) {
	t.Helper()
	chad, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	m := primaries(t, chroma(0.680, 0.320, 0.265, 0.690, 0.150, 0.060), colorimetry.D65())
	m = chad.Mul(m)
	return [3]colorimetry.XYZ{m.Column(0), m.Column(1), m.Column(2)}, chad
}

// primaries returns the matrix from linear RGB to XYZ of given chromaticities
// and white.
func primaries(t testing.TB, c []colorimetry.Chromaticity, white colorimetry.XYZ) colorimetry.Matrix {
	t.Helper()
	m := colorimetry.Columns(c[0].XYZ(1), c[1].XYZ(1), c[2].XYZ(1))
	inv, err := m.Inverse()
	if err != nil {
		t.Fatal(err)
	}
	s := inv.Apply(white)
	return m.Mul(colorimetry.Diagonal(s.X, s.Y, s.Z))
}

func samples(n int, f func(float64) float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = f(float64(i) / float64(n-1))
	}
	return out
}

func gamma(g float64) func(float64) float64 {
	return func(x float64) float64 { return math.Pow(x, g) }
}

// srgbCurve is the curve of IEC 61966-2-1 in the form of function 3.
func srgbCurve() *ParametricCurve {
	return &ParametricCurve{Function: 3, G: 2.4, A: 1 / 1.055, B: 0.055 / 1.055, C: 1 / 12.92, D: 0.04045}
}

func testSpec(t testing.TB, version Version, parametric bool) MatrixSpec {
	t.Helper()
	colorants, chad := testColorants(t)
	spec := MatrixSpec{
		Version:       version,
		Description:   "Invented display",
		Copyright:     "Nobody's",
		Colorants:     colorants,
		Chad:          chad,
		LuminanceCdM2: 120.5,
		InForce:       curves(t, 256),
		Created:       time.Date(2026, 11, 25, 10, 20, 30, 999, time.FixedZone("", 3600)),
		Targ:          []byte("CGATS.17\nEND_DATA\n"),
		Meta:          map[string]string{"b": "2", "a": "größer", "c": ""},
	}
	for i := range 3 {
		if parametric {
			spec.Parametric[i] = srgbCurve()
		} else {
			spec.Curves[i] = samples(1024, gamma(2.2+0.05*float64(i)))
		}
	}
	return spec
}

func mustMatrix(t testing.TB, spec MatrixSpec) (*Profile, []byte) {
	t.Helper()
	p, err := MatrixProfile(spec)
	if err != nil {
		t.Fatal(err)
	}
	b, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return p, b
}

func TestMatrixProfileReadsBack(t *testing.T) {
	for _, version := range []Version{V2, V4} {
		for _, parametric := range []bool{false, true} {
			t.Run(fmt.Sprint(version, parametric), func(t *testing.T) {
				spec := testSpec(t, version, parametric)
				_, b := mustMatrix(t, spec)
				p, err := Decode(b)
				if err != nil {
					t.Fatal(err)
				}
				checkMatrixProfile(t, p, b, spec)
			})
		}
	}
}

func checkMatrixProfile(t *testing.T, p *Profile, b []byte, spec MatrixSpec) {
	t.Helper()
	h := p.Header
	if h.Version != spec.Version || h.Class != ClassDisplay || h.Space != SpaceRGB || h.PCS != SpaceXYZ || h.Illuminant != encodedD50() {
		t.Errorf("header is %+v", h)
	}
	if at, ok := h.Created.Time(); !ok || !at.Equal(spec.Created.Truncate(time.Second)) {
		t.Errorf("created %v, want %v", at, spec.Created)
	}
	if len(b)%4 != 0 {
		t.Errorf("%d bytes are no multiple of 4", len(b))
	}
	if id, err := ProfileID(b); err != nil || id != h.ID {
		t.Errorf("profile ID is %x, want %x", h.ID, id)
	}
	if d, c := p.Description(), p.Copyright(); d != spec.Description || c != spec.Copyright {
		t.Errorf("description %q, copyright %q", d, c)
	}
	if l, ok := p.Luminance(); !ok || l != spec.LuminanceCdM2 {
		t.Errorf("luminance %g, %v", l, ok)
	}
	if w, err := p.MediaWhite(); err != nil || w != encodedD50() {
		t.Errorf("media white %v, %v; ICC.1:2022, 9.2.36, and the ICC's advice for version 2 want D50", w, err)
	}
	if c, err := p.CurvesInForce(); err != nil || c.Digest() != spec.InForce.Digest() {
		t.Errorf("curves in force %v, %v", c.Digest(), err)
	}
	if v := p.Value(TagCharTarget); v != Text(spec.Targ) {
		t.Errorf("targ is %q", v)
	}
	want := Dict{{Name: "a", Value: "größer", HasValue: true}, {Name: "b", Value: "2", HasValue: true}, {Name: "c", HasValue: true}}
	if d := cmp.Diff(Value(want), p.Value(TagMetadata)); d != "" {
		t.Error(d)
	}
	if m, err := p.Adaptation(); err != nil || matrixDistance(m, spec.Chad) > 0.5/65536 {
		t.Errorf("adaptation %v, %v", m, err)
	}
	// Types by version: ICC.1:2001-04, 6.4.13 and 6.4.8; ICC.1:2022, 9.2.22
	// and 9.2.41.
	types := map[Signature]Signature{TagDescription: TypeLocalized, TagCopyright: TypeLocalized}
	if spec.Version == V2 {
		types = map[Signature]Signature{TagDescription: TypeTextDescription, TagCopyright: TypeText, TagRedCurve: TypeCurve}
	}
	for tag, want := range types {
		if got := p.Value(tag).Type(); got != want {
			t.Errorf("%v is of type %v, want %v", tag, got, want)
		}
	}
}

func matrixDistance(a, b colorimetry.Matrix) float64 {
	worst := 0.0
	for i := range 3 {
		for j := range 3 {
			worst = max(worst, math.Abs(a[i][j]-b[i][j]))
		}
	}
	return worst
}

// Colorants of two sets of primaries under six whites, against Little CMS:
// encoded, they add up to the encoded D50 exactly and each is at most one and a
// half units from the exact number.
func TestColorantsSumToD50(t *testing.T) {
	chromaticities := map[string][]colorimetry.Chromaticity{
		"BT.709": chroma(0.640, 0.330, 0.300, 0.600, 0.150, 0.060), // ITU-R BT.709-6
		"P3":     chroma(0.680, 0.320, 0.265, 0.690, 0.150, 0.060), // SMPTE EG 432-1
	}
	for _, r := range readTable(t, "colorants_from_primaries.csv") {
		white := colorimetry.Chromaticity{X: r.num("xw"), Y: r.num("yw")}.XYZ(1)
		chad, err := colorimetry.Bradford(white, colorimetry.D50())
		if err != nil {
			t.Fatal(err)
		}
		m := chad.Mul(primaries(t, chromaticities[r.m["primaries"]], white))
		got, err := balance([3]colorimetry.XYZ{m.Column(0), m.Column(1), m.Column(2)})
		if err != nil {
			t.Fatal(err)
		}
		if sum := got[0].Add(got[1]).Add(got[2]); sum != encodedD50() {
			t.Errorf("%s: sum is %v", r.m["primaries"], sum)
		}
		want := colorimetry.Columns(
			colorimetry.XYZ{X: r.num("rX"), Y: r.num("rY"), Z: r.num("rZ")},
			colorimetry.XYZ{X: r.num("gX"), Y: r.num("gY"), Z: r.num("gZ")},
			colorimetry.XYZ{X: r.num("bX"), Y: r.num("bY"), Z: r.num("bZ")})
		if d := matrixDistance(m, want); d > 2e-6 { // the table's tolerance
			t.Errorf("%s under %s, %s: %g from Little CMS before encoding", r.m["primaries"], r.m["xw"], r.m["yw"], d)
		}
		if d := matrixDistance(colorimetry.Columns(got[0], got[1], got[2]), want); d > 1.5/65536 {
			t.Errorf("%s under %s, %s: %g from Little CMS after encoding", r.m["primaries"], r.m["xw"], r.m["yw"], d)
		}
	}
}

// The chad tag against the one that Little CMS writes, and for D65 against the
// values found in widely used profiles, which come from a D65 rounded
// otherwise: the two rows of the table differ by up to 2.1e-5.
func TestChad(t *testing.T) {
	colorants, _ := testColorants(t)
	for _, r := range readTable(t, "chad.csv") {
		v := r.nums("m11", "m12", "m13", "m21", "m22", "m23", "m31", "m32", "m33")
		want := colorimetry.Matrix{{v[0], v[1], v[2]}, {v[3], v[4], v[5]}, {v[6], v[7], v[8]}}
		published := strings.Contains(r.m["source_white"], "published")
		chad, err := colorimetry.Bradford(colorimetry.Chromaticity{X: r.num("xw"), Y: r.num("yw")}.XYZ(1), colorimetry.D50())
		if err != nil {
			t.Fatal(err)
		}
		limit := 1e-6 // the table's tolerance
		if published {
			limit = 2.2e-5
		}
		if d := matrixDistance(chad, want); d > limit {
			t.Errorf("%s: %g from the table", r.m["source_white"], d)
		}
		if published {
			chad = want // numbers that are encoded exactly
		}
		p, _ := mustMatrix(t, MatrixSpec{Description: "x", Colorants: colorants, Chad: chad,
			Parametric: [3]*ParametricCurve{srgbCurve(), srgbCurve(), srgbCurve()}})
		_, b := mustEncode(t, p)
		got, err := b.Adaptation()
		if err != nil {
			t.Fatal(err)
		}
		limit = 0.5 / 65536
		if published {
			limit = 0
		}
		if d := matrixDistance(got, chad); d > limit {
			t.Errorf("%s: encoding moves the matrix by %g", r.m["source_white"], d)
		}
	}
}

// mustEncode returns the bytes of p and what they decode to.
func mustEncode(t testing.TB, p *Profile) ([]byte, *Profile) {
	t.Helper()
	b, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	q, err := Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	return b, q
}

func TestMatrixProfileIsDeterministic(t *testing.T) {
	_, a := mustMatrix(t, testSpec(t, V4, false))
	_, b := mustMatrix(t, testSpec(t, V4, false))
	if string(a) != string(b) {
		t.Error("the same specification gave different bytes")
	}
}

func TestMatrixProfileVersion2Text(t *testing.T) {
	spec := testSpec(t, V2, false)
	spec.Description, spec.Copyright = "Käthes Schirm", "© Käthe"
	p, _ := mustMatrix(t, spec)
	_, q := mustEncode(t, p)
	if q.Description() != "Käthes Schirm" || q.Copyright() != "? K?the" {
		t.Errorf("description %q, copyright %q", q.Description(), q.Copyright())
	}
	if d := q.Value(TagDescription).(TextDescription); d.ASCII != "K?thes Schirm" {
		t.Errorf("plain form is %q", d.ASCII)
	}
}

func TestMatrixProfileVersion2Power(t *testing.T) {
	spec := testSpec(t, V2, true)
	spec.Parametric = [3]*ParametricCurve{{G: 2.25}, {G: 2.2}, srgbCurve()}
	p, _ := mustMatrix(t, spec)
	if d := cmp.Diff(Value(SampledCurve{576}), p.Value(TagRedCurve)); d != "" {
		t.Error(d)
	}
	if n := len(p.Value(TagGreenCurve).(SampledCurve)); n != 4096 {
		t.Errorf("2.2 has no exact code, and was stored with %d entries", n)
	}
}

func TestMatrixProfileCICP(t *testing.T) {
	spec := testSpec(t, V4, true)
	spec.CICP = &CICP{Primaries: 12, Transfer: 13, FullRange: 1}
	p, _ := mustMatrix(t, spec)
	if p.Header.Version != V4Dot4 || p.Value(TagCICP) != *spec.CICP {
		t.Errorf("version %v, cicp %v", p.Header.Version, p.Value(TagCICP))
	}
}

func TestMatrixProfileRefuses(t *testing.T) {
	cases := map[string]func(*MatrixSpec){
		"Description":   func(s *MatrixSpec) { s.Description = "" },
		"Version":       func(s *MatrixSpec) { s.Version = 0x05000000 },
		"Z, D50":        func(s *MatrixSpec) { s.Colorants[2].Z += 0.26 }, // a white left at D65
		"NaN":           func(s *MatrixSpec) { s.Colorants[1].Y = math.NaN() },
		"0 samples":     func(s *MatrixSpec) { s.Curves[0] = nil },
		"1 samples":     func(s *MatrixSpec) { s.Curves[1] = []float64{1} },
		"5000 samples":  func(s *MatrixSpec) { s.Curves[2] = make([]float64, 5000) },
		"falls":         func(s *MatrixSpec) { s.Curves[2] = []float64{0, 0.5, 0.4, 1} },
		"sample 1":      func(s *MatrixSpec) { s.Curves[2] = []float64{0, math.NaN(), 1} },
		"1.5":           func(s *MatrixSpec) { s.Curves[2] = []float64{0, 1, 1.5} },
		"function 7":    func(s *MatrixSpec) { s.Parametric[1] = &ParametricCurve{Function: 7} },
		"range":         func(s *MatrixSpec) { s.Parametric[1] = &ParametricCurve{G: math.Inf(1)} },
		"Chad":          func(s *MatrixSpec) { s.Chad = colorimetry.Diagonal(1, 1, 0) },
		"LuminanceCdM2": func(s *MatrixSpec) { s.LuminanceCdM2 = -1 },
		"targ":          func(s *MatrixSpec) { s.Targ = []byte("grün") },
		"no name":       func(s *MatrixSpec) { s.Meta = map[string]string{"": "x"} },
		"CICP":          func(s *MatrixSpec) { s.Version, s.CICP = V2, &CICP{} },
	}
	for word, change := range cases {
		spec := testSpec(t, V4, false)
		change(&spec)
		if _, err := MatrixProfile(spec); err == nil || !strings.Contains(err.Error(), word) {
			t.Errorf("%q: error is %v", word, err)
		}
	}
}
