package hardware

import (
	"context"
	"fmt"

	"example.org/primaries/colorimetry"
	"example.org/primaries/fit"
)

// Result is a table and what it was found to do.
type Result struct {
	// Table is in force, and Diagnostics tells of it by the model that it was made
	// of.
	Table       Table       `json:"-"`
	Diagnostics Diagnostics `json:"diagnostics"`
	// Passes are the passes in their order, and Kept is the one whose table it is.
	Passes []Pass `json:"passes"`
	Kept   int    `json:"kept"`
	// Wanted returns what the table is to show for a source signal, in cd/m².
	Wanted func(colorimetry.RGB) colorimetry.XYZ `json:"-"`
	// Model is the display as it was learned, from its own signals: what the last
	// table was made of.
	Model fit.Model `json:"-"`
	// Sentences is the outcome in words.
	Sentences []string `json:"sentences"`
}

// result keeps the best table and puts it in force.
func (l *loop) result(ctx context.Context, model fit.Model) (Result, error) {
	kept := best(l.passes)
	m := l.tables[kept]
	if err := l.load(ctx, m.table); err != nil {
		return Result{}, err
	}
	r := Result{Table: m.table, Diagnostics: m.diagnostics, Passes: l.passes, Kept: kept, Wanted: m.builder.target.wanted, Model: model}
	p, first := l.passes[kept], l.passes[0]
	r.Sentences = append(r.Sentences, fmt.Sprintf(
		"Read through the table, %d colours that the display can show lie %.2f ΔE00 from what is wanted in the mean and %.2f at 95 %%, noise included; noise alone would make %.2f and %.2f, and the table's size and rounding %.2f in the mean.",
		p.InReach.Count, p.InReach.Mean, p.InReach.P95, p.Noise.Mean, p.Noise.P95, p.Loss))
	switch {
	case kept > 0:
		r.Sentences = append(r.Sentences, fmt.Sprintf("It is the table of pass %d of %d; that of the model alone had %.2f and %.2f.", kept+1, len(l.passes), first.InReach.Mean, first.InReach.P95))
	case len(l.passes) > 1:
		r.Sentences = append(r.Sentences, "It is the table of the model as it was: what was learned through it made none that is better.")
	}
	if !p.Settled {
		r.Sentences = append(r.Sentences, "More is left than noise and the table explain: the display wanders, is uneven from code to code, or does something that no smooth function of its signals tells.")
	}
	r.Sentences = append(r.Sentences, m.diagnostics.Warnings...)
	return r, nil
}
