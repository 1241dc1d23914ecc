package main

import (
	"fmt"
	"slices"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/examples/internal/cli"
)

// metric is a metric made ready: the numbers of two colours as they stand in
// their tables go in.
type metric struct {
	says       string   // what the metric is
	conditions []string // what it was computed under
	difference func(a, b [3]float64) float64
	parts      func(a, b [3]float64) difference.Parts
}

var cieLab = []string{"ab", "cie94", "ciede2000", "cmc", "din99", "din99b", "din99o", "hyab"}

// appearanceMetrics have a colour appearance model and its coefficients.
var appearanceMetrics = []string{"cam02lcd", "cam02scd", "cam02ucs", "cam16lcd", "cam16scd", "cam16ucs"}

// optionsOf says which metrics an option serves.
var optionsOf = map[string][]string{
	"adapting": appearanceMetrics, "background": appearanceMetrics, "discounting": appearanceMetrics, "surround": appearanceMetrics,
	"c": {"cmc"}, "l": {"cmc"},
	"kc": {"ciede2000"}, "kh": {"ciede2000"}, "kl": {"ciede2000"},
	"parts":    {"ab", "cie94", "ciede2000", "cmc", "uv"},
	"textiles": {"cie94", "din99", "din99o"},
	"white":    slices.Concat(cieLab, []string{"uv", "din99c", "din99d"}, appearanceMetrics),
}

func metricNames() []string {
	names := append(slices.Clone(optionsOf["white"]), "itp", "jz", "ok")
	slices.Sort(names)
	return names
}

// prepare makes the metric ready for tables of the given kinds.
func (o *options) prepare(first, second kind) (*metric, error) {
	white, err := o.white()
	if err != nil {
		return nil, err
	}
	var m *metric
	switch {
	case o.metric == "itp" || o.metric == "jz" || o.metric == "ok":
		return o.fixedWhite(first, second)
	case slices.Contains(appearanceMetrics, o.metric):
		m, err = o.appearance(first, second, white)
	case o.metric == "uv":
		m, err = o.cieluv(first, second, white)
	default:
		m, err = o.cielab(first, second, white)
	}
	if err != nil {
		return nil, err
	}
	if white != (colorimetry.XYZ{}) {
		m.conditions = append(m.conditions, "white "+words(white))
	}
	return m, nil
}

// tooBright is how many times as bright as the white most colours of a table can
// be before the white is on another scale.
const tooBright = 3

// scale refuses tables whose XYZ are not on the white's scale.
func (o *options) scale(tables ...table) error {
	white, err := o.white()
	if err != nil || white == (colorimetry.XYZ{}) {
		return err
	}
	for i, t := range tables {
		bright := 0
		for _, c := range t.colours {
			if t.kind == isXYZ && c[1] > tooBright*white.Y {
				bright++
			}
		}
		if 2*bright > len(t.colours) {
			return cli.Bad("%s: most colours are more than %d times as bright as the white, whose Y is %g; give the white on the table's scale, as with -white-y 100", []string{o.first, o.second}[i], tooBright, white.Y)
		}
	}
	return nil
}

// needWhite is the error of a metric that has none.
func (o *options) needWhite(white colorimetry.XYZ, why string) error {
	if white != (colorimetry.XYZ{}) {
		return nil
	}
	return cli.Bad("-metric %s needs a white, since %s; give -white, as in -white D65 or -white 95.047,100,108.883", o.metric, why)
}

// fixedWhite prepares the metrics that know D65 alone: of absolute light, and
// Oklab.
func (o *options) fixedWhite(first, second kind) (*metric, error) {
	if first != isXYZ || second != isXYZ {
		if o.metric == "ok" {
			return nil, cli.Bad("-metric ok takes light under D65; give both tables as X,Y,Z with Y of the white 1")
		}
		return nil, cli.Bad("-metric %s takes absolute light; give both tables as X,Y,Z in cd/m²", o.metric)
	}
	if o.metric == "ok" {
		form := appearance.OklabFirst()
		return &metric{
			says:       "distance in Oklab, with the matrices as first published",
			conditions: []string{"XYZ under D65, Y of the white 1"},
			difference: func(a, b [3]float64) float64 {
				return difference.OK(form.Oklab(xyz(a)), form.Oklab(xyz(b)))
			},
		}, nil
	}
	if o.metric == "itp" {
		return &metric{
			says:       "ΔE_ITP of ITU-R BT.2124",
			conditions: []string{"absolute XYZ in cd/m² under D65"},
			difference: func(a, b [3]float64) float64 { return difference.XYZITP(xyz(a), xyz(b)) },
		}, nil
	}
	return &metric{
		says:       "ΔE_z, the distance in Jzazbz",
		conditions: []string{"absolute XYZ in cd/m² under D65"},
		difference: func(a, b [3]float64) float64 {
			p, _ := appearance.FromXYZJzazbz(xyz(a)) // NaN where there is none
			q, _ := appearance.FromXYZJzazbz(xyz(b))
			return difference.JZ(p, q)
		},
	}, nil
}

func xyz(v [3]float64) colorimetry.XYZ { return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]} }
func lab(v [3]float64) colorimetry.Lab { return colorimetry.Lab{L: v[0], A: v[1], B: v[2]} }

// asLab returns how the numbers of a table become CIELAB.
func asLab(k kind, white colorimetry.XYZ) func([3]float64) colorimetry.Lab {
	if k == isLab {
		return lab
	}
	return func(v [3]float64) colorimetry.Lab { return xyz(v).Lab(white) }
}

// asXYZ returns how the numbers of a table become XYZ on the white's scale.
func asXYZ(k kind, white colorimetry.XYZ) func([3]float64) colorimetry.XYZ {
	if k == isXYZ {
		return xyz
	}
	return func(v [3]float64) colorimetry.XYZ { return lab(v).XYZ(white) }
}

// appearance prepares the uniform spaces of CIECAM02 and CAM16.
func (o *options) appearance(first, second kind, white colorimetry.XYZ) (*metric, error) {
	if err := o.needWhite(white, "an appearance is one under a white"); err != nil {
		return nil, err
	}
	newModel, uniform := appearance.NewCAM16, map[string]appearance.Uniform{"ucs": appearance.UCS(), "lcd": appearance.LCD(), "scd": appearance.SCD()}[o.metric[5:]]
	if o.metric[:5] == "cam02" {
		newModel = appearance.NewCIECAM02
	}
	model, err := newModel(o.viewing(white.Scale(1 / white.Y)))
	if err != nil {
		return nil, cli.Bad("%w", err)
	}
	a, b := asXYZ(first, white), asXYZ(second, white)
	return &metric{
		says:       fmt.Sprintf("distance in the uniform space of %s", model.Name()),
		conditions: []string{o.viewingText()},
		difference: func(p, q [3]float64) float64 {
			return difference.CAMUCS(model, uniform, a(p).Scale(1/white.Y), b(q).Scale(1/white.Y))
		},
	}, nil
}

// cieluv prepares ΔE*uv.
func (o *options) cieluv(first, second kind, white colorimetry.XYZ) (*metric, error) {
	if err := o.needWhite(white, "CIELUV is made from XYZ under a white"); err != nil {
		return nil, err
	}
	a, b := asXYZ(first, white), asXYZ(second, white)
	return &metric{
		says:       "ΔE*uv",
		difference: func(p, q [3]float64) float64 { return difference.UV(a(p).Luv(white), b(q).Luv(white)) },
		parts: func(p, q [3]float64) difference.Parts {
			return difference.UVParts(a(p).Luv(white), b(q).Luv(white))
		},
	}, nil
}

// cielab prepares the metrics of CIELAB.
func (o *options) cielab(first, second kind, white colorimetry.XYZ) (*metric, error) {
	if first == isXYZ || second == isXYZ {
		if err := o.needWhite(white, "XYZ must be converted into Lab"); err != nil {
			return nil, err
		}
	}
	if o.metric == "din99c" || o.metric == "din99d" {
		if err := o.needWhite(white, "it changes X before CIELAB"); err != nil {
			return nil, err
		}
	}
	m, f, parts := o.labMetric(white)
	a, b := asLab(first, white), asLab(second, white)
	m.difference = func(p, q [3]float64) float64 { return f(a(p), b(q)) }
	if parts != nil {
		m.parts = func(p, q [3]float64) difference.Parts { return parts(a(p), b(q)) }
	}
	return m, nil
}

// labMetric returns a metric of two CIELAB colours, and its parts where it has
// them.
func (o *options) labMetric(white colorimetry.XYZ) (*metric, func(a, b colorimetry.Lab) float64, func(a, b colorimetry.Lab) difference.Parts) {
	type lab = colorimetry.Lab
	m := &metric{}
	w94, w99 := difference.GraphicArts(), difference.DIN99Weights{}
	if o.textiles {
		w94, w99 = difference.Textiles(), difference.DIN99Weights{KE: 2, KCH: 0.5}
		m.conditions = append(m.conditions, "weights for textiles")
	}
	switch o.metric {
	case "ab":
		m.says = "ΔE*ab"
		return m, difference.AB, difference.ABParts
	case "hyab":
		m.says = "HyAB"
		return m, difference.HyAB, nil
	case "cie94":
		m.says = "CIE94, the first table is the reference"
		return m, func(a, b lab) float64 { return difference.CIE94(a, b, w94) }, func(a, b lab) difference.Parts { return difference.CIE94Parts(a, b, w94) }
	case "cmc":
		m.says = fmt.Sprintf("CMC(%g:%g), the first table is the reference", o.l, o.c)
		return m, func(a, b lab) float64 { return difference.CMC(a, b, o.l, o.c) }, func(a, b lab) difference.Parts { return difference.CMCParts(a, b, o.l, o.c) }
	case "din99":
		m.says = "DIN99"
		return m, func(a, b lab) float64 { return difference.DIN99(a, b, w99) }, nil
	case "din99b":
		m.says = "DIN99b"
		return m, difference.DIN99b, nil
	case "din99c":
		m.says = "DIN99c"
		return m, func(a, b lab) float64 { return difference.DIN99c(a, b, white) }, nil
	case "din99d":
		m.says = "DIN99d"
		return m, func(a, b lab) float64 { return difference.DIN99d(a, b, white) }, nil
	case "din99o":
		m.says = "DIN99o"
		return m, func(a, b lab) float64 { return difference.DIN99o(a, b, w99) }, nil
	}
	m.says = fmt.Sprintf("CIEDE2000 with kL %g, kC %g, kH %g", o.weights.KL, o.weights.KC, o.weights.KH)
	return m, func(a, b lab) float64 { return difference.CIEDE2000Weighted(a, b, o.weights) },
		func(a, b lab) difference.Parts { return difference.CIEDE2000Parts(a, b, o.weights) }
}
