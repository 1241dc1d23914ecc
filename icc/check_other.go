package icc

import (
	"math"
	"slices"

	"example.org/primaries/colorimetry"
)

// other checks the tags that share nothing with others.
func (c *checker) other(t *Tag, name, clause string) {
	switch v := t.Value.(type) {
	case FixedArray:
		if t.Signature == TagChromaticAdaptation {
			c.chad(v, name, clause)
		}
	case DateTimeValue:
		if _, ok := DateTime(v).Time(); !ok {
			c.add(name, clause, Departure, "The date %v does not exist; correct it.", DateTime(v).text())
		}
	case CICP:
		c.cicp(v, name, clause)
	case ChromaticityValue:
		c.chromaticities(v, name, clause)
	case ColorantTable:
		space := c.p.Header.Space
		if t.Signature == TagColorantTableOut {
			space = c.p.Header.PCS
		}
		c.count(len(v), space, "colorants", name, clause)
	case ColorantOrder:
		c.order(v, name, clause)
	case NamedColors:
		c.named(v, name, clause)
	case ResponseCurves:
		c.count(v.Channels, c.p.Header.Space, "channels", name, clause)
	case ProfileSequence:
		c.sequence(v, name, clause)
	case SignatureValue:
		c.signature(Signature(v), t.Signature, name, clause)
	case Measurement:
		if !(v.Flare >= 0 && v.Flare <= 1) {
			c.add(name, clause, Departure, "A flare of %g is more than all of the light; 0 to 1 are possible.", v.Flare)
		}
	case Dict:
		c.dict(v, name)
	case VideoCurves:
		c.video(t, v, name)
	case HardwareCalibration:
		c.calibration(v, name)
	case Raw:
		if v.TypeSignature == TypeHardwareCalibration {
			c.add(name, registry, Departure, "The layout is that of Little CMS 2.16, a word longer than what the tag's maker documents; write the documented one.")
		}
	}
}

// count checks that a list has as many entries as a space has channels.
func (c *checker) count(n int, space Signature, what, name, clause string) {
	if k := Channels(space); k > 0 && n != k {
		c.add(name, clause, Departure, "The tag lists %d %s, and %v has %d; make them agree.", n, what, space, k)
	}
}

// notBradford is how far an adaptation may be from Bradford's between the same
// whites: measurement and rounding leave less, other kinds of adaptation more.
const notBradford = 0.02

// chad checks the chromatic adaptation.
func (c *checker) chad(v FixedArray, name, clause string) {
	if len(v) != 9 {
		c.add(name, clause, Broken, "The tag holds %d numbers, and 9 make a matrix; write them.", len(v))
		return
	}
	m := colorimetry.Matrix{{v[0], v[1], v[2]}, {v[3], v[4], v[5]}, {v[6], v[7], v[8]}}
	inverse, err := m.Inverse()
	if err != nil {
		c.add(name, clause, Broken, "The matrix cannot be inverted, so that the measured white is lost; correct it.")
		return
	}
	white := inverse.Apply(colorimetry.D50())
	if !(white.X > 0 && white.Y > 0 && white.Z > 0) || !white.Finite() {
		c.add(name, clause, Departure, "The matrix leads to D50 from %.4f %.4f %.4f, which is no white; correct it.", white.X, white.Y, white.Z)
		return
	}
	usual, err := colorimetry.Bradford(white, colorimetry.D50())
	if err != nil {
		return
	}
	worst := 0.0
	for i := range usual {
		for k := range usual[i] {
			worst = math.Max(worst, math.Abs(usual[i][k]-m[i][k]))
		}
	}
	if worst > notBradford {
		c.add(name, c.clause("annex E", "annex E"), Remark, "The adaptation is not Bradford's, by up to %.3f, which the standard recommends.", worst)
	}
}

// cicp checks code points. Source: ICC.1:2022, 9.2.17 for where the tag may be;
// ITU-T H.273, from memory, for the codes.
func (c *checker) cicp(v CICP, name, clause string) {
	h := &c.p.Header
	if h.Version.Major() == 4 && h.Version < V4Dot4 {
		c.add(name, clause, Departure, "The tag came with version 4.4, and the profile states %v; state 4.4.", h.Version)
	}
	rgb := h.Space == SpaceRGB
	if h.Class != ClassInput && h.Class != ClassDisplay || !rgb && h.Space != SpaceXYZ && h.Space != 0x59436272 { // YCbr
		c.add(name, clause, Departure, "The tag is for input and display profiles of RGB, YCbCr or XYZ alone; remove it.")
	}
	if v.FullRange > 1 {
		c.add(name, c.clause("10.3", ""), Departure, "The range flag is %d; write 1 for full range or 0 for narrow.", v.FullRange)
	}
	if rgb && v.Matrix != 0 {
		c.add(name, c.clause("10.3", ""), Departure, "The matrix code is %d, and RGB has 0; correct it.", v.Matrix)
	}
}

func (c *checker) chromaticities(v ChromaticityValue, name, clause string) {
	c.count(len(v.Channels), c.p.Header.Space, "chromaticities", name, clause)
	for i, k := range v.Channels {
		if !(k.X >= 0 && k.Y > 0 && k.X+k.Y <= 1+1e-4) {
			// Some imaginary primaries lie outside, so that this is no error.
			c.add(name, clause, Remark, "The chromaticity of channel %d, %.4f %.4f, is of no light.", i+1, k.X, k.Y)
			return
		}
	}
}

func (c *checker) order(v ColorantOrder, name, clause string) {
	c.count(len(v), c.p.Header.Space, "colorants", name, clause)
	var seen [256]bool
	for _, k := range v {
		if int(k) >= len(v) || seen[k] {
			c.add(name, clause, Departure, "Colorant %d comes twice or does not exist; list each once, from 0.", k)
			return
		}
		seen[k] = true
	}
}

func (c *checker) named(v NamedColors, name, clause string) {
	if len(v.Colors) == 0 {
		c.add(name, clause, Departure, "The list of colours is empty; add colours.")
	}
	if v.Channels != 0 {
		c.count(v.Channels, c.p.Header.Space, "device coordinates", name, c.clause("10.17", "6.5.10"))
	}
}

func (c *checker) sequence(v ProfileSequence, name, clause string) {
	if len(v) == 0 && c.p.Header.Class == ClassLink {
		c.add(name, clause, Departure, "The list of the profiles that the link was made of is empty; add them.")
	}
	want := TypeLocalized
	if c.old {
		want = TypeTextDescription
	}
	for _, s := range v {
		if a, b := s.ManufacturerName.Type(), s.ModelName.Type(); a != want || b != want {
			c.add(name, c.clause("10.19", "6.5.12"), Departure, "The names are of types %v and %v, and this version has %v; convert them.", a, b, want)
			return
		}
	}
}

// signature checks signatures of which few are defined.
func (c *checker) signature(v, tag Signature, name, clause string) {
	const printed = 0x70726d67 // prmg, the perceptual reference medium gamut
	states := []Signature{0x73636f65, 0x73617065, 0x66706365, 0x72686f63, 0x72706f63}
	switch tag {
	case TagPerceptualGamut, TagSaturationGamut:
		if v != printed {
			c.add(name, clause, Departure, "Gamut %v is not defined; prmg is.", v)
		}
	case TagImageState:
		if !slices.Contains(states, v) {
			c.add(name, clause, Departure, "Image state %v is not defined; scoe, sape, fpce, rhoc and rpoc are.", v)
		}
	}
}

func (c *checker) dict(v Dict, name string) {
	seen := make(map[string]bool, len(v))
	for _, e := range v {
		if e.Name == "" {
			c.add(name, c.clause("10.9", ""), Departure, "An entry has no name; give it one.")
			return
		}
		if seen[e.Name] {
			c.add(name, c.clause("10.9", ""), Departure, "There are two entries called %.40q; remove one.", e.Name)
			return
		}
		seen[e.Name] = true
	}
}

// video checks correction curves.
func (c *checker) video(t *Tag, v VideoCurves, name string) {
	if v.Table == nil {
		for i, f := range v.Formula {
			if !(f.Gamma > 0) || !(f.Min < f.Max) {
				c.add(name, registry, Departure, "The formula of channel %d, from %g to %g with exponent %g, does not rise; correct it.", i+1, f.Min, f.Max, f.Gamma)
				return
			}
		}
		return
	}
	if len(t.raw) == brokenSize && len(v.Table) == 3 && len(v.Table[0]) == brokenEntries && t.raw[17] == 1 {
		c.add(name, registry, Departure, "Entries of two bytes are said to take one, which common readers repair; write 2.")
	}
	for i, e := range v.Table {
		if len(e) < 2 {
			c.add(name, registry, Departure, "Channel %d has %d entries, which make no curve; write 2 at least.", i+1, len(e))
			return
		}
		for k := 1; k < len(e); k++ {
			if e[k] < e[k-1] {
				c.add(name, registry, Remark, "The curve of channel %d falls at entry %d.", i+1, k)
				return
			}
		}
	}
}

// calibration checks what a Windows system sets up a display by.
func (c *checker) calibration(v HardwareCalibration, name string) {
	if h := c.p.Header; h.Class != ClassDisplay || h.Space != SpaceRGB {
		c.add(name, registry, Remark, "The tag is for displays of RGB, and nobody looks for it here.")
	}
	if !(v.MinCdM2 >= 0 && v.PeakCdM2 > v.MinCdM2) {
		c.add(name, registry, Departure, "Luminances of %g to %g cd/m² are no range; state black and the brightest white.", v.MinCdM2, v.PeakCdM2)
	}
	if v.HasMatrix {
		if _, err := v.XYZMatrix().Inverse(); err != nil {
			c.add(name, registry, Broken, "The matrix makes a plane or less of all colours; correct it.")
		}
	}
	for i, e := range v.Curves {
		for k, x := range e {
			if !(x >= 0 && x <= 1) || k > 0 && x < e[k-1] {
				c.add(name, registry, Departure, "The curve of channel %d leaves 0 to 1 or falls at sample %d; correct it.", i+1, k)
				break
			}
		}
	}
}
