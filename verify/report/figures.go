package report

import (
	"fmt"
	"strings"

	"example.org/primaries/verify"
)

// concludeAccuracies tells how near the aim and how true the profile is, each
// figure with all that it needs to be read, where the verdict on it belongs.
func (r *Report) concludeAccuracies() {
	if a := r.AimAccuracy.After; a != nil {
		before := ""
		if b := r.AimAccuracy.Before; b != nil {
			before = fmt.Sprintf(" (as found %.2f)", b.DeltaE2000.Mean)
		}
		r.tellAccuracy("aim_accuracy.after", fmt.Sprintf("aim ΔE00 mean %.2f%s, max %.2f; %s", a.DeltaE2000.Mean, before, a.DeltaE2000.Max, conditions(*a)))
	}
	p := r.ProfileAccuracy
	for _, a := range []struct {
		path string
		*verify.Accuracy
	}{{relativePath, &p.Relative}, {"profile_accuracy.true", p.True}, {"profile_accuracy.absolute", &p.Absolute}} {
		if a.Accuracy != nil && a.DeltaE2000.Count > 0 {
			r.tellAccuracy(a.path, profileWords(*a.Accuracy))
		}
	}
}

const relativePath = "profile_accuracy.relative"

// profileWords tell how true the profile is.
func profileWords(a verify.Accuracy) string {
	return fmt.Sprintf("profile ΔE00 mean %.2f, max %.2f; %s", a.DeltaE2000.Mean, a.DeltaE2000.Max, conditions(a))
}

// tellAccuracy puts a sentence on the Accuracy at path under Reached, or, where a
// limit on one of its figures was not passed, under NotReached with that limit.
func (r *Report) tellAccuracy(path, sentence string) {
	state := verify.Passed
	for _, v := range r.Verdicts {
		of, judged := strings.CutPrefix(v.Limit.Figure, path+".delta_e_2000.")
		if !judged || v.State == verify.Passed {
			continue
		}
		if state != verify.Failed {
			state = v.State
		}
		sentence += fmt.Sprintf("; %s %s, limit %s (%s)", of, v.Digits(v.Value), v.Digits(v.Limit.Value), v.Limit.Source)
	}
	if state == verify.Passed {
		r.reached("%s", sentence)
		return
	}
	r.missed("%s: %s", state, sentence)
}

// conditions says what a figure must never be printed without.
func conditions(a verify.Accuracy) string {
	s := fmt.Sprintf("%s %s, %s", a.Reference, a.Basis, patches(a.DeltaE2000.Count))
	switch {
	case a.Basis == verify.AgainstTruth:
		return s
	case !a.NoiseFloor.Known:
		return s + fmt.Sprintf(" ×%d, noise not stated", a.Averages)
	}
	what := "noise"
	if a.Systematic {
		what = "noise and instrument"
	}
	return s + fmt.Sprintf(" ×%d, %s %.2f", a.Averages, what, a.NoiseFloor.Mean)
}

// concludeVerdicts tells what did not pass and no other sentence tells of.
func (r *Report) concludeVerdicts() {
	for _, state := range [...]verify.State{verify.Failed, verify.Undecided} {
		for _, v := range r.Verdicts {
			if v.State == state && !r.told(v.Limit.Figure) {
				r.missed("%s: %s: %s (%s)", state, v.Limit.Name, v.Reason, v.Limit.Source)
			}
		}
	}
}

// told reports whether a sentence of concludeWhite or concludeAccuracies has a
// verdict's figure.
func (r *Report) told(figure string) bool {
	switch figure {
	case "white.delta_uv", "luminance_off_cd_m2":
		return true
	}
	p := r.ProfileAccuracy
	for path, a := range map[string]*verify.Accuracy{"aim_accuracy.after": r.AimAccuracy.After, relativePath: &p.Relative, "profile_accuracy.true": p.True, "profile_accuracy.absolute": &p.Absolute} {
		if strings.HasPrefix(figure, path+".delta_e_2000.") {
			return a != nil && a.DeltaE2000.Count > 0
		}
	}
	return false
}

// verdict returns the verdict on a figure.
func (r *Report) verdict(figure string) (verify.Verdict, bool) {
	for _, v := range r.Verdicts {
		if v.Limit.Figure == figure {
			return v, true
		}
	}
	return verify.Verdict{}, false
}
