package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/examples/internal/cli"
)

// outcome is how a run ended.
type outcome struct {
	status      int
	out, report string
	err         error
}

// start runs the program on two tables, whose paths go behind the options.
func start(t *testing.T, first, second string, options ...string) outcome {
	t.Helper()
	dir := t.TempDir()
	args := append([]string{}, options...)
	for name, text := range map[string]string{"first.csv": first, "second.csv": second} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return startArgs(append(args, filepath.Join(dir, "first.csv"), filepath.Join(dir, "second.csv"))...)
}

func startArgs(args ...string) outcome {
	var out, report bytes.Buffer
	err := run(context.Background(), args, cli.IO{Out: &out, Err: &report})
	return outcome{cli.Status(err), out.String(), report.String(), err}
}

// numbers returns the column difference.
func (o outcome) numbers(t *testing.T) []float64 {
	t.Helper()
	if o.err != nil {
		t.Fatal(o.err)
	}
	lines := strings.Split(strings.TrimSuffix(o.out, "\n"), "\n")
	if head, _, _ := strings.Cut(lines[0], ","); head != "difference" {
		t.Fatalf("the header is %q", lines[0])
	}
	var v []float64
	for _, line := range lines[1:] {
		field, _, _ := strings.Cut(line, ",")
		x, err := strconv.ParseFloat(field, 64)
		if err != nil {
			t.Fatal(err)
		}
		v = append(v, x)
	}
	return v
}

// Sharma, Wu and Dalal (2005), table 1, pairs 1, 10, 17 and 25, four decimals.
func TestCIEDE2000(t *testing.T) {
	first := "# two blues, two greys and more\nL,a,b\n50,2.6772,-79.7751\n50,2.49,-0.001\n50,2.5,0\n60.2574,-34.0099,36.2677\n"
	second := "name, b, a ,L\nx,-82.7485,0,50\ny,0.001,-2.49,50\nz,-18,25,73\nw,39.4387,-34.1751,60.4626\n"
	o := start(t, first, second)
	for i, want := range []float64{2.0425, 7.1792, 27.1492, 1.2644} {
		if got := o.numbers(t)[i]; math.Abs(got-want) > 5e-5 {
			t.Errorf("pair %d: got %.6f, want %.4f", i+1, got, want)
		}
	}
	for _, say := range []string{"ciede2000: CIEDE2000 with kL 1, kC 1, kH 1", "count 4, mean 9.4088", "max 27.1492 (row 3)"} {
		if !strings.Contains(o.report, say) {
			t.Errorf("the report does not say %q:\n%s", say, o.report)
		}
	}
	if n := len(o.out); !strings.HasPrefix(o.out, "difference\n2.0424596801") || n < 60 {
		t.Errorf("not at full precision:\n%s", o.out)
	}
}

// Every metric gives what the library gives, from Lab and from XYZ alike.
func TestMetrics(t *testing.T) {
	white := colorimetry.XYZ{X: 95.047, Y: 100, Z: 108.883}
	a, b := colorimetry.XYZ{X: 20, Y: 21, Z: 23}, colorimetry.XYZ{X: 25, Y: 21, Z: 18}
	p, q := a.Lab(white), b.Lab(white)
	row := func(c colorimetry.XYZ) string { return fmt.Sprintf("X,Y,Z\n%.17g,%.17g,%.17g\n", c.X, c.Y, c.Z) }
	labRow := func(c colorimetry.Lab) string { return fmt.Sprintf("L,a,b\n%.17g,%.17g,%.17g\n", c.L, c.A, c.B) }
	cam := func(newModel func(appearance.Viewing) (*appearance.Model, error), u appearance.Uniform, v appearance.Viewing) float64 {
		v.White = white.Scale(0.01)
		m, err := newModel(v)
		if err != nil {
			t.Fatal(err)
		}
		return difference.CAMUCS(m, u, a.Scale(0.01), b.Scale(0.01))
	}
	jz := func(c colorimetry.XYZ) appearance.Jzazbz { j, _ := appearance.FromXYZJzazbz(c); return j }
	textile99 := difference.DIN99Weights{KE: 2, KCH: 0.5}
	w := []string{"-white", "95.047,100,108.883"}
	for _, k := range []struct {
		options string
		want    float64
		says    string
	}{
		{"ab", difference.AB(p, q), "white 95.047,100,108.883"},
		{"uv", difference.UV(a.Luv(white), b.Luv(white)), "ΔE*uv"},
		{"hyab", difference.HyAB(p, q), "HyAB"},
		{"cie94", difference.CIE94(p, q, difference.GraphicArts()), "the first table is the reference"},
		{"cie94 -textiles", difference.CIE94(p, q, difference.Textiles()), "weights for textiles"},
		{"cmc", difference.CMC(p, q, 2, 1), "CMC(2:1)"},
		{"cmc -l 1 -c 1.5", difference.CMC(p, q, 1, 1.5), "CMC(1:1.5)"},
		{"ciede2000 -kl 2 -kc 1.5 -kh 0.7", difference.CIEDE2000Weighted(p, q, difference.Weights{KL: 2, KC: 1.5, KH: 0.7}), "kL 2, kC 1.5, kH 0.7"},
		{"din99", difference.DIN99(p, q, difference.DIN99Weights{}), "DIN99"},
		{"din99 -textiles", difference.DIN99(p, q, textile99), "weights for textiles"},
		{"din99b", difference.DIN99b(p, q), "DIN99b"},
		{"din99c", difference.DIN99c(p, q, white), "DIN99c"},
		{"din99d", difference.DIN99d(p, q, white), "DIN99d"},
		{"din99o", difference.DIN99o(p, q, difference.DIN99Weights{}), "DIN99o"},
		{"cam16ucs", cam(appearance.NewCAM16, appearance.UCS(), appearance.Viewing{}), "adapting field 20 cd/m², background 20 %, surround average; white"},
		{"cam16lcd", cam(appearance.NewCAM16, appearance.LCD(), appearance.Viewing{}), "CAM16"},
		{"cam16scd", cam(appearance.NewCAM16, appearance.SCD(), appearance.Viewing{}), "CAM16"},
		{"cam02ucs", cam(appearance.NewCIECAM02, appearance.UCS(), appearance.Viewing{}), "CIECAM02"},
		{"cam02lcd", cam(appearance.NewCIECAM02, appearance.LCD(), appearance.Viewing{}), "CIECAM02"},
		{"cam02scd -adapting 60 -background 10 -surround dim -discounting",
			cam(appearance.NewCIECAM02, appearance.SCD(), appearance.Viewing{AdaptingCdM2: 60, Background: 0.1, Surround: appearance.Dim(), Discounting: true}), "illuminant discounted"},
		{"itp", difference.XYZITP(a, b), "absolute XYZ"},
		{"jz", difference.JZ(jz(a), jz(b)), "absolute XYZ"},
		{"ok", difference.OK(appearance.OklabFirst().Oklab(a), appearance.OklabFirst().Oklab(b)), "as first published"},
	} {
		args := append([]string{"-metric"}, strings.Fields(k.options)...)
		absolute := strings.HasPrefix(k.options, "itp") || k.options == "jz" || k.options == "ok"
		if !absolute {
			args = append(args, w...)
		}
		for _, tables := range [][2]string{{row(a), row(b)}, {labRow(p), row(b)}, {row(a), labRow(q)}, {labRow(p), labRow(q)}} {
			o := start(t, tables[0], tables[1], args...)
			if absolute && tables != [2]string{row(a), row(b)} {
				if o.status != cli.BadInput {
					t.Errorf("%s of Lab: status %d", k.options, o.status)
				}
				continue
			}
			if got := o.numbers(t)[0]; math.Abs(got-k.want) > 1e-11*k.want {
				t.Errorf("%s: got %.15g, want %.15g", k.options, got, k.want)
			}
			if !strings.Contains(o.report, k.says) {
				t.Errorf("%s: the report does not say %q:\n%s", k.options, k.says, o.report)
			}
		}
	}
	// No metric is left out above: there are as many as -metric takes.
	if n := len(metricNames()); n != 20 {
		t.Errorf("%d metrics", n)
	}
}

// CIE 15's D65 has 0.95047, 1, 1.08883 under the 2° observer.
func TestNamedWhite(t *testing.T) {
	first, second := "X,Y,Z\n20,21,23\n", "X,Y,Z\n25,21,18\n"
	named := start(t, first, second, "-white", "D65", "-white-y", "100").numbers(t)[0]
	given := start(t, first, second, "-white", "95.047,100,108.883").numbers(t)[0]
	if math.Abs(named-given) > 1e-3 {
		t.Errorf("named %g, given %g", named, given)
	}
}

func TestParts(t *testing.T) {
	o := start(t, "L,a,b\n50,3,4\n", "L,a,b\n52,6,8\n", "-metric", "ab", "-parts")
	if want := "difference,lightness,chroma,hue,sl,sc,sh,rt\n5.385164807134504,2,5,0,1,1,1,0\n"; o.out != want {
		t.Errorf("got\n%swant\n%s", o.out, want)
	}
}

// A colour without an appearance is NaN and does not enter the statistics.
func TestOutsideTheDomain(t *testing.T) {
	o := start(t, "X,Y,Z\n-1,0,2\n0.2,0.2,0.2\n", "X,Y,Z\n0.2,0.2,0.2\n0.2,0.2,0.2\n", "-metric", "cam16ucs", "-white", "D65")
	if v := o.numbers(t); !math.IsNaN(v[0]) || v[1] != 0 {
		t.Errorf("got %v", v)
	}
	for _, say := range []string{"1 of 2 pairs have none", "count 1, mean 0.0000", "(row 2)"} {
		if !strings.Contains(o.report, say) {
			t.Errorf("the report does not say %q:\n%s", say, o.report)
		}
	}
	o = start(t, "X,Y,Z\n-1,0,2\n", "X,Y,Z\n0.2,0.2,0.2\n", "-metric", "cam16ucs", "-white", "D65")
	if v := o.numbers(t); !math.IsNaN(v[0]) || strings.Contains(o.report, "count") {
		t.Errorf("got %v and\n%s", v, o.report)
	}
}

// Bad input and use: status 2, nothing on standard output, and one sentence
// that says where and what to do.
func TestBadUse(t *testing.T) {
	good, xyz := "L,a,b\n50,0,0\n", "X,Y,Z\n0.2,0.2,0.2\n"
	for _, k := range []struct{ name, first, second, options, says string }{
		{"unequal lengths", good, good + "51,0,0\n", "", "has 1 colours and"},
		{"XYZ without a white", xyz, xyz, "", "needs a white"},
		{"a mixture without a white", good, xyz, "-metric ab", "needs a white"},
		{"uv of Lab without a white", good, good, "-metric uv", "needs a white"},
		{"appearance without a white", xyz, xyz, "-metric cam16ucs", "needs a white"},
		{"din99d without a white", good, good, "-metric din99d", "needs a white"},
		{"itp of Lab", good, good, "-metric itp", "X,Y,Z in cd/m²"},
		{"itp with a white", xyz, xyz, "-metric itp -white D65", "-white is of no use to -metric itp"},
		{"an option of another metric", good, good, "-metric ab -kl 2", "-kl is of no use to -metric ab"},
		{"parts of a metric without", good, good, "-metric hyab -parts", "-parts is of no use"},
		{"an unknown metric", good, good, "-metric nonsense", "there are ab, cam02lcd"},
		{"an unknown white", xyz, xyz, "-white D66", "D66"},
		{"two numbers as a white", xyz, xyz, "-white 1,2", "is no white"},
		{"a black white", xyz, xyz, "-white 0,0,0", "is no white"},
		{"a NaN white", xyz, xyz, "-white 1,NaN,1", "is no white"},
		{"a white no light has", xyz, xyz, "-metric cam02ucs -white 3,1,0.1", "give the white of a real light"},
		{"another scale", "X,Y,Z\n19,20,21\n40,43,41\n0.1,0.1,0.1\n", "X,Y,Z\n19,20,21\n40,43,41\n0.1,0.1,0.1\n", "-white D65", "first.csv: most colours are more than 3 times as bright as the white, whose Y is 1"},
		{"a scale for numbers", xyz, xyz, "-white 0.95,1,1.09 -white-y 100", "-white-y is of no use to a white given as X,Y,Z"},
		{"Oklab of CIELAB", good, good, "-metric ok", "give both tables as X,Y,Z"},
		{"white-y alone", good, good, "-white-y 100", "give both"},
		{"no weight", good, good, "-kl 0", "0.01 to 100 are possible"},
		{"empty", "", good, "", "first.csv: the table is empty"},
		{"header only", good, "L,a,b\n", "", "second.csv: the table has a header and no colours"},
		{"no header", "50,0,0\n51,0,0\n", good, "", "neither L, a, b nor X, Y, Z"},
		{"both kinds", "L,a,b,X,Y,Z\n1,1,1,1,1,1\n", good, "", "has both"},
		{"a column twice", "L,a,b,L\n1,1,1,1\n", good, "", `names the column "L" twice`},
		{"a word", "L,a,b\n50,0,0\n50,zero,0\n", good, "", `line 3: "zero" is no finite number`},
		{"NaN", "L,a,b\n50,NaN,0\n", good, "", "line 2"},
		{"infinity", "L,a,b\n50,1e999,0\n", good, "", "line 2"},
		{"decimal commas", "L;a;b\n50,1;0;0\n", good, "", "neither"},
		{"a short row", "L,a,b\n50,1\n", good, "", "line 2: 2 columns where the header has 3"},
		{"a quotation mark", "L,a,b\n50,\"1,0\n", good, "", "line 2"},
		{"binary", "\x00\x01\xff\n", good, "", "not text"},
	} {
		t.Run(k.name, func(t *testing.T) {
			o := start(t, k.first, k.second, strings.Fields(k.options)...)
			if o.status != cli.BadInput || o.out != "" || !strings.Contains(fmt.Sprint(o.err), k.says) || strings.Contains(fmt.Sprint(o.err), "\n") {
				t.Errorf("status %d, error %v, output %q; want status 2 and %q", o.status, o.err, o.out, k.says)
			}
		})
	}
	for _, args := range [][]string{{}, {"only.csv"}, {"a.csv", "b.csv", "c.csv"}, {"a.csv", "-metric", "ab", "b.csv"}, {"missing.csv", "missing.csv"}, {"-nonsense", "a.csv", "b.csv"}} {
		if o := startArgs(args...); o.status != cli.BadInput || o.out != "" {
			t.Errorf("%q: status %d, %v", args, o.status, o.err)
		}
	}
}

func TestHelp(t *testing.T) {
	o := startArgs("-h")
	if o.status != cli.Done || o.out != "" {
		t.Errorf("status %d, output %q", o.status, o.out)
	}
	for _, say := range []string{"FIRST.csv SECOND.csv", "(default 20)", "(default average)", "-adapting cd/m²", "(default ciede2000)", "FL3.15"} {
		if !strings.Contains(o.report, say) {
			t.Errorf("help does not say %q:\n%s", say, o.report)
		}
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left") }

func TestOutputFails(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.csv")
	if err := os.WriteFile(path, []byte("L,a,b\n50,0,0\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	err := run(context.Background(), []string{path, path}, cli.IO{Out: full{}, Err: &bytes.Buffer{}})
	if cli.Status(err) != cli.RunFailure {
		t.Errorf("status %d, %v", cli.Status(err), err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	err = run(ctx, []string{path, path}, cli.IO{Out: &bytes.Buffer{}, Err: &bytes.Buffer{}})
	if cli.Status(err) != cli.Interrupted {
		t.Errorf("status %d, %v", cli.Status(err), err)
	}
}

// Whatever a table holds, reading ends with colours or with an error, and every
// colour is finite.
func FuzzTable(f *testing.F) {
	for _, s := range []string{"L,a,b\n50,0,0\n", "\ufeffX,Y,Z\r\n1,2,3\r\n", "# c\nname,Z,Y,X\n,1,1,1\n", "L,a,b\n1,2\n", "\"", "L,a,b\n1e400,0,0\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var x table
		err := x.read(bytes.NewReader(b))
		if err == nil && (len(x.colours) == 0 || x.kind != isLab && x.kind != isXYZ) {
			t.Fatalf("%q is a table of %d %q", b, len(x.colours), x.kind)
		}
		for _, c := range x.colours {
			if s := c[0] + c[1] + c[2]; math.IsNaN(c[0]) || math.IsInf(c[1], 0) || math.IsNaN(s) {
				t.Fatalf("%q holds %v", b, c)
			}
		}
	})
}

// Oklab against its author's table, three decimals: XYZ 0.950, 1.000, 1.089 is
// 1, 0, 0 and XYZ 1, 0, 0 is 0.450, 1.236, -0.019 (B. Ottosson, A perceptual
// color space for image processing, 2020). The white of a name may be that of the
// 10° observer, 0.9481, 1, 1.0730 for D65 (CIE 015:2018).
func TestOklabAndTenDegrees(t *testing.T) {
	o := start(t, "X,Y,Z\n0.950,1.000,1.089\n", "X,Y,Z\n1,0,0\n", "-metric", "ok")
	var got float64
	if _, err := fmt.Sscanf(o.out, "difference\n%g\n", &got); err != nil || math.Abs(got-math.Sqrt(0.55*0.55+1.236*1.236+0.019*0.019)) > 2e-3 {
		t.Errorf("%s (%v), %s", o.out, err, o.report)
	}
	o = start(t, "X,Y,Z\n0.9481,1,1.0730\n", "L,a,b\n100,0,0\n", "-metric", "ab", "-white", "D65", "-white-observer", "1964")
	if _, err := fmt.Sscanf(o.out, "difference\n%g\n", &got); err != nil || got > 0.02 {
		t.Errorf("%s (%v), %s", o.out, err, o.report)
	}
}
