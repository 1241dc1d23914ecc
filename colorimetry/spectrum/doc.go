// Package spectrum holds spectra, observers, illuminants and surfaces, and what
// follows from them by summing over wavelength.
//
// Where to look:
//   - a spectrum of your own: [New], [ReadCSV]; [Spectrum.Resample] brings it to
//     other wavelengths, [Spectrum.CorrectBandpass] undoes an instrument's
//     passband, [Spectrum.Multiply] puts a filter or a surface before a light
//   - who looks: [CIE1931], [CIE1964], [CIE2015TwoDegree], [CIE2015TenDegree],
//     or your own [Observer]; [ConesTwoDegree], [Photopic], [Scotopic]
//   - what shines: [Illuminant], [DaylightSpectrum], [PlanckianSpectrum], and the
//     typical primaries of display panels, [PanelSources]
//   - what reflects: [TestColours], [EvaluationColours], [MunsellChips]
//   - light as a colour: [Observer.Emission], in cd/m²
//   - surfaces as colours: [Observer.Reflection] and [Observer.White]; for many
//     of them [Observer.Weights], and [Observer.ASTMWeights] for readings at 10
//     or 20 nm
//   - white light as a temperature: [CCT] and [FromCCT], [Planckian], [Daylight]
//     and their loci, [Mired]
//   - hue and saturation of lights: [Observer.Dominant]
//
// Wavelengths are in nm. Spectra of displays are spectral radiance in
// W/(sr·m²·nm), so that [Observer.Emission] gives cd/m². Surfaces come out
// relative: the perfect diffuser has Y = 1, where the standards write 100.
//
// Everything here is immutable and safe for concurrent use. Tables are parsed
// when first asked for. What is computed for a single colour allocates nothing.
package spectrum
