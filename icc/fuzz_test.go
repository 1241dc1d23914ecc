package icc

import "testing"

// FuzzDecode reads, checks, evaluates, writes and reads again whatever comes.
func FuzzDecode(f *testing.F) {
	for _, version := range []Version{V2, V4} {
		for _, parametric := range []bool{false, true} {
			spec := testSpec(f, version, parametric)
			spec.InForce = curves(f, 3)
			if !parametric {
				for i := range spec.Curves {
					spec.Curves[i] = samples(4, gamma(2))
				}
			}
			_, b := mustMatrix(f, spec)
			f.Add(b)
		}
	}
	for _, v := range []Value{
		ChromaticityValue{Channels: chroma(0.64, 0.33, 0.3, 0.6, 0.15, 0.06)},
		DateTimeValue{2026, 1, 1, 0, 0, 0},
		CICP{1, 13, 0, 1},
		SignatureValue(TagRedCurve),
		LocalizedText{{"de", "DE", "größer"}, {"ja", "JP", "😀"}},
		Dict{{Name: "a", Value: "b", HasValue: true, DisplayName: LocalizedText{{"fr", "FR", "c"}}}},
		VideoCurves{Formula: [3]VideoFormula{{1, 0, 1}, {2, 0, 1}, {1, 0, 1}}},
		VideoCurves{Bits: 8, Table: [][]uint16{{0, 257}}},
		ParametricCurve{Function: 4, G: 2, A: 1, D: 0.5},
	} {
		b, err := v.appendTo(nil)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(element(b))
	}
	for _, set := range []map[string]layout{arrayLayouts, layouts} {
		for _, l := range set {
			f.Add(element([]byte(l.want)))
		}
	}
	for _, b := range smallProfiles(f) {
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) { check(t, b) })
}
