package report

import (
	"fmt"
	"math"
	"strings"
	"time"

	"example.org/primaries/fit/aim"
	"example.org/primaries/fit/characterise"
)

func aimOf(run *characterise.Result) Aim {
	asked := run.Asked
	a := Aim{
		Name: characterise.AimName(run.Aim), White: XY(run.Aim.White.At), WhiteName: run.Aim.White.String(),
		LuminanceCdM2: run.Aim.Luminance, Tone: run.Aim.Curve().String(), Black: run.Aim.Black.String(), Native: asked.Luminance == 0,
		MatchedBy: run.Aim.White.By, MatchedWhen: run.Aim.White.When,
		BlackCdM2: asked.BlackCdM2, BlackRatio: asked.BlackRatio,
		Ambient: Ambient{Source: asked.Ambient.Source.String(), CdM2: asked.Ambient.CdM2},
	}
	// What the controls left open is still held against what was asked for; an
	// aim that bent to the display is not.
	if y := asked.Luminance; y > 0 && y != run.Aim.Luminance && math.Abs(y-run.Aim.Luminance) <= characterise.AcceptedCdM2 {
		a.AskedCdM2 = y
	}
	if p := asked.Print; p != (aim.Print{}) {
		a.Paper = &Paper{Reflectance: p.Reflectance, Lux: p.Lux, ReadCdM2: p.PaperCdM2, CdM2: asked.Luminance}
	}
	if start, err := aim.StartNamed(asked.Start); err == nil {
		a.Start, a.Document, a.Changed = start.Name, start.Document, changed(start.Aim, asked)
	}
	return a
}

// changed lists the parts of an aim that are not those of the starting point.
func changed(from, to aim.Aim) []string {
	var parts []string
	for _, p := range [...]struct {
		name string
		same bool
	}{
		{"white", from.White == to.White},
		{"luminance", from.Luminance == to.Luminance},
		{"tone", from.Curve().String() == to.Curve().String()},
		{"black", from.BlackCdM2 == to.BlackCdM2 && from.BlackRatio == to.BlackRatio},
		{"black policy", from.Black == to.Black},
	} {
		if !p.same {
			parts = append(parts, p.name)
		}
	}
	return parts
}

// seenRatio returns white over black as people see them in the room, nil where
// the room, the luminance or all light in the black is unknown.
func (r *Report) seenRatio(ambient aim.Ambient) *float64 {
	black := r.BlackCdM2
	if r.blackLost() {
		black = 0
	}
	if ambient.Source == aim.AmbientUnknown || r.Run.Relative || !(black+ambient.CdM2 > 0) {
		return nil
	}
	ratio := ambient.SeenRatio(r.LuminanceCdM2, black)
	return &ratio
}

// words tell the aim in short for the last screen, which leaves out what is not
// known.
func (a Aim) words() []string {
	if a.Name == "" {
		return nil
	}
	parts := []string{a.Name}
	if a.Start != "" {
		parts[0] += " from " + a.Start
		if len(a.Changed) > 0 {
			parts[0] += ", but for " + list(a.Changed)
		}
	}
	if a.MatchedBy != "" {
		parts = append(parts, "white "+a.matched())
	}
	if a.Paper != nil {
		parts = append(parts, a.Paper.words())
	}
	if a.Ambient.Source != aim.AmbientUnknown.String() && a.Ambient.Source != "" {
		parts = append(parts, a.Ambient.words())
	}
	return []string{strings.Join(parts, "; ") + "."}
}

// Origin says what document the aim comes from and what was changed since, ""
// where it comes from none.
func (a Aim) Origin() string {
	if a.Start == "" {
		return ""
	}
	s := fmt.Sprintf("%s (%s", a.Document, a.Start)
	if len(a.Changed) > 0 {
		s += ", but for " + list(a.Changed)
	}
	return s + "; a starting point, no claim of conformance)"
}

func list(parts []string) string {
	last := len(parts) - 1
	if last == 0 {
		return parts[0]
	}
	return strings.Join(parts[:last], ", ") + " and " + parts[last]
}

// whiteWords are the white's name, with who matched it by eye and when.
func (a Aim) whiteWords() string {
	if a.MatchedBy == "" {
		return a.WhiteName
	}
	return a.matched()
}

func (a Aim) matched() string {
	when := a.MatchedWhen
	if t, err := time.Parse(time.RFC3339, when); err == nil {
		when = t.UTC().Format("2 January 2006")
	}
	return fmt.Sprintf("matched by eye of %s, %s", a.MatchedBy, when)
}

// blackWords are the black asked for and its policy.
func (a Aim) blackWords() string {
	if a.BlackCdM2 > 0 {
		return figure(a.BlackCdM2, 3) + " cd/m², " + a.Black
	}
	return a.Black
}

// words say what the paper is and how bright.
func (p *Paper) words() string {
	s := "paper as read"
	if p.ReadCdM2 == 0 {
		s = fmt.Sprintf("paper of reflectance %.3g", p.Reflectance)
	}
	if p.Lux > 0 {
		s += fmt.Sprintf(" in %.4g lx", p.Lux)
	}
	return s
}

// words say how much ambient light there is and how that is known.
func (a Ambient) words() string {
	switch a.Source {
	case "":
		return ""
	case aim.AmbientUnknown.String():
		return "ambient light unknown, reckoned as none"
	}
	return fmt.Sprintf("%.3g cd/m² of ambient light, %s", a.CdM2, a.Source)
}

// seenRow is white over black as seen in the room of these words.
func (r *Report) seenRow(words string) row {
	out := row{Name: "seen in the room", Asked: words}
	if r.Aim.BlackRatio > 0 {
		out.Asked = fmt.Sprintf("contrast %s\u00a0:\u00a01; %s", figure(r.Aim.BlackRatio, 0), words)
	}
	if r.SeenRatio != nil {
		out.Reached = fmt.Sprintf("contrast %s\u00a0:\u00a01", figure(*r.SeenRatio, 0))
	}
	return out
}
