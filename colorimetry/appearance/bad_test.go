package appearance_test

import (
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/appearance"
)

// A white on another scale is refused, as is a background beyond the white.
func TestScale(t *testing.T) {
	for _, k := range []float64{100, 500} {
		if _, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65().Scale(k)}); err == nil {
			t.Errorf("a white of Y %g is taken", k)
		}
	}
	if _, err := appearance.NewCAM16(appearance.Viewing{White: colorimetry.D65(), Background: 20}); err == nil {
		t.Error("a background 20 times as bright as the white is taken")
	}
}

// Beyond its pole Jzazbz has no value.
func TestJzazbzPole(t *testing.T) {
	last := 0.0
	for y := 1.0; y < 1e300; y *= 2 {
		j, ok := appearance.FromXYZJzazbz(colorimetry.D65().Scale(y))
		if ok && j.J < last {
			t.Fatalf("J falls to %g at %g cd/m²", j.J, y)
		}
		if ok {
			last = j.J
		} else if y < 1e5 {
			t.Errorf("nothing at %g cd/m²", y)
		}
	}
}
