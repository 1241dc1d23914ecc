package icc

import (
	"os"
	"path/filepath"
	"testing"

	"example.org/primaries/colorimetry"
)

// Device links, tables of many inks, greys and abstract profiles against Little
// CMS, which counts the values of more than four channels from 0 to 100.
func TestLittleCMSOnOtherClasses(t *testing.T) {
	const sixInks = Signature(0x36434c52) // 6CLR
	smooth := func(n int) func([]float64) []float64 {
		return func(p []float64) []float64 {
			out := make([]float64, n)
			for i := range out {
				out[i] = 0.1 + 0.8*p[i%len(p)]*(0.4+0.6*p[(i+1)%len(p)])
			}
			return out
		}
	}
	// Beyond four channels Little CMS goes on by tetrahedra and we do not, as
	// ICC.1 leaves open; where all is straight both are the same.
	straight := func(n int) func([]float64) []float64 {
		return func(p []float64) []float64 {
			out := make([]float64, n)
			for i := range out {
				out[i] = 0.1
				for k, v := range p {
					out[i] += 0.02 * float64(1+(i+k)%6) * v
				}
			}
			return out
		}
	}
	for _, c := range []struct {
		name       string
		class      Signature
		from, to   Signature
		grid       []int
		interior16 bool // of lut16 rather than lutAToB
	}{
		{"link from RGB to CMYK", ClassLink, SpaceRGB, SpaceCMYK, []int{7, 8, 9}, false},
		{"link from CMYK to RGB", ClassLink, SpaceCMYK, SpaceRGB, []int{5, 6, 7, 4}, false},
		{"old link from RGB to RGB", ClassLink, SpaceRGB, SpaceRGB, []int{9, 9, 9}, true},
		{"link from grey to RGB", ClassLink, SpaceGray, SpaceRGB, []int{17}, false},
		{"six inks", ClassOutput, sixInks, SpaceLab, []int{3, 3, 3, 3, 3, 3}, true},
		{"grey by a table", ClassDisplay, SpaceGray, SpaceLab, []int{17}, false},
		{"abstract", ClassAbstract, SpaceLab, SpaceLab, []int{9, 9, 9}, false},
		{"old abstract", ClassAbstract, SpaceLab, SpaceLab, []int{9, 9, 9}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := bare(V4, c.class, c.from, c.to)
			noise, nodes := someNoise, smooth(Channels(c.to))
			if len(c.grid) > 4 {
				noise, nodes = 0, straight(Channels(c.to))
			}
			table := nodesOf(c.grid, Channels(c.to), 2, 3, noise, nodes)
			var v Value = LutAToB{A: bent(len(c.grid), 64), Table: &table, B: bent(table.Outputs, 64)}
			if c.interior16 {
				in, _ := samplesOf(bent(len(c.grid), 256))
				out, _ := samplesOf(bent(table.Outputs, 256))
				v = Lut16{colorimetry.Identity(), in, table, out}
			}
			setAll(p, toTables, v)
			b, q := mustEncode(t, p)
			file := filepath.Join(t.TempDir(), "profile.icc")
			if err := os.WriteFile(file, b, 0o600); err != nil {
				t.Fatal(err)
			}
			chain, err := Join(Options{Intent: Relative}, q)
			if err != nil {
				t.Fatal(err)
			}
			in := randomColours(c.from, lcmsColours, 9)
			if c.class == ClassLink {
				// Half a step of 16 bits in each of two curves whose slopes are 3
				// at their feet, the table's being below 2.
				d := farthest(eval(chain, in), lcms(t, Relative, false, in, file))
				if t.Logf("worst difference %.2g", d); d > (0.5*3*2*3+0.5)/65535 {
					t.Errorf("device values are %g apart", d)
				}
				return
			}
			to := []string{file, "*lab"}
			if c.class == ClassAbstract {
				to = []string{"*lab", file, "*lab"}
			}
			theirs := lcms(t, Relative, false, in, to...)
			t.Logf("worst ΔE*ab %.4f", apartLab(t, c.name, eval(chain, in), theirs, 0))
		})
	}
}
