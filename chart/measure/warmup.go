package measure

import (
	"context"
	"fmt"
	"math"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// WarmUpOptions say when a display counts as stable. The zero value is the
// default.
type WarmUpOptions struct {
	Patch     chart.Patch   // patch to watch; signal 0 = white, on self-luminous screens a grey of signal 0.75 to spare them
	Luminance float64       // largest change in Period, share of the luminance; 0 = 0.005
	UV        float64       // largest change of u'v' in Period; 0 = 0.0005
	Period    time.Duration // at least Interval; 0 = 10 minutes; also the shortest stretch that a verdict rests on
	Interval  time.Duration // rest from one reading to the next; 0 = 30 s
	Averages  int           // integrations to begin with, 1 to 1000; 0 = 4
	Max       time.Duration // when to give up; 0 = 60 minutes
}

// WarmUpResult tells how the warm-up went.
type WarmUpResult struct {
	Stable bool
	Took   time.Duration // from the first to the last reading
	// Luminance is the trend at the end: the change of luminance in Period as
	// a share, and the half-width of its 95 % confidence interval.
	Luminance, LuminanceHalf float64
	// UV is likewise the length of the change in u'v'; its half-width is the
	// wider one of u' and v'.
	UV, UVHalf float64
	Window     time.Duration // stretch of readings that the trend rests on
	// Decision is how much longer, at the present scatter, it takes until the
	// confidence interval can tell stable from not; 0 where it can, or where the
	// trend is beyond a limit for certain, so that nobody knows.
	Decision time.Duration
	Readings []Reading
	Reason   string // one sentence on the verdict
}

const (
	trendConfidence = 0.95
	trendReadings   = 8  // fewest that a trend rests on
	trendHold       = 3  // successive readings that must agree on "stable"
	warmUpAverages  = 16 // integrations are doubled up to this
)

func (o WarmUpOptions) withDefaults(screen ScreenInfo) WarmUpOptions {
	if o.Patch.Signal == (colorimetry.RGB{}) {
		o.Patch = chart.Patch{ID: o.Patch.ID, Signal: colorimetry.Gray(1)}
		if screen.SelfLit {
			o.Patch.Signal = colorimetry.Gray(0.75)
		}
	}
	number := func(v *float64, def float64) {
		if *v == 0 {
			*v = def
		}
	}
	period := func(v *time.Duration, def time.Duration) {
		if *v == 0 {
			*v = def
		}
	}
	number(&o.Luminance, 0.005)
	number(&o.UV, 0.0005)
	period(&o.Period, 10*time.Minute)
	period(&o.Interval, 30*time.Second)
	period(&o.Max, time.Hour)
	if o.Averages == 0 {
		o.Averages = 4
	}
	return o
}

func (o WarmUpOptions) check() error {
	if !(o.Luminance > 0 && o.UV > 0) || o.Period <= 0 || o.Interval <= 0 || o.Max < o.Period || o.Period < o.Interval {
		return fmt.Errorf("measure: warm-up with limits %g and %g, period %v, interval %v, at most %v; all must be above 0, the period no shorter than the interval and the longest time no shorter than the period",
			o.Luminance, o.UV, o.Period, o.Interval, o.Max)
	}
	return nil
}

// WarmUp reads one patch at intervals until the display is stable: until the
// change in Period that the trend of luminance, and of u'v', may still have at
// 95 % confidence is below its limit, at three readings in succession. The
// trend is a weighted straight line over the latest readings; every stretch
// from Period up to all readings is considered, so that the window lengthens
// until the confidence interval can decide, and where it still cannot, later
// readings take more integrations. A stretch whose end still moves beyond the
// limit does not count, however level it looks as a whole.
//
// Progress.Left, and WarmUpResult.Decision, tell how long it will take until the
// interval can decide; Progress.Text says so in words.
//
// After Max it gives up: the result then says "not stable", with its reason.
// The error is that of reading, or says that there is no light to watch; the
// result then holds what was read. The limits' default is this library's;
// common practice, without a source, is a quarter to half an hour by the clock.
func WarmUp(ctx context.Context, s *Session, o WarmUpOptions) (WarmUpResult, error) {
	o = o.withDefaults(s.Screen())
	if err := o.check(); err != nil {
		return WarmUpResult{}, err
	}
	var out WarmUpResult
	averages, held, raised := o.Averages, 0, 0
	for {
		replayed := s.Replaying()
		r, err := s.Read(ctx, ReadRequest{Stage: StageWarmUp, Patch: o.Patch, Averages: averages})
		if err != nil {
			return out, err
		}
		out.Readings = append(out.Readings, r)
		if uv := r.XYZ.UV(); !(r.XYZ.Y > 0) || math.IsNaN(uv.U+uv.V) || math.IsInf(uv.U+uv.V, 0) {
			return out, fmt.Errorf("measure: warm-up: signal %s reads %s; check that the display is on, shows the patch and has the instrument on it", signalText(o.Patch.Signal), colourText(r.XYZ))
		}
		n := len(out.Readings)
		out.Took = r.Time.Sub(out.Readings[0].Time)
		decided, wide := out.judge(o)
		if decided {
			held++
		} else {
			held = 0
		}
		out.Stable = held >= trendHold
		out.Decision = out.decision(o, trendHold-held)
		s.progress(Progress{Stage: StageWarmUp, Done: n, Left: out.Decision, Replayed: replayed, Text: out.text(o)})
		// The second bound ends it on a clock that does not move.
		if out.Stable || out.Took >= o.Max || n > int(2*o.Max/o.Interval)+trendReadings {
			out.Reason = out.reason(o)
			return out, nil
		}
		if wide && n-raised >= trendReadings && averages < warmUpAverages {
			averages, raised = min(2*averages, warmUpAverages), n
		}
		if err := s.Rest(ctx, o.Interval); err != nil {
			return out, err
		}
	}
}

// judge looks for the stretch of latest readings with the most certain trend,
// keeps its figures, and reports whether it is stable, or too uncertain to say.
// It goes from short stretches to long ones and ends at the first that moves
// beyond a limit for certain: longer ones may look level only because they went
// up and down.
func (w *WarmUpResult) judge(o WarmUpOptions) (stable, wide bool) {
	best, have := math.Inf(1), false
	last := w.Readings[len(w.Readings)-1].Time
	for from := len(w.Readings) - trendReadings; from >= 0; from-- {
		stretch := last.Sub(w.Readings[from].Time)
		if stretch < o.Period/2 {
			continue
		}
		t := fitTrend(w.Readings[from:], o.Period)
		moving := t.lum-t.lumHalf > o.Luminance || t.uv-t.uvHalf > o.UV
		// How much of its limit the change may use up, at worst.
		use := math.Max((t.lum+t.lumHalf)/o.Luminance, (t.uv+t.uvHalf)/o.UV)
		if (stretch >= o.Period || moving) && (!have || use < best && !moving) {
			have = true
			w.Luminance, w.LuminanceHalf, w.UV, w.UVHalf, w.Window = t.signed, t.lumHalf, t.uv, t.uvHalf, stretch
			wide = !moving && (t.lumHalf > o.Luminance/2 || t.uvHalf > o.UV/2)
			if !moving {
				best = use
			}
		}
		if moving {
			break
		}
	}
	return best < 1, wide
}

// trend is the change in a period: lum, uv and their half-widths at least 0,
// signed with its sign.
type trend struct{ signed, lum, lumHalf, uv, uvHalf float64 }

func fitTrend(readings []Reading, period time.Duration) trend {
	n := len(readings)
	last := readings[n-1].Time
	t, weight := make([]float64, n), make([]float64, n)
	y, u, v := make([]float64, n), make([]float64, n), make([]float64, n)
	for i, r := range readings {
		t[i] = float64(r.Time.Sub(last)) / float64(period)
		weight[i] = float64(len(r.Repeats))
		uv := r.XYZ.UV()
		y[i], u[i], v[i] = r.XYZ.Y, uv.U, uv.V
	}
	k := distuv.StudentsT{Sigma: 1, Nu: float64(n - 2)}.Quantile((1 + trendConfidence) / 2)
	at, slope, half := line(t, y, weight, k)
	_, du, hu := line(t, u, weight, k)
	_, dv, hv := line(t, v, weight, k)
	return trend{
		signed: slope / at, lum: math.Abs(slope / at), lumHalf: math.Abs(half / at),
		uv: math.Hypot(du, dv), uvHalf: math.Max(hu, hv),
	}
}

// line fits y = at + slope·t by weighted least squares and returns the
// half-width of the slope's confidence interval, k times its deviation as the
// scatter about the line has it.
func line(t, y, weight []float64, k float64) (at, slope, half float64) {
	at, slope = stat.LinearRegression(t, y, weight, false)
	centre := stat.Mean(t, weight)
	var residual, spread float64
	for i := range t {
		d := y[i] - at - slope*t[i]
		residual += weight[i] * d * d
		spread += weight[i] * (t[i] - centre) * (t[i] - centre)
	}
	return at, slope, k * math.Sqrt(residual/float64(len(t)-2)/spread)
}

// decision estimates the time until the interval can decide, with a number of
// readings to confirm it. The half-width of a slope falls as the power 3/2 of
// the stretch that it rests on, at a steady rate of readings.
func (w *WarmUpResult) decision(o WarmUpOptions, confirm int) time.Duration {
	if w.Stable {
		return 0
	}
	least, confirmed := max(0, o.Period-w.Took), time.Duration(max(confirm, 0))*o.Interval
	if w.Window == 0 {
		return least + confirmed
	}
	longer := 1.0
	for _, t := range [2][3]float64{{math.Abs(w.Luminance), w.LuminanceHalf, o.Luminance}, {w.UV, w.UVHalf, o.UV}} {
		change, half, limit := t[0], t[1], t[2]
		switch {
		case change-half > limit: // moving for certain
			return 0
		case change < limit:
			// Close to the limit nothing decides; the trend will not stay there.
			longer = math.Max(longer, math.Pow(half/math.Max(limit-change, limit/4), 2.0/3))
		}
	}
	wait := time.Duration(float64(w.Window) * (longer - 1))
	return (max(least, wait) + confirmed).Round(time.Second)
}

func (w *WarmUpResult) text(o WarmUpOptions) string {
	wait := ""
	if w.Decision > 0 {
		wait = fmt.Sprintf("; a decision takes about %s more", count(math.Ceil(w.Decision.Minutes()), "minute"))
	}
	if w.Window == 0 {
		return "too early to tell a trend" + wait
	}
	if !w.Stable && w.Decision == 0 {
		wait = "; it still moves"
	}
	return fmt.Sprintf("in %s luminance changes by %+.2f %% ± %.2f %%, white by %.5f ± %.5f in u'v'%s",
		span(o.Period), 100*w.Luminance, 100*w.LuminanceHalf, w.UV, w.UVHalf, wait)
}

func (w *WarmUpResult) reason(o WarmUpOptions) string {
	word := "stable"
	if !w.Stable {
		word = "not stable"
	}
	return fmt.Sprintf("%s after %s: %s (limits %.2f %% and %.5f)", word, span(w.Took), w.text(o), 100*o.Luminance, o.UV)
}

// span tells a time in whole minutes, a short one in seconds.
func span(d time.Duration) string {
	if d < 2*time.Minute {
		return count(math.Round(100*d.Seconds())/100, "second")
	}
	return count(math.Round(d.Minutes()), "minute")
}

// count tells a number of things.
func count(n float64, of string) string {
	if n == 1 {
		return "1 " + of
	}
	return fmt.Sprintf("%g %ss", n, of)
}
