package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/examples/internal/cli"
	"example.org/primaries/icc"
)

// description is what a profile says of itself. What it does not say, or has no
// sense for its kind, is nil or empty.
type description struct {
	Image        string            `json:"image,omitempty"` // format of the image that it was inside
	Bytes        int               `json:"bytes"`
	Description  string            `json:"description"`
	Copyright    string            `json:"copyright,omitempty"`
	Version      string            `json:"version"`
	Class        string            `json:"class"`
	Device       string            `json:"device"`     // colour space of the device
	Connection   string            `json:"connection"` // connection space
	Created      string            `json:"created,omitempty"`
	ID           string            `json:"id,omitempty"`
	Intent       string            `json:"intent"`
	Model        string            `json:"model"`
	LuminanceCdM float64           `json:"luminance_cd_m2,omitempty"`
	White        *white            `json:"white,omitempty"`
	Black        *colorimetry.XYZ  `json:"black,omitempty"` // relative to the white
	Primaries    *primaries        `json:"primaries,omitempty"`
	Adapted      bool              `json:"adapted"`         // white and primaries are under D50: the profile does not say how to undo that
	Gamma        []*float64        `json:"gamma,omitempty"` // for each channel, the power that half the signal stands for; null where none does
	VolumeLab    float64           `json:"gamut_volume_lab,omitempty"`
	Curves       bool              `json:"correction_curves"`
	Languages    map[string]string `json:"languages,omitempty"`
	Tags         []tag             `json:"tags"`
}

type white struct {
	X      float64 `json:"x"`
	Y      float64 `json:"y"`
	Kelvin float64 `json:"cct,omitempty"`
	Duv    float64 `json:"duv,omitempty"`
}

type primaries struct {
	Red   [2]float64 `json:"red"`
	Green [2]float64 `json:"green"`
	Blue  [2]float64 `json:"blue"`
}

type tag struct {
	Signature string `json:"signature"`
	Type      string `json:"type"`
	Offset    int    `json:"offset"`
	Bytes     int    `json:"bytes"`
}

var classes = map[icc.Signature]string{
	icc.ClassInput: "input", icc.ClassDisplay: "display", icc.ClassOutput: "output", icc.ClassLink: "device link",
	icc.ClassSpace: "colour space", icc.ClassAbstract: "abstract", icc.ClassNamedColor: "named colour",
}

// describe asks a profile of size bytes everything.
func describe(p *icc.Profile, size int, image string) *description {
	h := p.Header
	d := &description{
		Image: image, Bytes: size, Description: p.Description(), Copyright: p.Copyright(),
		Version: h.Version.String(), Class: classes[h.Class], Device: h.Space.String(), Connection: h.PCS.String(),
		Intent: h.Intent.String(), Model: model(p),
	}
	if d.Class == "" {
		d.Class = h.Class.String()
	}
	if t, ok := h.Created.Time(); ok {
		d.Created = t.Format(time.RFC3339)
	}
	if h.ID != [16]byte{} {
		d.ID = fmt.Sprintf("%x", h.ID)
	}
	d.LuminanceCdM, _ = p.Luminance()
	d.measured(p)
	if curves, err := p.CurvesInForce(); err == nil {
		d.Curves = curves.Len() > 0
	}
	if texts, ok := p.Value(icc.TagDescription).(icc.LocalizedText); ok && len(texts) > 1 {
		d.Languages = map[string]string{}
		for _, s := range texts {
			d.Languages[strings.TrimRight(s.Language+"-"+s.Country, "-\x00")] = s.Text
		}
	}
	for _, t := range p.Tags {
		offset, n := t.Stored()
		d.Tags = append(d.Tags, tag{t.Signature.String(), t.Value.Type().String(), offset, n})
	}
	return d
}

// measured fills in what was measured of the display; a question that has no
// answer for this kind of profile stays open.
func (d *description) measured(p *icc.Profile) {
	if w, err := p.White(); err == nil {
		c := w.Chromaticity()
		d.Adapted = p.Value(icc.TagChromaticAdaptation) == nil && w.X == colorimetry.D50().X
		d.White = &white{X: c.X, Y: c.Y}
		if kelvin, duv, err := spectrum.CCT(c); err == nil {
			d.White.Kelvin, d.White.Duv = kelvin, duv
		}
	}
	if c, err := p.Primaries(); err == nil {
		d.Primaries = &primaries{[2]float64{c[0].X, c[0].Y}, [2]float64{c[1].X, c[1].Y}, [2]float64{c[2].X, c[2].Y}}
	}
	if b, err := p.Black(); err == nil {
		d.Black = &b
	}
	if curves, err := p.ToneCurves(); err == nil {
		for _, c := range curves {
			d.Gamma = append(d.Gamma, exponent(c.At(0.5)))
		}
	}
	if solid, err := p.Gamut(gamut.Options{Steps: 16}); err == nil {
		d.VolumeLab = solid.Volume()
	}
}

// print writes an answer for people, behind a blank line if others came before.
func (a answer) print(w io.Writer, behind bool) error {
	var b strings.Builder
	if behind {
		b.WriteByte('\n')
	}
	line := func(name, format string, args ...any) {
		fmt.Fprintf(&b, "  %-12s%s\n", cli.Printable(name), cli.Printable(fmt.Sprintf(format, args...)))
	}
	b.WriteString(cli.Printable(a.File) + "\n")
	if a.Error != "" {
		line("error", "%s", a.Error)
		_, err := io.WriteString(w, b.String())
		return err
	}
	a.Profile.print(line)
	for _, f := range *a.Findings {
		line(f.Severity, "%s (%s): %s", f.Tag, f.Clause, f.Text)
	}
	if len(*a.Findings) == 0 {
		line("standard", "nothing departs from it")
	}
	_, err := io.WriteString(w, b.String())
	return err
}
