package transform

import (
	"fmt"
	"sync"

	"example.org/primaries/icc"
)

// Precision is how closely pixels are computed.
type Precision uint8

const (
	// Bounded keeps to the bound that [Kernel.Bound] states, as fast as that allows.
	Bounded Precision = iota
	// Exact computes each pixel by the chain, in float64, and rounds at the end.
	Exact
)

// Options say how colours pass through the profiles. The zero value is the
// perceptual intent without black point compensation. By that intent shadows may be
// lost where one profile has a black of its own, as a matrix has that of no light, and
// the other, as tables of version 4 have, the black of the reference medium (ICC.1:2022,
// 6.3.3): BlackPoint brings both together.
type Options struct {
	Intent icc.Intent
	// Intents, where it is not nil, has the intent of each meeting of two profiles in
	// the connection space, from left to right, in place of Intent. A way that begins
	// or ends in the connection space has one for that end too. A device link behind
	// the last meeting keeps to Intent.
	Intents []icc.Intent
	// BlackPoint moves the black of one device onto that of the next (ISO 18619),
	// wherever the intent is not the absolute one.
	BlackPoint bool
	Precision  Precision
	// Interpolation says how tables are read: tetrahedra or, linearly in each channel,
	// icc.Multilinear.
	Interpolation icc.Interpolation
	// PCS is the space in which a way gives colours of the connection space:
	// SpaceXYZ or SpaceLab; 0 means SpaceLab.
	PCS icc.Signature
	// Workers is how many goroutines share a picture, 0 for as many as processors.
	// Results do not depend on it.
	Workers int
}

// Transform is a way through profiles. It does not change and is safe for
// concurrent use; the profiles may be changed after it was made.
type Transform struct {
	chain *icc.Chain
	steps []step
	o     Options

	mu      sync.Mutex
	kernels map[[2]Layout]*Kernel
}

// New returns the way through profiles as [icc.Join] has it: from the first one's
// device to the connection space, to the second one's device, and so on; a device
// link or an abstract profile takes colours on as they are. With one profile the
// way ends in the connection space. Colours reach the last device, by way of a
// simulated one, where the simulated one's profile stands twice:
//
//	New(o, photograph, paper, paper, display)
//
// With the intents Relative and Absolute, for instance, the display then shows the
// paper's white and the ink's black.
//
// Errors are those of icc.Join, and that Intents are not as many as meetings.
func New(o Options, profiles ...*icc.Profile) (*Transform, error) {
	if o.Precision > Exact {
		return nil, fmt.Errorf("transform: precision %d; Bounded and Exact are defined", o.Precision)
	}
	if o.Interpolation > icc.Multilinear {
		return nil, fmt.Errorf("transform: interpolation %d; icc.Tetrahedral and icc.Multilinear are defined", o.Interpolation)
	}
	if o.Workers < 0 {
		return nil, fmt.Errorf("transform: %d workers; give 1 or more, or 0 for one a processor", o.Workers)
	}
	if o.PCS == 0 {
		o.PCS = icc.SpaceLab
	}
	links, err := o.links(profiles)
	if err != nil {
		return nil, err
	}
	chain, err := icc.JoinLinks(links...)
	if err != nil {
		return nil, fmt.Errorf("transform: %w", err)
	}
	return &Transform{chain: chain, steps: fold(chain.Steps()), o: o, kernels: map[[2]Layout]*Kernel{}}, nil
}

// links returns the profiles with the options of each.
func (o *Options) links(profiles []*icc.Profile) ([]icc.Link, error) {
	links := make([]icc.Link, len(profiles))
	meeting, inside := 0, false // whether colours are in the connection space
	for i, p := range profiles {
		if p == nil {
			return nil, fmt.Errorf("transform: profile %d of %d is nil", i+1, len(profiles))
		}
		device := p.Header.Class != icc.ClassLink && p.Header.Class != icc.ClassAbstract
		intent := o.Intent
		switch {
		case meeting < len(o.Intents):
			intent = o.Intents[meeting]
		case o.Intents != nil && device:
			return nil, fmt.Errorf("transform: %d intents and more meetings of profiles than that; give one for each", len(o.Intents))
		}
		if device {
			if inside {
				meeting++
			}
			inside = !inside
		}
		links[i] = icc.Link{Profile: p, Options: icc.Options{
			Intent: intent, BlackPoint: o.BlackPoint && intent != icc.Absolute, PCS: o.PCS, Interpolation: o.Interpolation,
		}}
	}
	if inside {
		meeting++
	}
	if o.Intents != nil && len(o.Intents) != meeting && len(profiles) > 0 {
		return nil, fmt.Errorf("transform: %d intents for %d meetings of profiles; give one for each", len(o.Intents), meeting)
	}
	return links, nil
}

// From returns the colour space of the pixels that come in.
func (t *Transform) From() icc.Signature { return t.chain.From() }

// To returns the colour space of the pixels that go out.
func (t *Transform) To() icc.Signature { return t.chain.To() }

// Channels returns how many channels pixels have that come in and go out, opacity
// not counted.
func (t *Transform) Channels() (in, out int) { return t.chain.Inputs(), t.chain.Outputs() }

// Chain returns the chain that defines what colours become.
func (t *Transform) Chain() *icc.Chain { return t.chain }

// Kernel computes pixels of one layout from pixels of another. It does not change
// and is safe for concurrent use. Only [Transform.Between] makes one.
type Kernel struct {
	t        *Transform
	from, to Layout
	in, out  place
	bound    string
	// row is a func(dst []D, src []S, n int) for the samples of to and from.
	row any
}

// Between compiles the way for pixels of two layouts, and remembers it. Opacity is
// kept: scaled to the other's depth, dropped where to has none, full where from has
// none.
func (t *Transform) Between(from, to Layout) (*Kernel, error) {
	if err := from.check(t.From()); err != nil {
		return nil, fmt.Errorf("transform: pixels coming in: %w", err)
	}
	if err := to.check(t.To()); err != nil {
		return nil, fmt.Errorf("transform: pixels going out: %w", err)
	}
	t.mu.Lock()
	defer t.mu.Unlock()
	if k := t.kernels[[2]Layout{from, to}]; k != nil {
		return k, nil
	}
	k := &Kernel{t: t, from: from, to: to, in: from.place(t.chain.Inputs()), out: to.place(t.chain.Outputs())}
	k.compile()
	t.kernels[[2]Layout{from, to}] = k
	return k, nil
}

// Layouts returns the layouts of the pixels that come in and go out.
func (k *Kernel) Layouts() (from, to Layout) { return k.from, k.to }

// Bound says in words how far the kernel's pixels may be from the chain's.
func (k *Kernel) Bound() string { return k.bound }

// Row sends n pixels of a row through the kernel, without allocating. dst and src
// may be the same slice where their pixels take as much room; otherwise they must
// not overlap. It is an error if samples are not those of the kernel's layouts, or
// a slice holds less than n pixels.
func Row[D, S Sample](k *Kernel, dst []D, src []S, n int) error {
	row, ok := k.row.(func([]D, []S, int))
	if !ok {
		return k.mismatch(*new(D), *new(S))
	}
	if n < 0 || n > len(dst)/k.out.step || n > len(src)/k.in.step {
		return fmt.Errorf("transform: a row of %d pixels takes %d samples coming in and %d going out; the slices hold %d and %d",
			n, n*k.in.step, n*k.out.step, len(src), len(dst))
	}
	row(dst, src, n)
	return nil
}

// mismatch returns the error of samples that the kernel does not take.
func (k *Kernel) mismatch(dst, src any) error {
	return fmt.Errorf("transform: samples %T to %T; the kernel takes %v to %v", src, dst, k.from.Depth, k.to.Depth)
}
