package main

import (
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/examples/internal/clitest"
	"example.org/primaries/fit"
)

func call(args ...string) (out, errs string, status int) {
	return clitest.Call(run, "", args...)
}

// What a plain matrix does on each display, free of noise: the figures in the
// comments of package simulate. Real self-luminous panels with crosstalk are
// missed by 3 ΔE00 and more: 3.61, Wu et al. 2023, doi:10.1002/col.22875.
func TestPlainMatrix(t *testing.T) {
	for key, want := range map[string]float64{
		"smooth": 0, "crossing": 2.9, "drifting": 1.1, "crosstalk": 3.6, "old-crt": 0, "office": 0,
		"measured-oled": 0, "measured-lcd": 0, "measured-crt": 0,
	} {
		if testing.Short() && want == 0 {
			continue
		}
		kinds, err := pickDisplays(key)
		if err != nil {
			t.Fatal(err)
		}
		g, err := survey(kinds[0])
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%s: a plain matrix misses it by %.3f ΔE00, %.3f at most", key, g.matrix.Mean, g.matrix.Max)
		if math.Abs(g.matrix.Mean-want) > 0.05 {
			t.Errorf("%s: mean %.3f, the comment says %.1f", key, g.matrix.Mean, want)
		}
		if key == "crosstalk" && g.matrix.Mean < 3 {
			t.Errorf("%s: mean %.3f, real ones have 3 and more", key, g.matrix.Mean)
		}
	}
}

// The files hold a line or an entry for all that was asked, and nothing depends
// on the number of workers.
func TestFiles(t *testing.T) {
	dir := t.TempDir()
	files := [2]string{filepath.Join(dir, "a"), filepath.Join(dir, "b")}
	args := []string{"-displays", "crosstalk, smooth", "-n", "24", "-seeds", "2", "-csv"}
	shown := 2
	if testing.Short() {
		args[1], args[3], shown = "smooth", "12", 1
	}
	out, errs, status := call(append(args, files[0]+".csv", "-json", files[0]+".json", "-workers", "1")...)
	again, _, _ := call(append(args, files[1]+".csv", "-json", files[1]+".json", "-workers", "3")...)
	if status != cli.Done {
		t.Fatalf("status %d, %s", status, errs)
	}
	if out != again {
		t.Errorf("the number of workers changes the tables:\n%s\n%s", out, again)
	}
	for _, kind := range []string{".csv", ".json"} {
		if a, b := contents(t, files[0]+kind), contents(t, files[1]+kind); a != b {
			t.Errorf("the number of workers changes the %s file", kind)
		}
	}
	rows, err := csv.NewReader(strings.NewReader(contents(t, files[0]+".csv"))).ReadAll()
	if want := 1 + shown*(len(fit.Kinds())+1)*regions; err != nil || len(rows) != want {
		t.Fatalf("%v, %d rows, want %d", err, len(rows), want)
	}
	for _, r := range rows[1:] {
		var v []float64
		for _, text := range r[11:] {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatalf("%q: %v", r, err)
			}
			v = append(v, x)
		}
		if !(v[0] > 0 && v[0] <= v[1] && v[1] <= v[2] && v[3] <= v[4] && v[4] <= v[5]) {
			t.Errorf("%q: errors are not in order", r)
		}
		for _, share := range v[6:] {
			if !(share >= 0 && share <= 1) {
				t.Errorf("%q: shares are not from 0 to 1", r)
			}
		}
	}
	var read struct {
		Displays []struct{ Display string }
		Cells    []result
	}
	if err := json.Unmarshal([]byte(contents(t, files[0]+".json")), &read); err != nil {
		t.Fatal(err)
	}
	if len(read.Displays) != shown || len(read.Cells) != shown || len(read.Cells[0].Chosen) != 2 || len(read.Cells[0].Models[0].SeedMeans) != 2 {
		t.Errorf("%+v", read)
	}
}

func contents(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

func TestBadUse(t *testing.T) {
	for args, says := range map[string]string{
		"-n 60,x":               `"x" is no number`,
		"-n 7":                  "8 to 3000",
		"-n 3001":               "8 to 3000",
		"-averages 50 -n 60":    "leaves 1 patch;",
		"-averages 50 -targets": "fewer than 8",
		"-displays plasma":      "there is no display",
		"-kinds magic":          `"magic" in its name`,
		"-set random":           "default, farthest",
		"-targets -n 60":        "exclude each other",
		"-seeds 0":              "1 to 1000",
		"extra":                 "no option",
		"-csv /none/x -n 12":    "-csv",
	} {
		if says == "-csv" {
			args += " -displays smooth -seeds 1 -kinds gain"
		}
		_, errs, status := call(strings.Fields(args)...)
		if status != cli.BadInput || !strings.Contains(errs, says) {
			t.Errorf("%q: status %d, %q", args, status, errs)
		}
	}
}

// A run that fitted nothing says so and fails; its tables say why, and count one
// of a thing as one.
func TestNothingFitted(t *testing.T) {
	out, errs, status := call("-displays", "smooth", "-seeds", "1", "-n", "8")
	if status != cli.RunFailure || !strings.Contains(errs, "no model could be fitted") {
		t.Errorf("status %d, %s", status, errs)
	}
	for _, says := range []string{"Medians over 1 seed;", "1 reading of a patch.", "not fitted: fit: ", "in 0 of 1 seed\n", "\n1 cell: ", "in 0 of 1 cell and seed."} {
		if !strings.Contains(out, says) {
			t.Errorf("the tables do not say %q:\n%s", says, out)
		}
	}
	for _, name := range fit.Kinds() {
		if n := strings.Count(out, " "+name+" "); n < 3 {
			t.Errorf("%q stands %d times in\n%s", name, n, out)
		}
	}
}

func TestHelpNamesKinds(t *testing.T) {
	_, errs, status := call("-h")
	help := strings.Join(strings.Fields(errs), " ")
	for _, name := range append(fit.Kinds(), choice, "8 to 3000") {
		if status != cli.Done || !strings.Contains(help, name) {
			t.Errorf("status %d, the help does not name %q:\n%s", status, name, errs)
		}
	}
}
