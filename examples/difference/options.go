package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/examples/internal/cli"
)

const synopsis = `difference [options] FIRST.csv SECOND.csv

difference prints how far apart the colours of two tables are, row by row, as
CSV with the column difference; statistics go to standard error.

Each table has a header row with the columns L,a,b or X,Y,Z, separated by
commas; the table - is standard input. FIRST is the reference where a metric has
one (cie94, cmc). A white is needed where XYZ and Lab must be converted into each
other, and by metrics that look at it (uv, din99c, din99d, cam02ucs, cam16ucs and
their relatives). itp and jz take absolute XYZ only, in cd/m² under D65; ok takes
XYZ under D65 with Y of the white 1.

Exit status: 0 done, 2 bad input or use, 4 output failed, 130 interrupted.`

// options are the command line, read and checked.
type options struct {
	first, second string
	metric        string
	parts         bool
	whiteText     string
	observer      string
	whiteY        float64
	textiles      bool
	l, c          float64 // of cmc
	weights       difference.Weights
	surround      string
	adapting      float64 // cd/m²
	background    float64 // percent
	discounting   bool
}

// parse reads the command line. Every error is one sentence and bad use.
func parse(args []string, std cli.IO) (*options, error) {
	o := &options{}
	f := cli.NewFlags("difference", synopsis, std)
	f.Number(&o.adapting, "adapting", appearance.DefaultAdaptingCdM2, 0.001, 1e6, "for cam02 and cam16: luminance of the adapting field in `cd/m²`, by custom a fifth of the white's")
	f.Number(&o.background, "background", 100*appearance.DefaultBackground, 0.1, 100, "for cam02 and cam16: luminance of the background in `percent` of the white's")
	f.Number(&o.c, "c", 1, 0.01, 100, "for cmc: `weight` of chroma")
	f.BoolVar(&o.discounting, "discounting", false, "for cam02 and cam16: the observer discounts the illuminant")
	f.Number(&o.weights.KC, "kc", 1, 0.01, 100, "for ciede2000: `weight` kC of chroma")
	f.Number(&o.weights.KH, "kh", 1, 0.01, 100, "for ciede2000: `weight` kH of hue")
	f.Number(&o.weights.KL, "kl", 1, 0.01, 100, "for ciede2000: `weight` kL of lightness")
	f.Number(&o.l, "l", 2, 0.01, 100, "for cmc: `weight` of lightness")
	f.Choice(&o.metric, "metric", "ciede2000", "how differences are measured", metricNames()...)
	f.BoolVar(&o.parts, "parts", false, "also print the differences of lightness, chroma and hue, and the weights that divide them: difference² = l² + c² + h² + rt·c·h with l = lightness/sl and so on")
	f.Choice(&o.surround, "surround", "average", "for cam02 and cam16: what lies around", "average", "dim", "dark")
	f.BoolVar(&o.textiles, "textiles", false, "for cie94, din99 and din99o: the weights for textiles")
	f.StringVar(&o.whiteText, "white", "", "white of both tables: X,Y,Z on their scale, or the `name` of a CIE illuminant: "+strings.Join(spectrum.IlluminantNames(), " "))
	f.Choice(&o.observer, "white-observer", "1931", "the observer of a white given by name", "1931", "1964")
	f.Number(&o.whiteY, "white-y", 1, 1e-6, 1e6, "`Y` of a white given by name: 1, 100 or its cd/m²")
	files, err := f.ParseFiles(args, 2, "two tables, FIRST.csv SECOND.csv,")
	if err != nil {
		return nil, err
	}
	o.first, o.second = files[0], files[1]
	return o, o.fits(f.Given())
}

// fits refuses options that the metric has no use for: whoever gave one
// expects something of it.
func (o *options) fits(given map[string]bool) error {
	for option := range given {
		serves, bound := optionsOf[option]
		if bound && !slices.Contains(serves, o.metric) {
			return cli.Bad("-%s is of no use to -metric %s; it goes with %s", option, o.metric, strings.Join(serves, ", "))
		}
	}
	for _, option := range []string{"white-observer", "white-y"} {
		switch {
		case given[option] && !given["white"]:
			return cli.Bad("-%s goes with -white: give both", option)
		case given[option] && strings.Contains(o.whiteText, ","):
			return cli.Bad("-%s is of no use to a white given as X,Y,Z; it goes with a name", option)
		}
	}
	return nil
}

// white returns the white as given, or the zero XYZ where none was.
func (o *options) white() (colorimetry.XYZ, error) {
	if o.whiteText == "" {
		return colorimetry.XYZ{}, nil
	}
	fields := strings.Split(o.whiteText, ",")
	if len(fields) == 1 {
		light, err := spectrum.Illuminant(o.whiteText)
		if err != nil {
			return colorimetry.XYZ{}, cli.Bad("-white %s: %w", o.whiteText, err)
		}
		observer, err := spectrum.ObserverNamed(o.observer)
		if err != nil {
			return colorimetry.XYZ{}, cli.Bad("-white-observer: %w", err)
		}
		c, err := observer.White(light, spectrum.Summation{})
		if err != nil {
			return colorimetry.XYZ{}, cli.Bad("-white %s: %w", o.whiteText, err)
		}
		return c.Scale(o.whiteY), nil
	}
	var v [3]float64
	for i, field := range fields {
		var err error
		if i < 3 {
			v[i], err = strconv.ParseFloat(strings.TrimSpace(field), 64)
		}
		if err != nil || len(fields) != 3 || !(v[i] > 0 && v[i] <= 1e9) {
			return colorimetry.XYZ{}, cli.Bad("-white %q is no white; give three numbers above 0, as in 0.9505,1,1.089, or a name", o.whiteText)
		}
	}
	return colorimetry.XYZ{X: v[0], Y: v[1], Z: v[2]}, nil
}

// viewing returns the viewing situation for colour appearance, under white.
func (o *options) viewing(white colorimetry.XYZ) appearance.Viewing {
	s := map[string]appearance.Surround{"average": appearance.Average(), "dim": appearance.Dim(), "dark": appearance.Dark()}[o.surround]
	return appearance.Viewing{White: white, AdaptingCdM2: o.adapting, Background: o.background / 100, Surround: s, Discounting: o.discounting}
}

func (o *options) viewingText() string {
	text := fmt.Sprintf("adapting field %g cd/m², background %g %%, surround %s", o.adapting, o.background, o.surround)
	if o.discounting {
		text += ", illuminant discounted"
	}
	return text
}
