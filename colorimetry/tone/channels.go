package tone

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// Channels is a set of three sampled curves, red, green and blue, from signal
// to signal, each with the same number of equally spaced 16-bit entries and
// straight lines between them. It is the form in which correction curves are
// loaded into a display path and stored in a profile, so that what was in
// force while measuring is, to the bit, what the profile carries.
//
// The zero value holds no curves and passes signals through unchanged. A
// Channels is immutable and safe for concurrent use.
type Channels struct {
	r, g, b []uint16
}

// NewChannels returns the curves whose entries are r, g and b, values 0 to 1,
// rounded to 16 bits. The slices are copied. It is an error if their lengths
// differ or are not in 2 to 4096, or if a value is NaN, outside [0, 1] or
// below the one before it.
func NewChannels(r, g, b []float64) (Channels, error) {
	var c Channels
	for i, in := range [][]float64{r, g, b} {
		if len(in) != len(r) {
			return Channels{}, fmt.Errorf("tone: the three curves have %d, %d and %d entries; they need the same number", len(r), len(g), len(b))
		}
		if len(in) < 2 || len(in) > 4096 {
			return Channels{}, fmt.Errorf("tone: curves have %d entries; 2 to 4096 are possible", len(in))
		}
		out := make([]uint16, len(in))
		for j, v := range in {
			if !(v >= 0 && v <= 1) {
				return Channels{}, fmt.Errorf("tone: channel %d, entry %d is %g; entries run from 0 to 1", i, j, v)
			}
			if j > 0 && v < in[j-1] {
				return Channels{}, fmt.Errorf("tone: channel %d falls at entry %d, from %g to %g", i, j, in[j-1], v)
			}
			out[j] = uint16(math.Round(v * 65535))
		}
		*[]*[]uint16{&c.r, &c.g, &c.b}[i] = out
	}
	return c, nil
}

// Len returns the number of entries a channel, 0 where there are no curves.
func (c Channels) Len() int { return len(c.r) }

// Codes returns copies of the 16-bit entries of the three channels.
func (c Channels) Codes() (r, g, b []uint16) {
	return append([]uint16(nil), c.r...), append([]uint16(nil), c.g...), append([]uint16(nil), c.b...)
}

// Apply returns the signal that leaves the curves when s enters them, clamped
// to [0, 1].
func (c Channels) Apply(s colorimetry.RGB) colorimetry.RGB {
	s = s.Clamp()
	if len(c.r) == 0 {
		return s
	}
	return colorimetry.RGB{R: lookup(c.r, s.R), G: lookup(c.g, s.G), B: lookup(c.b, s.B)}
}

func lookup(t []uint16, v float64) float64 {
	p := v * float64(len(t)-1)
	i := min(int(p), len(t)-2)
	f := p - float64(i)
	a, b := float64(t[i]), float64(t[i+1])
	return (a + (b-a)*f) / 65535
}

// Digest returns a short name for exactly these entries: the first 16 hex
// digits of their SHA-256. No curves give "none".
func (c Channels) Digest() string {
	if len(c.r) == 0 {
		return "none"
	}
	h := sha256.New()
	for _, t := range [][]uint16{c.r, c.g, c.b} {
		var word [2]byte
		for _, v := range t {
			binary.BigEndian.PutUint16(word[:], v)
			h.Write(word[:])
		}
	}
	return hex.EncodeToString(h.Sum(nil))[:16]
}

// Identity returns curves of n entries a channel, 2 to 4096, that pass every
// signal through unchanged but for rounding to 16 bits. It panics for another
// n. Unlike the zero Channels it has entries to load and to store.
func Identity(n int) Channels {
	ramp := make([]float64, max(n, 0))
	for i := range ramp {
		ramp[i] = float64(i) / float64(n-1)
	}
	c, err := NewChannels(ramp, ramp, ramp)
	if err != nil {
		panic(err)
	}
	return c
}
