package hardware

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
)

// ootf is the system gamma of hybrid log-gamma on colours: it makes of the light
// that a scene has in the three channels what a display shows, by a power of the
// scene's luminance and not of each channel's light. Greys stay what their curve
// says. The zero value is none.
//
// Source: ITU-R BT.2100-2, table 5, the reference OOTF.
type ootf struct {
	gamma float64
	own   float64 // share of the white that the curve of greys shows at signal 0, the room's light with it
	// luma are the channels' shares in luminance: for the primaries of BT.2100 the
	// 0.2627, 0.6780 and 0.0593 that it prints.
	luma [3]float64
}

// shown returns the light of a colour's channels beyond the black, where that of
// greys of the same signals is l.
func (o ootf) shown(l [3]float64) [3]float64 {
	if o.gamma == 0 || l[0] == l[1] && l[1] == l[2] {
		return l
	}
	var scene [3]float64
	luminance := 0.0
	for c := range l {
		scene[c] = math.Pow(o.own+(1-o.own)*l[c], 1/o.gamma)
		luminance += o.luma[c] * scene[c]
	}
	if !(luminance > 0) {
		return [3]float64{}
	}
	k := math.Pow(luminance, o.gamma-1)
	for c := range scene {
		l[c] = (k*scene[c] - o.own) / (1 - o.own)
	}
	return l
}

// systemGamma returns the hybrid log-gamma that an aim has on a white, ok false
// where its tone is another: the one of the aim, or where it states no figures
// that of the white and the surround.
func (w Want) systemGamma(a aim.Aim, whiteCdM2 float64) (f tone.HLG, ok bool, err error) {
	if w.SurroundCdM2 != 0 && !(w.SurroundCdM2 > 0 && w.SurroundCdM2 <= maxSurround) {
		return f, false, fmt.Errorf("hardware: a surround of %g cd/m²; give up to %g, or 0 for that of the standard", w.SurroundCdM2, maxSurround)
	}
	switch t := a.Tone.(type) {
	case tone.HLGCamera:
	case tone.HLG:
		if f = t; f != (tone.HLG{}) {
			break
		}
	default:
		return f, false, nil
	}
	if f == (tone.HLG{}) {
		f = tone.HLG{WhiteCdM2: whiteCdM2, SystemGamma: tone.HLGGamma(whiteCdM2, w.SurroundCdM2)}
	}
	if g := f.Gamma(); g != g {
		return f, false, fmt.Errorf("hardware: the tone %v has no system gamma; give a white above 0 and a black well below it, or none", f)
	}
	return f, true, nil
}

// maxSurround is more than the walls of a lit room send back, in cd/m²: brighter
// is a slip of the pen.
const maxSurround = 1000.0

// setOOTF puts the system gamma of f in force, whose curve of greys a has between
// the black and the white of t.
func (t *target) setOOTF(f tone.HLG, a aim.Aim) {
	t.ootf = ootf{gamma: f.Gamma(), own: f.Light(0)}
	if a.Black == aim.BlackLift {
		room := a.Ambient.CdM2
		t.ootf.own = math.Max(t.ootf.own, (t.own*t.white.Y+room)/(t.white.Y+room))
	}
}

// setLuma takes the channels' shares in luminance from what they add at full
// signal.
func (o *ootf) setLuma(mix colorimetry.Matrix) {
	for c := range o.luma {
		o.luma[c] = mix[1][c] / (mix[1][0] + mix[1][1] + mix[1][2])
	}
}
