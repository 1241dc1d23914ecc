package main

import (
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// What report.json carries at least: the names that programs rely on, as the
// project promises them. delta_uv is a distance in CIE 1976 u'v'.
func TestReportFields(t *testing.T) {
	t.Parallel()
	whole := filepath.Join(unbroken(t).dir, "o")
	dir := t.TempDir()
	must(t, dir, "-out", "o", "-readings", filepath.Join(whole, "readings.csv"))
	for _, c := range []struct {
		name, folder string
		adjusted     bool
	}{{"display", whole, true}, {"readings", filepath.Join(dir, "o"), false}} {
		t.Run(c.name, func(t *testing.T) {
			doc := read(t, c.folder)
			accuracies := []string{"profile_accuracy.relative", "profile_accuracy.absolute", "aim_accuracy.before"}
			numbers := []string{"white.x", "white.y", "white.delta_uv", "white.cct", "luminance_cd_m2", "black_cd_m2", "floor_signal"}
			if c.adjusted {
				accuracies = append(accuracies, "aim_accuracy.after", "profile_accuracy.true")
				numbers = append(numbers, "white.true_delta_uv")
			} else {
				for _, path := range []string{"aim_accuracy.after", "profile_accuracy.true", "white.true_delta_uv"} {
					if v := value(doc, path); v != nil {
						t.Errorf("%s is %v, where nobody can know it", path, v)
					}
				}
			}
			for _, path := range accuracies {
				for _, f := range []string{"mean", "p95", "max", "count"} {
					numbers = append(numbers, path+".delta_e_2000."+f)
				}
				if path != "profile_accuracy.true" {
					numbers = append(numbers, path+".averages", path+".noise_floor.mean")
				} else if _, ok := value(doc, path+".averages").(float64); !ok {
					t.Errorf("%s has no averages", path)
				}
			}
			for _, path := range numbers {
				v, ok := value(doc, path).(float64)
				if !ok || math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
					t.Errorf("%s is %v, want a number", path, value(doc, path))
				}
				if strings.HasSuffix(path, ".count") && v < 1 || strings.HasSuffix(path, ".averages") && v < 1 {
					t.Errorf("%s is %v", path, v)
				}
			}
			for _, path := range []string{"aim.name", "aim.tone", "model.name", "profile"} {
				if s, ok := value(doc, path).(string); !ok || s == "" {
					t.Errorf("%s is %v, want words", path, value(doc, path))
				}
			}
			if name := value(doc, "profile"); name != filepath.Base(profileName(t, c.folder)) {
				t.Errorf("the profile is said to be %v", name)
			}
			for _, list := range []string{"warnings", "files", "cautions"} {
				items, ok := doc[list].([]any)
				if !ok {
					t.Errorf("%s is %v, want a list", list, doc[list])
				}
				for _, item := range items {
					if s, ok := item.(string); !ok || s == "" {
						t.Errorf("%s holds %v, want words", list, item)
					}
				}
			}
			for _, f := range doc["files"].([]any) {
				get(t, filepath.Join(c.folder, f.(string)))
			}
			for path, want := range map[string]string{
				"profile_accuracy.relative.reference": "relative", "profile_accuracy.absolute.reference": "absolute",
				"aim_accuracy.before.reference": "absolute", "profile_accuracy.relative.basis": "as read",
			} {
				if got := value(doc, path); got != want {
					t.Errorf("%s is %v, want %s", path, got, want)
				}
			}
			names(t, "", doc)
		})
	}
	doc := read(t, whole)
	if n := value(doc, "profile_accuracy.relative.delta_e_2000.count").(float64); n < 100 {
		t.Errorf("%g patches prove the profile, want 100 at least", n)
	}
	if b, a := value(doc, "aim_accuracy.before.delta_e_2000.mean").(float64), value(doc, "aim_accuracy.after.delta_e_2000.mean").(float64); a > b/4 {
		t.Errorf("the aim was missed by %g before and by %g after", b, a)
	}
}

// names checks that every name is in snake_case.
func names(t *testing.T, path string, v any) {
	t.Helper()
	switch v := v.(type) {
	case map[string]any:
		for k, sub := range v {
			if strings.Trim(k, "abcdefghijklmnopqrstuvwxyz0123456789_") != "" {
				t.Errorf("%s.%s is not snake_case", path, k)
			}
			names(t, path+"."+k, sub)
		}
	case []any:
		for _, sub := range v {
			names(t, path+"[]", sub)
		}
	}
}
