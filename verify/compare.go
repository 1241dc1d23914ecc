package verify

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"

	"example.org/primaries/chart/measure"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/difference"
)

// pair is one patch: what was predicted and what was read.
type pair struct {
	id        string
	signal    colorimetry.RGB
	want, got colorimetry.XYZ    // absolute, cd/m²
	root      colorimetry.Matrix // root·rootᵀ is the covariance of got
	common    Common
	repeats   int
}

// comparison is a set of pairs and the whites they are put under.
type comparison struct {
	pairs     []pair
	wantWhite colorimetry.XYZ // predicted for signal 1, 1, 1
	noisy     bool            // the readings state their noise
	causes    Causes
	common    bool   // the readings have an error in common
	other     string // what the side beside the prediction is called

	// The white as measured, once findWhite was called.
	gotWhite     colorimetry.XYZ
	whiteRoot    colorimetry.Matrix // where it is a reading apart
	whiteCommon  Common             // and so is this
	whiteOwn     []int              // where it is the mean of these pairs
	whiteRepeats int
}

// compare pairs readings with predictions.
func compare(predict Predict, readings []measure.Reading, o Options) (*comparison, error) {
	if len(readings) == 0 {
		return nil, fmt.Errorf("verify: there is no reading to judge by")
	}
	c := &comparison{wantWhite: predict(colorimetry.Gray(1)), other: "measured"}
	if w := c.wantWhite; !w.Finite() || w.X <= 0 || w.Y <= 0 || w.Z <= 0 {
		return nil, fmt.Errorf("verify: the white predicted for signal 1, 1, 1 is %.4g, %.4g, %.4g; every component must be above 0", w.X, w.Y, w.Z)
	}
	var err error
	if c.causes, err = CausesOf(o.Correction); err != nil {
		return nil, err
	}
	top := 0.0
	for _, r := range readings {
		top = max(top, r.XYZ.Y)
	}
	c.noisy = true
	for i, r := range readings {
		if !r.XYZ.Finite() {
			return nil, fmt.Errorf("verify: reading %d (%s) is not a number", i, name(r))
		}
		p := pair{id: name(r), signal: r.Patch.Signal, want: predict(r.Patch.Signal), got: r.XYZ, repeats: max(1, len(r.Repeats))}
		if !p.want.Finite() {
			return nil, fmt.Errorf("verify: the prediction for reading %d (%s) is not a number", i, p.id)
		}
		if p.root, err = root(r.Covariance); err != nil {
			return nil, fmt.Errorf("verify: reading %d (%s): %w", i, p.id, err)
		}
		if p.common, err = c.causes.Of(r); err != nil {
			return nil, fmt.Errorf("verify: reading %d (%s): %w", i, p.id, err)
		}
		c.common = c.common || p.common != (Common{})
		// Near black a noise that is stated as a share of the light is nil,
		// and still known.
		if r.Covariance == (colorimetry.Matrix{}) && r.XYZ.Y > 0.01*top {
			c.noisy = false
		}
		c.pairs = append(c.pairs, p)
	}
	return c, nil
}

// findWhite settles the white as measured.
func (c *comparison) findWhite(o Options) error {
	if o.White != nil {
		w := *o.White
		var err error
		if c.whiteRoot, err = root(w.Covariance); err != nil {
			return fmt.Errorf("verify: reading of white: %w", err)
		}
		if c.whiteCommon, err = c.causes.Of(w); err != nil {
			return fmt.Errorf("verify: reading of white: %w", err)
		}
		c.gotWhite, c.whiteRepeats = w.XYZ, max(1, len(w.Repeats))
	} else {
		for i, p := range c.pairs {
			if p.signal == colorimetry.Gray(1) {
				c.gotWhite = c.gotWhite.Add(p.got)
				c.whiteRepeats += p.repeats
				c.whiteOwn = append(c.whiteOwn, i)
			}
		}
		if len(c.whiteOwn) == 0 {
			return ErrNoWhite
		}
		c.gotWhite = c.gotWhite.Scale(1 / float64(len(c.whiteOwn)))
	}
	if w := c.gotWhite; !w.Finite() || w.X <= 0 || w.Y <= 0 || w.Z <= 0 {
		return fmt.Errorf("verify: the white as measured is %.4g, %.4g, %.4g; every component must be above 0: read the signal 1, 1, 1 again", w.X, w.Y, w.Z)
	}
	return nil
}

// root returns a matrix r with r·rᵀ = cov.
func root(cov colorimetry.Matrix) (colorimetry.Matrix, error) {
	if cov == (colorimetry.Matrix{}) {
		return cov, nil
	}
	s := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			s.SetSym(i, j, (cov[i][j]+cov[j][i])/2)
		}
	}
	v, scale, err := eigen(s)
	if err != nil {
		return colorimetry.Matrix{}, err
	}
	var r colorimetry.Matrix
	for j := range 3 {
		for i := range 3 {
			r[i][j] = v.At(i, j) * scale[j]
		}
	}
	return r, nil
}

// accuracy fills in an Accuracy: the figures, their strata and their noise.
func (c *comparison) accuracy(reference string, o Options) Accuracy {
	gotWhite := c.wantWhite
	a := Accuracy{Reference: reference, Basis: AsRead, White: fmt.Sprintf("both sides %s", words(c.wantWhite))}
	if reference == Relative {
		gotWhite = c.gotWhite
		a.White = fmt.Sprintf("each side its own: predicted %s, %s %s", words(c.wantWhite), c.other, words(gotWhite))
		a.WhiteAverages = c.whiteRepeats
	}
	values := make([]float64, len(c.pairs))
	var repeats []int
	a.Patches = make([]Error, len(c.pairs))
	for i, p := range c.pairs {
		e := Error{ID: p.id, Signal: p.signal, Want: p.want.Lab(c.wantWhite), Got: p.got.Lab(gotWhite)}
		e.DeltaE2000 = difference.CIEDE2000(e.Want, e.Got)
		values[i], a.Patches[i] = e.DeltaE2000, e
		if p.signal != colorimetry.Gray(1) {
			repeats = append(repeats, p.repeats)
		}
	}
	a.DeltaE2000 = summariseNamed(values, a.Patches)
	if len(repeats) == 0 { // white alone
		repeats = append(repeats, c.pairs[0].repeats)
	}
	slices.Sort(repeats)
	a.Averages = repeats[(len(repeats)-1)/2]
	strata := sortIntoStrata(a.Patches)
	n := c.simulate(reference, gotWhite, a.Patches, strata, o)
	a.NoiseFloor, a.Spread = n.floor, n.spread
	a.Systematic = n.floor.Known && (c.common || reference == Absolute && o.Shared != measure.Noise{})
	for k, s := range strata {
		part := make([]float64, len(s.members))
		patches := make([]Error, len(s.members))
		for j, i := range s.members {
			part[j], patches[j] = values[i], a.Patches[i]
		}
		a.Strata = append(a.Strata, Stratum{Name: s.name, DeltaE2000: summariseNamed(part, patches), NoiseFloor: n.strata[k]})
	}
	return a
}

// summariseNamed is Summarise, with the worst patch named.
func summariseNamed(values []float64, patches []Error) Statistics {
	s := Summarise(values)
	for i, v := range values {
		if v == s.Max {
			s.Worst = patches[i].ID
			break
		}
	}
	return s
}

// words prints a white for people.
func words(w colorimetry.XYZ) string {
	c := w.Chromaticity()
	return fmt.Sprintf("x %.4f, y %.4f, %.4g cd/m²", c.X, c.Y, w.Y)
}
