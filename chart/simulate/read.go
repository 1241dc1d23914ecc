package simulate

import (
	"fmt"
	"io"
	"math"

	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// Bounds of what a table may describe.
const (
	widestStepNM = 10.0  // coarser tables miss the peaks of a panel
	firstNM      = 420.0 // a table that begins above or ends below
	lastNM       = 680.0 // these lacks light that counts
	noiseShare   = 0.01  // readings this far below 0, of the peak, are noise
	leastWhite   = 1.0   // cd/m²; outside these the unit
	mostWhite    = 2e4   // is another than W/(sr m² nm)
	smallFall    = 0.002 // of full light: a fall that reading noise explains
)

// ReadSpec reads the figures of a display from two CSV tables.
//
// The table of spectra has the columns wavelength_nm, R, G and B: spectral
// radiance of each primary at full drive in W/(sr m² nm), from 420 nm or below
// to 680 nm or above, in steps of at most 10 nm. Values below 0 are kept where
// they are noise, down to 1 % of the peak.
//
// The table of tones has the columns input_level (or level, or signal), R, G
// and B: the level from 0 to the highest code, 255 or 1023 or 1, by which it
// is divided, and the light of each channel in any unit, divided by the last
// value. Light at level 0 is the channel's leak. Falls of at most 0.2 % of
// full light are levelled.
//
// Where the rows of a channel were filled by straight lines between few
// measured levels, to six decimals, the levels are found and the tone is a
// monotone curve through them; otherwise it is one through all rows.
// Spec.Notes says which, and what was levelled.
//
// Columns may stand in any order, others are passed over, and so are lines
// that begin with #. A file is named in errors by its Name method where it has
// one, as an *os.File does. An error about a table is a *chart.InputError that
// names the file, the line and the remedy; others are those of reading.
func ReadSpec(spectraCSV, tonesCSV io.Reader, name string) (Spec, error) {
	s := Spec{Name: name, Mode: "native", Origin: "measured spectra and tones, given as tables"}
	spectra, err := readSheet(spectraCSV, "the table of spectra", "wavelength_nm")
	if err != nil {
		return Spec{}, err
	}
	if s.Primaries, err = primaries(spectra); err != nil {
		return Spec{}, err
	}
	tones, err := readSheet(tonesCSV, "the table of tones", "input_level", "level", "signal")
	if err != nil {
		return Spec{}, err
	}
	levels, err := signals(tones)
	if err != nil {
		return Spec{}, err
	}
	for c := range s.Tones {
		curve, notes, err := channelTone(tones, levels, c)
		if err != nil {
			return Spec{}, err
		}
		s.Tones[c] = curve
		s.Notes = append(s.Notes, notes...)
	}
	return s.complete()
}

// primaries returns the spectra of a table whose light is plausible.
func primaries(t *sheet) (p [3]spectrum.Spectrum, err error) {
	first, last := t.rows[0], t.rows[len(t.rows)-1]
	if first.key > firstNM || last.key < lastNM || first.key < 200 || last.key > 2500 {
		return p, t.problem(first.line, "give wavelengths in nm from 420 or below to 680 or above, 380 to 780 is usual",
			"the wavelengths run from %g to %g nm", first.key, last.key)
	}
	nm := make([]float64, len(t.rows))
	for i, r := range t.rows {
		nm[i] = r.key
		if i > 0 && nm[i]-nm[i-1] > widestStepNM {
			return p, t.problem(r.line, "give the spectra in steps of 10 nm or finer", "a step of %g nm", nm[i]-nm[i-1])
		}
	}
	cie := spectrum.CIE1931()
	white := 0.0
	for c := range p {
		v := make([]float64, len(t.rows))
		peak := 0.0
		for i, r := range t.rows {
			v[i] = r.values[c]
			peak = math.Max(peak, v[i])
		}
		for i, r := range t.rows {
			if v[i] < -noiseShare*peak {
				return p, t.problem(r.line, "subtract the dark reading anew or set what is noise to 0",
					"the spectral radiance of %s is %g; more than 1 %% of its peak below 0", channelNames[c], v[i])
			}
		}
		if p[c], err = spectrum.New(nm, v); err != nil {
			return p, t.problem(0, "give wavelengths in nm and finite values", "%v", err)
		}
		light := cie.Emission(p[c]).Y
		if !(light > 0) {
			return p, t.problem(0, "give the spectrum of the primary at full drive", "%s gives no light", channelNames[c])
		}
		white += light
	}
	if !(white >= leastWhite && white <= mostWhite) {
		return p, t.problem(0, "give spectral radiance in W/(sr m² nm)", "the three primaries together give %.3g cd/m², which no display does", white)
	}
	return p, nil
}

// signals returns the levels of a table divided by the last.
func signals(t *sheet) ([]float64, error) {
	if first := t.rows[0]; first.key != 0 {
		return nil, t.problem(first.line, "begin with level 0, the display's black", "the first %s is %g", t.key, first.key)
	}
	last := t.rows[len(t.rows)-1].key
	out := make([]float64, len(t.rows))
	for i, r := range t.rows {
		out[i] = r.key / last
		if i > 0 && out[i] <= out[i-1] {
			return nil, t.problem(r.line, "give levels that can be told apart", "%s %g is too close to the one before it", t.key, r.key)
		}
	}
	return out, nil
}

// channelTone returns the tone of channel c and what was done to its figures.
func channelTone(t *sheet, levels []float64, c int) (tone.Curve, []string, error) {
	light := make([]float64, len(t.rows))
	last := t.rows[len(t.rows)-1]
	full := last.values[c]
	if !(full > 0) {
		return nil, nil, t.problem(last.line, "end with the light at the highest level", "%s is %g at the last level", channelNames[c], full)
	}
	highest := 0.0
	for i, r := range t.rows {
		light[i] = r.values[c] / full
		if r.values[c] < 0 || math.IsInf(light[i], 0) {
			return nil, nil, t.problem(r.line, "subtract the dark reading anew or set what is noise to 0", "the light of %s is %g", channelNames[c], r.values[c])
		}
		if highest-light[i] > smallFall {
			return nil, nil, t.problem(r.line, "measure the levels again in one state of the display, the last one at full drive",
				"the light of %s falls from %.4g to %.4g of full", channelNames[c], highest, light[i])
		}
		highest = math.Max(highest, light[i])
	}
	if light[0] >= 0.5 {
		return nil, nil, t.problem(t.rows[0].line, "give the light at each level, not its inverse or a logarithm", "%s has %.3g of its full light at level 0", channelNames[c], light[0])
	}
	var notes []string
	if n := level(light); n > 0 {
		notes = append(notes, fmt.Sprintf("%s: %d rows that fell by at most %g of full light were levelled", channelNames[c], n, smallFall))
		end := light[len(light)-1]
		for i := range light {
			light[i] /= end
		}
	}
	how := "all %d rows"
	if x, y, ok := measuredLevels(levels, light); ok {
		levels, light, how = x, y, "the %d levels between which its table runs straight"
	}
	notes = append(notes, fmt.Sprintf("%s: tone is a monotone curve through "+how, channelNames[c], len(levels)))
	curve, err := tone.NewSampled(levels, light)
	if err != nil {
		return nil, nil, t.problem(0, "give levels and light that increase", "%v", err)
	}
	return curve, notes, nil
}

// level replaces every stretch of v that falls by its mean, so that v never
// falls and no other such sequence is closer to it in the sense of least
// squares, and returns how many values changed.
func level(v []float64) (changed int) {
	type stretch struct {
		mean float64
		n    int
	}
	var done []stretch
	for _, x := range v {
		done = append(done, stretch{x, 1})
		for k := len(done) - 1; k > 0 && done[k-1].mean > done[k].mean; k-- {
			a, b := done[k-1], done[k]
			n := a.n + b.n
			done[k-1] = stretch{(a.mean*float64(a.n) + b.mean*float64(b.n)) / float64(n), n}
			done = done[:k]
		}
	}
	i := 0
	for _, s := range done {
		for range s.n {
			if v[i] != s.mean {
				changed++
			}
			v[i] = s.mean
			i++
		}
	}
	return changed
}
