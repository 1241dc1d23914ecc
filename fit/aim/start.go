package aim

import (
	"fmt"
	"strings"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
)

// Start is an aim to start from, named by the document that it follows. It is
// no claim of conformance: the documents ask for more than an aim holds, and
// none of those that are sold was read. The project's own choices, where a
// document is silent, are among the facts and say so.
type Start struct {
	Name     string // as StartNamed takes it
	Document string // the document, with its year where one edition is meant
	Aim      Aim
	Facts    []Fact
	// Needs says what must be added before the aim can be followed; "" is
	// nothing.
	Needs string
}

// Fact is a figure of a starting point and where it comes from.
type Fact struct {
	What, Value string
	Source      string // where it was read; "from memory" and "own choice" say so
}

// Starts returns the starting points in the order of their names.
func Starts() []Start {
	return []Start{bt1886(), bt2100HLG(), bt2100PQ(), gsdf(), iso3664Prints(), srgb(), st431()}
}

// StartNamed returns the starting point of a name, in small or capital letters.
func StartNamed(name string) (Start, error) {
	var names []string
	for _, s := range Starts() {
		if strings.EqualFold(s.Name, strings.TrimSpace(name)) {
			return s, nil
		}
		names = append(names, s.Name)
	}
	return Start{}, fmt.Errorf("aim: no starting point is called %.40q; there are %s", name, strings.Join(names, ", "))
}

// d65 and d50 are the whites as television, sRGB and ICC standards print them.
func d65() White { return White{Name: "D65", At: colorimetry.Chromaticity{X: 0.3127, Y: 0.3290}} }
func d50() White { return White{Name: "D50", At: colorimetry.Chromaticity{X: 0.3457, Y: 0.3585}} }

const (
	ownChoice    = "own choice, the document says nothing of it"
	blackNative  = "the display's own"
	openSummary  = "secondary: open course text comparing ISO 3664:2000 and ISO 12646:2008"
	iccRegistry  = "secondary: ICC registry of RGB encodings, entry on BT.2100"
	cinemaDigest = "secondary: open summary of ISO 26431-1 / SMPTE ST 431-1"
)

func bt1886() Start {
	return Start{
		Name: "bt1886", Document: "Recommendation ITU-R BT.1886 (2011)",
		Aim: Aim{Start: "bt1886", White: d65(), Luminance: 100, Tone: tone.Power{Gamma: 2.4}, Black: BlackLift},
		Facts: []Fact{
			{"tone", "a power of 2.4", "ITU-R BT.1886, annex 1"},
			{"black policy", "lift: a constant added to the signal", "ITU-R BT.1886, annex 1"},
			{"white", "D65, x 0.3127, y 0.3290", "ITU-R BT.709-6"},
			{"luminance", "100 cd/m²", "secondary: a public mailing list on BT.2035, which has the viewing conditions"},
			{"black", blackNative, "ITU-R BT.1886, annex 1, takes the black as it is set"},
		},
	}
}

func bt2100PQ() Start {
	return Start{
		Name: "bt2100-pq", Document: "Recommendation ITU-R BT.2100, PQ",
		Aim: Aim{Start: "bt2100-pq", White: d65(), Luminance: 1000, Tone: tone.PQ{}},
		Facts: []Fact{
			{"tone", "the perceptual quantiser, in cd/m², clipped at the white", "ITU-R BT.2100-2, table 4; SMPTE ST 2084:2014"},
			{"white", "D65, x 0.3127, y 0.3290", iccRegistry},
			{"luminance", "1000 cd/m² in small areas; the document asks for at least that", iccRegistry},
			{"black", blackNative + "; the document asks for 0.005 cd/m² or less", iccRegistry},
			{"black policy", "stretch: the display's own light comes on top", ownChoice},
		},
	}
}

func bt2100HLG() Start {
	return Start{
		Name: "bt2100-hlg", Document: "Recommendation ITU-R BT.2100, HLG",
		Aim: Aim{Start: "bt2100-hlg", White: d65(), Luminance: 1000, Tone: tone.HLG{}, Black: BlackLift},
		Facts: []Fact{
			{"tone", "hybrid log-gamma with the system gamma of the white, 1.2 at 1000 cd/m²; greys only, since the gamma acts on luminance", "ITU-R BT.2100-2, table 5 and note 5f"},
			{"black policy", "lift: a constant added to the signal", "ITU-R BT.2100-2, table 5"},
			{"white", "D65, x 0.3127, y 0.3290", iccRegistry},
			{"luminance", "1000 cd/m² in small areas", iccRegistry},
			{"black", blackNative + "; the document asks for 0.005 cd/m² or less", iccRegistry},
		},
	}
}

func gsdf() Start {
	return Start{
		Name: "gsdf", Document: "DICOM PS3.14",
		Aim: Aim{Start: "gsdf", Tone: GSDF{}},
		Facts: []Fact{
			{"tone", "equal steps of the just-noticeable-difference index from black to white, ambient light included", "DICOM PS3.14, clause 7 and annex D"},
			{"luminance", "the display's own; the function runs from 0.05 to about 3993 cd/m²", "DICOM PS3.14, clause 7"},
			{"white", "the display's own", ownChoice},
			{"black", blackNative, ownChoice},
			{"white over black", "about 350:1 with ambient light, where AAPM TG-270 is followed; not part of this aim", "from memory"},
		},
		Needs: "the ambient light that the screen reflects, measured",
	}
}

func iso3664Prints() Start {
	paper := Print{Reflectance: 0.85, Lux: 500}
	y, _ := paper.Luminance() // in range by construction
	return Start{
		Name: "iso3664-prints", Document: "ISO 3664, viewing of prints, condition P2, with a display beside them",
		Aim: Aim{Start: "iso3664-prints", White: d50(), Luminance: y, Print: paper, Tone: tone.Power{Gamma: 2.2}},
		Facts: []Fact{
			{"light on the prints", "500 lx for practical appraisal (P2); 2000 lx for critical comparison (P1), which makes the paper 541 cd/m²", "secondary: open page on the levels of ISO 3664"},
			{"white", "D50, x 0.3457, y 0.3585", openSummary},
			{"paper", "a luminous reflectance of 0.85; measure yours", "common practice, no source"},
			{"luminance", "135 cd/m²: 0.85 · 500 lx / π", "Lambert's law; ISO 12646:2008 is reported to have 80 to 120 cd/m² beside prints (" + openSummary + "), that is 300 to 440 lx"},
			{"tone", "a power of 2.2", ownChoice},
			{"black", blackNative, ownChoice},
			{"black policy", "stretch: the range is scaled", ownChoice},
		},
	}
}

func srgb() Start {
	return Start{
		Name: "srgb", Document: "IEC 61966-2-1:1999",
		Aim: Aim{Start: "srgb", White: d65(), Luminance: 80, Tone: tone.SRGB{}},
		Facts: []Fact{
			{"tone", "the curve of sRGB", "IEC 61966-2-1:1999"},
			{"white", "D65, x 0.3127, y 0.3290", "IEC 61966-2-1:1999"},
			{"luminance", "80 cd/m²", "secondary: drafts of the W3C on colour in style sheets"},
			{"black", blackNative + "; the reference viewing condition is reported to have 0.2 cd/m²", "secondary: drafts of the W3C on colour in style sheets"},
			{"black policy", "stretch: the range is scaled", ownChoice},
		},
	}
}

func st431() Start {
	return Start{
		Name: "st431", Document: "SMPTE ST 431-1 (ISO 26431-1) and RP 431-2:2011",
		Aim: Aim{Start: "st431", White: XY(0.314, 0.351), Luminance: 48, Tone: tone.Power{Gamma: 2.6}},
		Facts: []Fact{
			{"white", "x 0.314, y 0.351, within 0.002 in a review room and 0.006 in a theatre", cinemaDigest},
			{"luminance", "48 cd/m² at the centre, within 3.5 in a review room and 10.2 in a theatre", cinemaDigest},
			{"tone", "a power of 2.6", "secondary: open article on the reference values of RP 431-2"},
			{"black", blackNative + "; white over black of at least 1500:1 in a review room and 1200:1 in a theatre", "secondary: open article on the figures of RP 431-2:2011"},
			{"black policy", "stretch: steps are judged with the black taken off", "secondary: public notes on the cinema compliance tests"},
		},
	}
}
