package hardware

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
)

// Want says what the source signal is to mean. The zero value asks for the
// display's own primaries, white and luminance with a power curve of 2.2.
type Want struct {
	// Space is the encoding of the source signal: its primaries, its white and its
	// tone. The zero value is the display's own primaries.
	Space rgb.Space
	// Aim says what becomes of them on the display. Its white, where it has one,
	// takes the place of the encoding's, to which the primaries are adapted
	// (Bradford); else the white is the encoding's, or without one the display's
	// own. Its luminance is that of the white, 0 for the most that the display has
	// at that white. Its tone, where it has one, takes the place of the
	// encoding's. Its black and its black policy say what the tone does above the
	// display's black: BT.1886 is BlackLift. The tone of an encoding of hybrid
	// log-gamma is always lifted, as ITU-R BT.2100-2, table 5, has it; an aim
	// whose own tone is tone.HLG keeps to its policy, for what else is wanted.
	Aim aim.Aim
	// SurroundCdM2 is the luminance of what is around the display, 0 to 1000: the
	// system gamma of hybrid log-gamma follows it, where the aim's tone does not
	// state one. 0 means the standard's 5 cd/m².
	SurroundCdM2 float64
}

// target is a want on a display.
type target struct {
	tone         tone.Curve
	words        string  // that name the tone to people
	own          float64 // light of the tone at signal 0
	ootf         ootf
	black, white colorimetry.XYZ
	mix          colorimetry.Matrix // what each source channel adds to the black at full signal
	dark         colorimetry.XYZ    // from the display's black to one of the white's chromaticity
	limit        float64            // share of dark that the channels of a grey of light 1 have room for; 0 is none to speak of
	most         float64            // luminance that the display has at the white, cd/m²
	lowered      bool
}

// on returns the want on a display.
func (w Want) on(d *display) (*target, error) {
	t := &target{black: d.black}
	if err := w.setWhite(t, d); err != nil {
		return nil, err
	}
	if err := w.setTone(t); err != nil {
		return nil, err
	}
	columns, err := w.columns(t, d)
	if err != nil {
		return nil, err
	}
	inv, err := columns.Inverse()
	if err != nil {
		return nil, fmt.Errorf("hardware: the primaries of %s do not differ: %w", w.Space.Name, err)
	}
	share := inv.ToLinear(t.white.Sub(t.black))
	if !(share.Min() > 0) {
		return nil, fmt.Errorf("hardware: the white %v is no mixture of the source's primaries; give another white", t.white.Chromaticity())
	}
	t.mix = columns.Mul(colorimetry.Diagonal(share.R, share.G, share.B))
	t.ootf.setLuma(t.mix)
	if t.black == d.black {
		t.dark = t.white.Scale(t.black.Y / t.white.Y).Sub(t.black)
	}
	l, full := d.unmix.ToLinear(t.dark), d.light(t.white)
	var need float64
	for c, v := range [3]float64{l.R, l.G, l.B} {
		need = math.Max(need, -v/full[c])
	}
	if need > 0 {
		t.limit = 1 / need
	}
	return t, nil
}

// native reports whether the source has the display's own primaries.
func (w Want) native() bool { return w.Space.R == (colorimetry.Chromaticity{}) }

// setWhite chooses the white, its luminance included.
func (w Want) setWhite(t *target, d *display) error {
	at := w.Space.White
	switch {
	case !w.Aim.White.IsNative():
		at = w.Aim.White.At
	case w.native():
		at = d.white.Chromaticity()
	}
	if !(at.Y > 0) {
		return fmt.Errorf("hardware: the source's white %v is no colour", at)
	}
	most, ok := d.reach(at)
	if !ok {
		return fmt.Errorf("hardware: the white %.4f, %.4f lies outside the display's primaries, or is no brighter than its black; give another white", at.X, at.Y)
	}
	t.most = most
	y := w.Aim.Luminance
	if y == 0 || y > most {
		t.lowered = y > most*(1+1e-6)
		y = most
	}
	t.white = at.XYZ(y)
	return nil
}

// setTone chooses the tone, and the black that it ends in.
func (w Want) setTone(t *target) error {
	a := w.Aim
	if a.Tone == nil {
		a.Tone = w.Space.Curve // nil is the aim's own default
	}
	a.Luminance = t.white.Y
	hlg, scene, err := w.systemGamma(a, t.white.Y)
	if err != nil {
		return err
	}
	if scene {
		if w.Aim.Tone == nil {
			a.Black = aim.BlackLift
		}
		a.Tone = hlg
	}
	if t.tone, err = a.On(t.white.Y, t.black.Y); err != nil {
		return fmt.Errorf("hardware: %w", err)
	}
	t.own = t.tone.Light(0)
	if end := t.tone.Light(1); !(math.Abs(end-1) < 1e-6) || !(t.own >= 0 && t.own < 1) {
		return fmt.Errorf("hardware: the tone %v runs from %g to %g; it must end at 1", t.tone, t.own, end)
	}
	if scene {
		t.setOOTF(hlg, a)
	}
	t.words = w.words(a, t.own*t.white.Y)
	if y := t.own * t.white.Y; y > t.black.Y*(1+1e-9) {
		t.black = t.white.Scale(t.own)
	}
	return nil
}

// columns returns colours of the source's primaries, in any amount.
func (w Want) columns(t *target, d *display) (colorimetry.Matrix, error) {
	if w.native() {
		return d.mix, nil
	}
	m, err := w.Space.Matrix()
	if err != nil {
		return m, fmt.Errorf("hardware: the source %s: %w", w.Space.Name, err)
	}
	chad, err := colorimetry.Bradford(w.Space.White.XYZ(1), t.white.Scale(1/t.white.Y))
	if err != nil {
		return m, fmt.Errorf("hardware: the source's white cannot be adapted: %w", err)
	}
	return chad.Mul(m), nil
}

// reach returns the luminance in cd/m² that the display has at a chromaticity, by
// bisection: beside its own black, which is darker, and its own white.
func (d *display) reach(at colorimetry.Chromaticity) (cdM2 float64, ok bool) {
	s := search{display: d}
	has := func(y float64) bool {
		v, ok := s.find(d.levels(at.XYZ(y)))
		return ok && within(v, 1e-9)
	}
	// A channel's own black may be in the way of a dark grey, and the white be
	// much dimmer than the display's.
	lo := 0.0
	for _, f := range [4]float64{0.5, 0.25, 0.1, 0.03} {
		if y := d.black.Y + f*(d.white.Y-d.black.Y); has(y) {
			lo = y
			break
		}
	}
	if lo == 0 {
		return 0, false
	}
	hi := 4 * d.white.Y
	for range 50 {
		if mid := (lo + hi) / 2; has(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo, true
}

// light returns the light of a source channel's signal beyond the black, 0 to 1.
func (t *target) light(signal float64) float64 {
	return limit((t.tone.Light(limit(signal)) - t.own) / (1 - t.own))
}

// signal is the inverse of light.
func (t *target) signal(light float64) float64 {
	return limit(t.tone.Signal(t.own + (1-t.own)*light))
}

// colour returns the colour that is wanted for the light of the three source
// channels, in cd/m², told as that of greys of the same signals. Greys have the chromaticity of the white down to where one
// channel would have to be darker than its own black, and go over to the black
// without a bend; what a colour has of grey is treated as a grey.
func (t *target) colour(l [3]float64) colorimetry.XYZ {
	l = t.ootf.shown(l)
	c := t.black.Add(t.mix.FromLinear(colorimetry.RGB{R: l[0], G: l[1], B: l[2]}))
	grey := math.Min(l[0], math.Min(l[1], l[2]))
	if !(grey > 0) || t.limit == 0 {
		return c
	}
	// The smaller of what would make the grey the white's, and of what the channels
	// have room for.
	share := (1 - grey) / math.Hypot(1, (1-grey)/(grey*t.limit))
	return c.Add(t.dark.Scale(share))
}

// wanted returns the colour that is wanted for a source signal, in cd/m².
func (t *target) wanted(s colorimetry.RGB) colorimetry.XYZ {
	return t.colour([3]float64{t.light(s.R), t.light(s.G), t.light(s.B)})
}

// floor returns the signal below which greys cannot have the chromaticity of the
// white.
func (t *target) floor() float64 {
	if t.limit == 0 {
		return 0
	}
	return t.signal(1 / (1 + t.limit))
}
