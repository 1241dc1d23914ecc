package fit

import (
	"fmt"

	"example.org/primaries/chart/measure"
)

// Kinds returns the names of all kinds of model, simpler ones first.
func Kinds() []string {
	return []string{GainOffsetGammaName, AdditiveName, ResidualName}
}

// Of fits the kind of model of that name, one of Kinds, to absolute readings.
// The error says that there is no such kind, which reading is unusable, or that
// the readings do not determine the model.
func Of(kind string, readings []measure.Reading, o Options) (Model, error) {
	switch kind {
	case GainOffsetGammaName:
		return GainOffsetGamma(readings, o)
	case AdditiveName:
		return Additive(readings, o)
	case ResidualName:
		return Residual(readings, nil, o)
	}
	return nil, fmt.Errorf("fit: there is no model %q; there are %q", kind, Kinds())
}
