package chart

import "example.org/primaries/colorimetry"

// Patch is one colour to show: a device signal, 0 to 1 a channel, and a name
// that is unique in its set ("" in sets that were not named yet).
type Patch struct {
	ID     string          `json:"id,omitempty"`
	Signal colorimetry.RGB `json:"signal"`
}
