package measure

import (
	"context"
	"errors"
	"slices"
	"testing"
)

func TestPerson(t *testing.T) {
	ctx := context.Background()
	var asked []string
	var refuse error
	p, err := NewPerson([]Control{{Name: Brightness, Max: 100, Now: 80}, {Name: RedGain, Min: -10, Max: 10}}, func(_ context.Context, what string) error {
		asked = append(asked, what)
		return refuse
	})
	if err != nil {
		t.Fatal(err)
	}
	set := func(name string, step int, want error) {
		t.Helper()
		if err := p.Set(ctx, name, step); !errors.Is(err, want) {
			t.Errorf("%s to %d: %v, want %v", name, step, err, want)
		}
	}
	set(Brightness, 80, nil)
	set(Brightness, 63, nil)
	set(RedGain, 1, nil)
	refuse = errors.New("the menu is locked")
	set(RedGain, -1, refuse)
	if want := []string{"brightness: 17 steps down, to 63", "red gain: 1 step up, to 1", "red gain: 2 steps down, to -1"}; !slices.Equal(asked, want) {
		t.Errorf("asked %q, want %q", asked, want)
	}
	if got := p.Controls(); got[0].Now != 63 || got[1].Now != 1 {
		t.Errorf("the steps in force are %+v", got)
	}
	if p.Set(ctx, "contrast", 1) == nil || p.Set(ctx, RedGain, 11) == nil || len(asked) != 3 {
		t.Error("a control or step that is not there was asked for")
	}
	if _, err := NewPerson([]Control{{Name: Brightness, Max: 10, Now: 11}}, p.ask); err == nil {
		t.Error("a step in force beyond the last was taken")
	}
	if _, err := NewPerson(nil, nil); err == nil {
		t.Error("nobody to ask")
	}
}
