package fit

import (
	"fmt"
	"slices"

	"example.org/primaries/chart/measure"
)

// The forms of what channels do to each other, simpler ones first.
var forms = [...]form{
	{name: DriftName, orders: [terms]bool{ofOne: true}},
	{name: MaskingName, orders: [terms]bool{ofOne: true, ofPair: true, ofGrey: true}},
	{name: PairsName, orders: [terms]bool{ofOne: true, ofTwo: true}},
	{name: CellsName, orders: [terms]bool{ofOne: true, ofTwo: true, ofThree: true}, cells: true},
	{name: ResidualName, orders: [terms]bool{ofOne: true, ofTwo: true, ofThree: true, ofPair: true, ofGrey: true}},
}

// smooth is the form that holds all others but the cells, which it needs not.
var smooth = &forms[len(forms)-1]

// Kinds returns the names of all kinds of model, simpler ones first.
func Kinds() []string {
	names := []string{GainOffsetGammaName, AdditiveName}
	for i := range forms {
		names = append(names, forms[i].name)
	}
	return names
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
	}
	i := slices.IndexFunc(forms[:], func(f form) bool { return f.name == kind })
	if i < 0 {
		return nil, fmt.Errorf("fit: there is no model %q; there are %q", kind, Kinds())
	}
	obs, err := observe(readings, o)
	if err != nil {
		return nil, err
	}
	m, err := fitBoth(obs, &forms[i])
	if err != nil {
		return nil, fmt.Errorf("fit: %s: %w", kind, err)
	}
	return m, nil
}
