// Package spectrum holds spectra, observers and what follows from them:
// tristimulus values of light, daylight and Planckian loci, correlated colour
// temperature, and the typical spectra of display panels.
//
// Wavelengths are in nm. Spectra of displays are spectral radiance in
// W/(sr·m²·nm), so that [Observer.Emission] gives cd/m².
package spectrum
