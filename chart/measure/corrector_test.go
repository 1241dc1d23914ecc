package measure

import (
	"context"
	"encoding/json"
	"math"
	"reflect"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
)

// bent is a corrector that is no matrix.
type bent struct{}

func (bent) Correct(raw colorimetry.XYZ) Corrected {
	return Corrected{XYZ: raw.Scale(1 + raw.Y/1e4), Slope: colorimetry.Identity().Scale(1.5),
		Systematic: colorimetry.Diagonal(4, 9, 16)}
}

// A corrector's value, slope and error reach each reading of the instrument, and
// none of the reference; the error is kept apart from the noise, averages leave
// it as it is, and a replay gives the same.
func TestCorrector(t *testing.T) {
	ctx := context.Background()
	run := func(s *Session) (out []Reading) {
		s.SetCorrector(bent{})
		for _, req := range []ReadRequest{{Stage: StageCharts, Patch: white()}, {Stage: StageCharts, Patch: white(), Averages: 16}, {Stage: StagePairs, Patch: white(), Reference: true}} {
			r, err := s.Read(ctx, req)
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, r)
		}
		s.SetCorrector(nil)
		r, err := s.Read(ctx, grey(1))
		if err != nil {
			t.Fatal(err)
		}
		return append(out, r)
	}
	r := newRig()
	s := r.open(t)
	got := run(s)
	for i, g := range got[:2] {
		if g.XYZ != (bent{}).Correct(g.Raw).XYZ || g.Systematic != colorimetry.Diagonal(4, 9, 16) {
			t.Errorf("reading %d: %+v", i, g)
		}
		want := usualNoise.Covariance(g.Raw, len(g.Repeats)).Scale(1.5 * 1.5)
		if math.Abs(g.Covariance[1][1]/want[1][1]-1) > 1e-9 {
			t.Errorf("reading %d: noise %g, want %g", i, g.Covariance[1][1], want[1][1])
		}
		alone := Reading{XYZ: g.XYZ, Covariance: g.Systematic}
		if u := g.SystematicUV(); u != alone.SpreadUV() || !(u > 0) || g.SpreadUV() == u {
			t.Errorf("reading %d: %g in u'v'", i, u)
		}
	}
	for i, g := range got[2:] {
		b, err := json.Marshal(g)
		if err != nil || g.XYZ != g.Raw || g.Systematic != (colorimetry.Matrix{}) || strings.Contains(string(b), "systematic") {
			t.Errorf("uncorrected reading %d: %+v, %v", i, g, err)
		}
	}
	if s.Correction() != colorimetry.Identity() {
		t.Error("a matrix is in force")
	}
	again := newRig()
	setup := again.setup()
	setup.Replay = r.journal.Lines()
	replayed, err := Open(ctx, setup)
	if err != nil {
		t.Fatal(err)
	}
	if back := run(replayed); !reflect.DeepEqual(back, got) {
		t.Errorf("replayed: %+v, want %+v", back, got)
	}
}
