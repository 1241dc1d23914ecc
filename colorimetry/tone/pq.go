package tone

import "math"

// PQPeakCdM2 is the luminance of PQ's highest signal in cd/m².
//
// Source: SMPTE ST 2084:2014; ITU-R BT.2100-2, table 4.
const PQPeakCdM2 = 10000

// The constants of SMPTE ST 2084:2014.
const (
	pqM1 = 2610.0 / 16384
	pqM2 = 2523.0 / 4096 * 128
	pqC1 = 3424.0 / 4096
	pqC2 = 2413.0 / 4096 * 32
	pqC3 = 2392.0 / 4096 * 32
)

// PQ is the perceptual quantiser: a signal that means a luminance in cd/m²,
// whatever the display. Light is relative to PeakCdM2, above which the display
// clips; the zero value means the system's own 10,000 cd/m². A peak below 0 or
// above that is no curve, and answers NaN.
//
// Light is 0 for signals up to 7.3e-7, the signal that the standard gives
// black, and 1 above the signal of PeakCdM2. Signal(0) is 7.3e-7 as the
// standard has it; light below 0 has signal 0, light above 1 that of 1.
//
// Source: SMPTE ST 2084:2014; ITU-R BT.2100-2, table 4.
type PQ struct{ PeakCdM2 float64 }

func (c PQ) peak() float64 {
	switch {
	case c.PeakCdM2 == 0:
		return PQPeakCdM2
	case c.PeakCdM2 > 0 && c.PeakCdM2 <= PQPeakCdM2:
		return c.PeakCdM2
	}
	return math.NaN()
}

// Light returns the light of a signal relative to the peak.
func (c PQ) Light(signal float64) float64 {
	return math.Min(PQLuminance(signal)/c.peak(), 1)
}

// Signal returns the signal of a light relative to the peak.
func (c PQ) Signal(light float64) float64 {
	switch {
	case light < 0:
		return 0
	case light > 1:
		light = 1
	}
	return PQSignal(light * c.peak())
}

// Slope returns the derivative of Light, 0 where the display clips.
func (c PQ) Slope(signal float64) float64 {
	if math.IsNaN(signal) {
		return signal
	}
	if signal <= 0 || signal > 1 || PQLuminance(signal) > c.peak() {
		return 0
	}
	root := math.Pow(signal, 1/pqM2)
	over, under := root-pqC1, pqC2-pqC3*root
	if over <= 0 {
		return 0
	}
	light := math.Pow(over/under, 1/pqM1) * (PQPeakCdM2 / c.peak())
	return light / pqM1 * (1/over + pqC3/under) * root / (pqM2 * signal)
}

// String returns "pq", or with a peak for instance "pq 1000".
func (c PQ) String() string {
	if c == (PQ{}) {
		return "pq"
	}
	return "pq " + number(c.PeakCdM2)
}

// PQLuminance returns the luminance in cd/m² that a PQ signal means, 0 to
// 10,000. Signals below 0 count as 0, above 1 as 1.
//
// Source: SMPTE ST 2084:2014, the EOTF.
func PQLuminance(signal float64) float64 {
	root := math.Pow(math.Min(math.Max(signal, 0), 1), 1/pqM2)
	return PQPeakCdM2 * math.Pow(math.Max(root-pqC1, 0)/(pqC2-pqC3*root), 1/pqM1)
}

// PQSignal returns the PQ signal that means a luminance in cd/m², 0 to 10,000.
// Luminances below 0 count as 0, above 10,000 as that. The signal of 0 is
// 7.3e-7, as the standard's equation gives it.
//
// Source: SMPTE ST 2084:2014, the inverse EOTF.
func PQSignal(cdM2 float64) float64 {
	y := math.Pow(math.Min(math.Max(cdM2, 0), PQPeakCdM2)/PQPeakCdM2, pqM1)
	return math.Pow((pqC1+pqC2*y)/(1+pqC3*y), pqM2)
}
