package transform_test

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"example.org/primaries/icc"
	"example.org/primaries/icc/transform"
)

// lcmsProgram compiles package icc's program for Little CMS once.
var lcmsProgram = sync.OnceValues(func() (string, error) {
	dir, err := os.MkdirTemp("", "littlecms")
	if err != nil {
		return "", err
	}
	bin := filepath.Join(dir, "eval")
	out, err := exec.Command("gcc", "-O1", "-o", bin, "../testdata/lcmseval.c", "-llcms2").CombinedOutput()
	if err != nil {
		err = fmt.Errorf("%w: %s", err, out)
	}
	return bin, err
})

// byLittleCMS sends colours through profiles in double precision and without
// optimisation; with one profile into L*a*b*.
func byLittleCMS(t *testing.T, intent icc.Intent, in [][]float64, profiles ...*icc.Profile) [][]float64 {
	t.Helper()
	if _, err := exec.LookPath("gcc"); err != nil {
		t.Skip("gcc is not installed")
	}
	if _, err := os.Stat("/usr/include/lcms2.h"); err != nil {
		t.Skip("Debian's package liblcms2-dev is not installed")
	}
	bin, err := lcmsProgram()
	if err != nil {
		t.Fatal(err)
	}
	args := []string{strconv.Itoa(int(intent)), "0"}
	dir := t.TempDir()
	for i, p := range profiles {
		b, err := p.Encode()
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(dir, fmt.Sprint(i, ".icc"))
		if err := os.WriteFile(file, b, 0o600); err != nil {
			t.Fatal(err)
		}
		args = append(args, file)
	}
	if len(profiles) == 1 && profiles[0].Header.Class != icc.ClassLink {
		args = append(args, "*lab")
	}
	var text bytes.Buffer
	for _, c := range in {
		for _, v := range c {
			fmt.Fprintf(&text, "%.17g ", v)
		}
		text.WriteByte('\n')
	}
	cmd := exec.Command(bin, args...)
	cmd.Stdin = &text
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var all [][]float64
	for line := range strings.Lines(string(out)) {
		var c []float64
		for _, f := range strings.Fields(line) {
			v, err := strconv.ParseFloat(f, 64)
			if err != nil {
				t.Fatal(err)
			}
			c = append(c, v)
		}
		all = append(all, c)
	}
	if len(all) != len(in) {
		t.Fatalf("%d colours became %d", len(in), len(all))
	}
	return all
}

// Kernels against Little CMS 2 on the same profiles, its floats rounded for 16 bits.
// Formulas and matrices it computes in float32, as kernels do: the figures are the
// engine's own, 5e-5 and 12 codes. Tables and curves of samples it reads with 16
// bits. Where a table's output is the signal, half a code of that is little beside
// 5e-4 and 100 codes. Where it is L*a*b*, half a code of b* is 1e-5 of f of CIELAB
// and 3e-5 of Z, half a code of a* 1.2e-5 of X; sRGB's matrix makes 6e-5 of light
// of that and its curve, 12.92 in the dark, 51 codes. (P3's power has no slope to
// end with, wherefore it is no target here.)
func TestLittleCMS(t *testing.T) {
	matrix, table := [2]float64{5e-5, 12.5}, [2]float64{5e-4, 100.5}
	for _, c := range []struct {
		name     string
		intent   icc.Intent
		profiles []*icc.Profile
		behind   float64    // codes that reading L*a*b* from a table costs
		far      [2]float64 // of float32 and of 16 bits otherwise
	}{
		{"matrix", icc.Relative, []*icc.Profile{srgb(), p3()}, 0, matrix},
		{"matrix back", icc.Relative, []*icc.Profile{p3(), srgb()}, 0, matrix},
		{"matrix, absolute", icc.Absolute, []*icc.Profile{srgb(), p3()}, 0, matrix},
		{"grey to display", icc.Relative, []*icc.Profile{grey(), srgb()}, 0, matrix},
		{"table", icc.Relative, []*icc.Profile{srgb(), clut33()}, 0, table},
		{"table back", icc.Relative, []*icc.Profile{clut33(), srgb()}, 0, table},
		{"lut16", icc.Relative, []*icc.Profile{srgb(), lut33()}, 0, table},
		{"display to inks", icc.Relative, []*icc.Profile{srgb(), inks()}, 0, table},
		{"inks to display", icc.Relative, []*icc.Profile{inks(), srgb()}, 51, table},
		{"inks to display, absolute", icc.Absolute, []*icc.Profile{inks(), srgb()}, 51, table},
		{"device link", icc.Relative, []*icc.Profile{link()}, 0, table},
		{"abstract between", icc.Relative, []*icc.Profile{p3(), abstract(), srgb()}, 51, table},
		{"L*a*b* by a matrix", icc.Relative, []*icc.Profile{p3()}, 0, [2]float64{0.005, 2.5}},
		{"L*a*b* by a table", icc.Relative, []*icc.Profile{clut33()}, 0, [2]float64{0.005, 2.5}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			tr, err := transform.New(transform.Options{Intent: c.intent}, c.profiles...)
			if err != nil {
				t.Fatal(err)
			}
			// Whole codes, so that both precisions begin from the same colours.
			in := colours(tr.From(), 3000, 12)
			for _, v := range in {
				for k := range v {
					v[k] = math.Round(v[k]*65535) / 65535
				}
			}
			want := byLittleCMS(t, c.intent, in, c.profiles...)
			besideLittleCMS[float32](t, tr, transform.Plain32F, in, want, c.far[0]+c.behind/65535)
			besideLittleCMS[uint16](t, tr, transform.Plain16, in, want, c.far[1]+c.behind)
		})
	}
}

func besideLittleCMS[S transform.Sample](t *testing.T, tr *transform.Transform, l transform.Layout, in, theirs [][]float64, far float64) {
	t.Helper()
	from, to := unitsOf(l.Depth, tr.From()), unitsOf(l.Depth, tr.To())
	n, m := tr.Channels()
	var src []S
	for _, c := range in {
		for i := range n {
			src = append(src, from[i].sample(c[i], S(0)).(S))
		}
	}
	dst := row[S](t, must(tr.Between(l, l)), m, src, len(in))
	worst, sum := 0.0, 0.0
	for p := range in {
		for c := range m {
			v := (theirs[p][c] - to[c].start) / to[c].span * to[c].top
			if l.Depth <= transform.Depth16 || tr.To() != icc.SpaceLab {
				v = min(max(v, 0), to[c].top) // Little CMS does not clip floats
			}
			d := math.Abs(float64(dst[p*m+c]) - v)
			if sum += d; !(d <= worst) {
				worst = d
				if !(d <= far) {
					t.Errorf("%v: %v becomes %v, by Little CMS %v", l.Depth, in[p], dst[p*m:(p+1)*m], theirs[p])
				}
			}
		}
	}
	t.Logf("%v: mean %.2g, at most %.3g", l.Depth, sum/float64(m*len(in)), worst)
}
