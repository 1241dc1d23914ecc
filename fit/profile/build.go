package profile

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/icc"
)

const (
	// mostGain is how far the measured white may ask a primary to be scaled: a
	// white that is further off was read in another state of the display.
	mostGain = 1.1
	// whiteWarning is the difference between measured and modelled white, and
	// blackWarning that between model's and written black, that is told as a
	// warning: what a side-by-side comparison begins to show.
	whiteWarning = 1.0
	blackWarning = 0.5
	// lossWarning is the mean loss against the model that is told as one.
	lossWarning = 0.5
)

// Build writes model down as a profile for the state of the display in which it
// was read: a matrix profile where the model is of the form that one holds (see
// fit.Separable), and a table profile otherwise, as o.Kind has it.
//
// white is the white as measured through the curves in force, absolute in
// cd/m²: chad and lumi come from it, and the model's primaries, black included,
// are scaled to add up to it. It should be the mean of many readings. curves
// are the correction curves that were in force while everything was read; they
// become the vcgt tag, and the zero Channels write none.
//
// A table profile has tables for every intent, and a matrix with curves for
// programs that read none: it has the same white, and the greys that the model
// has. Its colorimetric tables carry the measured black, whatever o.Black is,
// which is for the matrix alone; the package says what the other intents do.
// Making one takes some 60,000 colours of the model.
//
// The error says that a matrix profile was asked for and the model is not of its
// form, that the white is no light or cannot belong to the model, or which
// option is unusable. Equal input gives equal bytes.
func Build(model fit.Model, white colorimetry.XYZ, curves tone.Channels, o Options) (Result, error) {
	separable, ok := model.(fit.Separable)
	if o.Kind == KindMatrix && !ok {
		return Result{}, fmt.Errorf("profile: the model %q has no matrix and curves; a matrix profile cannot hold it: ask for a table", model.Name())
	}
	if err := check(white, o); err != nil {
		return Result{}, err
	}
	d := Diagnostics{BlackModel: model.XYZ(colorimetry.RGB{}), Relative: o.Relative}
	var p *icc.Profile
	var err error
	table := o.Kind == KindTable || !ok
	if table {
		p, err = newTable(model, white, curves, o, &d)
	} else {
		p, err = newMatrix(separable, white, curves, o, &d)
	}
	if err != nil {
		return Result{}, err
	}
	if err := addTags(p, model, white, curves, o); err != nil {
		return Result{}, err
	}
	r := Result{FileName: FileName(o.Created, o.Display, o.Mode, o.Aim)}
	if r.Bytes, err = p.Encode(); err != nil {
		return Result{}, fmt.Errorf("profile: %w", err)
	}
	if r.Profile, err = icc.Decode(r.Bytes); err != nil {
		return Result{}, fmt.Errorf("profile: the written bytes cannot be read: %w", err)
	}
	scale := 0.0 // as the profile states it
	if o.Relative {
		scale = white.Y
	}
	predict, err := PredictorAt(r.Bytes, scale)
	if err != nil {
		return Result{}, err
	}
	d.measure(model, white, predict)
	d.PrimaryDelta = primaryDelta(model, white, predict)
	if table {
		if d.GreyBend, d.HueBend, err = smoothness(r.Profile); err != nil {
			return Result{}, fmt.Errorf("profile: %w", err)
		}
		d.describeTable(o.Black)
	} else {
		d.describe(o.Black)
	}
	r.Diagnostics = d
	return r, nil
}

// check refuses a white that is no light and options that are unusable.
func check(white colorimetry.XYZ, o Options) error {
	if !white.Finite() || !(white.X > 0 && white.Y > 0 && white.Z > 0) {
		return fmt.Errorf("profile: the measured white is %v cd/m²; every component must be above 0", white)
	}
	return o.Check()
}

// Check says which option is unusable whatever the model is, as [Build] would:
// for programs that measure for an hour before they build.
func (o Options) Check() error {
	if o.Entries != 0 && (o.Entries < 2 || o.Entries > maxEntries) {
		return fmt.Errorf("profile: %d curve entries; 2 to %d are possible, 0 chooses", o.Entries, maxEntries)
	}
	if o.Kind < KindAutomatic || o.Kind > KindTable {
		return fmt.Errorf("profile: kind %d is unknown", o.Kind)
	}
	if o.Black < BlackMeasured || o.Black > BlackNeutral {
		return fmt.Errorf("profile: black option %d is unknown", o.Black)
	}
	if o.Grid != 0 && o.Grid != 9 && o.Grid != 17 && o.Grid != 33 {
		return fmt.Errorf("profile: %d nodes an edge; 9, 17 and 33 are possible, 0 chooses", o.Grid)
	}
	if o.Mapping < MappingNearest || o.Mapping > MappingToGrey {
		return fmt.Errorf("profile: mapping %d is unknown", o.Mapping)
	}
	if o.SystemCalibration && o.Relative {
		return fmt.Errorf("profile: the tag MHC2 states luminances, and those of the readings are unknown; leave SystemCalibration off")
	}
	if !(o.Knee >= 0 && o.Knee <= 1) {
		return fmt.Errorf("profile: the knee is at %g of the display's chroma; 0 to 1 are possible, 0 is %g", o.Knee, usualKnee)
	}
	return nil
}

// newMatrix returns a matrix profile of the model, and fills what is found out
// on the way.
func newMatrix(m fit.Separable, white colorimetry.XYZ, curves tone.Channels, o Options, d *Diagnostics) (*icc.Profile, error) {
	columns, offsets, err := split(m, white, o.Black, d)
	if err != nil {
		return nil, err
	}
	spec, err := newSpec(white, columns, curves, o)
	if err != nil {
		return nil, err
	}
	d.Entries = o.Entries
	if d.Entries == 0 {
		d.Entries = entries(m, offsets)
	}
	for c := range 3 {
		spec.Curves[c] = sample(m.Curve(c), offsets[c], d.Entries)
		d.CurveError = math.Max(d.CurveError, curveError(m.Curve(c), offsets[c], d.Entries))
	}
	addMeta(&spec, m, curves, o)
	p, err := icc.MatrixProfile(spec)
	if err != nil {
		return nil, fmt.Errorf("profile: %w", err)
	}
	return p, nil
}

// split returns the columns of the matrix, absolute and as the display shows
// them, and the offset of each curve. A column is a primary and the share of
// the black that the channel would leak; the columns add up to white.
func split(m fit.Separable, white colorimetry.XYZ, black Black, d *Diagnostics) (columns [3]colorimetry.XYZ, offsets [3]float64, err error) {
	p := m.Primaries()
	inv, err := p.Inverse()
	if err != nil {
		return columns, offsets, fmt.Errorf("profile: the model's primaries do not differ: %w", err)
	}
	k := inv.ToLinear(m.Black())
	share := [3]float64{k.R, k.G, k.B}
	full := p.Mul(colorimetry.Diagonal(1+k.R, 1+k.G, 1+k.B))
	inv, err = full.Inverse()
	if err != nil {
		return columns, offsets, fmt.Errorf("profile: the model's primaries do not differ: %w", err)
	}
	d.PrimaryGains = inv.ToLinear(white)
	if err := checkGains(d.PrimaryGains); err != nil {
		return columns, offsets, err
	}
	for c, g := range [3]float64{d.PrimaryGains.R, d.PrimaryGains.G, d.PrimaryGains.B} {
		columns[c] = full.Column(c).Scale(g)
	}
	switch black {
	case BlackMeasured:
		if share[0] < 0 || share[1] < 0 || share[2] < 0 {
			share = nearestMix(p, m.Black(), white)
		}
		for c := range 3 {
			offsets[c] = share[c] / (1 + share[c])
		}
	case BlackNeutral:
		v := m.Black().Y / m.White().Y
		offsets = [3]float64{v, v, v}
	}
	for c, v := range offsets {
		if !(v >= 0 && v < 1) {
			return columns, offsets, fmt.Errorf("profile: the model's black asks for offset %g of channel %d; offsets run from 0 to 1", v, c)
		}
	}
	return columns, offsets, nil
}

// measure fills in what the bytes lose against the model.
func (d *Diagnostics) measure(m fit.Model, white colorimetry.XYZ, predict func(colorimetry.RGB) colorimetry.XYZ) {
	delta := func(a, b colorimetry.XYZ) float64 { return difference.CIEDE2000(a.Lab(white), b.Lab(white)) }
	d.BlackWritten = predict(colorimetry.RGB{})
	d.BlackDelta = delta(d.BlackModel, d.BlackWritten)
	d.WhiteDelta = delta(m.XYZ(colorimetry.Gray(1)), white)
	const steps = 8
	loss := func(s colorimetry.RGB) {
		e := delta(m.XYZ(s), predict(s))
		d.LossMean += e
		d.LossMax = math.Max(d.LossMax, e)
		d.LossCount++
	}
	for r := range steps + 1 {
		for g := range steps + 1 {
			for b := range steps + 1 {
				loss(colorimetry.RGB{R: float64(r) / steps, G: float64(g) / steps, B: float64(b) / steps})
			}
		}
	}
	for i := range 256 {
		loss(colorimetry.Gray(float64(i) / 255))
	}
	d.LossMean /= float64(d.LossCount)
}

// primaryDelta returns the largest difference between the bytes and the model at
// the six corners of the cube that are neither black nor white.
func primaryDelta(m fit.Model, white colorimetry.XYZ, predict func(colorimetry.RGB) colorimetry.XYZ) float64 {
	var most float64
	for k := 1; k < 7; k++ {
		s := colorimetry.RGB{R: float64(k & 1), G: float64(k >> 1 & 1), B: float64(k >> 2)}
		most = math.Max(most, difference.CIEDE2000(m.XYZ(s).Lab(white), predict(s).Lab(white)))
	}
	return most
}

// describe puts the treatment of the black, and what is worth a warning, into
// sentences.
func (d *Diagnostics) describe(black Black) {
	written := fmt.Sprintf("black at %.4f cd/m², %.2f ΔE00 from the model's", d.BlackWritten.Y, d.BlackDelta)
	switch black {
	case BlackMeasured:
		d.Black = "The measured black is split over the three curves: " + written + "."
		if d.BlackDelta > blackWarning {
			d.Black = "The primaries cannot mix the measured black; the nearest that they can is split over the three curves: " + written + "."
		}
	case BlackZero:
		d.Black = "The curves begin at zero and leave the black to the program that shows the picture: " + written + "."
	case BlackNeutral:
		d.Black = "The black's luminance is written in the colour of the white: " + written + "."
	}
	if black == BlackMeasured && d.BlackDelta > blackWarning {
		d.Warnings = append(d.Warnings, fmt.Sprintf("The display's black is no mixture of its primaries: the profile misses it by %.2f ΔE00. Tables (KindTable) hold it.", d.BlackDelta))
	}
	d.warnWhite()
	if black == BlackMeasured && d.LossMean > lossWarning {
		d.Warnings = append(d.Warnings, fmt.Sprintf("The matrix profile loses %.2f ΔE00 in the mean against the model; tables (KindTable) lose less.", d.LossMean))
	}
}

func (d *Diagnostics) warnWhite() {
	if d.WhiteDelta > whiteWarning {
		d.Warnings = append(d.Warnings, fmt.Sprintf("The measured white lies %.2f ΔE00 from the white that the readings lead to; measure both again in one state.", d.WhiteDelta))
	}
}

const (
	// Where a matrix alone loses no more than this in the mean and at most, no
	// one sees what tables are better at.
	plainMean = 0.2
	plainMost = 1.0
	// clipWarning is the loss by the connection space that is told as a warning.
	clipWarning = 0.3
)

// describeTable is describe for table profiles.
func (d *Diagnostics) describeTable(black Black) {
	d.Black = fmt.Sprintf("The colorimetric tables carry the measured black: black at %.4f cd/m², %.2f ΔE00 from the model's.", d.BlackWritten.Y, d.BlackDelta)
	switch black {
	case BlackZero:
		d.Black += " Only the matrix beside them begins at zero."
	case BlackNeutral:
		d.Black += " Only the matrix beside them holds it in the colour of the white."
	}
	d.Choice = fmt.Sprintf("The matrix alone, which programs without tables use, loses %.2f ΔE00 in the mean and %.2f at most: tables are needed.", d.MatrixMean, d.MatrixMax)
	if d.MatrixMean <= plainMean && d.MatrixMax <= plainMost {
		d.Choice = fmt.Sprintf("A matrix alone would lose %.2f ΔE00 in the mean and %.2f at most: KindMatrix would do, and every program reads it.", d.MatrixMean, d.MatrixMax)
	}
	d.warnWhite()
	if d.ClipMax > clipWarning {
		d.Warnings = append(d.Warnings, fmt.Sprintf("Adapted to D50 some colours have a negative X, Y or Z, which no table of XYZ holds: they are missed by up to %.2f ΔE00.", d.ClipMax))
	}
	if d.LossMean > lossWarning {
		d.Warnings = append(d.Warnings, fmt.Sprintf("The tables lose %.2f ΔE00 in the mean against the model.", d.LossMean))
	}
	if d.RoundMean > lossWarning {
		d.Warnings = append(d.Warnings, fmt.Sprintf("Colours come back from the tables with a mean difference of %.2f ΔE00.", d.RoundMean))
	}
}
