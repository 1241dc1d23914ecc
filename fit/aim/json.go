package aim

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"example.org/primaries/chart/keep"
	"example.org/primaries/colorimetry"
)

// formatVersion is the version of a saved aim that Write writes. Read reads it
// and those before it: version 1 had white, luminance, tone, black_policy and
// black_cd_m2 alone.
const formatVersion = 2

// maxFile bounds a saved aim in bytes: a sampled tone of 4096 points fits.
const maxFile = 256 << 10

// saved is an aim as it is kept.
type saved struct {
	Kind      string        `json:"kind"`
	Version   int           `json:"version"`
	Start     string        `json:"start,omitempty"`
	White     string        `json:"white"`
	WhiteXY   *savedXY      `json:"white_xy,omitempty"`
	Matched   *savedMatch   `json:"white_matched,omitempty"`
	Luminance quantity      `json:"luminance_cd_m2"`
	Print     *savedPrint   `json:"print,omitempty"`
	Tone      string        `json:"tone"`
	Policy    string        `json:"black_policy"`
	Black     quantity      `json:"black_cd_m2"`
	Ratio     float64       `json:"black_ratio,omitempty"`
	Ambient   *savedAmbient `json:"ambient,omitempty"`
}

type savedXY struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
}

type savedMatch struct {
	By   string `json:"by"`
	When string `json:"when"`
}

type savedPrint struct {
	Reflectance float64 `json:"reflectance,omitempty"`
	Lux         float64 `json:"lux,omitempty"`
	PaperCdM2   float64 `json:"paper_cd_m2,omitempty"`
}

type savedAmbient struct {
	Source string  `json:"source"`
	CdM2   float64 `json:"cd_m2"`
}

// savedKind tells an aim from the library's other files.
const savedKind = "display aim"

// quantity is a number, or "native" for 0.
type quantity float64

func (q quantity) MarshalJSON() ([]byte, error) {
	if q == 0 {
		return []byte(`"native"`), nil
	}
	return json.Marshal(float64(q))
}

func (q *quantity) UnmarshalJSON(b []byte) error {
	if string(b) == `"native"` {
		*q = 0
		return nil
	}
	var v float64
	if err := json.Unmarshal(b, &v); err != nil {
		return fmt.Errorf(`%s is neither a number nor "native"`, b)
	}
	*q = quantity(v)
	return nil
}

// MarshalJSON writes a in its saved form. The tone must be one that ParseTone
// reads, and every figure within the limits of its field.
func (a Aim) MarshalJSON() ([]byte, error) {
	s := saved{
		Kind: savedKind, Version: formatVersion, Start: a.Start, White: a.White.String(),
		Luminance: quantity(a.Luminance), Tone: a.Curve().String(), Policy: a.Black.String(),
		Black: quantity(a.BlackCdM2), Ratio: a.BlackRatio,
	}
	if !a.White.IsNative() {
		s.WhiteXY = &savedXY{a.White.At.X, a.White.At.Y}
	}
	if a.White.By != "" || a.White.When != "" {
		s.Matched = &savedMatch{a.White.By, a.White.When}
	}
	if a.Print.given() {
		s.Print = &savedPrint{a.Print.Reflectance, a.Print.Lux, a.Print.PaperCdM2}
	}
	if a.Ambient != (Ambient{}) {
		s.Ambient = &savedAmbient{a.Ambient.Source.String(), a.Ambient.CdM2}
	}
	if _, err := s.aim(); err != nil {
		return nil, fmt.Errorf("aim: this aim cannot be saved: %s", strings.TrimPrefix(err.Error(), "aim: "))
	}
	return json.Marshal(s)
}

// UnmarshalJSON reads the saved form, as strictly as Read.
func (a *Aim) UnmarshalJSON(b []byte) error {
	got, err := Read(bytes.NewReader(b))
	if err == nil {
		*a = got
	}
	return err
}

// Write writes a to w as JSON that Read reads.
func (a Aim) Write(w io.Writer) error {
	b, err := json.MarshalIndent(a, "", "  ")
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

// Read reads an aim that Write wrote, in this version or an older one.
// Anything else is an error: an unknown field, another version, a value out of
// range.
func Read(r io.Reader) (Aim, error) {
	var s saved
	if err := keep.StrictJSON(r, &s, maxFile); err != nil {
		return Aim{}, fmt.Errorf("aim: %w; mend it, or save the aim anew", err)
	}
	return s.aim()
}

func (s saved) aim() (Aim, error) {
	if s.Kind != savedKind {
		return Aim{}, fmt.Errorf("aim: the file's kind is %q, not %q; give a file that was written as an aim", s.Kind, savedKind)
	}
	if s.Version < 1 || s.Version > formatVersion {
		return Aim{}, fmt.Errorf("aim: the file has version %d; this build reads versions 1 to %d", s.Version, formatVersion)
	}
	if s.Version == 1 && (s.Start != "" || s.WhiteXY != nil || s.Matched != nil || s.Print != nil || s.Ratio != 0 || s.Ambient != nil) {
		return Aim{}, fmt.Errorf("aim: the file says version 1, which has no start, white_xy, white_matched, print, black_ratio or ambient; write version %d", formatVersion)
	}
	a := Aim{Start: s.Start, Luminance: float64(s.Luminance), BlackCdM2: float64(s.Black), BlackRatio: s.Ratio}
	for _, part := range []func(*Aim) error{s.readWhite, s.readTone, s.readLight} {
		if err := part(&a); err != nil {
			return Aim{}, err
		}
	}
	return a, a.checkLight()
}

// readWhite reads the white: its name must mean the chromaticity beside it.
func (s saved) readWhite(a *Aim) error {
	words := s.White
	if s.Matched != nil {
		words += " of " + s.Matched.By + ", " + s.Matched.When
	}
	w, err := ParseWhite(words)
	if err != nil {
		return err
	}
	if s.Matched != nil && (w.By != s.Matched.By || w.When != s.Matched.When) {
		return fmt.Errorf("aim: white_matched stands beside the white %q, which nobody matched by eye", s.White)
	}
	if s.WhiteXY != nil {
		at := colorimetry.Chromaticity(*s.WhiteXY)
		if w.IsNative() || math.Abs(at.X-w.At.X) > nameSlack || math.Abs(at.Y-w.At.Y) > nameSlack {
			return fmt.Errorf("aim: white_xy is %g,%g, but the white is %q; make them agree, or leave white_xy out", at.X, at.Y, s.White)
		}
		w.At = at
	}
	if w.Name != "" {
		w.Name = s.White
	}
	a.White = w
	return w.check()
}

// nameSlack is how far a white that was measured may lie from its name, which
// has four decimals.
const nameSlack = 0.51e-4

func (s saved) readTone(a *Aim) (err error) {
	if a.Tone, err = ParseTone(s.Tone); err != nil {
		return fmt.Errorf("aim: %w", err)
	}
	a.Black, err = ParsePolicy(s.Policy)
	return err
}

func (s saved) readLight(a *Aim) error {
	if s.Print != nil {
		a.Print = Print{s.Print.Reflectance, s.Print.Lux, s.Print.PaperCdM2}
		if _, err := a.Print.Luminance(); err != nil {
			return err
		}
	}
	if s.Ambient != nil {
		switch s.Ambient.Source {
		case "measured":
			a.Ambient.Source = AmbientMeasured
		case "estimated":
			a.Ambient.Source = AmbientEstimated
		default:
			return fmt.Errorf(`aim: the source of the ambient light is %q; give measured or estimated`, s.Ambient.Source)
		}
		a.Ambient.CdM2 = s.Ambient.CdM2
	}
	if a.Start != "" {
		if _, err := StartNamed(a.Start); err != nil {
			return err
		}
	}
	return a.Ambient.check()
}

// maxRatio bounds white over black.
const maxRatio = 1e8

// checkLight holds the luminances against their limits.
func (a Aim) checkLight() error {
	l, k := a.Luminance, a.BlackCdM2
	if !(l >= 0 && l <= maxLuminance) {
		return fmt.Errorf(`aim: luminance_cd_m2 is %g; give more than 0 and at most %d, or "native"`, l, maxLuminance)
	}
	if !(k >= 0 && k < maxBlack) || (l > 0 && k >= l) {
		return fmt.Errorf(`aim: black_cd_m2 is %g; give at least 0 and less than the white, or "native"`, k)
	}
	if a.BlackRatio != 0 && !(a.BlackRatio > 1 && a.BlackRatio <= maxRatio) {
		return fmt.Errorf("aim: black_ratio is %g; give white over black, above 1 and at most %g", a.BlackRatio, maxRatio)
	}
	if a.BlackRatio != 0 && k != 0 {
		return fmt.Errorf("aim: the black is both %g cd/m² and a ratio of %g:1; give one of them", k, a.BlackRatio)
	}
	return nil
}
