package profile_test

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/fit/profile"
	"example.org/primaries/icc"
)

// truth is a display's truth as a model.
type truth struct {
	fit.Model
	show func(colorimetry.RGB) colorimetry.XYZ
}

func (t truth) Name() string                          { return "truth" }
func (t truth) XYZ(s colorimetry.RGB) colorimetry.XYZ { return t.show(s.Clamp()) }
func example(e simulate.Example) fit.Model {
	return truth{show: simulate.Invented(e, simulate.Options{}).Truth}
}
func tabled(version icc.Version) (o profile.Options) {
	o = options()
	o.Version, o.Kind = version, profile.KindTable
	return o
}
func lab(c colorimetry.XYZ) colorimetry.Lab { return c.Lab(colorimetry.D50()) }

var tableCases = []struct {
	name string
	m    fit.Model
}{
	{"additive", leaky},
	{"additive, coloured black", flare},
	{"coupled", example(simulate.CoupledLCD)},
	{"sagging", example(simulate.SaggingPanel)},
}

// signals are those that tables are judged on here: other ones than Build's own.
func signals(n int) []colorimetry.RGB {
	rng := rand.New(rand.NewPCG(9, 9))
	var out []colorimetry.RGB
	for i := range n {
		k := 1.0
		if i%4 == 0 {
			k = 0.15
		}
		s := colorimetry.RGB{R: k * rng.Float64(), G: k * rng.Float64(), B: k * rng.Float64()}
		switch i % 8 {
		case 1:
			s = colorimetry.Gray(s.R)
		case 3:
			s.R = math.Round(s.R)
		case 5:
			s.G, s.B = math.Round(s.G), math.Round(s.B)
		}
		out = append(out, s)
	}
	return out
}

func TestTablesGiveTheModelBack(t *testing.T) {
	for _, c := range tableCases {
		for _, version := range []icc.Version{profile.V4, profile.V2} {
			t.Run(fmt.Sprint(c.name, ", ", version), func(t *testing.T) {
				white := c.m.XYZ(colorimetry.Gray(1))
				begin := time.Now()
				r, predict := build(t, c.m, white, tone.Channels{}, tabled(version))
				took := time.Since(begin)
				e, err := icc.NewEvaluator(r.Profile, icc.Relative)
				if err != nil {
					t.Fatal(err)
				}
				var loss, round []float64
				for _, s := range signals(2000) {
					loss = append(loss, difference.CIEDE2000(c.m.XYZ(s).Lab(white), predict(s).Lab(white)))
					p := e.ToPCS(s)
					round = append(round, difference.CIEDE2000(lab(p), lab(e.ToPCS(e.FromPCS(p)))))
				}
				a, b := summary(loss), summary(round)
				t.Logf("%d and %d nodes, %d bytes, %v; loss %.4f, round trip %.4f", r.Diagnostics.NodesAToB, r.Diagnostics.NodesBToA, len(r.Bytes), took, a, b)
				t.Logf("%+v", r.Diagnostics)
				for _, f := range r.Profile.Check() {
					if f.Severity > icc.Remark {
						t.Error(f)
					} else {
						t.Log(f)
					}
				}
			})
		}
	}
}

var _ = bytes.Equal
var _ = os.WriteFile
var _ = exec.LookPath
var _ = filepath.Join
var _ = slices.Sort[[]int]
var _ = gamut.UV
var _ = rgb.SRGB
