package verify

import (
	"math"

	"example.org/primaries/colorimetry"
)

// Names of the strata. A patch may belong to several; Rest holds those that
// belong to no other.
const (
	Neutrals  = "neutrals"                  // equal signals
	Primaries = "primaries and secondaries" // one or two channels equal, the others 0
	Boundary  = "gamut boundary"            // a channel at 0 or at 1
	Dark      = "dark, L* below 20"         // by the predicted or wanted lightness
	Rest      = "rest"
)

// Stratum is the statistics of a part of the patches: errors gather on the
// gamut boundary and in the dark, where a mean over everything hides them.
type Stratum struct {
	Name       string     `json:"name"`
	DeltaE2000 Statistics `json:"delta_e_2000"`
	NoiseFloor Floor      `json:"noise_floor"`
}

// members is a stratum by the indices of its patches, in rising order.
type members struct {
	name    string
	members []int
}

// sortIntoStrata returns the strata that have a patch, in the fixed order of
// the names above.
func sortIntoStrata(patches []Error) []members {
	all := []members{{name: Neutrals}, {name: Primaries}, {name: Boundary}, {name: Dark}, {name: Rest}}
	for i, p := range patches {
		for k := range all {
			if InStratum(all[k].name, p) {
				all[k].members = append(all[k].members, i)
			}
		}
	}
	kept := all[:0]
	for _, s := range all {
		if len(s.members) > 0 {
			kept = append(kept, s)
		}
	}
	return kept
}

// InStratum reports whether a patch belongs to the stratum of that name.
func InStratum(name string, e Error) bool {
	switch name {
	case Neutrals:
		return neutral(e.Signal)
	case Primaries:
		return pure(e.Signal)
	case Boundary:
		return boundary(e.Signal)
	case Dark:
		return e.Want.L < 20
	case Rest:
		return !neutral(e.Signal) && !pure(e.Signal) && !boundary(e.Signal) && e.Want.L >= 20
	}
	return false
}

// sameSignal is far below half a 16-bit code.
const sameSignal = 1e-6

func neutral(s colorimetry.RGB) bool { return s.Max()-s.Min() < sameSignal }

// pure reports whether every channel is either off or at the common maximum,
// and not all of them are.
func pure(s colorimetry.RGB) bool {
	top := s.Max()
	for _, v := range [...]float64{s.R, s.G, s.B} {
		if v > sameSignal && math.Abs(v-top) > sameSignal {
			return false
		}
	}
	return !neutral(s)
}

func boundary(s colorimetry.RGB) bool { return s.Min() < sameSignal || s.Max() > 1-sameSignal }
