package icc

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"example.org/primaries/colorimetry"
)

// lcmsBinary compiles testdata/lcmseval.c against Little CMS once.
var lcmsBinary = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "lcmseval")
	if err != nil {
		return "", err
	}
	bin := filepath.Join(dir, "lcmseval")
	out, err := exec.Command("gcc", "-O1", "-o", bin, "testdata/lcmseval.c", "-llcms2").CombinedOutput()
	if err != nil {
		err = fmt.Errorf("%w: %s", err, out)
	}
	return bin, err
})

// lcms sends colours through profiles, each a file, *lab or *xyz, by Little CMS
// in double precision. nil where it makes no transform of them.
func lcms(t testing.TB, intent Intent, bpc bool, in [][]float64, profiles ...string) [][]float64 {
	t.Helper()
	if _, err := exec.LookPath("gcc"); err != nil {
		t.Skip("gcc is not installed")
	}
	if _, err := os.Stat("/usr/include/lcms2.h"); err != nil {
		t.Skip("Debian's package liblcms2-dev is not installed")
	}
	bin, err := lcmsBinary()
	if err != nil {
		t.Fatal(err)
	}
	var text bytes.Buffer
	for _, c := range in {
		for _, v := range c {
			fmt.Fprintf(&text, "%.17g ", v)
		}
		text.WriteByte('\n')
	}
	flag := "0"
	if bpc {
		flag = "1"
	}
	cmd := exec.Command(bin, append([]string{strconv.Itoa(int(intent)), flag}, profiles...)...)
	cmd.Stdin = &text
	out, err := cmd.Output()
	if err != nil {
		if exit, ok := err.(*exec.ExitError); ok && exit.ExitCode() == 1 {
			return nil
		}
		t.Fatal(err)
	}
	var all [][]float64
	for line := range strings.Lines(string(out)) {
		var row []float64
		for _, f := range strings.Fields(line) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatal(err)
			}
			row = append(row, v)
		}
		all = append(all, row)
	}
	if len(all) != len(in) {
		t.Fatalf("%d colours became %d", len(in), len(all))
	}
	return all
}

// randomColours returns n colours of a space, in its own units.
func randomColours(space Signature, n int, seed uint64) [][]float64 {
	r := rand.New(rand.NewPCG(seed, 11))
	out := make([][]float64, n)
	for i := range out {
		c := make([]float64, Channels(space))
		for k := range c {
			c[k] = r.Float64()
		}
		switch space {
		case SpaceLab:
			c = []float64{100 * c[0], 160*c[1] - 80, 160*c[2] - 80}
			// Tables of XYZ hold nothing below 0 or above 2, where ICC.1 clips and
			// Little CMS goes on along parametric curves.
			if x := (colorimetry.Lab{L: c[0], A: c[1], B: c[2]}).XYZ(colorimetry.D50()); !(min(x.X, x.Y, x.Z) > 0.004 && max(x.X, x.Y, x.Z) < 1.8) {
				c[1], c[2] = 0, 0
			}
		case SpaceXYZ:
			c[0], c[2] = 0.9642*c[0], 0.8249*c[2]
		}
		out[i] = c
	}
	return out
}

func eval(c *Chain, in [][]float64) [][]float64 {
	out := make([][]float64, len(in))
	for i := range in {
		out[i] = make([]float64, c.Outputs())
		c.Eval(out[i], in[i])
	}
	return out
}

// worstLab returns the largest ΔE*ab between colours in L*a*b*.
func worstLab(a, b [][]float64) (worst float64, at int) {
	for i := range a {
		d := deltaE(colorimetry.Lab{L: a[i][0], A: a[i][1], B: a[i][2]}, colorimetry.Lab{L: b[i][0], A: b[i][1], B: b[i][2]})
		if d > worst || math.IsNaN(d) {
			worst, at = d, i
		}
	}
	return worst, at
}

// farthest returns the largest difference between numbers.
func farthest(a, b [][]float64) (worst float64) {
	for i := range a {
		for k := range a[i] {
			if d := math.Abs(a[i][k] - b[i][k]); d > worst || math.IsNaN(d) {
				worst = d
			}
		}
	}
	return worst
}

// xyzOf returns colours in L*a*b* as XYZ.
func xyzOf(lab [][]float64) [][]float64 {
	out := make([][]float64, len(lab))
	for i, c := range lab {
		x := colorimetry.Lab{L: c[0], A: c[1], B: c[2]}.XYZ(colorimetry.D50())
		out[i] = []float64{x.X, x.Y, x.Z}
	}
	return out
}

// lcmsColours is how many colours each comparison takes.
const lcmsColours = 1000

// rounding says what Little CMS's evaluation of sampled curves in 16 bits, even
// between floating-point formats, can come to.
type rounding struct {
	xyz    float64 // of XYZ; in the dark a step of 1/32768 is 0.05 of ΔE*ab and more
	device float64 // of a device value
}

// against holds p, which lies in a file, against Little CMS in both directions
// and in every intent, with and without black point compensation, and returns
// the largest ΔE*ab, of which colours within the rounding of r in XYZ or
// at the device are left out.
func against(t *testing.T, p *Profile, file string, r rounding) (worst float64) {
	t.Helper()
	for intent := range Absolute + 1 {
		for _, bpc := range []bool{false, true} {
			if intent == Absolute && (bpc || mediaWhiteTrap(p)) {
				continue
			}
			o := Options{Intent: intent, BlackPoint: bpc, PCS: SpaceLab}
			if black, err := BlackPoint(p, intent); err != nil || slight(black) {
				o.BlackPoint = false
			}
			what := fmt.Sprintf("%s, %v, black point %v", filepath.Base(file), intent, bpc)
			to, err := Join(o, p)
			if err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			in := randomColours(to.From(), lcmsColours, 1)
			if p.Header.Class == ClassLink {
				if d := farthest(eval(to, in), lcms(t, intent, bpc, in, file)); d > 2.0/65535 {
					t.Errorf("%s: %g apart", what, d)
				}
				continue
			}
			worst = max(worst, apartLab(t, what, eval(to, in), lcms(t, intent, bpc, in, file, "*lab"), r.xyz))
			if p.Header.Class == ClassAbstract {
				continue
			}
			// Little CMS insists on it for some.
			o.BlackPoint = bpc || p.Header.Version.Major() == 4 && intent != Absolute && intent != Relative
			if black, err := outputBlack(p, o); err != nil || slight(black) {
				o.BlackPoint = false
			}
			from, err := FromPCS(p, o)
			if err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			// Device values are compared by their colours: where a curve is flat
			// many of them make the same.
			in = randomColours(SpaceLab, lcmsColours, 1)
			theirs := lcms(t, intent, bpc, in, "*lab", file)
			if theirs == nil {
				t.Fatalf("%s: Little CMS finds no way to the device", what)
			}
			ours := eval(from, in)
			for i := range ours {
				if farthest(ours[i:i+1], theirs[i:i+1]) <= r.device {
					theirs[i] = ours[i]
				}
			}
			worst = max(worst, apartLab(t, what+", to the device", eval(to, ours), eval(to, theirs), r.xyz))
		}
	}
	return worst
}

// slight reports whether Little CMS leaves a compensation out for being too
// small: it does where all factors and offsets together come to less than
// 0.002.
func slight(black colorimetry.XYZ) bool {
	w := colorimetry.D50()
	sum := 0.0
	for _, v := range [3]float64{black.X / w.X, black.Y / w.Y, black.Z / w.Z} {
		sum += 2 * v / (1 - v)
	}
	return sum < 0.002
}

// apartLab returns the largest ΔE*ab of colours that are not within near in XYZ,
// and reports one above 0.05.
func apartLab(t *testing.T, what string, ours, theirs [][]float64, near float64) (worst float64) {
	t.Helper()
	if theirs == nil {
		t.Fatalf("%s: Little CMS makes no transform", what)
	}
	a, b := xyzOf(ours), xyzOf(theirs)
	for i := range ours {
		if farthest(a[i:i+1], b[i:i+1]) <= near {
			continue
		}
		d, _ := worstLab(ours[i:i+1], theirs[i:i+1])
		if worst = max(worst, d); !(d <= 0.05) {
			t.Errorf("%s: %v, by Little CMS %v", what, ours[i], theirs[i])
			return worst
		}
	}
	return worst
}

// mediaWhiteTrap reports whether Little CMS takes a media white as D50 that is
// not: that of display profiles of version 2.
func mediaWhiteTrap(p *Profile) bool {
	w, err := p.MediaWhite()
	return err == nil && p.Header.Class == ClassDisplay && p.Header.Version.Major() == 2 && distance(w, encodedD50()) > 1e-5
}

// Profiles of strangers, those of Debian's icc-profiles-free and, where they are
// there, those of its libgs-common: matrices, greys, tables of all kinds of
// version 2, inks, links, abstract profiles.
func TestLittleCMSOnStrangers(t *testing.T) {
	files, err := filepath.Glob("/usr/share/color/icc/*.[iI][cC]*")
	if err != nil {
		t.Fatal(err)
	}
	more, err := filepath.Glob("/usr/share/color/icc/ghostscript/*.icc")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) == 0 {
		t.Skip("Debian's package icc-profiles-free is not installed")
	}
	for _, f := range append(files, more...) {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		p, err := Decode(b)
		if err != nil {
			t.Fatal(err)
		}
		worst := against(t, p, f, rounding{xyz: 2.0 / 32768})
		t.Logf("%s, version %v, %v, %v to %v: worst ΔE*ab %.4f", filepath.Base(f), p.Header.Version, p.Header.Class, p.Header.Space, p.Header.PCS, worst)
	}
}
