package report

import (
	"math"

	"example.org/primaries/verify"
)

// Figures returns what can be judged, under its path in report.json.
func (r *Report) Figures() []verify.Figure {
	// Noise alone shows a distance in u'v' of √(π/2) standard deviations of one
	// axis on average (a Rayleigh distribution), and a distance in luminance of
	// √(2/π) (half a normal distribution). The instrument's own error counts like
	// noise here: what lies within it is undecided.
	figures := []verify.Figure{{
		Name: "white.delta_uv", Value: r.White.DeltaUV,
		Floor: math.Sqrt(math.Pi/2) * r.White.SpreadUV, Spread: r.White.SpreadUV, Known: r.White.SpreadUV > 0,
	}}
	if asked := r.Aim.asked(); asked > 0 {
		spread := r.luminanceUncertainty()
		figures = append(figures, verify.Figure{
			Name: "luminance_off_cd_m2", Value: math.Abs(r.LuminanceCdM2 - asked),
			Floor: math.Sqrt(2/math.Pi) * spread, Spread: spread, Known: spread > 0,
		})
	}
	if r.White.TrueDeltaUV != nil {
		figures = append(figures, verify.Figure{Name: "white.true_delta_uv", Value: *r.White.TrueDeltaUV, Known: true})
	}
	figures = append(figures, r.AimAccuracy.Figures("aim_accuracy")...)
	return append(figures, r.ProfileAccuracy.Figures("profile_accuracy")...)
}

// Judge holds r's figures against l and fills Limits, Verdicts and
// LuminanceOffCdM2. Where nothing was adjusted the aim is only compared, and
// the limits of the profile alone are judged. A limit on the luminance is left
// out where none was asked for.
func (r *Report) Judge(l verify.Limits) {
	if asked := r.Aim.asked(); asked > 0 {
		r.LuminanceOffCdM2 = math.Abs(r.LuminanceCdM2 - asked)
	}
	if !r.Run.Adjusted {
		l = l.Under("profile_accuracy")
	}
	kept := l
	kept.Limits = nil
	for _, m := range l.Limits {
		if m.Figure != "luminance_off_cd_m2" || r.Aim.asked() > 0 {
			kept.Limits = append(kept.Limits, m)
		}
	}
	r.Limits, r.Verdicts = l.Name, verify.Judge(kept, r.Figures())
}

// asked returns the luminance that was asked for, 0 where none was.
func (a Aim) asked() float64 {
	switch {
	case a.Native:
		return 0
	case a.AskedCdM2 > 0:
		return a.AskedCdM2
	}
	return a.LuminanceCdM2
}
