package icc

import (
	"errors"
	"fmt"

	"example.org/primaries/colorimetry"
)

// Options say how profiles are evaluated. The zero value is the perceptual
// intent without black point compensation.
type Options struct {
	Intent Intent
	// BlackPoint moves the darkest colour of one device onto that of the next
	// (ISO 18619, see [BlackPoint]). A chain that begins or ends in the
	// connection space has 0 as its black there. It has no meaning in the
	// absolute intent, and is an error there.
	BlackPoint bool
	// PCS is the space in which a chain takes or gives colours of the
	// connection space: SpaceXYZ, with Y of the white 1, or SpaceLab; 0 means
	// the profile's own.
	PCS           Signature
	Interpolation Interpolation
}

// Chain computes colours through one profile or several in float64, without
// any rounding of its own. It does not change, is safe for concurrent use, and
// does not depend on the profiles any more.
//
// Device values run from 0 to 1; those out of range, coming or going, are
// clamped to it. Colours of the connection space are under D50, and are not
// clamped except by tables, which hold no others, and where L*a*b* is computed,
// far beyond all colours: at 50,000, and at 8e8 in XYZ. Results are always
// finite; NaN counts as 0.
type Chain struct {
	from, to Signature
	in, out  int
	stages   []stage
}

// ToPCS returns the way from a profile's device to the connection space.
//
// The profile's tables are used in the order of ICC.1: multiprocess elements
// of the intent, the table of the intent, another table (the perceptual one
// first), then curves and matrix. The absolute intent scales by the media
// white over D50, as ICC.1:2022, 6.3.2, says, for every version.
//
// Little CMS departs from this in some points: it takes the media white of
// version 2 display profiles as D50 whatever it is; it compensates black points
// in the perceptual and saturation intents of version 4 profiles unasked, and
// leaves the smallest compensations out; it takes an intent without a table of
// its own to have no black, and the matrix of a profile that has tables too to
// tell its black; it applies the matrix of lut8 and lut16 to whatever has three
// channels; and it does not clip between the parts of a table in floating point.
//
// The error names the tag that is missing or unusable; errors.Is finds
// ErrUnsupported in it where the profile is of a kind that has no such way.
func ToPCS(p *Profile, o Options) (*Chain, error) {
	b, err := newBuilder(o)
	if err != nil {
		return nil, err
	}
	if err := p.hasDevice(); err != nil {
		return nil, err
	}
	if err := b.add(p); err != nil {
		return nil, err
	}
	return b.finish(), nil
}

// FromPCS returns the way from the connection space to a profile's device, by
// the same order of tags. Where a profile of up to three channels has tables
// for the other direction alone, those are inverted by search: the device
// values whose colour is nearest, by ΔE*ab. The search begins with 17 values of
// each channel, 4913 colours of three, and is refused where a colour takes more
// work than any real device's does.
//
// Errors are those of ToPCS.
func FromPCS(p *Profile, o Options) (*Chain, error) {
	b, err := newBuilder(o)
	if err != nil {
		return nil, err
	}
	if err := p.hasDevice(); err != nil {
		return nil, err
	}
	b.beginPCS(p.Header.PCS)
	if err := b.add(p); err != nil {
		return nil, err
	}
	return b.finish(), nil
}

// Join returns the way through several profiles from left to right, device
// links and abstract profiles among them. Each is used in the direction in
// which colours reach it: the first from its device to the connection space,
// the second from there to its device, a third, if its device is the same,
// from the device on to the connection space, and so on. With a single device
// link it is the way through that.
//
// Errors are those of ToPCS, and that two neighbours do not fit.
func Join(o Options, profiles ...*Profile) (*Chain, error) {
	links := make([]Link, len(profiles))
	for i, p := range profiles {
		links[i] = Link{p, o}
	}
	return JoinLinks(links...)
}

// Link is a profile of a chain with the options that it is evaluated by.
type Link struct {
	Profile *Profile
	Options Options
}

// JoinLinks is Join with options for each profile, as proofs need them: a
// picture comes to the simulated device by one intent and is looked at by
// another. Where two profiles meet in the connection space, both have the intent
// that their meeting is to have. PCS counts where the chain ends.
func JoinLinks(links ...Link) (*Chain, error) {
	if len(links) == 0 {
		return nil, errors.New("icc: no profiles to join")
	}
	var b *builder
	for i, l := range links {
		next, err := newBuilder(l.Options)
		if err == nil {
			if b == nil {
				b = next
			}
			b.o = l.Options
			err = b.add(l.Profile)
		}
		if err != nil {
			return nil, fmt.Errorf("profile %d of %d: %w", i+1, len(links), err)
		}
	}
	return b.finish(), nil
}

// From returns the colour space that the chain begins in; SpaceXYZ and
// SpaceLab have the connection space's own units.
func (c *Chain) From() Signature { return c.from }

// To returns the colour space that the chain ends in.
func (c *Chain) To() Signature { return c.to }

// Inputs returns the number of channels that the chain takes.
func (c *Chain) Inputs() int { return c.in }

// Outputs returns the number of channels that the chain gives.
func (c *Chain) Outputs() int { return c.out }

// Eval writes the colour that src becomes to dst, without allocating. src has
// Inputs numbers and dst room for Outputs; it panics where there are fewer.
// Both may be the same.
func (c *Chain) Eval(dst, src []float64) {
	var v vec
	_, _ = dst[c.out-1], src[c.in-1] // panics here, whatever the capacity
	copy(v[:], src[:c.in])
	run(c.stages, &v)
	copy(dst[:c.out], v[:])
}

// builder puts a chain together.
type builder struct {
	o      Options
	chain  *Chain
	begun  bool
	pcs    bool // colours are XYZ of the connection space now
	black  colorimetry.XYZ
	ending Signature // connection space of the last profile
}

func newBuilder(o Options) (*builder, error) {
	switch {
	case o.Intent > Absolute:
		return nil, fmt.Errorf("icc: %v; perceptual, relative, saturation and absolute are defined", o.Intent)
	case o.BlackPoint && o.Intent == Absolute:
		return nil, errors.New("icc: black point compensation has no meaning in the absolute intent, which keeps every colour as it is; leave it out")
	case o.PCS != 0 && !isPCS(o.PCS):
		return nil, fmt.Errorf("icc: connection space %v; SpaceXYZ and SpaceLab are defined", o.PCS)
	}
	return &builder{o: o, chain: &Chain{}}, nil
}

// beginPCS lets the chain begin in the connection space.
func (b *builder) beginPCS(own Signature) {
	space := own
	if b.o.PCS != 0 {
		space = b.o.PCS
	}
	b.chain.from, b.chain.in = space, 3
	b.push(stage{op: opBound, in: 3, out: 3})
	b.push(toXYZ(space)...)
	b.begun, b.pcs = true, true
}

// beginDevice lets the chain begin in a device's space.
func (b *builder) beginDevice(space Signature) {
	b.chain.from, b.chain.in = space, Channels(space)
	b.limit(space)
	b.begun = true
}

// limit keeps device values from 0 to 1. Those of a device whose space is L*a*b*
// or XYZ are in that space's own units.
func (b *builder) limit(space Signature) {
	n := Channels(space)
	s := stage{op: opClamp, in: n, out: n}
	if isPCS(space) {
		s.op = opBound
	}
	b.push(s)
}

func (b *builder) push(s ...stage) { b.chain.stages = append(b.chain.stages, s...) }

// add takes the colours on through p.
func (b *builder) add(p *Profile) error {
	switch p.Header.Class {
	case ClassLink:
		return b.addLink(p)
	case ClassAbstract:
		return b.addAbstract(p)
	}
	if err := p.hasDevice(); err != nil {
		return err
	}
	b.ending = p.Header.PCS
	if b.pcs {
		return b.addOutput(p)
	}
	return b.addInput(p)
}

func (b *builder) addInput(p *Profile) error {
	if !b.begun {
		b.beginDevice(p.Header.Space)
	} else if b.chain.to != p.Header.Space {
		return fmt.Errorf("icc: colours come as %v and the profile takes %v", b.chain.to, p.Header.Space)
	}
	s, err := p.toPCS(b.o)
	if err != nil {
		return err
	}
	b.push(s...)
	b.pcs = true
	if b.o.BlackPoint {
		b.black, err = BlackPoint(p, b.o.Intent)
	}
	return err
}

func (b *builder) addOutput(p *Profile) error {
	if b.o.BlackPoint {
		black, err := outputBlack(p, b.o)
		if err != nil {
			return err
		}
		b.compensate(black)
	}
	s, err := p.fromPCS(b.o)
	if err != nil {
		return err
	}
	b.push(s...)
	b.chain.to, b.pcs = p.Header.Space, false
	return nil
}

// addLink takes the colours through a device link, whose connection space may
// be any device's space.
func (b *builder) addLink(p *Profile) error {
	from, to := p.Header.Space, p.Header.PCS
	if Channels(from) == 0 || Channels(to) == 0 {
		return fmt.Errorf("icc: device link from %v to %v: %w", from, to, ErrUnsupported)
	}
	switch {
	case !b.begun:
		b.beginDevice(from)
	case b.pcs && isPCS(from):
		b.settle()
		b.push(fromXYZ(from)...)
	case b.pcs || b.chain.to != from:
		return fmt.Errorf("icc: colours come as %v and the device link takes %v", b.now(), from)
	}
	if err := b.table(p); err != nil {
		return err
	}
	b.chain.to, b.ending = to, to
	if b.pcs = isPCS(to); b.pcs {
		b.push(toXYZ(to)...)
	}
	return nil
}

func (b *builder) addAbstract(p *Profile) error {
	from, to := p.Header.Space, p.Header.PCS
	if !isPCS(from) || !isPCS(to) {
		return fmt.Errorf("icc: abstract profile from %v to %v; XYZ and Lab are possible: %w", from, to, ErrUnsupported)
	}
	if !b.begun {
		b.beginPCS(from)
	}
	if !b.pcs {
		return fmt.Errorf("icc: colours come as %v and an abstract profile takes those of the connection space", b.now())
	}
	b.settle()
	b.push(fromXYZ(from)...)
	if err := b.table(p); err != nil {
		return err
	}
	b.push(toXYZ(to)...)
	b.ending = to
	return nil
}

// settle moves the black that colours have onto 0, which is that of the
// connection space.
func (b *builder) settle() {
	if b.o.BlackPoint && b.black != (colorimetry.XYZ{}) {
		b.compensate(colorimetry.XYZ{})
	}
	b.black = colorimetry.XYZ{}
}

// table takes the colours through the only table of a link or an abstract
// profile.
func (b *builder) table(p *Profile) error {
	c := p.choose(toElements, toTables, b.o.Intent)
	if c.value == nil {
		return fmt.Errorf("icc: the profile has no tag %v", TagAToB0)
	}
	s, err := p.through(c, p.Header.Space, p.Header.PCS, b.o)
	b.push(s...)
	return err
}

// now returns the space that colours are in.
func (b *builder) now() Signature {
	if b.pcs {
		return SpaceXYZ
	}
	return b.chain.to
}

// finish ends the chain where it is.
func (b *builder) finish() *Chain {
	c := b.chain
	if b.pcs {
		b.settle()
		if c.to = b.ending; b.o.PCS != 0 {
			c.to = b.o.PCS
		}
		b.push(fromXYZ(c.to)...)
		c.out = 3
		return c
	}
	c.out = Channels(c.to)
	b.limit(c.to)
	return c
}
