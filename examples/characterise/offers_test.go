package main

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"example.org/primaries/chart/mismatch"
	"example.org/primaries/fit/hardware"
)

// sentence returns what a stage of the run in folder ended with.
func sentence(t *testing.T, folder, stage string) string {
	t.Helper()
	list, _ := value(read(t, folder), "stages").([]any)
	for _, s := range list {
		if m, _ := s.(map[string]any); m["name"] == stage {
			text, _ := m["sentence"].(string)
			return text
		}
	}
	t.Fatalf("report.json tells of no stage %q", stage)
	return ""
}

// What a run leaves serves the next one: its correction of the instrument takes
// no pairs, and with its readings the plan is soon through.
func TestEarlierRunServesTheNext(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	first, next := filepath.Join(dir, "first"), filepath.Join(dir, "next")
	said := must(t, dir, short("-out", "first", "-display", "coupled", "-patches", "100",
		"-table", "5", "-table-primaries", "srgb", "-profile", "table", "-mapping", "to-grey", "-knee", "0.7", "-system-calibration")...)
	for _, what := range []string{"\n  profile ΔE00 mean ", "load one, never both: table.clf in the display or box"} {
		if !strings.Contains(said.out, what) {
			t.Errorf("the last screen lacks %q:\n%s", what, said.out)
		}
	}
	listed, _ := value(read(t, first), "files").([]any)
	for _, name := range []string{"table.clf", "table.csv", "correction.json"} {
		if _, err := os.Stat(filepath.Join(first, name)); err != nil || !slices.Contains(listed, any(name)) {
			t.Errorf("%s: %v; the report lists %q", name, err, listed)
		}
	}
	clf, err := hardware.ReadCLF(strings.NewReader(get(t, filepath.Join(first, "table.clf"))))
	if err != nil {
		t.Fatal(err)
	}
	csv, err := hardware.ReadCSV(strings.NewReader(get(t, filepath.Join(first, "table.csv"))))
	if err != nil {
		t.Fatal(err)
	}
	if clf.Digest() != csv.Digest() || clf.Nodes() != 5 || !strings.Contains(clf.Source(), "sRGB") {
		t.Errorf("tables %s and %s of %d nodes for %q", clf.Digest(), csv.Digest(), clf.Nodes(), clf.Source())
	}
	if s := sentence(t, first, "table"); !strings.Contains(s, "By the model") || strings.Contains(s, "applied twice") {
		t.Errorf("the table is told of as %q", s)
	}
	if !warned(t, first, "load it without them") || !warned(t, first, "carries the curves twice") {
		t.Errorf("warnings %q", warnings(t, first))
	}
	p := profileIn(t, first)
	for _, name := range []string{"A2B0", "B2A1", "MHC2"} {
		if p.Value(tag(name)) == nil {
			t.Errorf("the profile has no tag %s", name)
		}
	}
	saved, err := mismatch.Read(strings.NewReader(get(t, filepath.Join(first, "correction.json"))))
	if err != nil || saved.Display != "Coupled LCD (invented)" {
		t.Errorf("the correction is for %q: %v", saved.Display, err)
	}

	must(t, dir, short("-out", "next", "-display", "coupled", "-seed", "4", "-chart", "planned", "-enough", "0.4", "-patches", "80",
		"-earlier", "first/readings.csv", "-earlier-curves", "first/curves.csv", "-correction-file", "first/correction.json")...)
	if s := sentence(t, next, "charts"); !strings.HasPrefix(s, "16 patches, chosen as readings came in") || !strings.Contains(s, "0.400 was the aim") {
		t.Errorf("the chart is told of as %q", s)
	}
	if s := sentence(t, next, "pairs"); !strings.Contains(s, "made on 25 November 2026 and saved") {
		t.Errorf("the correction is told of as %q", s)
	}
	if s := sentence(t, next, "model"); !strings.Contains(s, "readings of an earlier run") {
		t.Errorf("the model is told of as %q", s)
	}
	if _, err := os.Stat(filepath.Join(next, "correction.json")); err == nil {
		t.Error("a correction that was not measured was saved anew")
	}
}
