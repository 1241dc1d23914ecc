package appearance

import (
	"math"
	"sync"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
)

// ICtCp is a colour in the constant-intensity coding of ITU-R BT.2100: I is the
// intensity, T is C_T (from blue to yellow) and P is C_P (from green to red).
type ICtCp struct{ I, T, P float64 }

// ICtCpForm says which transfer function and which matrix an ICtCp is made
// with. The zero value is ICtCpPQ.
type ICtCpForm uint8

const (
	// ICtCpPQ takes light in cd/m², 0 to 10,000, through the perceptual
	// quantiser, whose formula goes on above.
	//
	// Source: ITU-R BT.2100-2 (2018).
	ICtCpPQ ICtCpForm = iota
	// ICtCpHLG takes scene light, 0 to 1, through the camera curve of hybrid
	// log-gamma.
	//
	// Source: ITU-R BT.2100-2 (2018).
	ICtCpHLG
	// ICtCpHLGFirst is ICtCpHLG with the matrix of the earlier editions, which
	// is that of ICtCpPQ.
	//
	// Source: ITU-R BT.2100-1 (2017).
	ICtCpHLGFirst
)

// ictcpMatrices are from XYZ to linear BT.2020 RGB, from there to the cones,
// from coded cones to I, C_T, C_P for PQ and for HLG, and all of them back.
type ictcpMatrices struct {
	rgb, xyz, lms, linear, pq, fromPQ, hlg, fromHLG colorimetry.Matrix
	lmsOfXYZ, xyzOfLMS                              colorimetry.Matrix
}

var ictcp = sync.OnceValue(func() *ictcpMatrices {
	const k = 1.0 / 4096
	m := &ictcpMatrices{
		lms: colorimetry.Matrix{{1688, 2146, 262}, {683, 2951, 462}, {99, 309, 3688}}.Scale(k),
		pq:  colorimetry.Matrix{{2048, 2048, 0}, {6610, -13613, 7003}, {17933, -17390, -543}}.Scale(k),
		hlg: colorimetry.Matrix{{2048, 2048, 0}, {3625, -7465, 3840}, {9500, -9212, -288}}.Scale(k),
	}
	xyz, err := rgb.BT2020().Matrix()
	if err != nil {
		panic(err) // the standard's primaries span an area
	}
	m.xyz, m.rgb, m.linear = xyz, inverse(xyz), inverse(m.lms)
	m.fromPQ, m.fromHLG = inverse(m.pq), inverse(m.hlg)
	m.lmsOfXYZ, m.xyzOfLMS = m.lms.Mul(m.rgb), xyz.Mul(m.linear)
	return m
})

// FromRGB returns the ICtCp of c, linear light of BT.2020 primaries: cd/m² for
// ICtCpPQ, scene light from 0 to 1 for the others. ok is false, and the result
// NaN, where a cone response is negative, which happens outside the spectrum
// locus, or c is not finite.
func (f ICtCpForm) FromRGB(c colorimetry.RGB) (t ICtCp, ok bool) {
	return f.encode(ictcp().lms.Apply(colorimetry.XYZ{X: c.R, Y: c.G, Z: c.B}))
}

// FromXYZ returns the ICtCp of c, absolute XYZ in cd/m² for ICtCpPQ, relative
// XYZ of the scene for the others, both under D65. ok is as of FromRGB.
func (f ICtCpForm) FromXYZ(c colorimetry.XYZ) (t ICtCp, ok bool) {
	return f.encode(ictcp().lmsOfXYZ.Apply(c))
}

// RGB returns the linear light of BT.2020 primaries of t, in cd/m² for ICtCpPQ.
// ok is false, and the result NaN, where no light has the coordinates: a coded
// cone response is negative or too high to be decoded.
func (f ICtCpForm) RGB(t ICtCp) (c colorimetry.RGB, ok bool) {
	v, ok := f.decode(t)
	if !ok {
		return colorimetry.RGB{R: math.NaN(), G: math.NaN(), B: math.NaN()}, false
	}
	v = ictcp().linear.Apply(v)
	return colorimetry.RGB{R: v.X, G: v.Y, B: v.Z}, true
}

// XYZ returns the XYZ under D65 of t, absolute in cd/m² for ICtCpPQ. ok is as
// of RGB.
func (f ICtCpForm) XYZ(t ICtCp) (c colorimetry.XYZ, ok bool) {
	v, ok := f.decode(t)
	if !ok {
		return noXYZ(), false
	}
	return ictcp().xyzOfLMS.Apply(v), true
}

func (f ICtCpForm) encode(v colorimetry.XYZ) (ICtCp, bool) {
	m := ictcp()
	switch f {
	case ICtCpPQ:
		v = m.pq.Apply(colorimetry.XYZ{X: encodePQ(v.X, pqM2), Y: encodePQ(v.Y, pqM2), Z: encodePQ(v.Z, pqM2)})
	case ICtCpHLG, ICtCpHLGFirst:
		v = colorimetry.XYZ{X: encodeHLG(v.X), Y: encodeHLG(v.Y), Z: encodeHLG(v.Z)}
		if f == ICtCpHLG {
			v = m.hlg.Apply(v)
		} else {
			v = m.pq.Apply(v)
		}
	default:
		v = noXYZ()
	}
	if !v.Finite() {
		return ICtCp{math.NaN(), math.NaN(), math.NaN()}, false
	}
	return ICtCp{v.X, v.Y, v.Z}, true
}

func (f ICtCpForm) decode(t ICtCp) (colorimetry.XYZ, bool) {
	m, v := ictcp(), colorimetry.XYZ{X: t.I, Y: t.T, Z: t.P}
	switch f {
	case ICtCpPQ:
		v = m.fromPQ.Apply(v)
		v = colorimetry.XYZ{X: decodePQ(v.X, pqM2), Y: decodePQ(v.Y, pqM2), Z: decodePQ(v.Z, pqM2)}
	case ICtCpHLG, ICtCpHLGFirst:
		if f == ICtCpHLG {
			v = m.fromHLG.Apply(v)
		} else {
			v = m.fromPQ.Apply(v)
		}
		v = colorimetry.XYZ{X: decodeHLG(v.X), Y: decodeHLG(v.Y), Z: decodeHLG(v.Z)}
	default:
		return v, false
	}
	return v, v.Finite()
}

// Constants of the camera curve of hybrid log-gamma.
//
// Source: ITU-R BT.2100-2 (2018).
const (
	hlgA = 0.17883277
	hlgB = 1 - 4*hlgA
	hlgC = 0.5599107295295620201571129490682794821512 // 0.5 − a·ln(4a)
)

// encodeHLG returns the code of scene light; NaN below 0.
func encodeHLG(e float64) float64 {
	if e <= 1.0/12 {
		return math.Sqrt(3 * e)
	}
	return hlgA*math.Log(12*e-hlgB) + hlgC
}

// decodeHLG undoes encodeHLG; NaN below 0.
func decodeHLG(v float64) float64 {
	if v <= 0.5 {
		if v < 0 {
			return math.NaN()
		}
		return v * v / 3
	}
	return (math.Exp((v-hlgC)/hlgA) + hlgB) / 12
}
