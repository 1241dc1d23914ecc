package aim

import (
	"fmt"
	"math"
	"strings"

	"example.org/primaries/colorimetry/tone"
)

// GSDF is the tone of DICOM's grayscale standard display function on whatever
// display the aim is for: white, black and measured ambient light of that
// display set its ends. It is a name, and answers NaN until [Aim.On] has made
// the curve of it; a tone.GSDF is one whose luminances are known already.
//
// Source: DICOM PS3.14.
type GSDF struct{}

// Light returns NaN: the display is not known.
func (GSDF) Light(float64) float64 { return math.NaN() }

// Signal returns NaN: the display is not known.
func (GSDF) Signal(float64) float64 { return math.NaN() }

// Slope returns NaN: the display is not known.
func (GSDF) Slope(float64) float64 { return math.NaN() }

// String returns "gsdf", as [ParseTone] reads it.
func (GSDF) String() string { return "gsdf" }

// ParseTone reads a tone: "gsdf", the [GSDF] of the display at hand, or
// anything that tone.Parse reads.
func ParseTone(s string) (tone.Curve, error) {
	if strings.EqualFold(strings.TrimSpace(s), "gsdf") {
		return GSDF{}, nil
	}
	return tone.Parse(s)
}

// On returns the tone of a on a display whose white has whiteCdM2 and whose
// own black has blackCdM2, both as an instrument on the glass reads them: the
// black policy applied, and the black that a asks for in place of the
// display's where it names one. Light is relative to the white, so that
// Light(0) is the black over the white and Light(1) is 1.
//
// Where a has ambient light, BlackLift and the tones that know their display
// reckon with what people see: black and white with the ambient light added.
// What is asked of the display is the seen light less the ambient. Under
// BlackStretch ambient light changes nothing.
//
// Tones that mean luminances are made for this display: PQ clips at the white;
// HLG without numbers has the system gamma of the white and, under BlackLift,
// the standard's own lift; GSDF takes no policy, and needs measured ambient
// light, else the error is [ErrAmbient]. Every other tone is a shape; one with
// light of its own at signal 0 has that replaced by the black.
//
// It is an error if black is not below white, or if the tone cannot be had
// between them.
func (a Aim) On(whiteCdM2, blackCdM2 float64) (tone.Curve, error) {
	if err := a.Ambient.check(); err != nil {
		return nil, err
	}
	black := a.blackOn(whiteCdM2, blackCdM2)
	if !(whiteCdM2 > 0 && black < whiteCdM2) || math.IsInf(whiteCdM2, 0) {
		return nil, fmt.Errorf("aim: a black of %g cd/m² under a white of %g; black must be below white", black, whiteCdM2)
	}
	room := a.Ambient.CdM2
	if own := a.Curve().Light(0); own >= 1 || math.IsInf(own, 0) {
		return nil, fmt.Errorf("aim: the tone %v has nothing above its black; give one that rises", a.Curve())
	}
	switch f := a.Curve().(type) {
	case GSDF:
		if a.Ambient.Source != AmbientMeasured {
			return nil, ErrAmbient
		}
		c, err := tone.NewGSDF(whiteCdM2, black, room)
		if err != nil {
			return nil, fmt.Errorf("aim: %w", err)
		}
		return c, nil
	case tone.PQ:
		return a.shape(tone.PQ{PeakCdM2: math.Min(whiteCdM2, tone.PQPeakCdM2)}, whiteCdM2, black), nil
	case tone.HLG:
		if f != (tone.HLG{}) {
			return a.shape(f, whiteCdM2, black), nil
		}
		f = tone.HLG{WhiteCdM2: whiteCdM2, SystemGamma: tone.HLGGamma(whiteCdM2, 0)}
		if a.Black != BlackLift {
			return a.shape(f, whiteCdM2, black), nil
		}
		f.WhiteCdM2, f.BlackCdM2 = whiteCdM2+room, black+room
		if g := f.Gamma(); g != g {
			return nil, fmt.Errorf("aim: hlg cannot be lifted to a black of %g cd/m² under a white of %g, ambient light included", f.BlackCdM2, f.WhiteCdM2)
		}
		return inRoom(f, whiteCdM2, room), nil
	}
	return a.shape(a.Curve(), whiteCdM2, black), nil
}

// shape applies the black policy to a tone that is a shape.
func (a Aim) shape(f tone.Curve, white, black float64) tone.Curve {
	room := a.Ambient.CdM2
	own := f.Light(0)
	if seen := (black + room) / (white + room); a.Black == BlackLift && seen > own {
		return inRoom(tone.Lift(f, seen), white, room)
	}
	if own > 0 {
		f = darkened{f, own}
	}
	return tone.Stretch(f, black/white)
}

// blackOn returns the luminance in cd/m² of the black that a asks for on a
// display of this white and this black of its own.
func (a Aim) blackOn(white, own float64) float64 {
	switch {
	case a.BlackCdM2 > 0:
		return a.BlackCdM2
	case a.BlackRatio > 0:
		return math.Max(a.ratioBlack(white), 0)
	}
	return math.Max(own, 0)
}

// ratioBlack returns the black in cd/m² that makes the ratio of a under a
// white, seen with the ambient light; below 0 where the room alone is too
// bright for it.
func (a Aim) ratioBlack(white float64) float64 {
	return (white+a.Ambient.CdM2)/a.BlackRatio - a.Ambient.CdM2
}

// darkened is a curve without the light that it has at signal 0.
type darkened struct {
	base tone.Curve
	own  float64
}

func (d darkened) Light(s float64) float64  { return (d.base.Light(s) - d.own) / (1 - d.own) }
func (d darkened) Signal(l float64) float64 { return d.base.Signal(d.own + (1-d.own)*l) }
func (d darkened) Slope(s float64) float64  { return d.base.Slope(s) / (1 - d.own) }
func (d darkened) String() string           { return d.base.String() + ", without its black" }

// seen is a curve of seen light, relative to white and ambient light together,
// told as what the display must show, relative to its white.
type seen struct {
	base        tone.Curve
	white, room float64
}

// inRoom returns c less the ambient light.
func inRoom(c tone.Curve, white, room float64) tone.Curve {
	if room == 0 {
		return c
	}
	return seen{c, white, room}
}

func (v seen) Light(s float64) float64 {
	return (v.base.Light(s)*(v.white+v.room) - v.room) / v.white
}

func (v seen) Signal(l float64) float64 {
	return v.base.Signal((l*v.white + v.room) / (v.white + v.room))
}

func (v seen) Slope(s float64) float64 { return v.base.Slope(s) * (v.white + v.room) / v.white }

func (v seen) String() string {
	return fmt.Sprintf("%v, seen in a room of %g cd/m²", v.base, v.room)
}
