package plug_test

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/chart/measure"
	"example.org/primaries/chart/plug"
	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/tone"
	"github.com/google/go-cmp/cmp"
)

// Whatever a program does wrong in an integration, the error says it, wraps
// ErrTransient, and the next integration succeeds with a program that was told
// again how things stood.
func TestFaultInMeasure(t *testing.T) {
	watch(t)
	for fault, says := range map[string]string{
		"hangs":                  "no answer in time: it was given 700ms and was ended",
		"hangs with company":     "no answer in time",
		"answers late":           "no answer in time",
		"prints garbage":         `this is no JSON: invalid character 'I' looking for beginning of value: it said "Initialising device \x1b[31m..."`,
		"prints a line too long": `a line of more than 1048576 bytes: it said ` + "`99999",
		"answers the wrong id":   "it answered message 4, and message 5 was asked",
		"closes stdout":          "it ended or closed its standard output",
	} {
		t.Run(fault, func(t *testing.T) {
			t.Parallel()
			o := fast()
			if strings.Contains(says, "in time") {
				o.MeasureTimeout = 700 * time.Millisecond
			}
			if fault == "prints a line too long" {
				o.MeasureTimeout = 0
			}
			ctx := context.Background()
			p, dir := startBeside(t, fault, o)
			d := roles(t, p)
			noError(t, d.controls.Set(ctx, "red gain", 3))
			noError(t, d.screen.(measure.CurveLoader).LoadCurves(ctx, tone.Identity(2)))
			noError(t, d.screen.Show(ctx, colorimetry.Gray(0.5)))
			_, err := d.instrument.Measure(ctx, white)
			if err == nil || !strings.Contains(err.Error(), says) || !errors.Is(err, measure.ErrTransient) || len(err.Error()) > 4000 {
				t.Fatalf("%v, want passing trouble that says %s", err, says)
			}
			if late := strings.Contains(says, "in time"); late != errors.Is(err, measure.ErrTimeout) {
				t.Errorf("a time-out: %v", !late)
			}
			s, err := d.instrument.Measure(ctx, white)
			if err != nil || s.XYZ.X != 95.5 || p.Restarts() != 1 {
				t.Fatalf("then %v, %v after %d restarts", s.XYZ, err, p.Restarts())
			}
			again := heard(t, dir)[5:]
			want := []string{
				`2: {"do":"hello","versions":[1]}`,
				`2: {"do":"set","control":"red gain","step":3}`,
				`2: {"do":"curves","red":[0,65535],"green":[0,65535],"blue":[0,65535]}`,
				`2: {"do":"show","signal":[0.5,0.5,0.5]}`,
				`2: {"do":"sleep","for_ns":1003000000}`,
				`2: {"do":"restore","reading":4,"time":"2026-01-05T09:00:00Z"}`,
				`2: {"do":"measure","reading":4,"repeat":1,"signal":[1,1,1]}`,
			}
			if diff := cmp.Diff(want, again); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// A crash in the middle of an answer is quoted with the program's last words.
func TestFaultCrashMidAnswer(t *testing.T) {
	p, _ := start(t, "crashes mid-answer", fast())
	d := roles(t, p)
	_, err := d.instrument.Measure(context.Background(), white)
	noError(t, err)
	_, err = d.instrument.Measure(context.Background(), white)
	for _, says := range []string{`it ended in the middle of a line`, `2026-01-05T09`, `(exit status 3; its last words on standard error: "segmentation fault")`, "reading 4"} {
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%v does not say %s", err, says)
		}
	}
	var form *plug.ProtocolError
	if !errors.As(err, &form) {
		t.Errorf("%v is no ProtocolError", err)
	}
}

// A program that fails in a call which brings it into a state is told again,
// and the call succeeds.
func TestFaultInState(t *testing.T) {
	ctx := context.Background()
	for _, fault := range []string{"hangs in show", "crashes in show", "crashes in set", "says more than asked"} {
		t.Run(fault, func(t *testing.T) {
			o := fast()
			if fault == "hangs in show" {
				o.Timeout = 700 * time.Millisecond
			}
			p, dir := start(t, fault, o)
			d := roles(t, p)
			for i := range 2 {
				err := errors.Join(d.screen.Show(ctx, colorimetry.Gray(float64(i))), d.controls.Set(ctx, "brightness", i))
				if (err != nil) != (fault == "says more than asked") {
					t.Fatalf("%v\n%q", err, heard(t, dir))
				}
			}
			if n := p.Restarts(); n == 0 {
				t.Error("it was not started again")
			}
		})
	}
}

// A program that fails as a program when it is asked to look at its screen costs
// the reading and not the run: the error wraps ErrTransient, and shown again the
// patch is found where it stands.
func TestFaultInCheck(t *testing.T) {
	ctx := context.Background()
	for fault, says := range map[string]string{"garbles its check": "this is no JSON", "hangs in check": "no answer in time", "crashes in check": "exit status 3"} {
		t.Run(fault, func(t *testing.T) {
			o := fast()
			if fault == "hangs in check" {
				o.Timeout = 700 * time.Millisecond
			}
			p, _ := start(t, fault, o)
			d := roles(t, p)
			checker := d.screen.(measure.SelfChecker)
			noError(t, d.screen.Show(ctx, colorimetry.Gray(0.5)))
			err := checker.CheckScreen(ctx)
			if !errors.Is(err, measure.ErrTransient) || !strings.Contains(err.Error(), says) {
				t.Errorf("%v, want passing trouble that says %s", err, says)
			}
			noError(t, d.screen.Show(ctx, colorimetry.Gray(0.5)))
			noError(t, checker.CheckScreen(ctx))
			if n := p.Restarts(); n != 1 {
				t.Errorf("it was started again %d times", n)
			}
		})
	}
}

// What a program says of itself is checked when it is started.
func TestFaultAtStart(t *testing.T) {
	watch(t)
	for fault, says := range map[string]string{
		"exits at start":       `exit status 5; its last words on standard error: "no instrument found\x1b[31m"`,
		"silent at start":      "saying hello: no answer in time",
		"greets with garbage":  "`Welcome!`",
		"wrong version":        `"version" is not 1`,
		"offers nothing":       "offers no screen, no instrument and no controls",
		"has no name":          `field "name" has the character '\a'`,
		"lies about its noise": `field "chromaticity_xy" is -1`,
	} {
		t.Run(fault, func(t *testing.T) {
			t.Parallel()
			dir := folder(t)
			o := fast()
			if strings.Contains(says, "in time") {
				o.StartTimeout = 300 * time.Millisecond
			}
			_, err := plug.Start(context.Background(), command(t, fault, dir), o)
			var failed *plug.ProgramError
			if !errors.As(err, &failed) || !strings.Contains(err.Error(), says) || strings.ContainsRune(err.Error(), 0x1b) {
				t.Errorf("%v does not say %s", err, says)
			}
		})
	}
	if _, err := plug.Start(context.Background(), plug.Command{Path: filepath.Join(t.TempDir(), "none")}, fast()); err == nil || !strings.Contains(err.Error(), "give the path of a program") {
		t.Errorf("a program that is not there: %v", err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 200*time.Millisecond)
	defer cancel()
	dir := folder(t)
	if _, err := plug.Start(ctx, command(t, "silent at start", dir), fast()); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("an interrupted start: %v", err)
	}
}

// What a program says that cannot be is refused, however often it says it.
func TestFaultInAnswer(t *testing.T) {
	watch(t)
	for fault, says := range map[string]string{
		"lies about its spectrum": "spectrum there: false, though its hello said true",
		"says NaN":                `field "xyz" is a string where a float64 is due`,
		"forgets a number":        `"xyz" has 2 numbers, not 3`,
		"says null":               "null stands for nothing here",
		"measures the sun twice":  "1e+11, which no display gives",
		"always crashes":          "exit status 3",
	} {
		t.Run(fault, func(t *testing.T) {
			t.Parallel()
			p, _ := startBeside(t, fault, fast())
			d := roles(t, p)
			for try := range 4 {
				_, err := d.instrument.Measure(context.Background(), white)
				if err == nil || !strings.Contains(err.Error(), says) || !errors.Is(err, measure.ErrTransient) {
					t.Fatalf("try %d: %v does not say %s", try, err, says)
				}
			}
			_, err := d.instrument.Measure(context.Background(), white)
			if err == nil || !strings.Contains(err.Error(), says) || !strings.Contains(err.Error(), "started again 3 times in a row") || errors.Is(err, measure.ErrTransient) {
				t.Errorf("in the end: %v", err)
			}
			if p.Restarts() != 3 {
				t.Errorf("%d restarts, want 3", p.Restarts())
			}
		})
	}
}

// What a program says it cannot do is its own word: it is not ended for it.
func TestFaultOwnWord(t *testing.T) {
	ctx := context.Background()
	p, _ := start(t, "passing", fast())
	d := roles(t, p)
	for range 2 {
		if _, err := d.instrument.Measure(ctx, white); !errors.Is(err, measure.ErrTransient) || !strings.HasSuffix(err.Error(), `the line is busy\n; wait`) {
			t.Errorf("%v", err)
		}
	}
	_, err := d.instrument.Measure(ctx, white)
	noError(t, err)
	q, _ := start(t, "fails", fast())
	d = roles(t, q)
	var own *plug.AnswerError
	if _, err := d.instrument.Measure(ctx, white); !errors.As(err, &own) || errors.Is(err, measure.ErrTransient) || own.Text != "the lamp is broken" {
		t.Errorf("%v", err)
	}
	r, _ := start(t, "condition", fast())
	d = roles(t, r)
	var met *measure.ConditionError
	want := measure.ConditionError{Condition: measure.DisplayDark, Evidence: "0.01 cd/m² where 80 are due", Remedy: "wake the display"}
	if err := d.screen.(measure.SelfChecker).CheckScreen(ctx); !errors.As(err, &met) || *met != want {
		t.Errorf("%v", err)
	}
	s, _ := start(t, "lies about curves", fast())
	d = roles(t, s)
	if err := d.screen.(measure.CurveLoader).LoadCurves(ctx, tone.Identity(2)); !errors.As(err, &own) || own.Kind != "unknown" {
		t.Errorf("%v", err)
	}
	for _, p := range []*plug.Process{p, q, r, s} {
		if p.Restarts() != 0 {
			t.Errorf("%d restarts", p.Restarts())
		}
	}
}

// A program that comes back as another device is refused for good.
func TestFaultComesBackAsAnother(t *testing.T) {
	p, _ := start(t, "comes back as another", fast())
	d := roles(t, p)
	if _, err := d.instrument.Measure(context.Background(), white); !errors.Is(err, measure.ErrTransient) {
		t.Fatal(err)
	}
	for range 2 {
		_, err := d.instrument.Measure(context.Background(), white)
		if err == nil || errors.Is(err, measure.ErrTransient) || !strings.Contains(err.Error(), "its instrument is not what it was") {
			t.Errorf("%v", err)
		}
	}
}

// A screen that ended after it had shown the patch spoils what another
// program's instrument read meanwhile, whether it can check itself or not.
func TestFaultScreenVanishes(t *testing.T) {
	ctx := context.Background()
	p, _ := start(t, "vanishes", fast())
	d := roles(t, p)
	noError(t, d.screen.Show(ctx, colorimetry.Gray(1)))
	var met *measure.ConditionError
	for range 300 { // until the end was noticed
		if err := d.screen.(measure.SelfChecker).CheckScreen(ctx); errors.As(err, &met) {
			break
		}
		time.Sleep(10 * time.Millisecond)
	}
	if met == nil || met.Condition != measure.PatchNotShown {
		t.Fatalf("%v", met)
	}
	noError(t, d.screen.Show(ctx, colorimetry.Gray(1)))
	noError(t, d.screen.(measure.SelfChecker).CheckScreen(ctx))
}

// A program that does not read what it is told, with more of it than a pipe
// holds, is ended in time; so is one that does not end by itself.
func TestFaultDeafAndStubborn(t *testing.T) {
	o := fast()
	o.Timeout, o.Restarts = 300*time.Millisecond, -1
	p, _ := start(t, "deaf", o)
	d := roles(t, p)
	if err := d.screen.(measure.CurveLoader).LoadCurves(context.Background(), tone.Identity(4096)); !errors.Is(err, measure.ErrTimeout) {
		t.Errorf("%v", err)
	}
	o = fast()
	o.EndTimeout = 300 * time.Millisecond
	q, _ := start(t, "stubborn", o)
	began := time.Now()
	noError(t, q.Close())
	if took := time.Since(began); took < o.EndTimeout || took > 5*time.Second {
		t.Errorf("it was ended after %v", took)
	}
}

// Twenty megabytes on standard error neither stop a program nor fill memory.
func TestFaultLoudOnStderr(t *testing.T) {
	p, _ := start(t, "loud on stderr", fast())
	d := roles(t, p)
	noError(t, d.screen.Show(context.Background(), colorimetry.Gray(1)))
}

func TestFaultLosesItsClock(t *testing.T) {
	o := fast()
	o.Restarts = -1
	p, _ := start(t, "loses its clock", o)
	d := roles(t, p)
	if err := d.screen.Show(context.Background(), colorimetry.Gray(1)); err == nil || !strings.Contains(err.Error(), `does not say "now"`) {
		t.Errorf("%v", err)
	}
}

// A session goes on when the instrument was unplugged and came back: the
// reading is taken again, and flagged.
func TestFaultUnpluggedAndBack(t *testing.T) {
	ctx := context.Background()
	p, dir := start(t, "unplugged", fast())
	d := roles(t, p)
	s, err := measure.Open(ctx, measure.Setup{Screen: d.screen, Instrument: d.instrument, Controls: d.controls, Clock: d.clock})
	noError(t, err)
	noError(t, s.SetControl(ctx, "brightness", 30))
	list, err := s.ReadSet(ctx, "s", []chart.Patch{{Signal: colorimetry.Gray(1)}, {Signal: colorimetry.Gray(0.5)}, {Signal: colorimetry.Gray(0.25)}}, 2)
	noError(t, err)
	for i, want := range []bool{false, true, false} {
		if got := slices.Contains(list[i].Flags, measure.FlagRetried); got != want || list[i].Raw.X != 95.5 {
			t.Errorf("reading %d is %v, flags %q", i, list[i].Raw, list[i].Flags)
		}
	}
	if p.Restarts() != 3 || !slices.Contains(heard(t, dir), `4: {"do":"set","control":"brightness","step":30}`) {
		t.Errorf("%d restarts, and it heard %q", p.Restarts(), heard(t, dir))
	}
}
