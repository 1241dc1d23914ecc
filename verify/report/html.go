package report

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"time"

	"example.org/primaries/fit"
	"example.org/primaries/fit/characterise"
	"example.org/primaries/verify"
)

//go:embed page.html
var pageSource string

// page is what the template writes: the report and what was drawn from it.
type page struct {
	*Report
	Title                  string
	Overall                verify.State
	Rows                   []row
	AimPlots               []*plot
	AimRows                []accuracyRow
	Strip                  *plot
	TruthRows              []accuracyRow
	AimPairs               []swatch
	Pairs                  []swatch
	HowPlots               []*plot
	Taken                  []string // how far the readings stand as they were taken
	Behaves                []behaviour
	Losses                 []loss
	MostMissing, MostShift float64 // limits of what Behaves tells
	Tried                  string  // how the figures of the candidates are to be read
	BothRuns               bool    // the model rests on an earlier run too, and is none of the candidates
	Common                 string  // what the instrument's own error means for the figures
}

// row is one line of "asked for and reached".
type row struct{ Name, Asked, Reached, Off, Unsure string }

// cell is a cell of a table that narrow screens stack, and what its column is of.
type cell struct{ Of, Text string }

// accuracyRow is one Accuracy as a line of figures.
type accuracyRow struct {
	Name string
	verify.Accuracy
}

// WriteHTML writes r as one HTML file that needs no other: its style and its
// drawings are in it, it holds no script and asks nothing of a network, and it
// prints. Every text of r is escaped. The same report gives the same bytes.
func WriteHTML(w io.Writer, r *Report) error {
	t, err := template.New("page").Funcs(template.FuncMap{
		"fix": figure, "day": day, "half": fill, "pass": passName, "known": known, "percent": func(v float64) string { return figure(100*v, 1) + " %" },
		"of":     func(column, text string) cell { return cell{column, text} },
		"signed": func(share float64) string { return signed(share, 1) },
	}).Parse(pageSource)
	if err != nil {
		return fmt.Errorf("report: %w", err)
	}
	var b bytes.Buffer
	if err := t.Execute(&b, newPage(r)); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	_, err = w.Write(b.Bytes())
	return err
}

// passName names the reading through curves at place i of n: the last is the look
// through those that are kept.
func passName(i, n int) string {
	if i == n-1 && n > 1 {
		return "last look, at a few greys"
	}
	return fmt.Sprintf("pass %d", i+1)
}

func newPage(r *Report) page {
	p := page{Report: r, Title: title(r), Overall: verify.Overall(r.Verdicts), Rows: r.rows()}
	drawings := []*plot{toneChart(r), offChart(r), greyChart(r), curvesChart(r.Curves), whiteChart(r), diagram(r)}
	if drawings[3] == nil { // keep those of one height side by side
		drawings = []*plot{drawings[0], drawings[1], drawings[4], drawings[5], drawings[2]}
	}
	for _, c := range drawings {
		if c != nil {
			p.AimPlots = append(p.AimPlots, c)
		}
	}
	if a := r.AimAccuracy.Before; a != nil {
		p.AimRows = append(p.AimRows, accuracyRow{"as found", *a})
	}
	if a := r.AimAccuracy.After; a != nil {
		name := "with curves"
		if r.Curves == nil {
			name = "as it is"
		}
		p.AimRows = append(p.AimRows, accuracyRow{name, *a})
		p.AimPairs = swatches(*a, "wanted")
	}
	for _, a := range []struct {
		name string
		*verify.Accuracy
	}{{"relative", &r.ProfileAccuracy.Relative}, {"absolute", &r.ProfileAccuracy.Absolute}, {"true, relative", r.ProfileAccuracy.True}, {"true, absolute", r.ProfileAccuracy.TrueAbsolute}} {
		if a.Accuracy != nil && a.DeltaE2000.Count > 0 {
			p.TruthRows = append(p.TruthRows, accuracyRow{a.name, *a.Accuracy})
		}
	}
	p.Strip = stripChart(r.ProfileAccuracy.Relative)
	p.Pairs = swatches(r.ProfileAccuracy.Relative, "predicted")
	p.HowPlots, p.Taken = warmUpCharts(r.WarmUp), r.concludeReadings()
	p.MostMissing, p.MostShift = fit.MostMissing, fit.MostShift
	p.Behaves, p.Losses, p.Common = r.Model.behaviours(), losses(r.Written), r.commonWords()
	p.Tried, p.BothRuns = r.Model.candidateWords(), r.Model.Name == characterise.EarlierName
	return p
}

// rows are the figures of the aim.
func (r *Report) rows() []row {
	name := r.Aim.whiteWords()
	if name != "" {
		name = " (" + name + ")"
	}
	rows := []row{{
		"white", fmt.Sprintf("x %.4f, y %.4f%s", r.Aim.White.X, r.Aim.White.Y, name), fmt.Sprintf("x %s, y %s, %s K", figure(r.White.X, 4), figure(r.White.Y, 4), figure(r.White.CCT, 0)),
		fmt.Sprintf("%s in u'v'", figure(r.White.DeltaUV, 4)), unsure(r.White.SpreadUV, r.White.SystematicUV, 4, "in u' and v'"),
	}}
	if t := r.White.TrueDeltaUV; t != nil {
		rows = append(rows, row{"white, truth of the simulator", "", "", figure(*t, 4) + " in u'v'", "none"})
	}
	light := row{"luminance", "as the display gives it", figure(r.LuminanceCdM2, 1) + " cd/m²", "–", unsure(r.luminanceUncertainty(), r.LuminanceSystematicCdM2, 2, "cd/m²")}
	if asked := r.Aim.asked(); asked > 0 {
		light.Asked, light.Off = figure(asked, 1)+" cd/m²", figure(r.LuminanceCdM2-asked, 1)+" cd/m²"
		if p := r.Aim.Paper; p != nil {
			light.Asked += " (" + p.words() + ")"
		}
		if r.Aim.AskedCdM2 > 0 && r.Aim.AskedCdM2 != r.Aim.LuminanceCdM2 {
			who := "the display can have it"
			if r.Controls != nil {
				who = "the controls reached it"
			}
			light.Asked += fmt.Sprintf(", then %s as %s", figure(r.Aim.LuminanceCdM2, 1), who)
		}
	}
	contrast := "no light that could be read"
	switch {
	case r.blackLost():
		contrast = fmt.Sprintf("below %.2g cd/m², where it cannot be told from none", 2*r.BlackSpreadCdM2)
	case r.BlackCdM2 > 0:
		contrast = fmt.Sprintf("%s cd/m², contrast %s\u00a0:\u00a01", figure(r.BlackCdM2, 3), figure(r.LuminanceCdM2/r.BlackCdM2, 0))
	}
	floor := "all the way to black"
	if r.FloorSignal > 0 {
		floor = "from " + figure(100*r.FloorSignal, 1) + " % signal up"
	}
	rows = append(rows, light, row{Name: "black", Asked: r.Aim.blackWords(), Reached: contrast, Unsure: r.blackUnsure()})
	if words := r.Aim.Ambient.words(); words != "" {
		rows = append(rows, r.seenRow(words))
	}
	return append(rows,
		row{Name: "tone", Asked: r.Aim.Tone, Reached: floor, Off: r.FloorCause})
}

// unsure prints a standard uncertainty, and how much of it all readings have in
// common where that is known.
func unsure(total, systematic float64, decimals int, unit string) string {
	if !(total > 0) {
		return "not known"
	}
	s := fmt.Sprintf("±\u00a0%.*f %s", decimals, total, unit)
	if systematic > 0 {
		return s + fmt.Sprintf(", of which the instrument %.*f", decimals, systematic)
	}
	return s + ", noise alone"
}

func (r *Report) blackUnsure() string {
	if r.blackLost() || !(r.BlackCdM2 > 0) || !(r.blackUncertainty() > 0) {
		return ""
	}
	s := fmt.Sprintf("±\u00a0%.1g cd/m²", r.blackUncertainty())
	return s + plusMinus("; contrast ±\u00a0%.1f\u00a0%%", 100*r.ContrastSpreadShare)
}

// commonWords say what of the instrument's own error the uncertainties hold and
// where it counts, "" where nothing is said to be uncertain.
func (r *Report) commonWords() string {
	if !(r.White.SpreadUV > 0 || r.luminanceUncertainty() > 0) {
		return ""
	}
	s := "Uncertainties are standard ones, one standard deviation. "
	if r.Instrument.ErrorKnown == "" {
		return s + "They hold noise alone: of the instrument's own error nothing is known, which is the same in every reading and may be per cents of luminance (common practice, no source)."
	}
	s += "The instrument's own error is the same in every reading: averages do not lessen it. Known of it is " + r.Instrument.ErrorKnown + ". "
	if r.Instrument.ReferenceScale {
		s += "White, luminance, black and all absolute figures are thus relative to the reference: where no certificate was stated, its own error, which may be per cents of luminance (common practice, no source), is in none of the uncertainties. "
	}
	return s + "What is known counts in full for white, luminance, black and absolute differences, and for contrast and relative differences as far as it does not cancel; no figure was changed by it."
}

// signed prints a share in per cent, with its sign.
func signed(share float64, digits int) string {
	if share >= 0 {
		return "+" + figure(100*share, digits) + " %"
	}
	return figure(100*share, digits) + " %"
}

// day prints a date, in universal time so that the bytes do not depend on the
// place.
func day(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.UTC().Format("2 January 2006, 15:04 MST")
}

// known prints a floor's figure, or that there is none.
func known(f verify.Floor, v float64) string {
	if !f.Known {
		return "not stated"
	}
	return figure(v, 2)
}
