package spectrum

// Sample is a surface by name: its spectral reflectance (or radiance factor),
// 1 for the perfect reflecting diffuser.
type Sample struct {
	Name        string
	Reflectance Spectrum
}

// TestColours returns the 14 test colours of the colour-rendering index, TCS01
// to TCS14, 360 to 830 nm at 5 nm. Each call returns a new slice.
//
// Source: CIE 13.3-1995.
func TestColours() []Sample { return samples(tcs14()) }

// EvaluationColours returns the 99 samples of the colour-fidelity index, CES01
// to CES99, 380 to 780 nm at 5 nm. Each call returns a new slice.
//
// Source: CIE 224:2017; ANSI/IES TM-30-18.
func EvaluationColours() []Sample { return samples(ces99()) }

// MunsellChips returns 120 matt chips spread over the Munsell book, named
// hue_value_chroma as in "5R_4_8", 380 to 780 nm at 5 nm. Each call returns a
// new slice.
//
// Source: University of Joensuu; Parkkinen, Hallikainen and Jaaskelainen,
// J. Opt. Soc. Am. A 6(2) 318-322 (1989).
func MunsellChips() []Sample { return samples(munsell()) }

func samples(c columns) []Sample {
	out := make([]Sample, len(c.names))
	for i, s := range c.spectra {
		out[i] = Sample{c.names[i], s}
	}
	return out
}
