package history

import (
	"fmt"
	"math"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Limits of the watch, this project's own choice: a display that has moved so
// far is worth setting again.
const (
	// movedLuminance is a share; common practice forgives ±5 cd/m², and most
	// displays are set near 100.
	movedLuminance = 0.05
	// movedUV is the project's target for the white.
	movedUV = 0.0015
)

const (
	usualDays = 30 // about a month: common practice, no source
	leastDays = 7  // this project's choice: sooner only measures noise
)

// Change is how a display differs from the entry before.
type Change struct {
	Since          time.Time `json:"since"`
	SinceRun       string    `json:"since_run"`
	Days           float64   `json:"days"`
	LuminanceShare float64   `json:"luminance_share"` // now ÷ then − 1
	BlackCdM2      float64   `json:"black_cd_m2"`     // now − then
	WhiteDeltaUV   float64   `json:"white_delta_uv"`  // distance between the two whites
	// BeyondNoise is whether luminance or white moved by more than the noise
	// of both readings explains in 19 of 20 cases.
	BeyondNoise bool     `json:"beyond_noise"`
	Notes       []string `json:"notes,omitempty"` // what else differs
}

// Look says when to measure again, and why then.
type Look struct {
	Due    time.Time `json:"due"`
	Reason string    `json:"reason"`
}

// Compare holds e against the last entry before it of the same display and
// mode; ok is false where there is none. The entries may be in any order and
// may hold e itself.
func Compare(entries []Entry, e Entry) (c Change, ok bool) {
	past := before(entries, e)
	if len(past) == 0 {
		return Change{}, false
	}
	p := past[len(past)-1]
	c = Change{
		Since: p.Time, SinceRun: p.Run, Days: e.Time.Sub(p.Time).Hours() / 24,
		LuminanceShare: e.LuminanceCdM2/p.LuminanceCdM2 - 1,
		BlackCdM2:      e.BlackCdM2 - p.BlackCdM2,
		WhiteDeltaUV:   e.uv().Distance(p.uv()),
	}
	if p.Instrument != e.Instrument || p.Serial != e.Serial {
		// National metrology institute, calibrated commercial instruments:
		// combined standard uncertainty about 0.002 in x, y and 2 % in Y.
		c.Notes = append(c.Notes, "another instrument: two that are well kept still differ by about 0.002 in x and y and 2 % in luminance")
	}
	if p.Aim != e.Aim {
		c.Notes = append(c.Notes, fmt.Sprintf("another aim: %q then, %q now", p.Aim, e.Aim))
	}
	if p.LuminanceSpread == 0 || e.LuminanceSpread == 0 || p.WhiteSpreadUV == 0 || e.WhiteSpreadUV == 0 {
		c.Notes = append(c.Notes, "the noise of one of the two is not known, so that no change can be told from it")
		return c, true
	}
	// Two-sided for the luminance, and the 95 % radius of a round
	// two-dimensional normal distribution, √(−2 ln 0.05), for the white.
	c.BeyondNoise = math.Abs(c.LuminanceShare) > 1.96*math.Hypot(p.LuminanceSpread, e.LuminanceSpread) ||
		c.WhiteDeltaUV > 2.448*math.Hypot(p.WhiteSpreadUV, e.WhiteSpreadUV)
	return c, true
}

// before returns the entries of e's display and mode that are older than e, by
// rising time.
func before(entries []Entry, e Entry) []Entry {
	var past []Entry
	for _, p := range entries {
		if p.Display == e.Display && p.Mode == e.Mode && p.Run != e.Run && p.Time.Before(e.Time) {
			past = append(past, p)
		}
	}
	slices.SortStableFunc(past, func(a, b Entry) int { return a.Time.Compare(b.Time) })
	return past
}

// NextLook says when the display of e should be measured again: after about a
// month, or earlier, but not within a week, where its luminance or its white
// drifts so fast that by then it would have moved too far (5 % of luminance,
// 0.0015 in u'v').
//
// Entries of the same display, mode, instrument and aim make the trend. Three
// or more must show it at 95 % confidence; two must differ beyond their noise.
func NextLook(entries []Entry, e Entry) Look {
	var like []Entry
	for _, p := range before(entries, e) {
		if p.Instrument == e.Instrument && p.Serial == e.Serial && p.Aim == e.Aim {
			like = append(like, p)
		}
	}
	days, reason := float64(usualDays), "about a month after this one (common practice, no source)"
	if len(like) == 0 {
		return Look{e.Time.AddDate(0, 0, usualDays), reason}
	}
	like = append(like, e)
	luminance, white := rates(like)
	for _, d := range []struct {
		limit, rate float64
		what        string
	}{
		{movedLuminance, math.Abs(luminance), fmt.Sprintf("its luminance moves by %+.1f %% a month", 30*100*luminance)},
		{movedUV, white, fmt.Sprintf("its white moves by %.4f in u'v' a month", 30*white)},
	} {
		if d.rate > 0 && d.limit/d.rate < days {
			days, reason = math.Max(leastDays, d.limit/d.rate), d.what
		}
	}
	return Look{e.Time.Add(time.Duration(math.Round(days*24)) * time.Hour), reason}
}

// leastSpan is the shortest time over which drift is reckoned.
const leastSpan = 3 * 24 * time.Hour

// rates returns how fast luminance (share a day, signed) and white (u'v' a day)
// move, 0 where that cannot be told from noise. The entries, at least two, are
// alike and by rising time.
func rates(like []Entry) (luminance, white float64) {
	if len(like) == 2 {
		c, _ := Compare(like[:1], like[1])
		if !c.BeyondNoise || like[1].Time.Sub(like[0].Time) < leastSpan {
			return 0, 0
		}
		return c.LuminanceShare / c.Days, c.WhiteDeltaUV / c.Days
	}
	// Hours apart, drift cannot be told from warm-up and the instrument's own
	// wandering, and a month's figure would be that times hundreds.
	if like[len(like)-1].Time.Sub(like[0].Time) < leastSpan {
		return 0, 0
	}
	var days, light, u, v []float64
	for _, p := range like {
		days = append(days, p.Time.Sub(like[0].Time).Hours()/24)
		light = append(light, math.Log(p.LuminanceCdM2))
		u, v = append(u, p.uv().U), append(v, p.uv().V)
	}
	return slope(days, light), math.Hypot(slope(days, u), slope(days, v))
}

// slope returns the regression slope of y on x, at least three points, or 0
// where its 95 % confidence interval holds 0.
func slope(x, y []float64) float64 {
	n := float64(len(x))
	spread := stat.Variance(x, nil) * (n - 1)
	if spread == 0 {
		return 0
	}
	a, b := stat.LinearRegression(x, y, nil, false)
	var rest float64
	for i := range x {
		d := y[i] - a - b*x[i]
		rest += d * d
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 2}.Quantile(0.975)
	if math.Abs(b) <= t*math.Sqrt(rest/(n-2)/spread) {
		return 0
	}
	return b
}
