package simulate_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/colorimetry/spectrum"
)

// Displays whose channels interact, for models that claim to cope with it.
func ExampleInvented() {
	for _, e := range []simulate.Example{simulate.CoupledLCD, simulate.SaggingPanel, simulate.FourSubpixels} {
		display := simulate.Invented(e, simulate.Options{})
		fmt.Printf("%s: the primaries differ from white by %+.0f %%\n", e, 100*display.NonAdditivity())
	}
	// Output:
	// Coupled LCD (invented): the primaries differ from white by -8 %
	// Sagging panel (invented): the primaries differ from white by +11 %
	// Four sub-pixels (invented): the primaries differ from white by -28 %
}

// A display that drifts, dims and flickers: what white has lost after an hour.
func ExampleSpec_Troubled() {
	spec, err := simulate.Typical("self-luminous-rgb")
	if err != nil {
		fmt.Println(err)
		return
	}
	display, err := simulate.New(spec.Troubled(), simulate.Options{WindowShare: 0.5})
	if err != nil {
		fmt.Println(err)
		return
	}
	white := colorimetry.Gray(1)
	now, later := display.Truth(white), display.TruthAt(white, display.Clock().Now().Add(time.Hour))
	fmt.Printf("%.0f cd/m², of 200 on a display that does not dim\n", now.Y)
	fmt.Printf("after an hour %.1f %% less, %.4f away in u'v'\n", 100*(1-later.Y/now.Y), later.UV().Distance(now.UV()))
	// Output:
	// 162 cd/m², of 200 on a display that does not dim
	// after an hour 3.9 % less, 0.0029 away in u'v'
}

// Mishaps for whoever has to notice them: from reading 2 on the instrument has
// slipped.
func ExampleMishap() {
	ctx := context.Background()
	display := simulate.Measured(simulate.CRT, simulate.Options{
		Noise:   &measure.Noise{},
		Mishaps: []simulate.Mishap{{Kind: simulate.Slipped, Reading: 2, Share: 0.7}},
	})
	instrument := display.Colorimeter()
	for reading := range 4 {
		if err := display.Show(ctx, colorimetry.Gray(1)); err != nil {
			fmt.Println(err)
			return
		}
		sample, err := instrument.Measure(ctx, measure.Request{Reading: reading})
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("reading %d: %.0f cd/m²\n", reading, sample.XYZ.Y)
	}
	fmt.Printf("a session should say: %s\n", simulate.Slipped.Condition())
	// Output:
	// reading 0: 101 cd/m²
	// reading 1: 101 cd/m²
	// reading 2: 71 cd/m²
	// reading 3: 71 cd/m²
	// a session should say: instrument slipped
}

// A cable that is pulled at reading 1, and a session that says so.
func ExampleFaulty() {
	ctx := context.Background()
	display := simulate.Measured(simulate.CRT, simulate.Options{})
	instrument := simulate.Faulty(display.Colorimeter(), simulate.Fault{Kind: simulate.Disconnects, Reading: 1})
	session, err := measure.Open(ctx, measure.Setup{Screen: display, Instrument: instrument, Clock: display.Clock()})
	if err != nil {
		fmt.Println(err)
		return
	}
	for range 2 {
		_, err := session.Read(ctx, measure.ReadRequest{Stage: measure.StageCharts, Patch: chart.Patch{Signal: colorimetry.Gray(0.5)}})
		fmt.Println(errors.Is(err, simulate.ErrDisconnected))
	}
	instrument.(simulate.Reconnector).Reconnect()
	_, err = session.Read(ctx, measure.ReadRequest{Stage: measure.StageCharts, Patch: chart.Patch{Signal: colorimetry.Gray(0.5)}})
	fmt.Println("plugged in again:", err)
	// Output:
	// false
	// true
	// plugged in again: <nil>
}

// An instrument that returns spectra, with an observer of one's choice.
func ExampleDisplay_SpectroradiometerWith() {
	ctx := context.Background()
	display := simulate.Measured(simulate.WideGamutLCD, simulate.Options{Seed: 1})
	instrument, err := display.SpectroradiometerWith(simulate.SpectralMeter{Observer: spectrum.CIE1964()})
	if err != nil {
		fmt.Println(err)
		return
	}
	if err := display.Show(ctx, colorimetry.RGB{G: 1}); err != nil {
		fmt.Println(err)
		return
	}
	sample, err := instrument.Measure(ctx, measure.Request{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(instrument.Instrument().Observer, sample.Spectrum.Len(), "wavelengths")
	fmt.Println("XYZ is the spectrum's:", sample.XYZ == spectrum.CIE1964().Emission(sample.Spectrum))
	// Output:
	// CIE 1964 10° 201 wavelengths
	// XYZ is the spectrum's: true
}

// A gamut mode that shows an encoding, on a display that is wider.
func ExampleSpec_Emulate() {
	spec, err := simulate.Typical("rgb-leds")
	if err != nil {
		fmt.Println(err)
		return
	}
	mode, err := spec.Emulate(rgb.SRGB())
	if err != nil {
		fmt.Println(err)
		return
	}
	spec.Modes = []simulate.Mode{mode}
	display, err := simulate.New(spec, simulate.Options{Mode: mode.Name})
	if err != nil {
		fmt.Println(err)
		return
	}
	black := display.Truth(colorimetry.RGB{})
	red := display.Truth(colorimetry.RGB{R: 1}).Sub(black).Chromaticity()
	fmt.Printf("%s: red at x %.3f, y %.3f\n", display.Screen().Mode, red.X, red.Y)
	// Output:
	// sRGB: red at x 0.640, y 0.330
}

// The form of a display's file, with three flat spectra for the sake of brevity.
func ExampleSpec_WriteJSON() {
	spec := simulate.CRT.Spec()
	flat, err := spectrum.New([]float64{400, 700}, []float64{1e-4, 1e-4})
	if err != nil {
		fmt.Println(err)
		return
	}
	spec.Primaries = [3]spectrum.Spectrum{flat, flat, flat}
	spec.Tones = simulate.CoupledLCD.Spec().Tones
	spec.Name, spec.Origin, spec.Notes = "Sketch", "an example", nil
	if err := spec.WriteJSON(os.Stdout); err != nil {
		fmt.Println(err)
	}
	// Output:
	// {
	//   "kind": "simulated display",
	//   "version": 1,
	//   "name": "Sketch",
	//   "mode": "native",
	//   "origin": "an example",
	//   "primaries": {
	//     "red": {
	//       "wavelength_nm": [400, 700],
	//       "radiance_w_per_sr_m2_nm": [0.0001, 0.0001]
	//     },
	//     "green": {
	//       "wavelength_nm": [400, 700],
	//       "radiance_w_per_sr_m2_nm": [0.0001, 0.0001]
	//     },
	//     "blue": {
	//       "wavelength_nm": [400, 700],
	//       "radiance_w_per_sr_m2_nm": [0.0001, 0.0001]
	//     }
	//   },
	//   "tones": {
	//     "red": "stretch 0.001 power 2.25",
	//     "green": "stretch 0.0009 power 2.2",
	//     "blue": "stretch 0.0014 power 2.15"
	//   },
	//   "supply": {
	//     "sag": 0,
	//     "currents": {
	//       "red": 0.3333333333333333,
	//       "green": 0.3333333333333333,
	//       "blue": 0.3333333333333333
	//     },
	//     "sensitivity": {
	//       "red": 1,
	//       "green": 1,
	//       "blue": 1
	//     }
	//   },
	//   "reflectance": 0.01,
	//   "warm_up": {
	//     "missing": {
	//       "red": 0.03,
	//       "green": 0.036,
	//       "blue": 0.046
	//     },
	//     "decay": "4m0s"
	//   },
	//   "brightness": {
	//     "lowest": 0.08,
	//     "exponent": 1.5
	//   },
	//   "gain": {
	//     "lowest": 0.5,
	//     "exponent": 0.8
	//   },
	//   "offset": {
	//     "common": 0.2,
	//     "headroom": 1.3
	//   }
	// }
}
