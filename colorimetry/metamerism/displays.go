package metamerism

import (
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/spectrum"
)

// ColourSpread is the spread for one colour of two displays.
type ColourSpread struct {
	OnA colorimetry.RGB // linear amounts on the first display
	OnB colorimetry.RGB // those on the second that match for the reference observer
	// Reachable says that the second display makes the colour if it is bright
	// enough: no amount in OnB is below 0. Otherwise there is no Spread.
	Reachable bool
	Spread
}

// DisplaySpread is how differently a set of observers see two displays that
// show the same colours to the reference observer.
type DisplaySpread struct {
	White   ColourSpread   // of the first display's white
	Colours []ColourSpread // in the order asked for
	Summary                // over all observers and all reachable colours
	Each    []float64      // each observer's mean over the reachable colours
	Reached int            // the number of reachable colours
}

// Lattice returns the colours that [CompareDisplays] takes where none are asked
// for: linear amounts of 0, 0.2 and 1 in each channel, 26 colours without the
// black. 0.2 is about half way up in lightness; the choice is this package's.
func Lattice() []colorimetry.RGB {
	levels := [3]float64{0, 0.2, 1}
	var out []colorimetry.RGB
	for _, r := range levels {
		for _, g := range levels {
			for _, b := range levels {
				if r+g+b > 0 {
					out = append(out, colorimetry.RGB{R: r, G: g, B: b})
				}
			}
		}
	}
	return out
}

// mostColours bounds the work.
const mostColours = 65536

// CompareDisplays sets display b to match each colour of display a for the
// reference observer of o, and returns how differently the observers see the
// two. Each is adapted to a's white as that observer sees it. Colours are linear
// amounts of a's primaries, of which none is below 0; nil stands for [Lattice].
//
// Colours that b cannot make stay out of the figures. It is an error if it can
// make none of them, if there is no observer or more than 65536 colours, or if
// to an observer b's primaries are not three colours or a's white is none.
//
// Source: Asano, Fairchild and Blondé (2016) for judging with many observers.
func CompareDisplays(observers []spectrum.Observer, a, b Display, colours []colorimetry.RGB, o Options) (DisplaySpread, error) {
	o = o.filled()
	if len(observers) == 0 {
		return DisplaySpread{}, errNobody
	}
	if colours == nil {
		colours = Lattice()
	}
	if err := checkColours(colours); err != nil {
		return DisplaySpread{}, err
	}
	reference, err := NewPair(o.Reference, a, b)
	if err != nil {
		return DisplaySpread{}, err
	}
	pairs := make([]*Pair, len(observers))
	for i, by := range observers {
		if pairs[i], err = NewPair(by, a, b); err != nil {
			return DisplaySpread{}, err
		}
		if w := pairs[i].White(); !positive(w) {
			return DisplaySpread{}, noWhite(by.Name, w)
		}
	}
	if w := reference.White(); !positive(w) {
		return DisplaySpread{}, noWhite(o.Reference.Name, w)
	}
	return judge(reference, pairs, colours, o)
}

func checkColours(colours []colorimetry.RGB) error {
	if len(colours) == 0 || len(colours) > mostColours {
		return fmt.Errorf("metamerism: %d colours; 1 to %d are possible, or nil for the lattice", len(colours), mostColours)
	}
	for i, c := range colours {
		if !(c.Min() >= 0) || math.IsInf(c.Max(), 1) {
			return fmt.Errorf("metamerism: colour %d is %g; linear amounts are 0 or more", i+1, c)
		}
	}
	return nil
}

func judge(reference *Pair, pairs []*Pair, colours []colorimetry.RGB, o Options) (DisplaySpread, error) {
	out := DisplaySpread{Each: make([]float64, len(pairs))}
	var err error
	if out.White, err = oneColour(reference, pairs, colorimetry.Gray(1), o); err != nil {
		return DisplaySpread{}, err
	}
	var all []float64
	for _, c := range colours {
		s, err := oneColour(reference, pairs, c, o)
		if err != nil {
			return DisplaySpread{}, err
		}
		out.Colours = append(out.Colours, s)
		if !s.Reachable {
			continue
		}
		out.Reached++
		all = append(all, s.Each...)
		for i, d := range s.Each {
			out.Each[i] += d
		}
	}
	if out.Reached == 0 {
		return DisplaySpread{}, fmt.Errorf("metamerism: the second display makes none of the %d colours; ask for paler ones", len(colours))
	}
	for i := range out.Each {
		out.Each[i] /= float64(out.Reached)
	}
	out.Summary = summarise(all)
	return out, nil
}

// belowZero is how far below 0 an amount may be, as a share of the greatest,
// and count as 0: rounding.
const belowZero = 1e-9

func oneColour(reference *Pair, pairs []*Pair, c colorimetry.RGB, o Options) (ColourSpread, error) {
	out := ColourSpread{OnA: c, OnB: reference.Match(c)}
	if out.Reachable = out.OnB.Min() >= -belowZero*out.OnB.Max(); !out.Reachable {
		return out, nil
	}
	first, second := make([]colorimetry.Lab, len(pairs)), make([]colorimetry.Lab, len(pairs))
	for i, p := range pairs {
		x, y := p.Seen(c, out.OnB)
		first[i], second[i] = x.Lab(p.White()), y.Lab(p.White())
	}
	var err error
	if out.Spread, err = spread(first, second, o.Difference); err != nil {
		return out, err
	}
	x, y := reference.Seen(c, out.OnB)
	out.Reference = o.Difference(x.Lab(reference.White()), y.Lab(reference.White()))
	return out, nil
}
