package fit

import "example.org/primaries/chart/measure"

// Options says how to fit. The zero value is right for readings taken through
// a measure.Session.
type Options struct {
	// Folds is the number of parts that Best holds back in turn; 0 means 8.
	Folds int
	// Force names the kind of model that Best must return, one of Kinds, "" for
	// the one that the evidence prefers. The evidence is gathered either way.
	Force string
	// Noise is that of one integration, assumed for readings that bring no
	// covariance of their own; the zero value means 0.001 in x and y, 0.5 % in
	// Y and a floor of 0.005 cd/m².
	Noise measure.Noise
}

// Names of the kinds of model, simpler ones first.
const (
	GainOffsetGammaName = "gain-offset-gamma"                  // a power of each channel
	AdditiveName        = "additive with sampled curves"       // any curve of each channel
	DriftName           = "additive with drifting primaries"   // each channel's colour depends on its level
	MaskingName         = "additive with masking"              // and on what channels have in common, as a white sub-pixel does
	PairsName           = "additive with pairwise interaction" // channels act on each other in pairs
	CellsName           = "additive with interaction by cells" // all three, straight within cells
	ResidualName        = "additive with a smooth interaction" // all of these but the cells
)
