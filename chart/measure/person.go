package measure

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
)

// Person is the Controls of a display that somebody sets by hand.
type Person struct {
	ask func(ctx context.Context, instruction string) error

	mu   sync.Mutex
	list []Control
}

// NewPerson returns controls that ask a person: ask puts one sentence before
// them, such as "red gain: 2 steps down, to 63", and returns once they say that
// it is done, or with the reason why it is not. list holds the controls with
// the steps in force. It is an error if ask is nil, or if a control has no name
// or a step in force that is not among its steps.
func NewPerson(list []Control, ask func(ctx context.Context, instruction string) error) (*Person, error) {
	if ask == nil {
		return nil, errors.New("measure: a person's controls need a way to ask")
	}
	for _, c := range list {
		if c.Name == "" || c.Now < c.Min || c.Now > c.Max {
			return nil, fmt.Errorf("measure: control %q is at step %d and has the steps %d to %d; give its name and a step that it has", c.Name, c.Now, c.Min, c.Max)
		}
	}
	return &Person{ask: ask, list: slices.Clone(list)}, nil
}

// Controls lists the controls with the steps in force.
func (p *Person) Controls() []Control {
	p.mu.Lock()
	defer p.mu.Unlock()
	return slices.Clone(p.list)
}

// Set asks for a step. Nobody is asked for the step in force. The error is that
// of asking, or says that there is no such control or step.
func (p *Person) Set(ctx context.Context, name string, step int) error {
	p.mu.Lock()
	defer p.mu.Unlock()
	i := slices.IndexFunc(p.list, func(c Control) bool { return c.Name == name })
	if i < 0 {
		return fmt.Errorf("measure: the display has no control named %q", name)
	}
	c := &p.list[i]
	if step < c.Min || step > c.Max {
		return fmt.Errorf("measure: %s has the steps %d to %d, not %d", name, c.Min, c.Max, step)
	}
	if step == c.Now {
		return nil
	}
	if err := p.ask(ctx, c.instruction(step)); err != nil {
		return err
	}
	c.Now = step
	return nil
}

func (c Control) instruction(step int) string {
	way, by := "up", step-c.Now
	if by < 0 {
		way, by = "down", -by
	}
	steps := "steps"
	if by == 1 {
		steps = "step"
	}
	return fmt.Sprintf("%s: %d %s %s, to %d", c.Name, by, steps, way, step)
}
