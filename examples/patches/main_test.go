package main

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
)

func call(in string, args ...string) (out, errs string, status int) {
	return clitest.Call(run, in, args...)
}

// parsed reads what was printed.
func parsed(t *testing.T, out string) chart.Table {
	t.Helper()
	table, err := chart.Read(strings.NewReader(out), "", chart.ReadOptions{PatchesOnly: true})
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return table
}

func save(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestMade(t *testing.T) {
	for _, c := range []struct {
		args  string
		count int
	}{
		{"-make default -size 100", 100},
		{"-make maximin -size 50 -bits 8", 50},
		{"-make farthest -size 60", 60},
		{"-make lattice -size 4", 64},
		{"-make neutral -size 11", 11},
		{"-make ramps -size 5", 17},
		{"-make secondaries -size 5", 13},
		{"-make sobol -size 64 -space cam16ucs", 64},
		{"-make halton -size 30 -bits 10 -narrow", 30},
		{"-make surface -size 50", 50},
		{"-make lattice -size 5 -thin 40", 40},
	} {
		for _, format := range []string{"csv", "cgats"} {
			out, errs, status := call("", append(strings.Fields(c.args), "-format", format, "-write-max", "255")...)
			table := parsed(t, out)
			if status != 0 || len(table.Rows) != c.count || !strings.Contains(errs, "patches") {
				t.Errorf("%s as %s: status %d, %d patches, %s", c.args, format, status, len(table.Rows), errs)
			}
			seen := map[string]bool{}
			for _, r := range table.Rows {
				if seen[r.ID] || r.Signal != r.Signal.Clamp() {
					t.Errorf("%s: %+v", c.args, r)
				}
				seen[r.ID] = true
			}
			if again, _, _ := call("", append(strings.Fields(c.args), "-format", format, "-write-max", "255")...); again != out {
				t.Errorf("%s: the same options give another set", c.args)
			}
		}
	}
}

// Sets are joined, equal signals and names once; a picture's two colours come
// with its name.
func TestJoined(t *testing.T) {
	m := image.NewNRGBA(image.Rect(0, 0, 32, 32))
	for i := range 32 * 32 {
		c := color.NRGBA{R: 200, G: 90, B: 60, A: 255}
		if i%4 == 0 {
			c = color.NRGBA{R: 20, G: 40, B: 220, A: 255}
		}
		m.SetNRGBA(i%32, i/32, c)
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		t.Fatal(err)
	}
	picture := save(t, "coat.png", b.String())
	list := save(t, "own.csv", "ID,R,G,B\npicture1,0.5,0.5,0.5\nn1,0,0,0\n")
	out, errs, status := call("", "-make", "neutral", "-size", "3", "-picked", "5", list, picture)
	table := parsed(t, out)
	if status != 0 || len(table.Rows) != 3+1+2 || len(table.Extra) != 1 {
		t.Fatalf("status %d, %s\n%s", status, errs, out)
	}
	named, ids := 0, map[string]bool{}
	for _, r := range table.Rows {
		if r.Extra[0] == picture {
			named++
		}
		ids[r.ID] = true
	}
	if named != 2 || len(ids) != 6 {
		t.Errorf("%d patches from the picture, %d names\n%s", named, len(ids), out)
	}
}

// A set for proof keeps away from the other; an order has repeats of white.
func TestApartAndOrder(t *testing.T) {
	first, _, _ := call("", "-make", "default", "-size", "60")
	proof, _, status := call("", "-apart", save(t, "set.csv", first), "-size", "24")
	if n := len(parsed(t, proof).Rows); status != 0 || n != 24 {
		t.Fatalf("status %d, %d patches", status, n)
	}
	nearest := math.Inf(1)
	for _, p := range parsed(t, proof).Rows {
		for _, q := range parsed(t, first).Rows {
			a, b := chart.Nominal(p.Signal), chart.Nominal(q.Signal)
			nearest = math.Min(nearest, math.Sqrt((a.L-b.L)*(a.L-b.L)+(a.A-b.A)*(a.A-b.A)+(a.B-b.B)*(a.B-b.B)))
		}
	}
	if !(nearest > 1) {
		t.Errorf("a patch for proof is %g away", nearest)
	}
	out, _, _ := call(first, "-order", "-anchors", "10", "-")
	whites := 0
	for _, r := range parsed(t, out).Rows {
		if r.Signal == colorimetry.Gray(1) {
			whites++
		}
	}
	if whites < 6 {
		t.Errorf("%d whites in 60 patches", whites)
	}
}

func TestBadUse(t *testing.T) {
	for args, says := range map[string]string{
		"":                                 "nothing is asked for",
		"missing.csv":                      "missing.csv",
		"-make lattice -size 41":           "give -size 2 to 40",
		"-make circle":                     "maximin",
		"-make neutral -apart x.csv":       "exclude each other",
		"-apart missing.csv":               "missing.csv",
		"-make neutral -bits 17":           "0 to 16",
		"-make neutral -narrow":            "-narrow goes with -bits",
		"-make neutral -bits 6 -narrow":    "begins at 8 bits",
		"-make maximin -minutes 5":         "goes with -make default",
		"-make default -minutes 5 -size 9": "exclude each other",
		"-make neutral " + save(t, "broken.png", "\x89PNG\r\n\x1a\nxx"): "broken.png",
		save(t, "no.csv", "a,b\n1,2\n"):                                 "no.csv",
	} {
		_, errs, status := call("", strings.Fields(args)...)
		if status != cli.BadInput || !strings.Contains(errs, says) || strings.Contains(errs, "\n") {
			t.Errorf("%q: status %d, %q", args, status, errs)
		}
	}
}

// What a table counts to is said with one option, what is written with another.
func TestScaleOfTables(t *testing.T) {
	codes := filepath.Join(t.TempDir(), "codes.csv")
	if err := os.WriteFile(codes, []byte("ID,R,G,B\na,0,0,0\nb,255,255,255\nc,51,102,204\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if _, errs, status := call("", codes); status != cli.BadInput || !strings.Contains(errs, "-signal-max 255)") {
		t.Errorf("status %d, %s", status, errs)
	}
	out, errs, status := call("", "-signal-max", "255", "-write-max", "100", codes)
	if status != cli.Done || !strings.Contains(out, "20,40,80") {
		t.Errorf("status %d, %s\n%s", status, errs, out)
	}
}
