package main

import "example.org/primaries/chart/simulate"

// What the simulated displays stand for.
const (
	studio = "Invented for this example: a print studio prepares a travelling exhibition of textile photographs and judges " +
		"its proofs on this display. "
	measuredScenario = studio + "The display's primary spectra and tone are a real one's, measured and published; everything around them is made up."
	inventedScenario = studio + "The display is invented as well, and no one's panel: only the size of its figures is that of things that happen."
)

// shown is a simulated display that -display names.
type shown struct {
	name     string
	spec     func() simulate.Spec
	scenario string
}

// displays are those that need no files: the measured ones, of which the first is
// the default, and the invented ones, most of which have channels that disturb
// each other.
var displays = []shown{
	{"oled", simulate.ReferenceOLED.Spec, measuredScenario},
	{"lcd", simulate.WideGamutLCD.Spec, measuredScenario},
	{"crt", simulate.CRT.Spec, measuredScenario},
	{"smooth", simulate.SmoothLCD.Spec, inventedScenario},
	{"crossing", simulate.CrossingLCD.Spec, inventedScenario},
	{"drifting", simulate.DriftingLCD.Spec, inventedScenario},
	{"crosstalk", simulate.CrosstalkPanel.Spec, inventedScenario},
	{"old-crt", simulate.OldCRT.Spec, inventedScenario},
	{"office", simulate.OfficePanel.Spec, inventedScenario},
	{"coupled", simulate.CoupledLCD.Spec, inventedScenario},
	{"sagging", simulate.SaggingPanel.Spec, inventedScenario},
	{"four-subpixels", simulate.FourSubpixels.Spec, inventedScenario},
}

// displayNames are the words that -display takes.
func displayNames() (names []string) {
	for _, d := range displays {
		names = append(names, d.name)
	}
	return names
}
