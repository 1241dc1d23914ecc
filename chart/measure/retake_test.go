package measure

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"example.org/primaries/chart"
	"example.org/primaries/colorimetry"
)

// checkedScreen is a fakeDisplay that says what is wrong with a reading.
type checkedScreen struct {
	*fakeDisplay
	say    func(check int) error
	checks int
}

func (c *checkedScreen) CheckScreen(context.Context) error {
	c.checks++
	return c.say(c.checks)
}

var leftFullScreen = &ConditionError{Condition: PatchNotShown, Evidence: "the page left full screen", Remedy: "bring it back"}

// openChecked opens a session on a screen that says something after a reading.
func openChecked(t *testing.T, r *rig, say func(check int) error) (*Session, *checkedScreen) {
	t.Helper()
	setup := r.setup()
	screen := &checkedScreen{fakeDisplay: r.display, say: say}
	setup.Screen = screen
	s, err := Open(context.Background(), setup)
	if err != nil {
		t.Fatal(err)
	}
	return s, screen
}

// A reading that the screen does not stand by is taken again, patch and all, and
// the replay has it as it was.
func TestSpoiledReadingIsTakenAgain(t *testing.T) {
	for _, trouble := range []error{
		fmt.Errorf("page: %w", leftFullScreen),
		fmt.Errorf("page: %w", ErrTransient),
	} {
		r := newRig()
		s, screen := openChecked(t, r, func(check int) error {
			if check >= 2 && check < 2+maxRetries {
				return trouble
			}
			return nil
		})
		var got []Reading
		for _, v := range []float64{1, 0.2, 0.6} {
			one, err := s.Read(context.Background(), grey(v))
			if err != nil {
				t.Fatal(err)
			}
			got = append(got, one)
		}
		if screen.checks != 3+maxRetries || len(r.display.shownAt) != 3+maxRetries {
			t.Errorf("%d checks of %d patches shown", screen.checks, len(r.display.shownAt))
		}
		if flagged := []bool{slices.Contains(got[0].Flags, FlagRetried), slices.Contains(got[1].Flags, FlagRetried), slices.Contains(got[2].Flags, FlagRetried)}; !reflect.DeepEqual(flagged, []bool{false, true, false}) {
			t.Errorf("flagged: %v", flagged)
		}
		if n := len(got[1].Repeats); n != 1 {
			t.Errorf("%d integrations are kept", n)
		}
		for i := 3; i < len(r.display.shownAt); i++ {
			if d := r.display.shownAt[i].Sub(r.display.shownAt[i-3]); d < time.Second {
				t.Errorf("four changes within %v", d)
			}
		}
		lines := r.journal.Lines()
		if len(lines) != 1+2*3 {
			t.Errorf("%d lines: a patch line is written once", len(lines))
		}
		again, err := Open(context.Background(), newRig().resume(lines))
		if err != nil {
			t.Fatal(err)
		}
		for i, v := range []float64{1, 0.2, 0.6} {
			if one, err := again.Read(context.Background(), grey(v)); err != nil || !reflect.DeepEqual(one, got[i]) {
				t.Errorf("replayed as %+v, %v", one, err)
			}
		}
	}
}

// What lasts is told by its name, and the run resumes with that reading.
func TestSpoiledForGood(t *testing.T) {
	spoiled := true
	r := newRig()
	s, screen := openChecked(t, r, func(int) error {
		if spoiled {
			return leftFullScreen
		}
		return nil
	})
	_, err := s.Read(context.Background(), grey(1))
	var met *ConditionError
	var de *DeviceError
	if !errors.As(err, &met) || met.Condition != PatchNotShown || !errors.As(err, &de) || de.Device != "screen" || screen.checks != 1+maxRetries {
		t.Errorf("%d checks, %v", screen.checks, err)
	}
	if lines := r.journal.Lines(); len(lines) != 2 || len(s.Readings()) != 0 {
		t.Errorf("%d lines, %d readings", len(lines), len(s.Readings()))
	}
	spoiled = false
	if _, err := s.Read(context.Background(), grey(1)); err != nil {
		t.Error(err)
	}
	// What is neither a condition nor passing ends it at once.
	s, screen = openChecked(t, newRig(), func(int) error { return errBroken })
	if _, err := s.Read(context.Background(), grey(1)); !errors.Is(err, errBroken) || screen.checks != 1 {
		t.Errorf("%d checks, %v", screen.checks, err)
	}
	// An end of the context is no trouble of the screen.
	ctx, cancel := context.WithCancel(context.Background())
	s, screen = openChecked(t, newRig(), func(int) error { cancel(); return leftFullScreen })
	if _, err := s.Read(ctx, grey(1)); !errors.Is(err, context.Canceled) || screen.checks != 1 {
		t.Errorf("%d checks, %v", screen.checks, err)
	}
}

// Where the time to settle is what is asked for, the step is made again.
func TestSpoiledStepIsMadeAgain(t *testing.T) {
	r := newRig()
	s, _ := openChecked(t, r, func(check int) error {
		if check == 2 {
			return leftFullScreen
		}
		return nil
	})
	for _, v := range []float64{0, 1} {
		if _, err := s.Read(context.Background(), ReadRequest{Patch: chart.Patch{Signal: colorimetry.Gray(v)}, Settle: 700 * time.Millisecond}); err != nil {
			t.Fatal(err)
		}
	}
	want := []string{"curves none", "show {0 0 0}", "show {1 1 1}", "show {0 0 0}", "show {1 1 1}"}
	if !reflect.DeepEqual(r.display.log, want) {
		t.Errorf("%v, want %v", r.display.log, want)
	}
}
