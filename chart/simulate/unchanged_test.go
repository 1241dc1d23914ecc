package simulate_test

import (
	"context"
	"math"
	"runtime"
	"testing"
	"time"

	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/simulate"
	"example.org/primaries/colorimetry"
)

// unchanged are readings that the package gave before it knew of interaction,
// nuisances and mishaps.
var unchanged = []colorimetry.XYZ{
	{X: 0x1.d4238a864b0abp+04, Y: 0x1.f4a2c24b7d6dep+05, Z: 0x1.5ae3b1771e354p+05},
	{X: 0x1.d2f21c77d1f94p+04, Y: 0x1.e52cd9bafa635p+05, Z: 0x1.5314b5d50268ep+05},
	{X: -0x1.ebd2979f01ca7p-09, Y: 0x1.6dd9c16e5f5e4p-08, Z: 0x1.f606e92f1f0f1p-08},
	{X: 0x0p+00, Y: 0x0p+00, Z: 0x0p+00},
	{X: 0x1.208af9259161p+07, Y: 0x1.2a98307fcb71bp+07, Z: 0x1.554a139a434dap+07},
	{X: 0x1.20d0922d22662p+07, Y: 0x1.2ac4139fa9828p+07, Z: 0x1.56015b035685fp+07},
	{X: 0x1.b7a7c3edf85dfp-01, Y: 0x1.7c7b6888c87dep-02, Z: 0x1.25f100bb14edcp+02},
	{X: 0x1.ac4ad476136cp-01, Y: 0x1.500c27045df65p-02, Z: 0x1.2bcaedd424589p+02},
	{X: 0x1.57ea9b7f1952fp+05, Y: 0x1.6d9ca7c45b1d2p+06, Z: 0x1.1073a623c54c9p+06},
	{X: 0x1.55039462a0f08p+05, Y: 0x1.62eff292e170ap+06, Z: 0x1.0ecddeffa74f5p+06},
	{X: 0x1.54d0a72b1a018p+01, Y: 0x1.92413d84bc6a5p+00, Z: 0x1.c0e00dd26d334p+02},
	{X: 0x1.4efa7a5097dffp+01, Y: 0x1.8004ac7701c87p+00, Z: 0x1.cee779196c689p+02},
	{X: 0x1.ab2579070e00ep+07, Y: 0x1.b358f16400635p+07, Z: 0x1.d49160aedaf5p+07},
	{X: 0x1.ab8bf319f004p+07, Y: 0x1.b398fdc770fd6p+07, Z: 0x1.d58f79bd8ea7ep+07},
	{X: 0x1.f87dfb9cf8da8p+01, Y: 0x1.050ef250baeb6p+01, Z: 0x1.aecfea0c9a95bp+03},
	{X: 0x1.ee50ec9bfc2fp+01, Y: 0x1.ec62b8ad5a937p+00, Z: 0x1.bd4af11361b9fp+03},
	{X: 0x1.358f3dbd43a78p+04, Y: 0x1.299aca87b2535p+05, Z: 0x1.199e4fc50758ep+04},
	{X: 0x1.38c2861a688ccp+04, Y: 0x1.23e80ba6a80c4p+05, Z: 0x1.12b11b5632b5dp+04},
	{X: -0x1.ebd2979f01ca7p-09, Y: 0x1.6dd9c16e5f5e4p-08, Z: 0x1.f606e92f1f0f1p-08},
	{X: 0x0p+00, Y: 0x0p+00, Z: 0x0p+00},
	{X: 0x1.6383b57adce78p+06, Y: 0x1.7aaf2e7cc502ap+06, Z: 0x1.c5b30d4e3873bp+06},
	{X: 0x1.63da398bf94c6p+06, Y: 0x1.7ae755e0c2fa4p+06, Z: 0x1.c6a4e78ddca86p+06},
	{X: 0x1.ce1b2d4bd5d64p-09, Y: -0x1.2c6bb2478ac9fp-10, Z: 0x1.12353fc1322afp-07},
	{X: 0x0p+00, Y: 0x0p+00, Z: 0x0p+00},
}

// TestUnchanged: without any of its later options a simulation gives the bits
// that it always gave, since profiles are kept that were made of them. Other
// kinds of processor round in other places.
func TestUnchanged(t *testing.T) {
	ctx := context.Background()
	var got []colorimetry.XYZ
	for p := simulate.ReferenceOLED; p <= simulate.CRT; p++ {
		d := simulate.Measured(p, simulate.Options{Seed: 7, Cold: true})
		for k, signal := range []colorimetry.RGB{{R: 0.31, G: 0.77, B: 0.5}, {}, {R: 1, G: 1, B: 1}, {B: 0.2}} {
			show(t, d, signal)
			if err := d.Set(ctx, measure.GreenGain, 100-3*k); err != nil {
				t.Fatal(err)
			}
			if err := d.Clock().Sleep(ctx, 400*time.Millisecond); err != nil {
				t.Fatal(err)
			}
			i := d.Colorimeter()
			if k == 2 {
				i = d.Spectroradiometer()
			}
			got = append(got, read(t, i, k, 1).XYZ, d.TruthAt(signal, d.Clock().Now()))
		}
	}
	if len(unchanged) != len(got) {
		for _, c := range got {
			t.Logf("{X: %x, Y: %x, Z: %x},", c.X, c.Y, c.Z)
		}
		t.Fatalf("%d readings, %d kept", len(got), len(unchanged))
	}
	for n, want := range unchanged {
		off := got[n].Sub(want)
		if got[n] != want && (runtime.GOARCH == "amd64" || math.Abs(off.X)+math.Abs(off.Y)+math.Abs(off.Z) > 1e-12*(1+want.Y)) {
			t.Errorf("reading %d is %v, kept %v", n, got[n], want)
		}
	}
}
