package fit

import (
	"fmt"
	"math"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// Stability says how far the primaries keep their colour from full signal down:
// the light that each adds to the black, as far as it is bright enough to tell.
//
// Source of the notion: Cheng, Wu and Badano, Proc. IS&T Color and Imaging Conf.
// 21 (2013) 143-147 (primary stability; the paper's abstract was read).
type Stability struct {
	// Shift is the largest distance from the colour at full signal, in u'v', of
	// the red, green and blue primary; Error its standard uncertainty by the
	// readings' covariances and Signal where it was read. The noise of readings
	// is in Shift, which is at least about twice Error where a primary keeps its
	// colour.
	Shift  [3]float64 `json:"shift"`
	Error  [3]float64 `json:"error"`
	Signal [3]float64 `json:"signal"`
	// Readings is how many of each primary below full signal were bright enough
	// to tell: Shift is the largest of so many.
	Readings [3]int `json:"readings"`
}

// MostShift is the distance in u'v' beyond which a primary does not keep its
// colour: about twice a visible difference. Own choice.
const MostShift = 0.004

// Moved reports whether primary c (red, green, blue) plainly changes its colour
// with the drive: by more than MostShift and than four standard uncertainties.
func (s *Stability) Moved(c int) bool {
	return s.Shift[c] > math.Max(MostShift, 4*s.Error[c])
}

// unsure is the standard uncertainty in u'v' beyond which a reading is too dark
// to tell a primary's colour: that of a visible difference.
const unsure = 0.002

// stability returns the figures, nil where black, a full primary or all below it
// were not read.
func stability(readings []measure.Reading, o Options) *Stability {
	black, ok := average(readings, colorimetry.RGB{}, o)
	if !ok {
		return nil
	}
	out := &Stability{}
	for c, name := range [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}} {
		full, ok := average(readings, name, o)
		if !ok {
			return nil
		}
		u, _ := tint(full.less(black))
		seen := false
		for _, r := range readings {
			s := r.Patch.Signal
			level := s.R + s.G + s.B
			if s.Max() != level || level == 0 || level == 1 || s != (colorimetry.RGB{R: name.R * level, G: name.G * level, B: name.B * level}) {
				continue
			}
			v, cov := tint(light{r.XYZ, statedBy(r, o)}.less(black))
			d := [2]float64{v.U - u.U, v.V - u.V}
			shift := math.Hypot(d[0], d[1])
			sure := math.Sqrt(cov[0] + cov[1])
			if !(sure <= unsure) || !(v.V > 0) {
				continue
			}
			seen = true
			out.Readings[c]++
			if shift > out.Shift[c] {
				out.Shift[c], out.Error[c], out.Signal[c] = shift, sure, level
			}
		}
		if !seen {
			return nil
		}
	}
	return out
}

// light is light with its covariance.
type light struct {
	xyz colorimetry.XYZ
	cov colorimetry.Matrix
}

func (l light) less(m light) light { return light{l.xyz.Sub(m.xyz), l.cov.Add(m.cov)} }

// average returns the mean of the readings of a signal.
func average(readings []measure.Reading, s colorimetry.RGB, o Options) (mean light, ok bool) {
	n := 0.0
	for _, r := range readings {
		if r.Patch.Signal == s {
			mean.xyz, mean.cov = mean.xyz.Add(r.XYZ), mean.cov.Add(statedBy(r, o))
			n++
		}
	}
	if n == 0 {
		return mean, false
	}
	return light{mean.xyz.Scale(1 / n), mean.cov.Scale(1 / (n * n))}, true
}

// tint returns u' and v' of a light and their variances.
func tint(l light) (colorimetry.UV, [2]float64) {
	at := l.xyz.UV()
	h := 1e-4 * (math.Abs(l.xyz.X) + math.Abs(l.xyz.Y) + math.Abs(l.xyz.Z))
	var by [2][3]float64
	for j, step := range [3]colorimetry.XYZ{{X: h}, {Y: h}, {Z: h}} {
		up, down := l.xyz.Add(step).UV(), l.xyz.Sub(step).UV()
		by[0][j], by[1][j] = (up.U-down.U)/(2*h), (up.V-down.V)/(2*h)
	}
	return at, [2]float64{dot(by[0], times(l.cov, by[0])), dot(by[1], times(l.cov, by[1]))}
}

// warning returns a sentence where a primary plainly changes its colour, about
// the one that does so most.
func (s *Stability) warning() string {
	most := -1
	for c := range 3 {
		if s.Moved(c) && (most < 0 || s.Shift[c] > s.Shift[most]) {
			most = c
		}
	}
	if most < 0 {
		return ""
	}
	name := [3]string{"red", "green", "blue"}[most]
	return fmt.Sprintf("The %s primary's colour has moved by %.4f in u'v' at %.0f %% signal, beyond what noise explains: it depends on the drive, and a matrix profile cannot hold that.", name, s.Shift[most], 100*s.Signal[most])
}
