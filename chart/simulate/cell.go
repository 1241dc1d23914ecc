package simulate

import (
	"math"

	"example.org/primaries/colorimetry/spectrum"
	"example.org/primaries/colorimetry/tone"
)

// halfOpen returns φ·sin(2φ) for a cell that lets the share x = sin²(φ) through,
// φ from 0 to π/2: how strongly its light depends on the wavelength. Shares
// beyond 0 and 1 count as these.
func halfOpen(x float64) float64 {
	x = math.Min(math.Max(x, 0), 1)
	return math.Asin(math.Sqrt(x)) * 2 * math.Sqrt(x*(1-x))
}

// tilted returns p·strength·(λ_c/λ − 1), with λ_c the mean wavelength of p.
func tilted(p spectrum.Spectrum, strength float64) spectrum.Spectrum {
	nm, v := p.Samples()
	var sum, moment float64
	for i := range nm {
		step := (nm[min(i+1, len(nm)-1)] - nm[max(i-1, 0)]) / 2
		sum, moment = sum+step*v[i], moment+step*v[i]*nm[i]
	}
	for i := range nm {
		v[i] *= strength * (moment/sum/nm[i] - 1)
	}
	s, err := spectrum.New(nm, v)
	if err != nil {
		panic("simulate: a primary cannot be tilted: " + err.Error()) // its own samples are within bounds
	}
	return s
}

// cell returns the tone of a liquid-crystal cell of half a wave that turns light
// by the share turn(v) of that, 0 to 1, and of what leaks through it: sampled.
func cell(leak float64, turn func(v float64) float64) tone.Curve {
	return sampled(func(v float64) float64 {
		s := math.Sin(math.Pi / 2 * turn(v))
		return leak + (1-leak)*s*s
	})
}

// beam returns the tone of a cathode-ray tube: a current that goes as the power
// 2.4 of the signal above a cut-off, and a phosphor that gives less of it the
// more there is.
func beam(cut, saturation float64) tone.Curve {
	return sampled(func(v float64) float64 {
		current := math.Pow(math.Max(v-cut, 0)/(1-cut), 2.4)
		return (1 + saturation) * current / (1 + saturation*current)
	})
}

// sampled returns the curve through 257 levels of a function that never falls.
func sampled(light func(v float64) float64) tone.Curve {
	const steps = 256
	var x, y [steps + 1]float64
	for i := range x {
		x[i] = float64(i) / steps
		y[i] = light(x[i])
	}
	c, err := tone.NewSampled(x[:], y[:])
	if err != nil {
		panic("simulate: an invented tone is none: " + err.Error())
	}
	return c
}

// corrected returns the turn of a cell whose driver was adjusted to a power law
// on another one, which turned by t^bend where this one turns by t.
func corrected(gamma, bend float64) func(float64) float64 {
	return func(v float64) float64 {
		return math.Pow(math.Asin(math.Pow(v, gamma/2))*2/math.Pi, bend)
	}
}

// native returns the turn of a cell without any correction: a power of the
// signal.
func native(power float64) func(float64) float64 {
	return func(v float64) float64 { return math.Pow(v, power) }
}

// ladder returns turn as a driver makes it whose voltages come from equal
// resistors between taps: straight lines between the taps, of which the k-th lies
// at the signal (k/taps)^1.5, closer in the dark.
func ladder(taps int, turn func(float64) float64) func(float64) float64 {
	tap := func(k float64) float64 { return math.Pow(k/float64(taps), 1.5) }
	return func(v float64) float64 {
		k := math.Min(math.Floor(float64(taps)*math.Pow(v, 1/1.5)), float64(taps-1))
		low, high := tap(k), tap(k+1)
		return turn(low) + (v-low)/(high-low)*(turn(high)-turn(low))
	}
}
