package simulate

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// Coupling says how the drives of neighbouring sub-pixels pull at each other
// before the tone: the drive of channel c becomes
//
//	u_c = v_c + Σ_k Coupling[c][k]·(v_k − v_c)
//
// with v the signals as they reach the panel: what a stray capacitance between
// two lines does to the voltages on them. Greys stay as they are, a primary
// alone loses light and drags a little of its neighbours along. Each figure is
// 0 or above and those of a row add up to 0.5 at most; the diagonal is 0.
type Coupling [3][3]float64

// drives returns the drives that the signals v lead to.
func (k *Coupling) drives(v [3]float64) [3]float64 {
	u := v
	for c := range u {
		for n := range v {
			u[c] += k[c][n] * (v[n] - v[c])
		}
	}
	return u
}

func (k *Coupling) check() error {
	for c, row := range k {
		sum := 0.0
		for n, share := range row {
			if !(share >= 0) || n == c && share != 0 {
				return fmt.Errorf("simulate: the coupling of %s to %s is %g; give 0 or above, and 0 to itself", channelNames[n], channelNames[c], share)
			}
			sum += share
		}
		if sum > 0.5 {
			return fmt.Errorf("simulate: the couplings to %s add up to %g; 0.5 is the most", channelNames[c], sum)
		}
	}
	return nil
}

// Supply is the supply line that the sub-pixels of a patch share. Its voltage
// sags with the current drawn, as behind a resistor: where the patch asks for
// the current D, from 0 to 1 with everything at full, the voltage is
//
//	V = 1 / (1 + Sag·D)
//
// of the unloaded one, and channel c gives V^Sensitivity_c of the light it was
// asked for. The zero value never sags.
type Supply struct {
	Sag float64 // 0 to 1
	// Currents are the shares of the full current that the channels draw at
	// full light, 0 or above, together at most 1; all 0 means a third each.
	Currents [3]float64
	// Sensitivity is the exponent by which each channel's light follows the
	// voltage, 0 to 4; all 0 means 1 each.
	Sensitivity [3]float64
}

func (s *Supply) complete() error {
	if s.Currents == ([3]float64{}) {
		s.Currents = [3]float64{1.0 / 3, 1.0 / 3, 1.0 / 3}
	}
	if s.Sensitivity == ([3]float64{}) {
		s.Sensitivity = [3]float64{1, 1, 1}
	}
	sum := 0.0
	for c, i := range s.Currents {
		sum += i
		if e := s.Sensitivity[c]; !(i >= 0) || !(e >= 0 && e <= 4) {
			return fmt.Errorf("simulate: %s draws the current %g and follows the voltage by the exponent %g; give 0 or above, and 0 to 4", channelNames[c], i, e)
		}
	}
	if !(sum <= 1+1e-9) || !(s.Sag >= 0 && s.Sag <= 1) {
		return fmt.Errorf("simulate: the currents add up to %g and the supply sags by %g; 1 is the most for both, 0 the least", sum, s.Sag)
	}
	return nil
}

// sagged returns the share of the asked-for light that each sub-pixel gives
// under a load.
func (s *Supply) sagged(load float64) (share [3]float64, white float64) {
	v := 1 / (1 + s.Sag*load)
	for c, e := range s.Sensitivity {
		share[c] = math.Pow(v, e)
	}
	return share, (share[0] + share[1] + share[2]) / 3
}

// WhiteSubpixel is a fourth sub-pixel that takes a part of the light that the
// three channels have in common. Where m is the smallest of the channels'
// amounts above their leak, it shines with Share·m of its full light and each
// channel's amount falls by Relief·Share·m. The zero value is none.
type WhiteSubpixel struct {
	Light  spectrum.Spectrum // spectral radiance at full drive, W/(sr m² nm)
	Share  float64           // of the common part, above 0 to 1
	Relief float64           // how far the channels give way, 0 to 1
	// Current is the share of the supply's full current at full light, 0 to 1;
	// beside Supply.Currents, so that full white can draw more than 1.
	Current float64
}

func (w *WhiteSubpixel) present() bool { return w.Light.Len() > 0 }

// relieve returns the amounts of the channels and of white that x becomes.
func (w *WhiteSubpixel) relieve(x, leak [3]float64) (channels [3]float64, white float64) {
	common := min(x[0]-leak[0], x[1]-leak[1], x[2]-leak[2])
	white = w.Share * max(common, 0)
	for c := range x {
		x[c] -= w.Relief * white
	}
	return x, white
}

func (w *WhiteSubpixel) check() error {
	if !w.present() {
		if w.Share != 0 || w.Relief != 0 || w.Current != 0 {
			return fmt.Errorf("simulate: the white sub-pixel has figures and no light; give its spectrum or leave it out")
		}
		return nil
	}
	if !(w.Share > 0 && w.Share <= 1) || !(w.Relief >= 0 && w.Relief <= 1) || !(w.Current >= 0 && w.Current <= 1) {
		return fmt.Errorf("simulate: the white sub-pixel has share %g, relief %g and current %g; they run from 0 to 1, the share from above 0", w.Share, w.Relief, w.Current)
	}
	if y := spectrum.CIE1931().Emission(w.Light); !y.Finite() || !(y.Y > 0) {
		return fmt.Errorf("simulate: the white sub-pixel gives %g cd/m²; its spectrum must give light", y.Y)
	}
	return nil
}

// NonAdditivity returns by how much the luminances of red, green and blue at
// full signal add up to more than white's, as a share of white's, the black's
// taken off each: 0 for a display whose channels do not interact. It is taken from
// [Display.Truth], with the controls and curves in force.
func (d *Display) NonAdditivity() float64 {
	black := d.Truth(colorimetry.RGB{}).Y
	sum := 0.0
	for _, s := range [3]colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}} {
		sum += d.Truth(s).Y - black
	}
	return sum/(d.Truth(colorimetry.Gray(1)).Y-black) - 1
}
