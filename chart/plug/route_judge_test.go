package plug

import (
	"context"
	"testing"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
)

// Noise alone refuses no plain route, and is what PairNoise says: the mean
// square of Pair in units of it, the larger of two, stays near 1.
func TestRouteNoise(t *testing.T) {
	const seeds = 200
	for _, panel := range []simulate.Panel{simulate.WideGamutLCD, simulate.ReferenceOLED, simulate.CRT} {
		var square float64
		for seed := range seeds {
			d := simulate.Measured(panel, simulate.Options{Seed: uint64(seed + 1), Bits: 8})
			s, err := measure.Open(context.Background(), measure.Setup{Screen: d, Instrument: d.Colorimeter(), Clock: d.Clock()})
			if err != nil {
				t.Fatal(err)
			}
			var r routeReadings
			for _, p := range routePatches() {
				reading, err := s.Read(context.Background(), measure.ReadRequest{Stage: StageRoute, Patch: chart.Patch{ID: p.id, Signal: p.signal}, Averages: 4})
				if err != nil {
					t.Fatal(err)
				}
				*p.to(&r) = reading
			}
			route := r.judge("srgb")
			if route.State != RoutePlain {
				t.Errorf("%v, seed %d: %s", panel, seed+1, route.Sentence)
			}
			square += route.Pair * route.Pair / (route.PairNoise * route.PairNoise) / seeds
		}
		if square < 0.6 || square > 1.6 {
			t.Errorf("%v: the pair scatters by %.2f of what its noise says, squared", panel, square)
		}
	}
}

// A display that is sRGB itself, to the last digit, goes through untold; what
// the browser takes it for decides alone.
func TestRouteUntold(t *testing.T) {
	m, err := rgb.SRGB().Matrix()
	if err != nil {
		t.Fatal(err)
	}
	var r routeReadings
	for _, p := range routePatches() {
		light := m.FromLinear(rgb.SRGB().Linear(p.signal)).Scale(100)
		*p.to(&r) = measure.Reading{XYZ: light, Covariance: colorimetry.Diagonal(1e-4, 1e-4, 1e-4)}
	}
	for gamut, want := range map[string]RouteState{"srgb": RouteUntold, "": RouteUntold, "p3": RouteConverted, "rec2020": RouteConverted} {
		if route := r.judge(gamut); route.State != want || route.Expected > 1e-9 || route.Primaries > 1e-9 || route.Ramp > 1e-9 {
			t.Errorf("taken for %q: %+v", gamut, route)
		}
	}
}
