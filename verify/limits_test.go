package verify_test

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"example.org/primaries/verify"
)

func TestEmbeddedLimits(t *testing.T) {
	for _, l := range []verify.Limits{verify.Default(), verify.Bench()} {
		var b bytes.Buffer
		if err := l.Write(&b); err != nil {
			t.Fatal(err)
		}
		back, err := verify.ReadLimits(&b)
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(l, back); d != "" || len(l.Limits) == 0 {
			t.Errorf("%s: %s", l.Name, d)
		}
	}
	// An average under 2 counts as good: common practice, no source.
	for _, m := range verify.Default().Limits {
		if strings.HasSuffix(m.Figure, "mean") && (m.Value != 2 || m.Source != "common practice, no source") {
			t.Errorf("%s: %g, %q", m.Name, m.Value, m.Source)
		}
	}
	if got := verify.Default().Under("profile_accuracy"); len(got.Limits) != 1 || got.Limits[0].Figure != "profile_accuracy.relative.delta_e_2000.mean" {
		t.Errorf("under profile_accuracy: %+v", got)
	}
	if got := verify.Default().Under("profile", "white"); len(got.Limits) != 1 || got.Limits[0].Figure != "white.delta_uv" {
		t.Errorf("a path ends at a dot: %+v", got)
	}
}

func TestReadLimitsStrictly(t *testing.T) {
	const limit = `{"name":"a","figure":"white.delta_uv","value":1,"source":"s","sure":"y"}`
	for _, c := range []struct{ name, in, says string }{
		{"unknown field", `{"version":1,"name":"x","limits":[{"nam":"a"}]}`, "nam"},
		{"version", `{"version":2,"name":"x","limits":[]}`, "version 2"},
		{"no name", `{"version":1,"limits":[` + limit + `]}`, "no name"},
		{"no source", `{"version":1,"name":"x","limits":[` + strings.Replace(limit, `"s"`, `" "`, 1) + `]}`, "no source"},
		{"empty", ``, "limits"},
		{"text for a number", `{"version":1,"name":"x","limits":[` + strings.Replace(limit, `:1,`, `:"1",`, 1) + `]}`, "value"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if l, err := verify.ReadLimits(strings.NewReader(c.in)); err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %+v, %v; want an error that says %q", l, err, c.says)
			}
		})
	}
}

func TestJudge(t *testing.T) {
	for _, c := range []struct {
		name    string
		limit   float64
		atLeast bool
		figure  verify.Figure
		want    verify.State
	}{
		{"clear pass", 2, false, verify.Figure{Value: 1.2, Floor: 0.5, Spread: 0.1, Known: true}, verify.Passed},
		{"near, and the spread reaches over", 2, false, verify.Figure{Value: 1.9, Floor: 0.5, Spread: 0.1, Known: true}, verify.Undecided},
		// By hand: 2.5 − 0.2 = 2.3, √(2.3² − 1.9²) = 1.296, below 2.
		{"noise alone explains the excess", 2, false, verify.Figure{Value: 2.5, Floor: 1.9, Spread: 0.1, Known: true}, verify.Undecided},
		// By hand: √(2.3² − 0.5²) = 2.245, above 2.
		{"beyond what noise explains", 2, false, verify.Figure{Value: 2.5, Floor: 0.5, Spread: 0.1, Known: true}, verify.Failed},
		{"no noise stated, below", 2, false, verify.Figure{Value: 2}, verify.Passed},
		{"no noise stated, above", 2, false, verify.Figure{Value: 2.01}, verify.Failed},
		{"at least, above", 80, true, verify.Figure{Value: 90, Spread: 1, Known: true}, verify.Passed},
		{"at least, near", 80, true, verify.Figure{Value: 81, Spread: 1, Known: true}, verify.Undecided},
		{"at least, below", 80, true, verify.Figure{Value: 70, Spread: 1, Known: true}, verify.Failed},
		{"not a number", 2, false, verify.Figure{Value: math.NaN()}, verify.Undecided},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.figure.Name = "f"
			l := verify.Limits{Limits: []verify.Limit{{Name: "n", Figure: "f", Value: c.limit, AtLeast: c.atLeast}}}
			v := verify.Judge(l, []verify.Figure{{Name: "other", Value: 99}, c.figure})
			if len(v) != 1 || v[0].State != c.want || v[0].Reason == "" {
				t.Errorf("got %+v, want %s", v, c.want)
			}
			if !c.figure.Known && c.figure.Value > 0 && !strings.Contains(v[0].Reason, "no noise") {
				t.Errorf("reason %q does not say that no noise is stated", v[0].Reason)
			}
		})
	}
	v := verify.Judge(verify.Limits{Limits: []verify.Limit{{Figure: "missing", Value: 1}}}, nil)
	if v[0].State != verify.Undecided || !strings.Contains(v[0].Reason, "not measured") {
		t.Errorf("missing figure: %+v", v)
	}
}

func TestOverall(t *testing.T) {
	p, f, u := verify.Verdict{State: verify.Passed}, verify.Verdict{State: verify.Failed}, verify.Verdict{State: verify.Undecided}
	for _, c := range []struct {
		in   []verify.Verdict
		want verify.State
	}{
		{nil, verify.Undecided}, {[]verify.Verdict{p, p}, verify.Passed}, {[]verify.Verdict{p, u, p}, verify.Undecided},
		{[]verify.Verdict{u, p}, verify.Undecided}, {[]verify.Verdict{p, u, f}, verify.Failed},
	} {
		if got := verify.Overall(c.in); got != c.want {
			t.Errorf("%v: got %s, want %s", c.in, got, c.want)
		}
	}
}

func TestFigurePaths(t *testing.T) {
	var a verify.Accuracy
	a.DeltaE2000 = verify.Statistics{Mean: 1, P95: 2, Max: 3}
	got := map[string]float64{}
	for _, f := range append((verify.ProfileAccuracy{Relative: a, Absolute: a, True: &a}).Figures("profile_accuracy"), (verify.AimAccuracy{After: &a}).Figures("aim_accuracy")...) {
		got[f.Name] = f.Value
	}
	want := map[string]float64{}
	for _, p := range []string{"profile_accuracy.relative", "profile_accuracy.absolute", "profile_accuracy.true", "aim_accuracy.after"} {
		want[p+".delta_e_2000.mean"], want[p+".delta_e_2000.p95"], want[p+".delta_e_2000.max"] = 1, 2, 3
	}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func FuzzReadLimits(f *testing.F) {
	var b bytes.Buffer
	if err := verify.Default().Write(&b); err != nil {
		f.Fatal(err)
	}
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		l, err := verify.ReadLimits(bytes.NewReader(b))
		if err != nil {
			return
		}
		for _, v := range verify.Judge(l, []verify.Figure{{Name: "white.delta_uv", Value: 1}}) {
			if v.Reason == "" {
				t.Errorf("no reason for %+v", v)
			}
		}
	})
}
