package icc

import (
	"encoding/binary"
	"fmt"
	"math"
)

// Type returns TypeCurve.
func (SampledCurve) Type() Signature { return TypeCurve }

func (v SampledCurve) appendTo(b []byte) ([]byte, error) {
	if uint64(len(v)) > math.MaxUint32 {
		return nil, fmt.Errorf("%d curve entries do not fit", len(v))
	}
	b = binary.BigEndian.AppendUint32(appendType(b, TypeCurve), uint32(len(v)))
	for _, e := range v {
		b = binary.BigEndian.AppendUint16(b, e)
	}
	return b, nil
}

func readCurve(r *reader) Value {
	return SampledCurve(r.words(r.room(r.u32(), "curve entries", 2, 2)))
}

// At returns the curve at x, which is clamped to [0, 1].
func (v SampledCurve) At(x float64) float64 {
	x = clamp(x)
	switch len(v) {
	case 0:
		return x
	case 1:
		return v.power().At(x)
	}
	p := x * float64(len(v)-1)
	i := min(int(p), len(v)-2)
	a, b := float64(v[i]), float64(v[i+1])
	return (a + (b-a)*(p-float64(i))) / 65535
}

// power returns a curve of one entry as the power function it stands for.
func (v SampledCurve) power() ParametricCurve {
	return ParametricCurve{G: float64(v[0]) / 256}
}

// rising returns v where it never falls, and otherwise the curve that keeps
// its running maximum; falls tells that v as a whole descends, and that the
// result is of its mirror image.
func (v SampledCurve) rising() (up SampledCurve, falls bool) {
	up = v
	if len(v) < 2 {
		return v, false
	}
	if falls = v[0] > v[len(v)-1]; falls {
		up = make(SampledCurve, len(v))
		for i, e := range v {
			up[len(v)-1-i] = e
		}
	}
	for i := 1; i < len(up); i++ {
		if up[i] < up[i-1] {
			return up.envelope(), falls
		}
	}
	return up, falls
}

func (v SampledCurve) envelope() SampledCurve {
	out := make(SampledCurve, len(v))
	top := uint16(0)
	for i, e := range v {
		top = max(top, e)
		out[i] = top
	}
	return out
}

// lowest returns the lowest x at which the never-falling curve v, of two
// entries or more, reaches y; 1 where it does not.
func (v SampledCurve) lowest(y float64) float64 {
	t := y * 65535
	if !(t > float64(v[0])) {
		return 0
	}
	lo, hi := 0, len(v)-1 // v[lo] < t ≤ v[hi]
	if t > float64(v[hi]) {
		return 1
	}
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; float64(v[mid]) < t {
			lo = mid
		} else {
			hi = mid
		}
	}
	a, b := float64(v[lo]), float64(v[hi])
	return (float64(lo) + (t-a)/(b-a)) / float64(len(v)-1)
}

// parameters says how many parameters each function type stores.
func parameters(function int) int { return [...]int{1, 3, 4, 5, 7}[function] }

// Type returns TypeParametricCurve.
func (ParametricCurve) Type() Signature { return TypeParametricCurve }

func (v ParametricCurve) appendTo(b []byte) ([]byte, error) {
	if v.Function < 0 || v.Function > 4 {
		return nil, fmt.Errorf("parametric function %d; 0 to 4 are defined", v.Function)
	}
	b = binary.BigEndian.AppendUint16(appendType(b, TypeParametricCurve), uint16(v.Function))
	b = append(b, 0, 0)
	all := [7]float64{v.G, v.A, v.B, v.C, v.D, v.E, v.F}
	return appendFixed(b, all[:parameters(v.Function)]...)
}

func readParametric(r *reader) Value {
	f := int(r.u16())
	if f > 4 {
		r.fail(max(0, r.off-2), fmt.Errorf("parametric function %d; 0 to 4 are defined", f))
		return nil
	}
	r.take(2)
	v := ParametricCurve{Function: f}
	all := [7]*float64{&v.G, &v.A, &v.B, &v.C, &v.D, &v.E, &v.F}
	for _, p := range all[:parameters(f)] {
		*p = r.fixed()
	}
	return v
}

// At returns the curve at x, which is clamped to [0, 1] as the result is.
func (v ParametricCurve) At(x float64) float64 {
	s := v.segments()
	return s.at(clamp(x))
}

// segments is a parametric curve of any function type in its most general
// form: (a·x+b)^g + e from x = d on, c·x + f below.
type segments struct {
	g, a, b, c, d, e, f float64
	falls               bool // higher at 0 than at 1
}

func (v ParametricCurve) segments() segments {
	s := segments{g: v.G, a: 1, d: math.Inf(-1)}
	if v.Function >= 1 {
		s.a, s.b = v.A, v.B
	}
	switch v.Function {
	case 1, 2:
		// At x = −B/A the base of the power is 0. With A = 0 the power part
		// is a constant, which holds everywhere.
		if v.A != 0 {
			s.d = -v.B / v.A
		}
		if v.Function == 2 {
			s.e, s.f = v.C, v.C
		}
	case 3:
		s.c, s.d = v.C, v.D
	case 4:
		s.c, s.d, s.e, s.f = v.C, v.D, v.E, v.F
	}
	s.falls = s.at(0) > s.at(1)
	return s
}

func (s segments) at(x float64) float64 {
	if x < s.d {
		return clamp(s.c*x + s.f)
	}
	return clamp(math.Pow(math.Max(s.a*x+s.b, 0), s.g) + s.e)
}

// lowest returns the lowest x in [0, 1] at which a rising curve reaches y, and
// 1 where it does not. A falling curve is inverted as well; of one that turns,
// some x is found.
func (s segments) lowest(y float64) float64 {
	if s.falls {
		return s.bisect(y)
	}
	if !(y > s.at(0)) {
		return 0
	}
	if y > s.at(1) {
		return 1
	}
	if !(s.a > 0 && s.g > 0 && s.c >= 0) {
		return s.bisect(y)
	}
	// y lies above the start, so that whichever part reaches it rises there.
	if s.d > 0 {
		if x := (y - s.f) / s.c; s.c > 0 && x < s.d {
			return clamp(x)
		}
		if s.d <= 1 && y <= s.at(s.d) {
			return s.d
		}
	}
	return clamp((math.Pow(math.Max(y-s.e, 0), 1/s.g) - s.b) / s.a)
}

// bisect searches for y where no closed form is safe: 60 halvings reach the
// spacing of float64.
func (s segments) bisect(y float64) float64 {
	lo, hi := 0.0, 1.0
	for range 60 {
		mid := (lo + hi) / 2
		if v := s.at(mid); v < y != s.falls {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// clamp limits v to [0, 1]; NaN becomes 0.
func clamp(v float64) float64 {
	if !(v > 0) {
		return 0
	}
	return math.Min(v, 1)
}
