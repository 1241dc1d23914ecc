package simulate

import "time"

// Troubled returns s with every nuisance on, as an unkind desk has them. The
// figures are invented: on a typical panel white loses 3 % of luminance and
// 0.003 in u'v' in three quarters of an hour, in a smooth decline with a slow
// swing; a picture that asks for more than a quarter of the full current dims;
// corners are 6 % darker; light is switched at 240 Hz; pixels follow within 30
// and 60 ms. What s has of these is replaced.
func (s Spec) Troubled() Spec {
	s.Drift = Drift{
		Amount: [3]float64{-0.030, -0.041, -0.082}, Time: 25 * time.Minute,
		Wave: [3]float64{0.002, 0.003, -0.003}, Period: 37 * time.Minute,
	}
	s.Dimming = Dimming{From: 0.25, Exponent: 0.3}
	s.Field = Field{Fall: [3]float64{0.055, 0.06, 0.065}, Across: [3]float64{0.01, 0, -0.01}, Down: [3]float64{0.004, 0.006, 0.004}}
	s.Flicker = Flicker{Hz: 240.07, Depth: 0.9, Duty: 0.6}
	s.Settling = Settling{Rise: 30 * time.Millisecond, Fall: 60 * time.Millisecond}
	return s
}
