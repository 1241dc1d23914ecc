package main

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
	"example.org/primaries/icc"
)

// call runs the program with colours on standard input.
func call(in string, args ...string) (out, errs string, status int) {
	return clitest.Call(run, in, args...)
}

// display writes the profile of an invented display with the primaries and the
// white of ITU-R BT.709-6, whose blacks emit a share of its white.
func display(t *testing.T, name string, black float64) string {
	t.Helper()
	chad, err := colorimetry.Bradford(colorimetry.D65(), colorimetry.D50())
	if err != nil {
		t.Fatal(err)
	}
	power := &icc.ParametricCurve{Function: 2, G: 2.2, A: math.Pow(1-black, 1/2.2), C: black}
	p, err := icc.MatrixProfile(icc.MatrixSpec{
		Description: name,
		Colorants: [3]colorimetry.XYZ{
			chad.Apply(colorimetry.XYZ{X: 0.4124, Y: 0.2126, Z: 0.0193}),
			chad.Apply(colorimetry.XYZ{X: 0.3576, Y: 0.7152, Z: 0.1192}),
			chad.Apply(colorimetry.XYZ{X: 0.1805, Y: 0.0722, Z: 0.9505}),
		},
		Parametric: [3]*icc.ParametricCurve{power, power, power},
		Chad:       chad,
	})
	if err != nil {
		t.Fatal(err)
	}
	return save(t, name, p)
}

func save(t *testing.T, name string, p *icc.Profile) string {
	t.Helper()
	b, err := p.Encode()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), name+".icc")
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func rows(t *testing.T, out string) (head string, values [][]float64) {
	t.Helper()
	for i, line := range strings.Split(strings.TrimSpace(out), "\n") {
		if i == 0 {
			head = line
			continue
		}
		var v []float64
		for _, f := range strings.Split(line, ",") {
			var x float64
			if _, err := fmt.Sscan(f, &x); err != nil {
				t.Fatalf("%q: %v", line, err)
			}
			v = append(v, x)
		}
		values = append(values, v)
	}
	return head, values
}

// White is D50 in the connection space (ICC.1:2022, 7.2.16: 0.9642, 1, 0.8249),
// L* of half the signal follows from the power of 2.2 (CIE 15: 116·∛0.2176 − 16),
// and colours come back.
func TestThereAndBack(t *testing.T) {
	d := display(t, "a", 0)
	out, errs, status := call("red,green,blue\n1,1,1\n0.5,0.5,0.5\n0.2,0.4,0.9\n", "-profile", d, "-direction", "to-pcs")
	head, v := rows(t, out)
	if status != 0 || errs != "" || head != "X,Y,Z" || len(v) != 3 || math.Abs(v[0][0]-0.9642) > 2e-5 || math.Abs(v[0][2]-0.8249) > 2e-5 {
		t.Fatalf("status %d, %s\n%s", status, errs, out)
	}
	back, _, _ := call(out, "-profile", d, "-direction", "from-pcs")
	head, w := rows(t, back)
	for i, want := range []float64{0.2, 0.4, 0.9} {
		if head != "R,G,B" || math.Abs(w[2][i]-want) > 1e-12 {
			t.Errorf("%s came back as %v", head, w[2])
		}
	}
	out, _, _ = call("r,g,b\n0.5,0.5,0.5\n", "-profile", d, "-direction", "to-pcs", "-pcs", "lab")
	if head, v = rows(t, out); head != "L,a,b" || math.Abs(v[0][0]-(116*math.Cbrt(math.Pow(0.5, 2.2))-16)) > 0.01 {
		t.Errorf("%s", out)
	}
}

// Out-of-range device values are clamped and counted; those of the connection
// space are not.
func TestClamping(t *testing.T) {
	d := display(t, "a", 0)
	out, errs, status := call("r,g,b\n2,1,1\n1,1,1\n-1,0,0\n0,0,0\n", "-profile", d, "-direction", "to-pcs")
	_, v := rows(t, out)
	if status != 0 || !strings.Contains(errs, "2 of 4 colours had device values outside") || v[0][0] != v[1][0] || v[2][1] != v[3][1] {
		t.Errorf("status %d, %s\n%s", status, errs, out)
	}
	out, errs, _ = call("X,Y,Z\n2,2,2\n", "-profile", d, "-direction", "from-pcs")
	if errs != "" || !strings.HasPrefix(out, "R,G,B\n1,1,1") {
		t.Errorf("%s %s", errs, out)
	}
}

// Two profiles are joined; with -bpc black is black.
func TestJoined(t *testing.T) {
	from, to := display(t, "dark", 0), display(t, "grey", 0.02)
	out, _, status := call("r,g,b\n0,0,0\n1,1,1\n", "-profile", from, "-profile", to)
	if _, v := rows(t, out); status != 0 || v[0][0] != 0 {
		t.Errorf("status %d, %s", status, out)
	}
	out, _, _ = call("r,g,b\n0,0,0\n1,1,1\n", "-profile", to, "-profile", from)
	if _, v := rows(t, out); !(v[0][0] > 0.1) || math.Abs(v[1][0]-1) > 1e-6 {
		t.Errorf("without compensation: %s", out)
	}
	out, _, _ = call("r,g,b\n0,0,0\n1,1,1\n", "-profile", to, "-profile", from, "-bpc")
	// The parameters of curves are stored in steps of 1/65536: 1e-7 of light, which
	// is 1e-3 of a signal near black.
	if _, v := rows(t, out); !(v[0][0] < 2e-3) || math.Abs(v[1][0]-1) > 1e-6 {
		t.Errorf("with compensation: %s", out)
	}
	out, _, _ = call("r,g,b\n0,0,0\n", "-profile", to, "-direction", "to-pcs", "-bpc")
	if _, v := rows(t, out); !(math.Abs(v[0][1]) < 1e-12) {
		t.Errorf("compensated on its own: %s", out)
	}
}

func TestBadUse(t *testing.T) {
	d := display(t, "a", 0)
	broken := filepath.Join(t.TempDir(), "broken.icc")
	if err := os.WriteFile(broken, []byte("nothing"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ in, args, says string }{
		{"", "", "no profile is named"},
		{"", "-profile missing.icc -direction to-pcs", "missing.icc"},
		{"", "-profile " + broken + " -direction to-pcs", "broken.icc"},
		{"", "-profile " + d, "no direction is given"},
		{"", "-profile " + d + " -profile " + d + " -direction to-pcs", "leave them out"},
		{"", "-profile " + d + " -profile " + d + " -pcs lab", "leave them out"},
		{"", "-profile " + d + " -direction up", "to-pcs"},
		{"", "-profile " + d + " -direction to-pcs -intent absolute -bpc", "no meaning in the absolute intent"},
		{"", "-profile " + d + " -direction to-pcs", "begin with a header such as R,G,B"},
		{"0,0,0\n1,1,1\n", "-profile " + d + " -direction to-pcs", "begins with a colour and not with a header"},
		{"r;g;b\n", "-profile " + d + " -direction to-pcs", "separated by commas"},
		{"r,g\n", "-profile " + d + " -direction to-pcs", "2 columns and RGB takes 3"},
		{"r,g,b\n1,1,1\n1,1\n", "-profile " + d + " -direction to-pcs", "line 3: 2 columns"},
		{"r,g,b\n1,1,1\n\n1,x,1\n", "-profile " + d + " -direction to-pcs", `line 4: "x" is no finite number`},
		{"r,g,b\n1,NaN,1\n", "-profile " + d + " -direction to-pcs", "line 2"},
	} {
		_, errs, status := call(c.in, strings.Fields(c.args)...)
		if status != cli.BadInput || !strings.Contains(errs, c.says) || strings.Contains(errs, "\n") {
			t.Errorf("%q: status %d, %q", c.args, status, errs)
		}
	}
}

// A result that cannot be written is a failure.
func TestFaultFullDisk(t *testing.T) {
	err := run(context.Background(), []string{"-profile", display(t, "a", 0), "-direction", "to-pcs"},
		cli.IO{In: strings.NewReader("r,g,b\n1,1,1\n"), Out: full{}, Err: &bytes.Buffer{}})
	if cli.Status(err) != cli.RunFailure {
		t.Errorf("status %d, %v", cli.Status(err), err)
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, os.ErrClosed }
