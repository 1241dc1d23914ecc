package icc

import (
	"cmp"
	"math"
	"slices"
	"testing"
)

// painful are numbers that hurt, given to every channel at once, and the first
// of them to one channel alone.
var painful = [...]float64{0, 1, 0.5, math.NaN(), math.Inf(1), math.Inf(-1), -1e300, 1e300, 100, -128, 1e-300}

// useChain evaluates a chain at corners, in between and beyond, and reports
// results that are not what a Chain promises.
func useChain(t testing.TB, what string, c *Chain) {
	t.Helper()
	var in, out vec
	try := func() {
		c.Eval(out[:], in[:])
		for _, v := range out[:c.Outputs()] {
			if v-v != 0 {
				t.Fatalf("%s: %v gives %v", what, in[:c.Inputs()], out[:c.Outputs()])
			}
			if !isPCS(c.To()) && (v < 0 || v > 1) {
				t.Fatalf("%s: %v gives the device values %v", what, in[:c.Inputs()], out[:c.Outputs()])
			}
		}
	}
	for _, v := range painful {
		for i := range in[:c.Inputs()] {
			in[i] = v
		}
		try()
	}
	for i := range in[:c.Inputs()] {
		for k := range in[:c.Inputs()] {
			in[k] = painful[(k+i)%4]
		}
		try()
	}
}

// useWay computes colours through p by all that ToPCS, FromPCS and Join allow
// under some options.
func useWay(t testing.TB, p *Profile, o Options) {
	t.Helper()
	for what, make := range map[string]func() (*Chain, error){
		"to the connection space":   func() (*Chain, error) { return ToPCS(p, o) },
		"from the connection space": func() (*Chain, error) { return FromPCS(p, o) },
		"joined":                    func() (*Chain, error) { return Join(o, p) },
		"joined twice":              func() (*Chain, error) { return Join(o, p, p) },
	} {
		c, err := make()
		if (c == nil) != (err != nil) {
			t.Fatalf("%s: chain %v with error %v", what, c, err)
		}
		if c != nil {
			useChain(t, what, c)
		}
	}
}

// useEveryWay does useWay in every intent, with and without black point
// compensation.
func useEveryWay(t testing.TB, p *Profile) {
	t.Helper()
	for intent := range Absolute + 1 {
		for _, bpc := range []bool{false, true} {
			useWay(t, p, Options{Intent: intent, BlackPoint: bpc, Interpolation: Interpolation(intent & 1)})
		}
	}
}

// ownWay are options that bytes of a profile's header choose, so that a fuzzer
// comes to all of them while each of its executions stays short.
func ownWay(p *Profile) Options {
	h := &p.Header
	o := Options{Intent: h.Intent % 4, BlackPoint: h.Flags&1 != 0, Interpolation: Interpolation(h.Flags >> 1 & 1)}
	if o.Intent == Absolute {
		o.BlackPoint = false
	}
	if h.Flags>>2&1 != 0 {
		o.PCS = [2]Signature{SpaceLab, SpaceXYZ}[h.Flags>>3&1]
	}
	return o
}

// useCheck reports findings that say nothing.
func useCheck(t testing.TB, p *Profile) {
	t.Helper()
	all := p.Check()
	if len(all) > maxFindings {
		t.Fatalf("%d findings", len(all))
	}
	for _, f := range all {
		if f.Tag == "" || f.Clause == "" || f.Text == "" || f.Severity > Broken {
			t.Fatalf("finding %+v", f)
		}
	}
}

// sortTags puts tags in the order of their signatures.
func sortTags(p *Profile) {
	slices.SortFunc(p.Tags, func(a, b Tag) int { return cmp.Compare(a.Signature, b.Signature) })
}
