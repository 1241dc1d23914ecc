package measure

import (
	"context"
	"fmt"
	"sync"
	"time"

	"example.org/primaries/colorimetry"
)

// Replay is a run's journal in the place of its devices: an Instrument whose
// integrations are those of the journal, with the Screen, the Clock and, where
// the run had one, the reference that belong to it. It serves to run the stages
// of a program again, with other options as far as they ask for the same
// readings, and to look into a run that went wrong. It is safe for concurrent
// use.
//
// A session on a Replay asks for readings in the journal's order: same signals,
// same instruments, no more integrations than were taken. Everything else is an
// error that says which reading it was.
type Replay struct {
	record Record

	mu  sync.Mutex
	now time.Time
}

// NewReplay decodes the lines of a journal, without their newlines. The error is
// that of [ReadJournal], or says that there is no run.
func NewReplay(lines [][]byte) (*Replay, error) {
	record, err := ReadJournal(lines)
	if err != nil {
		return nil, err
	}
	if record.Header.Version == 0 {
		return nil, &JournalError{0, "it holds no run", "name a journal that was begun", nil}
	}
	return &Replay{record: record, now: record.Header.Start}, nil
}

// Header returns the header of the run.
func (r *Replay) Header() Header {
	h := r.record.Header
	h.Controls = append([]Control(nil), h.Controls...)
	return h
}

// Len returns how many readings there are.
func (r *Replay) Len() int { return len(r.record.Readings) }

// Instrument describes the run's instrument.
func (r *Replay) Instrument() InstrumentInfo { return r.record.Header.Instrument }

// Measure returns an integration of the journal's; after the last of a reading
// the clock stands where it stood then. The spectrum of each is the mean one.
func (r *Replay) Measure(ctx context.Context, want Request) (Sample, error) {
	return r.measure(ctx, want, "")
}

func (r *Replay) measure(ctx context.Context, want Request, channel string) (Sample, error) {
	if err := ctx.Err(); err != nil {
		return Sample{}, err
	}
	if want.Reading < 0 || want.Reading >= len(r.record.Readings) {
		return Sample{}, fmt.Errorf("measure: replay: the journal holds %d readings, and reading %d is wanted; end there", len(r.record.Readings), want.Reading)
	}
	had := r.record.Readings[want.Reading]
	if had.Patch.Signal != want.Signal || had.Channel != channel {
		return Sample{}, fmt.Errorf("measure: replay: reading %d is of signal %s by %s, and %s by %s is wanted; ask for readings in the journal's order",
			want.Reading, signalText(had.Patch.Signal), channelName(had.Channel), signalText(want.Signal), channelName(channel))
	}
	if want.Repeat < 0 || want.Repeat >= len(had.Repeats) {
		return Sample{}, fmt.Errorf("measure: replay: reading %d has %d integrations, and number %d is wanted; ask for no more than were taken", want.Reading, len(had.Repeats), want.Repeat+1)
	}
	if want.Repeat == len(had.Repeats)-1 {
		r.mu.Lock()
		r.now = had.Time
		r.mu.Unlock()
	}
	return Sample{XYZ: had.Repeats[want.Repeat], Spectrum: had.Spectrum}, nil
}

func channelName(channel string) string {
	if channel == "" {
		return "the instrument"
	}
	return "the " + channel
}

// Reference returns the run's reference instrument, nil where it had none.
func (r *Replay) Reference() Instrument {
	if r.record.Header.Reference == nil {
		return nil
	}
	return replayReference{r}
}

type replayReference struct{ of *Replay }

func (r replayReference) Instrument() InstrumentInfo { return *r.of.record.Header.Reference }

func (r replayReference) Measure(ctx context.Context, want Request) (Sample, error) {
	return r.of.measure(ctx, want, ChannelReference)
}

// Screen returns the run's screen: it shows nothing and says nothing against it.
func (r *Replay) Screen() Screen { return replayScreen{r} }

type replayScreen struct{ of *Replay }

func (s replayScreen) Screen() ScreenInfo                                { return s.of.record.Header.Screen }
func (s replayScreen) Show(ctx context.Context, _ colorimetry.RGB) error { return ctx.Err() }

// Clock returns the run's clock: it stands where the latest reading ended, and
// nothing waits.
func (r *Replay) Clock() Clock { return replayClock{r} }

type replayClock struct{ of *Replay }

func (c replayClock) Now() time.Time {
	c.of.mu.Lock()
	defer c.of.mu.Unlock()
	return c.of.now
}

func (c replayClock) Sleep(ctx context.Context, _ time.Duration) error { return ctx.Err() }
