package curves_test

import (
	"context"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/curves"
)

// Progress names each pass and counts its readings to the last, all of which the
// session has; and it changes nothing.
func TestProgress(t *testing.T) {
	t.Parallel()
	correct := func(progress func(measure.Progress)) (curves.Result, int) {
		d := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: 4})
		s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Colorimeter(), Clock: d.Clock()})
		if err != nil {
			t.Fatal(err)
		}
		white, err := aim.Illuminant("D65")
		if err != nil {
			t.Fatal(err)
		}
		r, err := curves.Correct(context.Background(), s, aim.Aim{White: white, Luminance: 100}, curves.Options{Passes: 2, NeutralLevels: 9, ChannelLevels: 5, GrayLevels: 6, Progress: progress})
		if err != nil {
			t.Fatal(err)
		}
		return r, len(s.Readings())
	}
	var parts []string
	var last measure.Progress
	told := 0
	r, count := correct(func(p measure.Progress) {
		if p.Stage != measure.StageCurves || p.Done > p.Total || p.Done != 1 && (p.Text != last.Text || p.Done != last.Done+1 || p.Total != last.Total) || p.Replayed {
			t.Errorf("%+v after %+v", p, last)
		}
		if p.Done == 1 {
			if last.Done != last.Total {
				t.Errorf("%q begins after %d of %d", p.Text, last.Done, last.Total)
			}
			parts = append(parts, p.Text)
		}
		last, told = p, told+1
	})
	if got := strings.Join(parts, "; "); !strings.HasPrefix(got, "as found; pass 1 of at most 2; pass 2 of at most 2; last look") {
		t.Errorf("the passes are %q", got)
	}
	if told != count || last.Done != last.Total {
		t.Errorf("%d readings were told of, %d were taken; the last is %+v", told, count, last)
	}
	if silent, _ := correct(nil); silent.Curves.Digest() != r.Curves.Digest() {
		t.Error("progress changed the curves")
	}
}
