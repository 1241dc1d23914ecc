package aim

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"

	"example.org/primaries/chart/keep"
	"example.org/primaries/colorimetry/tone"
)

// formatVersion is the version of a saved aim that Write writes and Read
// reads.
const formatVersion = 1

// maxFile bounds a saved aim in bytes: a sampled tone of 4096 points fits.
const maxFile = 256 << 10

// saved is an aim as it is kept.
type saved struct {
	Kind      string   `json:"kind"`
	Version   int      `json:"version"`
	White     string   `json:"white"`
	Luminance quantity `json:"luminance_cd_m2"`
	Tone      string   `json:"tone"`
	Policy    string   `json:"black_policy"`
	Black     quantity `json:"black_cd_m2"`
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

// MarshalJSON writes a in its saved form. The tone must be one that
// tone.Parse reads.
func (a Aim) MarshalJSON() ([]byte, error) {
	s := saved{Kind: savedKind, Version: formatVersion, White: a.White.String(), Luminance: quantity(a.Luminance), Tone: a.Curve().String(), Policy: a.Black.String(), Black: quantity(a.BlackCdM2)}
	if _, err := tone.Parse(s.Tone); err != nil {
		return nil, fmt.Errorf("aim: the tone %q cannot be saved: %w", s.Tone, err)
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

// Read reads an aim that Write wrote. Anything else is an error: an unknown
// field, another version, a value out of range.
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
	if s.Version != formatVersion {
		return Aim{}, fmt.Errorf("aim: the file has version %d; this build reads version %d", s.Version, formatVersion)
	}
	w, err := ParseWhite(s.White)
	if err != nil {
		return Aim{}, err
	}
	c, err := tone.Parse(s.Tone)
	if err != nil {
		return Aim{}, fmt.Errorf("aim: %w", err)
	}
	p, err := ParsePolicy(s.Policy)
	if err != nil {
		return Aim{}, err
	}
	l, k := float64(s.Luminance), float64(s.Black)
	if !(l >= 0 && l <= maxLuminance) || math.IsInf(l, 0) {
		return Aim{}, fmt.Errorf(`aim: luminance_cd_m2 is %g; give more than 0 and at most %d, or "native"`, l, maxLuminance)
	}
	if !(k >= 0 && k < maxLuminance/10) || (l > 0 && k >= l) {
		return Aim{}, fmt.Errorf(`aim: black_cd_m2 is %g; give at least 0 and less than the white, or "native"`, k)
	}
	return Aim{White: w, Luminance: l, Tone: c, Black: p, BlackCdM2: k}, nil
}
