package simulate

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"time"
	"unicode/utf8"

	"example.org/primaries/chart/keep"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// Limits of a display's file.
const (
	savedKind    = "simulated display" // tells it from the library's other files
	savedVersion = 1
	// maxSaved holds four spectra at 0.1 nm and three tones of 16 bits.
	maxSaved = 16 << 20
	maxText  = 1024 // bytes of a name, an origin or a note
	maxNotes = 64
)

// savedSpec is a Spec as it is kept. What is absent is zero.
type savedSpec struct {
	Kind        string         `json:"kind"`
	Version     int            `json:"version"`
	Name        string         `json:"name"`
	Mode        string         `json:"mode,omitempty"`
	SelfLit     bool           `json:"self_luminous,omitempty"`
	Origin      string         `json:"origin,omitempty"`
	Notes       []string       `json:"notes,omitempty"`
	Primaries   savedSpectra   `json:"primaries"`
	Tones       savedTones     `json:"tones"`
	Dispersion  *savedThree    `json:"dispersion,omitempty"`
	Coupling    *savedMatrix   `json:"coupling,omitempty"`
	Supply      *savedSupply   `json:"supply,omitempty"`
	White       *savedWhite    `json:"white_subpixel,omitempty"`
	Dimming     *savedDimming  `json:"dimming,omitempty"`
	Drift       *savedDrift    `json:"drift,omitempty"`
	Field       *savedField    `json:"field,omitempty"`
	Flicker     *savedFlicker  `json:"flicker,omitempty"`
	Settling    *savedSettling `json:"settling,omitempty"`
	Reflectance float64        `json:"reflectance,omitempty"`
	Modes       []savedMode    `json:"modes,omitempty"`
	WarmUp      *savedWarmUp   `json:"warm_up,omitempty"`
	Brightness  *savedControl  `json:"brightness,omitempty"`
	Gain        *savedControl  `json:"gain,omitempty"`
	Offset      *savedOffset   `json:"offset,omitempty"`
}

// savedThree is a figure a channel.
type savedThree struct {
	Red   float64 `json:"red"`
	Green float64 `json:"green"`
	Blue  float64 `json:"blue"`
}

// savedMatrix has the rows of a matrix by the channel that they make.
type savedMatrix struct {
	Red   savedThree `json:"red"`
	Green savedThree `json:"green"`
	Blue  savedThree `json:"blue"`
}

type savedSpectrum struct {
	NM     []float64 `json:"wavelength_nm"`
	Values []float64 `json:"radiance_w_per_sr_m2_nm"`
}

type savedSpectra struct {
	Red   savedSpectrum `json:"red"`
	Green savedSpectrum `json:"green"`
	Blue  savedSpectrum `json:"blue"`
}

// savedTones names the tones as tone.Parse reads them.
type savedTones struct {
	Red   string `json:"red"`
	Green string `json:"green"`
	Blue  string `json:"blue"`
}

type savedSupply struct {
	Sag         float64    `json:"sag"`
	Currents    savedThree `json:"currents"`
	Sensitivity savedThree `json:"sensitivity"`
}

type savedWhite struct {
	Light   savedSpectrum `json:"light"`
	Share   float64       `json:"share"`
	Relief  float64       `json:"relief"`
	Current float64       `json:"current"`
}

type savedDimming struct {
	From     float64 `json:"from"`
	Exponent float64 `json:"exponent"`
}

type savedDrift struct {
	Amount savedThree `json:"amount"`
	Time   savedTime  `json:"time"`
	Wave   savedThree `json:"wave"`
	Period savedTime  `json:"period"`
}

type savedField struct {
	Fall   savedThree `json:"fall"`
	Across savedThree `json:"across"`
	Down   savedThree `json:"down"`
}

type savedFlicker struct {
	Hz    float64 `json:"hz"`
	Depth float64 `json:"depth"`
	Duty  float64 `json:"duty"`
}

type savedSettling struct {
	Rise savedTime `json:"rise"`
	Fall savedTime `json:"fall"`
}

type savedMode struct {
	Name string      `json:"name"`
	Tone string      `json:"tone"`
	Mix  savedMatrix `json:"mix"`
}

type savedWarmUp struct {
	Missing savedThree `json:"missing"`
	Decay   savedTime  `json:"decay"`
}

type savedControl struct {
	Lowest   float64 `json:"lowest"`
	Exponent float64 `json:"exponent"`
	Hold     int     `json:"hold,omitempty"`
}

type savedOffset struct {
	Common   float64 `json:"common,omitempty"`
	Each     float64 `json:"each,omitempty"`
	Headroom float64 `json:"headroom,omitempty"`
}

// savedTime is a duration as text, for instance "4m0s".
type savedTime time.Duration

func (d savedTime) MarshalText() ([]byte, error) { return []byte(time.Duration(d).String()), nil }

func (d *savedTime) UnmarshalText(b []byte) error {
	v, err := time.ParseDuration(string(b))
	if err != nil {
		return fmt.Errorf("%.40q is no time such as \"4m\" or \"1h30m\"", b)
	}
	*d = savedTime(v)
	return nil
}

// ReadJSON reads a display that [Spec.WriteJSON] wrote, or that somebody wrote
// by hand: the form of the file is that of the fields of [Spec], figures by
// channel, spectra as two lists, tones as [tone.Parse] reads them, times such as
// "4m0s"; what is absent is 0. At most 16 MiB are read.
//
// Anything else is an error: another kind or version, a field that is unknown
// or there twice (a *[keep.JSONError] names it and its line), a figure out of
// the range that Spec states, a spectrum without light.
func ReadJSON(r io.Reader) (Spec, error) {
	var f savedSpec
	if err := keep.StrictJSON(r, &f, maxSaved); err != nil {
		return Spec{}, fmt.Errorf("simulate: %w; mend the file, or save the display anew", err)
	}
	if f.Kind != savedKind {
		return Spec{}, fmt.Errorf("simulate: the file's kind is %.40q, not %q; give a file that was written as a display", f.Kind, savedKind)
	}
	if f.Version != savedVersion {
		return Spec{}, fmt.Errorf("simulate: the display has version %d; this build reads version %d", f.Version, savedVersion)
	}
	s, err := f.spec()
	if err != nil {
		return Spec{}, err
	}
	if err := s.checkTexts(); err != nil {
		return Spec{}, err
	}
	d, err := New(s, Options{})
	if err != nil {
		return Spec{}, err
	}
	return d.Spec(), nil
}

// WriteJSON writes s, its defaults filled in, as [ReadJSON] reads it. It is an
// error if s is no display that [New] would switch on, if a tone is none that
// [tone.Parse] reads, if a name, the origin or a note has more than 1024 bytes
// or there are more than 64 notes, or w's own.
func (s Spec) WriteJSON(w io.Writer) error {
	d, err := New(s, Options{})
	if err != nil {
		return err
	}
	if err := s.checkTexts(); err != nil {
		return err
	}
	f, err := save(d.Spec())
	if err != nil {
		return err
	}
	b, err := json.MarshalIndent(f, "", "  ")
	if err != nil {
		return fmt.Errorf("simulate: cannot write the display: %w", err)
	}
	_, err = w.Write(append(oneLineLists(b), '\n'))
	return err
}

// oneLineLists takes the white space out of lists of numbers in indented JSON.
func oneLineLists(b []byte) []byte {
	var out bytes.Buffer
	for len(b) > 0 {
		i := bytes.IndexAny(b, `["`)
		if i < 0 {
			break
		}
		out.Write(b[:i])
		b = b[i:]
		end := 1
		if b[0] == '"' {
			for b[end] != '"' {
				if b[end] == '\\' {
					end++
				}
				end++
			}
			end++
			out.Write(b[:end])
		} else if n := bytes.IndexAny(b[1:], `[]{}"`); b[1+n] == ']' {
			end = n + 2
			out.Write(bytes.ReplaceAll(bytes.Join(bytes.Fields(b[:end]), nil), []byte(","), []byte(", ")))
		} else {
			out.WriteByte('[')
		}
		b = b[end:]
	}
	out.Write(b)
	return out.Bytes()
}

// checkTexts bounds what is written in words, which must come back as it was.
func (s *Spec) checkTexts() error {
	if len(s.Notes) > maxNotes {
		return fmt.Errorf("simulate: the display has %d notes; at most %d are kept", len(s.Notes), maxNotes)
	}
	texts := append([]string{s.Name, s.Mode, s.Origin}, s.Notes...)
	for _, m := range s.Modes {
		texts = append(texts, m.Name)
	}
	for _, t := range texts {
		if len(t) > maxText || !utf8.ValidString(t) {
			return fmt.Errorf("simulate: %.40q is no text of at most %d bytes", t, maxText)
		}
	}
	return nil
}

func three(v [3]float64) savedThree      { return savedThree{v[0], v[1], v[2]} }
func (v savedThree) array() [3]float64   { return [3]float64{v.Red, v.Green, v.Blue} }
func matrix(m [3][3]float64) savedMatrix { return savedMatrix{three(m[0]), three(m[1]), three(m[2])} }
func (m savedMatrix) array() [3][3]float64 {
	return [3][3]float64{m.Red.array(), m.Green.array(), m.Blue.array()}
}

func (s savedSpectrum) spectrum(of string) (spectrum.Spectrum, error) {
	v, err := spectrum.New(s.NM, s.Values)
	if err != nil {
		return v, fmt.Errorf("simulate: the spectrum of %s: %w", of, err)
	}
	return v, nil
}

func spectrumOf(s spectrum.Spectrum) savedSpectrum {
	nm, v := s.Samples()
	return savedSpectrum{nm, v}
}

// toneText returns the text of a curve, if reading it gives the curve again.
func toneText(of string, c tone.Curve) (string, error) {
	text := c.String()
	again, err := tone.Parse(text)
	if err != nil {
		return "", fmt.Errorf("simulate: the tone of %s, %.40q, cannot be saved: %w", of, text, err)
	}
	const steps = 256
	for i := range steps + 1 {
		v := float64(i) / steps
		if math.Abs(again.Light(v)-c.Light(v)) > 1e-12 {
			return "", fmt.Errorf("simulate: the tone of %s, %.40q, is another when it is read again; sample it first (tone.NewSampled)", of, text)
		}
	}
	return text, nil
}

func parseTone(of, text string) (tone.Curve, error) {
	c, err := tone.Parse(text)
	if err != nil {
		return nil, fmt.Errorf("simulate: the tone of %s: %w", of, err)
	}
	return c, nil
}

func (m savedMode) mode() (Mode, error) {
	c, err := parseTone("the gamut mode "+m.Name, m.Tone)
	return Mode{Name: m.Name, Tone: c, Mix: colorimetry.Matrix(m.Mix.array())}, err
}
