package aim

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/gamut"
)

// Display is what a shared aim must know of a display, as a few readings of it
// give: black and the three channels at full signal.
type Display struct {
	Name string
	// Primaries has the light in cd/m² that each channel at full signal adds to
	// the black as its columns.
	Primaries colorimetry.Matrix
	Black     colorimetry.XYZ // cd/m²
}

// maxShared bounds how many displays share an aim: what they have in common has
// up to three corners for each, of which every three are tried.
const maxShared = 100

// Shared is one aim that several displays have in common.
type Shared struct {
	// OK says whether all displays can have the aim as it was asked for.
	OK bool
	// Aim is the aim for every display: the white that was asked for or the
	// nearest that all can have, and a luminance that the dimmest reaches.
	Aim Aim
	// Displays has what the aim is to each display, in the order given.
	Displays []Share
	// Gamut is the outline in u'v' of the chromaticities that all have.
	Gamut gamut.Polygon
	// Primaries are the red, green and blue, in u'v', of the largest triangle in
	// Gamut: an RGB that all displays can show, for instance to make profiles
	// or previews for. The displays' own primaries stay what they are.
	Primaries [3]colorimetry.UV
	// HighestBlack is the brightest of the displays' blacks in cd/m². As
	// BlackCdM2 of the aim it makes their shadows alike, too.
	HighestBlack float64
	// Sentences say what was settled and which display settled it.
	Sentences []string
}

// Share is what a shared aim is to one display.
type Share struct {
	Name string
	// Reached is that of the shared aim on this display.
	Reached Reached
	// Luminance is the aim's luminance over the highest that this display has
	// at the aim's white, up to 1: the rest is left to its brightness control,
	// or lost to its curves.
	Luminance float64
	// Gamut is the share of this display's triangle in u'v' that all have.
	Gamut float64
	// WhiteShift is the distance in u'v' from the display's own white.
	WhiteShift float64
}

// errNoCommonWhite is wrapped where no white lies in all triangles.
var errNoCommonWhite = errors.New("aim: the displays have no white in common; leave out the one whose primaries stand apart")

// Share returns one aim for several displays, at least one: a desk with two, a
// room with ten. What a leaves to the display is settled between them:
//
//   - a native white becomes the centre of the smallest circle in u'v' around
//     the displays' own whites, so that none has to go farther than needed;
//   - a native luminance becomes the highest that all reach at that white.
//
// A white or luminance that not all can have is moved to the nearest that all
// can. Readings that agree need not look alike where the displays' spectra
// differ: match the white by eye on one of them, as [ByEye] keeps it.
//
// It is an error if there are no displays, or more than 100, if a display's
// primaries do not span the colours, if there is no white that all can have,
// and [ErrAmbient] as in [Reach].
func (a Aim) Share(displays []Display) (Shared, error) {
	if len(displays) == 0 || len(displays) > maxShared {
		return Shared{}, fmt.Errorf("aim: %d displays; 1 to %d can share an aim", len(displays), maxShared)
	}
	group := make([]member, len(displays))
	s := Shared{Aim: a, OK: true}
	for i, d := range displays {
		inv, err := d.Primaries.Inverse()
		if err != nil {
			return Shared{}, fmt.Errorf("aim: primaries of %s: %w", d.called(i), err)
		}
		group[i] = member{d, d.called(i), inv}
		s.HighestBlack = math.Max(s.HighestBlack, d.Black.Y)
	}
	if err := s.shareGamut(group); err != nil {
		return Shared{}, err
	}
	if err := s.shareWhite(a, group); err != nil {
		return Shared{}, err
	}
	s.shareLuminance(a, group)
	return s, s.tellEach(group)
}

// member is a display among those that share.
type member struct {
	Display
	name    string
	inverse colorimetry.Matrix
}

// called returns the name of a display, or its place where it has none.
func (d Display) called(i int) string {
	if d.Name != "" {
		return d.Name
	}
	return fmt.Sprintf("display %d", i+1)
}

// native returns the display's own white.
func (m member) native() colorimetry.XYZ {
	return m.Primaries.FromLinear(colorimetry.Gray(1)).Add(m.Black)
}

// triangle returns the outline of a display's primaries in u'v'.
func triangle(primaries colorimetry.Matrix) gamut.Polygon {
	var p gamut.Polygon
	for c := range 3 {
		uv := primaries.Column(c).UV()
		p = append(p, gamut.Point{X: uv.U, Y: uv.V})
	}
	return p
}

// common returns the highest luminance that all have at a white, which display
// sets it, and whether there is one.
func common(group []member, at colorimetry.Chromaticity) (most float64, by int, ok bool) {
	most = math.Inf(1)
	for i, m := range group {
		y, ok := greatest(m.inverse, m.Black, at)
		if !ok {
			return 0, i, false
		}
		if y < most {
			most, by = y, i
		}
	}
	for i, m := range group {
		if most <= m.Black.Y {
			return 0, i, false
		}
	}
	return most, by, true
}

// shareWhite settles the white.
func (s *Shared) shareWhite(a Aim, group []member) error {
	at := a.White.At
	if a.White.IsNative() {
		at = roundXY(centre(group).Chromaticity())
		s.Aim.White = XY(at.X, at.Y)
	}
	_, by, ok := common(group, at)
	if ok {
		if a.White.IsNative() && len(group) > 1 {
			s.say("The white %s lies amid the displays' own.", formatXY4(at))
		}
		return nil
	}
	near, ok := nearestCommon(group, s.Gamut, at.UV())
	if !ok {
		return errNoCommonWhite
	}
	s.Aim.White = XY(near.X, near.Y)
	if a.White.IsNative() {
		s.say("The white %s is the nearest to the middle of the displays' own that all can have; %s sets it.", formatXY4(near), group[by].name)
		return nil
	}
	s.OK = false
	s.say("Not all can have the white %s, %s for one; the nearest that all can have is %s.", describe(a.White), group[by].name, formatXY4(near))
	return nil
}

// shareLuminance settles the luminance.
func (s *Shared) shareLuminance(a Aim, group []member) {
	most, by, _ := common(group, s.Aim.White.At)
	switch {
	case a.Luminance == 0:
		s.Aim.Luminance = roundDown(most)
		s.say("All reach %.4g cd/m² there; %s sets it.", s.Aim.Luminance, group[by].name)
	case a.Luminance > most*(1+luminanceSlack):
		s.OK = false
		s.Aim.Luminance = roundDown(most)
		s.say("At that white %s gives %.4g cd/m², not %.4g; the others follow it.", group[by].name, s.Aim.Luminance, a.Luminance)
	}
	if text := s.Aim.dim(); text != "" {
		s.say("%s", strings.TrimSpace(text))
	}
}

// tellEach fills in what the aim is to each display.
func (s *Shared) tellEach(group []member) error {
	for _, m := range group {
		r, err := Reach(s.Aim, m.Primaries, m.Black)
		if err != nil {
			return err
		}
		if !r.OK {
			s.OK = false
			s.say("%s: %s", m.name, r.Sentence)
		}
		s.Displays = append(s.Displays, Share{
			Name: m.name, Reached: r, Luminance: math.Min(s.Aim.Luminance/r.MaxLuminance, 1),
			Gamut: gamut.Coverage(s.Gamut, triangle(m.Primaries)), WhiteShift: s.Aim.White.At.UV().Distance(m.native().UV()),
		})
	}
	s.Sentences = append(s.Sentences, s.Aim.Cautions()...)
	return nil
}

func (s *Shared) say(format string, args ...any) {
	s.Sentences = append(s.Sentences, fmt.Sprintf(format, args...))
}

func roundXY(c colorimetry.Chromaticity) colorimetry.Chromaticity {
	return colorimetry.Chromaticity{X: math.Round(c.X*1e4) / 1e4, Y: math.Round(c.Y*1e4) / 1e4}
}
