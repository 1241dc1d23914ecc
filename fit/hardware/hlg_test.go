package hardware_test

import (
	"math"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/hardware"
)

// bright is a display of BT.2020's primaries, so that it has all that BT.2100
// means.
func bright(t testing.TB, white, black float64) additive {
	return additive{
		black: colorimetry.D65().Scale(black), mix: matrix(t, rgb.BT2020(), white-black), gamma: [3]float64{2.2, 2.25, 2.1},
	}
}

// byBT2100 returns the light of the three primaries, the white's 1, that a display
// shows for an HLG signal, as ITU-R BT.2100-2, table 5, writes it: the inverse
// OETF with a = 0.17883277, b = 1 − 4a, c = 0.5 − a·ln(4a); β = √(3·(LB/LW)^(1/γ));
// and the OOTF, F = α·Ys^(γ−1)·E with Ys = 0.2627 R + 0.6780 G + 0.0593 B.
func byBT2100(s colorimetry.RGB, white, black, gamma float64) colorimetry.RGB {
	const a = 0.17883277
	b, c := 1-4*a, 0.5-a*math.Log(4*a)
	beta := math.Sqrt(3 * math.Pow(black/white, 1/gamma))
	e := [3]float64{s.R, s.G, s.B}
	for k, v := range e {
		if v = math.Max(0, (1-beta)*v+beta); v <= 0.5 {
			e[k] = v * v / 3
		} else {
			e[k] = (math.Exp((v-c)/a) + b) / 12
		}
	}
	k := math.Pow(0.2627*e[0]+0.6780*e[1]+0.0593*e[2], gamma-1)
	return colorimetry.RGB{R: k * e[0], G: k * e[1], B: k * e[2]}
}

// Colours of an HLG table are those that the standard's own formulas give: on
// displays of its reference peak, dimmer and brighter ones, with and without a
// black, which BT.2100 lifts, in another surround, and in a room whose light the
// screen reflects, which white and black then contain. The gamma from 600 cd/m² on
// is the standard's note 5f, 1.2 + 0.42·log10(LW/1000); that of 100 cd/m² Report
// BT.2390's 1.2·1.111^log2(LW/1000), and its 0.98 for each doubling of the
// surround's 5 cd/m² from memory.
func TestHLG(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		white, black, surround, room, gamma float64
	}{
		{1000, 0, 0, 0, 1.2},
		{1000, 0.05, 0, 0, 1.2},
		{600, 0, 0, 0, 1.2 + 0.42*math.Log10(0.6)},
		{1500, 0.005, 5, 0, 1.2 + 0.42*math.Log10(1.5)},
		{100, 0.1, 0, 0, 1.2 * math.Pow(1.111, math.Log2(0.1))},
		{1000, 0, 20, 0, 1.2 * 0.98 * 0.98},
		{1000, 0.05, 0, 2, 1.2},
	} {
		d := bright(t, c.white, c.black)
		want := hardware.Want{Space: rgb.BT2100HLG(), Aim: aim.Aim{Black: aim.BlackLift, Ambient: aim.MeasuredAmbient(c.room)}, SurroundCdM2: c.surround}
		table, told := build(t, d, want, hardware.Options{Bits: 16, Nodes: 33})
		seen, room := matrix(t, rgb.BT2020(), c.white+c.room), colorimetry.D65().Scale(c.room)
		var n, mean, worst, grey float64
		for i, s := range append(randomSignals(1500, 9), colorimetry.RGB{R: 1}, colorimetry.RGB{G: 1}, colorimetry.RGB{B: 1}, colorimetry.RGB{R: 1, G: 1}, colorimetry.RGB{G: 0.75, B: 0.75}) {
			neutral := i%4 == 0 && i < 1500
			if neutral {
				s = colorimetry.Gray(s.R)
			}
			light := byBT2100(s, c.white+c.room, c.black+c.room, c.gamma)
			// Below 1 the gamma raises what pure primaries show beyond full light, and
			// takes the other channels below the black.
			if light.Max() > 1 || light.Min() < (c.black+c.room)/(c.white+c.room) {
				continue
			}
			e := difference2000(d.XYZ(table.Apply(s)), seen.FromLinear(light).Sub(room), told.White)
			if neutral {
				grey = math.Max(grey, e)
			}
			n, mean, worst = n+1, mean+e, math.Max(worst, e)
		}
		t.Logf("%g cd/m², black %g, surround %g, room %g: mean %.4f, largest %.3f, of greys %.3f of %.0f", c.white, c.black, c.surround, c.room, mean/n, worst, grey, n)
		if mean/n > 0.05 || worst > 0.5 || grey > 0.05 || n < 1000 {
			t.Errorf("%g cd/m², black %g, surround %g, room %g: mean %.4f, largest %.3f, of greys %.3f of %.0f", c.white, c.black, c.surround, c.room, mean/n, worst, grey, n)
		}
		if math.Abs(told.White.Y/c.white-1) > 1e-3 {
			t.Errorf("the white has %.2f cd/m², not %g", told.White.Y, c.white)
		}
	}
}

// Levels of Report ITU-R BT.2408, table 1, on a display of 1,000 cd/m²: a signal
// of 75 % is the reference white of 203 cd/m², 38 % a grey card of 26
// (the latter from memory).
func TestHLGLevels(t *testing.T) {
	t.Parallel()
	d := bright(t, 1000, 0)
	table, _ := build(t, d, hardware.Want{Space: rgb.BT2100HLG()}, hardware.Options{Bits: 16, Nodes: 17})
	for signal, want := range map[float64]float64{0.75: 203, 0.38: 26} {
		if got := d.XYZ(table.Apply(colorimetry.Gray(signal))).Y; math.Abs(got-want) > 0.5 {
			t.Errorf("%g: %.2f cd/m², want %g", signal, got, want)
		}
	}
}

// The encoding alone lifts the signal above the display's black, as BT.2100 has it
// and without being told to: a grey of half signal on the measured LCD's white and
// black is far brighter than if the range were stretched, which an aim with a tone
// of its own may still ask for.
func TestHLGIsLifted(t *testing.T) {
	t.Parallel()
	const white, black = 100, 0.694
	d := bright(t, white, black)
	gamma := 1.2 * math.Pow(1.111, math.Log2(0.1)) // Report BT.2390
	lifted, told := build(t, d, hardware.Want{Space: rgb.BT2100HLG()}, hardware.Options{Bits: 16, Nodes: 17})
	stretched, _ := build(t, d, hardware.Want{Space: rgb.BT2100HLG(), Aim: aim.Aim{Tone: tone.HLG{}}}, hardware.Options{Bits: 16, Nodes: 17})
	for _, v := range []float64{0.2, 0.5, 0.75} {
		want := white * byBT2100(colorimetry.Gray(v), white, black, gamma).G
		got, other := d.XYZ(lifted.Apply(colorimetry.Gray(v))).Y, d.XYZ(stretched.Apply(colorimetry.Gray(v))).Y
		t.Logf("%g: %.2f cd/m², %.2f by BT.2100, %.2f stretched", v, got, want, other)
		if math.Abs(got/want-1) > 0.002 || !(other < 0.95*want) {
			t.Errorf("%g: %.2f cd/m², %.2f by BT.2100, %.2f stretched", v, got, want, other)
		}
	}
	if told.White.Y < 99.9 {
		t.Errorf("the white has %.2f cd/m²", told.White.Y)
	}
	if s := lifted.Source(); !strings.Contains(s, "hybrid log-gamma with a system gamma of 0.846, lifted to a black of 0.694 cd/m²") {
		t.Errorf("the table is for %q", s)
	}
}

// A tone of HLG in the aim means the same as the encoding, and one that states its
// system gamma keeps it whatever the white is. Any other tone is one of channels.
func TestHLGInAim(t *testing.T) {
	t.Parallel()
	d := bright(t, 600, 0)
	o := hardware.Options{Nodes: 9}
	digest := func(w hardware.Want) string {
		table, _ := build(t, d, w, o)
		return table.Digest()
	}
	own := digest(hardware.Want{Space: rgb.BT2100HLG()})
	if got := digest(hardware.Want{Space: rgb.BT2020(), Aim: aim.Aim{Tone: tone.HLG{}}}); got != own {
		t.Error("hlg as the tone of BT.2020's primaries makes another table")
	}
	stated := hardware.Want{Space: rgb.BT2100HLG(), Aim: aim.Aim{Tone: tone.HLG{SystemGamma: 1.2}}}
	table, told := build(t, d, stated, hardware.Options{Bits: 16, Nodes: 33})
	for _, s := range []colorimetry.RGB{{R: 0.8, G: 0.4, B: 0.2}, {R: 0.3, G: 0.3, B: 0.9}} {
		want := matrix(t, rgb.BT2020(), 600).FromLinear(byBT2100(s, 600, 0, 1.2))
		if e := difference2000(d.XYZ(table.Apply(s)), want, told.White); e > 0.2 {
			t.Errorf("%v with a system gamma of 1.2: %.3f ΔE00", s, e)
		}
	}
	if digest(stated) == own || digest(hardware.Want{Space: rgb.BT2100HLG(), Aim: aim.Aim{Tone: tone.Power{Gamma: 2.2}}}) == own {
		t.Error("another tone makes the same table")
	}
}
