package profile

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"example.org/primaries/fit"
	"example.org/primaries/icc"
)

// newSpec returns the profile's description without its curves.
func newSpec(white colorimetry.XYZ, columns [3]colorimetry.XYZ, curves tone.Channels, o Options) (icc.MatrixSpec, error) {
	chad, err := colorimetry.Bradford(white.Scale(1/white.Y), colorimetry.D50())
	if err != nil {
		return icc.MatrixSpec{}, fmt.Errorf("profile: the measured white %v cannot be adapted to D50: %w", white, err)
	}
	spec := icc.MatrixSpec{
		Version:       o.Version,
		Description:   description(o),
		Copyright:     o.Copyright,
		Chad:          chad,
		LuminanceCdM2: white.Y,
		InForce:       curves,
		Created:       o.Created,
		Targ:          o.Readings,
		CICP:          o.Coding,
	}
	if o.Relative {
		spec.LuminanceCdM2 = 0
	}
	for c := range 3 {
		spec.Colorants[c] = chad.Apply(columns[c].Scale(1 / white.Y))
	}
	return spec, nil
}

// blackWords names the options for the black in meta tags.
var blackWords = [...]string{BlackMeasured: "measured", BlackZero: "zero", BlackNeutral: "neutral"}

// addMeta names what the numbers rest on.
func addMeta(spec *icc.MatrixSpec, m fit.Model, curves tone.Channels, o Options) {
	if o.Version == icc.V2 {
		return
	}
	spec.Meta = map[string]string{
		"black":  blackWords[o.Black],
		"curves": curves.Digest(),
		"model":  m.Name(),
	}
	for name, text := range o.Meta {
		spec.Meta[name] = text
	}
}

// addTableMeta names how colours beyond the gamut are mapped, and how the matrix
// beside the tables holds the black where that is not as they do.
func addTableMeta(spec *icc.MatrixSpec, m *mapper, o Options) {
	if o.Version == icc.V2 {
		return
	}
	texts := map[string]string{
		"colorimetric mapping": [...]string{MappingNearest: "nearest of the hue", MappingToGrey: "towards the grey"}[m.mapping],
		"perceptual knee":      strconv.FormatFloat(m.knee, 'g', -1, 64),
	}
	if o.Black != BlackMeasured {
		texts["matrix black"] = blackWords[o.Black]
	}
	for name, text := range texts {
		if _, taken := o.Meta[name]; !taken {
			spec.Meta[name] = text
		}
	}
}

// description is the name that people read. It tells how the profile holds the
// black where that is not as measured.
func description(o Options) string {
	parts := []string{orElse(o.Display, "display"), orElse(o.Mode, "native"), orElse(o.Aim, "as measured")}
	switch o.Black {
	case BlackZero:
		parts = append(parts, "black at zero")
	case BlackNeutral:
		parts = append(parts, "neutral black")
	}
	if !o.Created.IsZero() {
		parts = append(parts, o.Created.UTC().Format(time.DateOnly))
	}
	return strings.Join(parts, ", ")
}

func orElse(s, other string) string {
	if s = strings.TrimSpace(s); s == "" {
		return other
	}
	return s
}

// addTags writes what programs may want to know of the display beside its
// colours, and then the profile's ID.
func addTags(p *icc.Profile, m fit.Model, white colorimetry.XYZ, curves tone.Channels, o Options) error {
	black := m.XYZ(colorimetry.RGB{})
	chroma := icc.ChromaticityValue{}
	for _, s := range []colorimetry.RGB{{R: 1}, {G: 1}, {B: 1}} {
		chroma.Channels = append(chroma.Channels, m.XYZ(s).Sub(black).Chromaticity())
	}
	p.Set(icc.TagChromaticity, chroma)
	if o.SystemCalibration {
		p.Set(icc.TagHardwareCalibration, systemCalibration(black.Y, white.Y, curves))
	}
	b, err := p.Encode()
	if err != nil {
		return fmt.Errorf("profile: %w", err)
	}
	if p.Header.ID, err = icc.ProfileID(b); err != nil {
		return fmt.Errorf("profile: %w", err)
	}
	return nil
}

// systemCalibration returns the MHC2 tag of a display whose path holds curves.
func systemCalibration(black, white float64, curves tone.Channels) icc.HardwareCalibration {
	v := icc.HardwareCalibration{MinCdM2: max(black, 0), PeakCdM2: white}
	if curves.Len() == 0 {
		return v
	}
	r, g, b := curves.Codes()
	for c, codes := range [3][]uint16{r, g, b} {
		for _, w := range codes {
			v.Curves[c] = append(v.Curves[c], float64(w)/65535)
		}
	}
	return v
}
