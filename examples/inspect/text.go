package main

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"example.org/primaries/icc"
)

// model says what colours are computed by.
func model(p *icc.Profile) string {
	has := func(tags ...icc.Signature) bool {
		for _, t := range tags {
			if p.Value(t) != nil {
				return true
			}
		}
		return false
	}
	var parts []string
	for _, m := range []struct {
		name  string
		there bool
	}{
		{"multiprocess elements", has(icc.TagDToB0, icc.TagDToB1, icc.TagDToB2, icc.TagDToB3, icc.TagBToD0, icc.TagBToD1, icc.TagBToD2, icc.TagBToD3)},
		{"tables", has(icc.TagAToB0, icc.TagAToB1, icc.TagAToB2, icc.TagBToA0, icc.TagBToA1, icc.TagBToA2)},
		{"matrix and curves", has(icc.TagRedColorant) && has(icc.TagRedCurve)},
		{"one curve", has(icc.TagGrayCurve)},
		{"named colours", has(icc.TagNamedColors)},
	} {
		if m.there {
			parts = append(parts, m.name)
		}
	}
	if parts == nil {
		return "none"
	}
	return strings.Join(parts, ", ")
}

// exponent returns the power that makes light of half the signal, nil where none
// does.
func exponent(light float64) *float64 {
	if !(light > 0 && light < 1) {
		return nil
	}
	g := math.Log(light) / math.Log(0.5)
	return &g
}

// faintest is the share of the white below which a black is rounding.
const faintest = 1e-6

// print writes d for people, a fact a line.
func (d *description) print(line func(name, format string, args ...any)) {
	if d.Image != "" {
		line("inside", "a %s", d.Image)
	}
	line("description", "%s", d.Description)
	var languages []string
	for l := range d.Languages {
		languages = append(languages, l)
	}
	sort.Strings(languages)
	for _, l := range languages {
		line("", "%s: %s", l, d.Languages[l])
	}
	if d.Copyright != "" {
		line("copyright", "%s", d.Copyright)
	}
	line("kind", "%s, version %s, %s to %s, by %s", d.Class, d.Version, d.Device, d.Connection, d.Model)
	line("stored", "%d bytes, %d tags", d.Bytes, len(d.Tags))
	if d.Created != "" {
		line("created", "%s", d.Created)
	}
	if d.ID != "" {
		line("id", "%s", d.ID)
	}
	line("intent", "%s", d.Intent)
	if w := d.White; w != nil {
		text := "x, y %.4f, %.4f"
		args := []any{w.X, w.Y}
		if w.Kelvin > 0 {
			text, args = text+"; %.0f K, Duv %+.4f", append(args, w.Kelvin, w.Duv)
		}
		if d.LuminanceCdM > 0 {
			text, args = text+"; %.4g cd/m²", append(args, d.LuminanceCdM)
		}
		line("white", text, args...)
	}
	if b := d.Black; b != nil {
		text, args := "%.3g of the white", []any{b.Y}
		if d.LuminanceCdM > 0 {
			text, args = text+", %.3g cd/m²", append(args, b.Y*d.LuminanceCdM)
		}
		if math.Abs(b.Y) < faintest {
			text, args = "none", nil
		}
		line("black", text, args...)
	}
	if c := d.Primaries; c != nil {
		line("primaries", "red %.4f, %.4f; green %.4f, %.4f; blue %.4f, %.4f", c.Red[0], c.Red[1], c.Green[0], c.Green[1], c.Blue[0], c.Blue[1])
	}
	if len(d.Gamma) > 0 {
		var texts []string
		for _, g := range d.Gamma {
			if g == nil {
				texts = append(texts, "none")
			} else {
				texts = append(texts, fmt.Sprintf("%.2f", *g))
			}
		}
		line("tone", "%s as the power at half the signal", strings.Join(texts, ", "))
	}
	if d.Adapted {
		line("adapted", "white and primaries are under D50; the profile does not say how they were adapted to it")
	}
	if d.VolumeLab > 0 {
		line("gamut", "%.0f thousand ΔE*ab cubed", d.VolumeLab/1000)
	}
	if d.Curves {
		line("corrections", "curves that belong into the display path")
	}
	for i, t := range d.Tags {
		name := ""
		if i == 0 {
			name = "tags"
		}
		line(name, "%-5s %-5s %d bytes", t.Signature, t.Type, t.Bytes)
	}
}
