package characterise

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/hardware"
)

// HardwareTable asks for a three-dimensional table, for a display or a box that holds
// one. The zero value is one of 12 bits, with as many nodes as it needs, for
// signals of the display's own primaries.
//
// The table brings the display to the run's aim, white, tone and black, with the
// luminance that the display has at that white, and undoes what channels do to
// each other. It takes the place of the correction curves, which it holds behind
// its own: it is for the display without them, and a signal that went through
// both would be corrected twice. The profile of the run, on the other hand,
// describes the display with the curves and without the table.
type HardwareTable struct {
	// Nodes is the number of nodes along each edge, 2 to 65; 0 takes the fewest of
	// 17, 33 and 65 that lose next to nothing, see hardware.Options.
	Nodes int
	// Bits is the depth of its values: 8, 10, 12 or 16; 0 means 12.
	Bits int
	// Source has the primaries that signals mean; the zero Space are the display's
	// own. Its white and its tone give way to those of the aim.
	Source rgb.Space
}

// MadeTable is a table and what it is predicted to do. Nothing was read through
// it.
type MadeTable struct {
	Table hardware.Table
	// Diagnostics tell of it by the model of the run, before the curves were taken
	// in.
	Diagnostics hardware.Diagnostics
	// Taken is what is lost, on 729 signals and 256 greys and in CIEDE2000, by
	// rounding the table with the curves taken in, and what leaves it to the
	// path.
	TakenMean, TakenMax float64
	// Sentence says what signals it is for and how well it does that, and Use in
	// which state of the display; a run has Use among its warnings.
	Sentence, Use string
}

// options returns the options of the table on a screen's path, or what is wrong
// with them.
func (t HardwareTable) options(screen measure.ScreenInfo) (hardware.Options, error) {
	if t.Nodes != 0 && (t.Nodes < 2 || t.Nodes > 65) {
		return hardware.Options{}, fmt.Errorf("characterise: a table of %d nodes along an edge; 2 to 65 are possible, 0 chooses", t.Nodes)
	}
	o := hardware.Options{Nodes: t.Nodes, Bits: cmp.Or(t.Bits, 12), Display: describe(screen)}
	for _, depth := range [...]int{16, 12, 10, 8} {
		if depth >= screen.Bits {
			o.PathBits = depth
		}
	}
	if screen.Limited {
		o.In, o.Out = hardware.Limited, hardware.Limited
	}
	switch o.Bits {
	case 8, 10, 12, 16:
	default:
		return o, fmt.Errorf("characterise: a table of %d bits; 8, 10, 12 and 16 are possible, 0 is 12", t.Bits)
	}
	if t.Source != (rgb.Space{}) {
		if _, err := t.Source.Matrix(); err != nil {
			return o, fmt.Errorf("characterise: a table for the primaries of %q: %w", t.Source.Name, err)
		}
	}
	return o, nil
}

// MakeTable makes the table that Setup.HardwareTable asks for, if it does. It needs the
// model.
func (w *Walk) MakeTable(ctx context.Context) error {
	if w.setup.HardwareTable == nil {
		return nil
	}
	end := w.begin("table")
	if err := w.makeTable(ctx); err != nil {
		return err
	}
	end(w.result.HardwareTable.Sentence)
	return nil
}

func (w *Walk) makeTable(ctx context.Context) error {
	if w.setup.HardwareTable == nil {
		return nil
	}
	if w.result.Model == nil {
		return errors.New("characterise: a table is made of the model; fit that before")
	}
	o, err := w.setup.HardwareTable.options(w.result.Screen)
	if err != nil {
		return err
	}
	want := hardware.Want{Space: w.setup.HardwareTable.Source, Aim: w.result.Aim}
	if want.Aim.White.IsNative() {
		c := w.result.White.XYZ.Chromaticity()
		want.Aim.White = aim.XY(c.X, c.Y)
	}
	want.Aim.Luminance = 0 // what the display, as it was read, has at that white
	t, told, err := hardware.Build(ctx, w.result.Model, want, o)
	if err != nil {
		return fmt.Errorf("characterise: %w", err)
	}
	res := &MadeTable{Table: t, Diagnostics: told}
	if w.result.InForce.Len() > 0 {
		if res.Table, err = takeIn(t, w.result.InForce); err != nil {
			return err
		}
	}
	w.rounding(t, res)
	res.tell(w.result)
	w.result.HardwareTable = res
	if !w.result.Adjusted { // there is no stage to tell of it
		w.warn("%s", res.Sentence)
	}
	w.warn("%s", res.Use)
	w.result.Warnings = append(w.result.Warnings, told.Warnings...)
	return nil
}

// takeIn returns the table with curves behind it.
func takeIn(t hardware.Table, curves tone.Channels) (hardware.Table, error) {
	c := t.Contents()
	top := float64(int(1)<<c.Bits - 1)
	for i := range c.After[0] {
		s := curves.Apply(colorimetry.RGB{R: float64(c.After[0][i]) / top, G: float64(c.After[1][i]) / top, B: float64(c.After[2][i]) / top})
		for k, v := range [3]float64{s.R, s.G, s.B} {
			c.After[k][i] = uint16(math.Round(v * top))
		}
	}
	return hardware.NewTable(c)
}

// rounding fills in what the finished table loses against the one without curves,
// which nothing rounds to the path.
func (w *Walk) rounding(t hardware.Table, res *MadeTable) {
	m, back := w.result.Model, newReverse(w.result.InForce)
	white := res.Diagnostics.White
	signals := chart.Lattice(9)
	for i := range 256 {
		signals = append(signals, chart.Patch{Signal: colorimetry.Gray(float64(i) / 255)})
	}
	for _, p := range signals {
		exact := t.Apply(p.Signal)
		s, _ := back.signal(res.Table.Through(p.Signal), exact)
		e := difference.CIEDE2000(m.XYZ(exact).Lab(white), m.XYZ(s).Lab(white))
		res.TakenMean += e / float64(len(signals))
		res.TakenMax = math.Max(res.TakenMax, e)
	}
}

// tell puts the outcome into words.
func (r *MadeTable) tell(run *Result) {
	d := r.Diagnostics
	source := "the display's own primaries"
	if r.Table.Source() != "" {
		source = r.Table.Source()
	}
	r.Sentence = fmt.Sprintf("The table has %d nodes along an edge and %d bits, for %s. By the model, colours within reach come within %.2f ΔE00 of the aim in the mean and %.2f at most, greys within %.2f and %.2f; rounding with the curves taken in adds %.2f in the mean. Nothing was read through it.",
		r.Table.Nodes(), r.Table.Bits(), source, d.Chromatic.Mean, d.Chromatic.Max, d.Greys.Mean, d.Greys.Max, r.TakenMean)
	r.Use = "The table is for the display as it was read, without correction curves; the profile describes it without the table."
	if run.InForce.Len() > 0 {
		r.Use = "The table holds the correction curves: load it without them (no curves, no profile that loads them), else they are applied twice; the profile describes the display with the curves and without the table."
	}
}
