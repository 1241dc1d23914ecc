package mismatch_test

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/mismatch"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// lamp is a spectral instrument that always looks at one light.
type lamp struct {
	light    spectrum.Spectrum
	spectral bool
	restored *int
	fail     error
}

func (l lamp) Instrument() measure.InstrumentInfo {
	return measure.InstrumentInfo{Name: "lamp", Spectral: l.spectral}
}

func (l lamp) Measure(context.Context, measure.Request) (measure.Sample, error) {
	return measure.Sample{XYZ: spectrum.CIE1931().Emission(l.light), Duration: time.Second, Spectrum: l.light}, l.fail
}

func (l lamp) Restore(context.Context, measure.Reading) error { *l.restored++; return nil }

// dim is a lamp that needs darkness.
type dim struct{ lamp }

func (dim) DarkCalibration() time.Time          { return time.Time{} }
func (dim) CalibrateDark(context.Context) error { return errors.New("cover it") }

// An equal-energy light is x = y = 1/3 for every observer of the CIE; D65 has
// the chromaticity that CIE 15:2018, table 11.3 (from memory), gives for the
// 10° observer, 0.31382, 0.33100.
func TestObserved(t *testing.T) {
	restored := 0
	d65 := lamp{light: spectrum.IlluminantD65().Scale(1e-4), spectral: true, restored: &restored}
	ten, err := mismatch.Observed(d65, spectrum.CIE1964())
	if err != nil {
		t.Fatal(err)
	}
	got, err := ten.Measure(context.Background(), measure.Request{})
	if err != nil {
		t.Fatal(err)
	}
	if c := got.XYZ.Chromaticity(); math.Abs(c.X-0.31382) > 5e-5 || math.Abs(c.Y-0.33100) > 5e-5 || got.Duration != time.Second {
		t.Errorf("D65 as the 10° observer sees it: %v after %v", c, got.Duration)
	}
	info := ten.Instrument()
	if info.Observer != spectrum.CIE1964().Name || info.Name != "lamp" || !info.Spectral {
		t.Errorf("%+v", info)
	}
	if _, ok := ten.(measure.DarkCalibrator); ok {
		t.Error("a lamp has a dark calibration")
	}
	if err := ten.(measure.Restorer).Restore(context.Background(), measure.Reading{}); err != nil || restored != 1 {
		t.Errorf("restored %d times, %v", restored, err)
	}
	dark, err := mismatch.Observed(dim{d65}, spectrum.CIE1964())
	if err != nil {
		t.Fatal(err)
	}
	if c, ok := dark.(measure.DarkCalibrator); !ok || c.CalibrateDark(context.Background()) == nil {
		t.Error("the dark calibration is lost")
	}
	for name, refuse := range map[string]func() error{
		"no spectra": func() error {
			_, err := mismatch.Observed(lamp{restored: &restored}, spectrum.CIE1964())
			return err
		},
		"nameless": func() error { _, err := mismatch.Observed(d65, spectrum.Observer{}); return err },
		"a sample without spectrum": func() error {
			o, err := mismatch.Observed(lamp{spectral: true, restored: &restored}, spectrum.CIE1964())
			if err == nil {
				_, err = o.Measure(context.Background(), measure.Request{})
			}
			return err
		},
		"a failing instrument": func() error {
			o, err := mismatch.Observed(lamp{light: d65.light, spectral: true, fail: measure.ErrTransient}, spectrum.CIE1964())
			if err == nil {
				_, err = o.Measure(context.Background(), measure.Request{})
			}
			if !errors.Is(err, measure.ErrTransient) {
				t.Errorf("passing trouble became %v", err)
			}
			return err
		},
	} {
		if refuse() == nil {
			t.Errorf("%s is taken", name)
		}
	}
}

func TestThrough(t *testing.T) {
	light := spectrum.IlluminantD65().Scale(1e-4)
	in := []measure.Reading{{Index: 3, Raw: colorimetry.XYZ{Y: 1}, Spectrum: light, Repeats: []colorimetry.XYZ{{Y: 1}}}}
	out, err := mismatch.Through(spectrum.CIE2015TwoDegree(), in)
	if err != nil || out[0].XYZ != spectrum.CIE2015TwoDegree().Emission(light) || out[0].Raw != out[0].XYZ || out[0].Repeats != nil || out[0].Index != 3 {
		t.Errorf("%+v, %v", out, err)
	}
	if in[0].Raw.Y != 1 {
		t.Error("the readings given were changed")
	}
	if _, err := mismatch.Through(spectrum.CIE1964(), []measure.Reading{{Index: 5}}); err == nil || !strings.Contains(err.Error(), "reading 5") {
		t.Errorf("%v", err)
	}
}

// A white of blue-pumped LEDs, as two observers see it.
func ExampleObserved() {
	p := spectrum.PanelSources()[0].Primaries
	restored := 0
	instrument := lamp{light: p[0].Add(p[1]).Add(p[2]), spectral: true, restored: &restored}
	for _, observer := range []spectrum.Observer{spectrum.CIE1931(), spectrum.CIE2015TwoDegree()} {
		o, err := mismatch.Observed(instrument, observer)
		if err != nil {
			fmt.Println(err)
			return
		}
		sample, err := o.Measure(context.Background(), measure.Request{})
		if err != nil {
			fmt.Println(err)
			return
		}
		c := sample.XYZ.Chromaticity()
		fmt.Printf("%s: x %.3f y %.3f\n", o.Instrument().Observer, c.X, c.Y)
	}
	// Output:
	// CIE 1931 2°: x 0.313 y 0.329
	// CIE 2015 2°: x 0.317 y 0.336
}
