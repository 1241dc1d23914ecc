package characterise

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
)

// aimPatches returns the patches that are read as found and again with curves:
// greys, full and half primaries and secondaries, and quiet mixtures of the
// kind that pictures are full of. White is read apart.
func aimPatches(bits int) []chart.Patch {
	set := chart.Neutral(12)[:11]
	for _, s := range []colorimetry.RGB{red, green, blue, {R: 1, G: 1}, {G: 1, B: 1}, {R: 1, B: 1}} {
		set = append(set, chart.Patch{Signal: s}, chart.Patch{Signal: colorimetry.RGB{R: s.R / 2, G: s.G / 2, B: s.B / 2}})
	}
	for _, s := range []colorimetry.RGB{
		{R: 0.78, G: 0.58, B: 0.49}, {R: 0.45, G: 0.32, B: 0.26}, {R: 0.36, G: 0.48, B: 0.62}, {R: 0.35, G: 0.42, B: 0.26},
		{R: 0.55, G: 0.24, B: 0.30}, {R: 0.86, G: 0.78, B: 0.60}, {R: 0.25, G: 0.22, B: 0.38},
	} {
		set = append(set, chart.Patch{Signal: s})
	}
	return chart.Number(chart.Quantise(set, bits), "look")
}

// native returns the display's own colours from readings that hold black,
// white and the full primaries.
func native(set []measure.Reading) (Native, error) {
	var n Native
	var p [3]colorimetry.XYZ
	for _, want := range []struct {
		signal colorimetry.RGB
		to     *colorimetry.XYZ
	}{{black, &n.Black}, {white, &n.White}, {red, &p[0]}, {green, &p[1]}, {blue, &p[2]}} {
		r, err := meanOf(set, want.signal)
		if err != nil {
			return Native{}, err
		}
		*want.to = r.XYZ
	}
	n.Primaries = colorimetry.Columns(p[0].Sub(n.Black), p[1].Sub(n.Black), p[2].Sub(n.Black))
	inv, err := n.Primaries.Inverse()
	if err != nil {
		return Native{}, errors.New("characterise: red, green and blue read as one colour; is the patch on this display, and the instrument on the patch?")
	}
	// The white is read more often than the primaries, and what the display
	// can do at full signal is decided there: each primary's light becomes
	// what it adds to the white.
	share := inv.ToLinear(n.White.Sub(n.Black))
	n.Primaries = n.Primaries.Mul(colorimetry.Diagonal(share.R, share.G, share.B))
	return n, nil
}

// meanOf returns all readings of a signal as one, each integration counting
// alike.
func meanOf(set []measure.Reading, signal colorimetry.RGB) (measure.Reading, error) {
	var out measure.Reading
	var total float64
	for _, r := range set {
		if r.Patch.Signal != signal {
			continue
		}
		n := float64(max(len(r.Repeats), 1))
		if total == 0 {
			out = r
			out.Raw, out.XYZ, out.Covariance, out.Repeats = colorimetry.XYZ{}, colorimetry.XYZ{}, colorimetry.Matrix{}, nil
		}
		total += n
		out.Raw, out.XYZ = out.Raw.Add(r.Raw.Scale(n)), out.XYZ.Add(r.XYZ.Scale(n))
		out.Covariance = out.Covariance.Add(r.Covariance.Scale(n * n))
		out.Repeats = append(out.Repeats, r.Repeats...)
	}
	if total == 0 {
		return measure.Reading{}, fmt.Errorf("characterise: the readings hold no patch of signal %.3g, %.3g, %.3g; measure black, white and the full primaries too", signal.R, signal.G, signal.B)
	}
	out.Raw, out.XYZ = out.Raw.Scale(1/total), out.XYZ.Scale(1/total)
	out.Covariance = out.Covariance.Scale(1 / (total * total))
	return out, nil
}

// InState returns the readings in the state that the profile describes, in
// order: with an adjusted display those through the final curves, else all.
// Readings of other states must never be fitted together with them.
func (r *Result) InState() []measure.Reading {
	if !r.Adjusted {
		return r.Readings
	}
	var out []measure.Reading
	for _, m := range r.Readings {
		switch m.Stage {
		case measure.StageCharts, measure.StageProof, measure.StageWithCurves:
			out = append(out, m)
		}
	}
	return out
}

// curvesKeyword is the keyword of a table's head that names, by digest, the
// curves that its readings were taken through; "none" without.
const curvesKeyword = "CURVES_IN_FORCE"

// Table returns readings as a table for CGATS.17 or CSV, absolute, with columns
// that say the stage of each, of how many integrations it is the mean (AVERAGES)
// and the covariance of that mean in (cd/m²)² (COV_XX to COV_YZ). [ReadTable]
// takes the noise back.
func Table(r *Result, readings []measure.Reading) chart.Table {
	t := bareTable(r, readings)
	t.Extra = append(t.Extra, noiseColumns[:]...)
	i := 0
	for _, m := range readings {
		if m.Channel == "" {
			t.Rows[i].Extra = append(t.Rows[i].Extra, noiseOf(m)...)
			i++
		}
	}
	return t
}

// bareTable is Table without the noise.
func bareTable(r *Result, readings []measure.Reading) chart.Table {
	t := chart.Table{
		Originator: "example.org/primaries",
		Descriptor: describe(r.Screen),
		Keywords:   []chart.Keyword{{Name: curvesKeyword, Value: r.InForce.Digest()}},
		Created:    r.Start.UTC().Format("2006-01-02T15:04:05Z"),
		Scale:      chart.ScaleAbsolute,
		HasXYZ:     true,
		Extra:      []string{"STAGE"},
	}
	if r.RelativeXYZ {
		t.Scale = chart.ScaleRelative
	}
	for _, m := range readings {
		if m.Channel == "" {
			t.Rows = append(t.Rows, chart.Row{ID: m.Patch.ID, Signal: m.Patch.Signal, XYZ: m.XYZ, Extra: []string{m.Stage}})
		}
	}
	return t
}

// targ returns the chart's readings as the text of a profile's targ tag, which
// takes 7-bit characters alone (ICC.1:2022, textType): in names others become
// question marks.
func targ(r *Result) ([]byte, error) {
	var b bytes.Buffer
	err := chart.WriteCGATS(&b, bareTable(r, r.Chart), chart.WriteOptions{})
	text := strings.Map(func(c rune) rune {
		if c > '~' {
			return '?'
		}
		return c
	}, b.String())
	return []byte(text), err
}

// maxName is the longest that a display's name may be, in bytes: it is in tables,
// files and their names, with more beside it.
const maxName = 200

// ErrName is wrapped where a display's name cannot be used.
var ErrName = errors.New("give the display another name")

// checkName refuses a display's name that no file can carry, before an hour is
// spent.
func checkName(name string) error {
	wrong := ""
	switch {
	case name == "":
		return fmt.Errorf("characterise: the display has no name: %w", ErrName)
	case len(name) > maxName:
		wrong = fmt.Sprintf("is %d bytes long, and %d are possible", len(name), maxName)
	case !utf8.ValidString(name):
		wrong = "is no text in UTF-8"
	case strings.ContainsFunc(name, unicode.IsControl):
		wrong = "holds a control character"
	default:
		return nil
	}
	return fmt.Errorf("characterise: the display's name %.40q %s: %w", name, wrong, ErrName)
}
