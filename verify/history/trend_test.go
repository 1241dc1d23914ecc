package history_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"example.org/primaries/colorimetry"
	"example.org/primaries/verify/history"
)

func TestCompare(t *testing.T) {
	then, now := entry("a", 0), entry("b", 31)
	now.LuminanceCdM2, now.BlackCdM2 = 97, 0.06
	now.WhiteX, now.WhiteY = 0.3140, 0.3300
	other := entry("c", 20)
	other.Display = "another"
	later := entry("d", 40)
	c, ok := history.Compare([]history.Entry{later, now, other, then}, now)
	if !ok || c.SinceRun != "a" || c.Days != 31 || !c.BeyondNoise {
		t.Fatalf("%v, %+v", ok, c)
	}
	// By hand: u' = 4x/(−2x+12y+3), v' = 9y/(−2x+12y+3): 0.197830, 0.468320
	// (D65: 0.1978, 0.4683 to the usual four digits) and 0.198358, 0.469046;
	// √(0.000528² + 0.000726²) = 0.000898.
	if math.Abs(c.LuminanceShare+0.03) > 1e-12 || math.Abs(c.BlackCdM2-0.01) > 1e-12 || math.Abs(c.WhiteDeltaUV-0.000898) > 2e-6 {
		t.Errorf("%+v", c)
	}
	if _, ok := history.Compare([]history.Entry{other, later, now}, now); ok {
		t.Error("compared with another display, a later run or itself")
	}
}

func TestChangeWithinNoise(t *testing.T) {
	then, now := entry("a", 0), entry("b", 30)
	now.LuminanceCdM2 = 100.5 // 1.96·√2·0.2 % is 0.55 %
	if c, _ := history.Compare([]history.Entry{then}, now); c.BeyondNoise {
		t.Errorf("0.5 %% is within the noise: %+v", c)
	}
	now.LuminanceCdM2 = 100.6
	if c, _ := history.Compare([]history.Entry{then}, now); !c.BeyondNoise {
		t.Errorf("0.6 %% is beyond the noise: %+v", c)
	}
	now.LuminanceSpread = 0
	if c, _ := history.Compare([]history.Entry{then}, now); c.BeyondNoise || !strings.Contains(strings.Join(c.Notes, " "), "not known") {
		t.Errorf("without a stated noise nothing can be told: %+v", c)
	}
	now = entry("b", 30)
	now.Instrument, now.Aim = "another", "D50-80-1.8"
	if c, _ := history.Compare([]history.Entry{then}, now); len(c.Notes) != 2 {
		t.Errorf("notes: %q", c.Notes)
	}
}

func TestNextLook(t *testing.T) {
	days := func(entries []history.Entry) (float64, string) {
		now := entries[len(entries)-1]
		l := history.NextLook(entries, now)
		return l.Due.Sub(now.Time).Hours() / 24, l.Reason
	}
	// About a month: common practice, no source.
	if d, why := days([]history.Entry{entry("a", 0)}); d != 30 || !strings.Contains(why, "no source") {
		t.Errorf("first look: %g days, %q", d, why)
	}
	rng := rand.New(rand.NewPCG(2, 2))
	steady := make([]history.Entry, 6)
	for i := range steady {
		steady[i] = entry(fmt.Sprint(i), 30*float64(i))
		steady[i].LuminanceCdM2 *= 1 + 0.002*rng.NormFloat64()
		steady[i].WhiteX += 0.0002 * rng.NormFloat64()
	}
	if d, why := days(steady); d != 30 {
		t.Errorf("a steady display: %g days, %q", d, why)
	}
	// 0.4 % a day: 5 % takes 12.5 days.
	fading := make([]history.Entry, 4)
	for i := range fading {
		fading[i] = entry(fmt.Sprint(i), 10*float64(i))
		fading[i].LuminanceCdM2 = 100 * math.Exp(-0.004*10*float64(i)) * (1 + 0.0005*float64(i%2))
	}
	if d, why := days(fading); math.Abs(d-12.5) > 0.5 || !strings.Contains(why, "luminance") {
		t.Errorf("a fading display: %g days, %q", d, why)
	}
	// Two looks, the white 0.002 away in 20 days: 0.0015 takes 15.
	pair := []history.Entry{entry("a", 0), entry("b", 20)}
	d65 := colorimetry.D65().UV()
	moved := colorimetry.UV{U: d65.U + 0.002, V: d65.V}.Chromaticity()
	pair[1].WhiteX, pair[1].WhiteY = moved.X, moved.Y
	if d, why := days(pair); math.Abs(d-15) > 0.5 || !strings.Contains(why, "white") {
		t.Errorf("a white that moves: %g days, %q", d, why)
	}
	// However fast it goes, not within a week.
	pair[1].LuminanceCdM2 = 50
	if d, _ := days(pair); d != 7 {
		t.Errorf("a failing display: %g days, want 7", d)
	}
	pair[1].Instrument = "another"
	if d, _ := days(pair); d != 30 {
		t.Errorf("another instrument makes no trend: %g days", d)
	}
	if l := history.NextLook(nil, entry("a", 0)); l.Due.Before(entry("a", 29).Time) || l.Due.Sub(entry("a", 0).Time) > 31*24*time.Hour {
		t.Errorf("%v", l)
	}
}

// Three runs of one afternoon differ by noise and warm-up; told as a month's
// drift that would be hundreds of times as much.
func TestRunsOfOneDayShowNoDrift(t *testing.T) {
	var all []history.Entry
	for i := range 4 {
		e := entry(string(rune('a'+i)), float64(i)/48)
		e.WhiteX += 0.003 * float64(i)
		e.LuminanceCdM2 *= 1 - 0.01*float64(i)
		all = append(all, e)
	}
	last := all[len(all)-1]
	if look := history.NextLook(all, last); !strings.Contains(look.Reason, "month") || look.Due.Sub(last.Time) < 25*24*time.Hour {
		t.Errorf("next look %v: %s", look.Due, look.Reason)
	}
}
