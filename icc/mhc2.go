package icc

import (
	"encoding/binary"
	"fmt"

	"example.org/primaries/colorimetry"
)

// HardwareCalibration is the private type 'MHC2', by which a Windows system
// sets up the colour hardware of a display path: a matrix, then, behind the
// transfer function of the link to the display, three curves.
//
// Source: Microsoft's public documentation of the display calibration pipeline
// of Windows, which says that the matrix takes 24 bytes; its 12 numbers take
// 48. Little CMS 2.16, which is open source, has a word more before the sizes
// and no types before the curves, which is not what is documented: a value laid
// out so is kept as Raw.
type HardwareCalibration struct {
	MinCdM2, PeakCdM2 float64 // luminance of black and of the brightest white
	// Matrix leads from XYZ to XYZ, if HasMatrix; it is the identity if not.
	// The fourth column is stored and has no effect.
	HasMatrix bool
	Matrix    [3][4]float64
	// Curves are those of red, green and blue: 2 to 4096 samples in [0, 1],
	// equally spaced over [0, 1]; nil is the identity. Those that are not nil
	// are equally long.
	Curves [3][]float64
}

const (
	calibrationHead    = 36
	calibrationMatrix  = 12 // numbers
	calibrationSamples = 4096
	calibrationOther   = 40 // where the parts begin in the layout of Little CMS 2.16
)

// XYZMatrix returns the part of the matrix that has an effect.
func (v HardwareCalibration) XYZMatrix() colorimetry.Matrix {
	if !v.HasMatrix {
		return colorimetry.Identity()
	}
	var m colorimetry.Matrix
	for i, row := range v.Matrix {
		copy(m[i][:], row[:])
	}
	return m
}

// Type returns TypeHardwareCalibration.
func (HardwareCalibration) Type() Signature { return TypeHardwareCalibration }

func (v HardwareCalibration) appendTo(b []byte) ([]byte, error) {
	entries, err := v.samples()
	if err != nil {
		return nil, err
	}
	b = binary.BigEndian.AppendUint32(appendType(b, TypeHardwareCalibration), uint32(entries))
	if b, err = appendFixed(b, v.MinCdM2, v.PeakCdM2); err != nil {
		return nil, fmt.Errorf("luminance: %w", err)
	}
	var data []byte
	offset := func(present bool) {
		at := 0
		if present {
			at = calibrationHead + len(data)
		}
		b = binary.BigEndian.AppendUint32(b, uint32(at))
	}
	offset(v.HasMatrix)
	if v.HasMatrix {
		for _, row := range v.Matrix {
			if data, err = appendFixed(data, row[:]...); err != nil {
				return nil, fmt.Errorf("matrix: %w", err)
			}
		}
	}
	for i, c := range v.Curves {
		offset(c != nil)
		if c == nil {
			continue
		}
		if data, err = appendFixed(appendType(data, TypeFixedArray), c...); err != nil {
			return nil, fmt.Errorf("curve %d: %w", i, err)
		}
	}
	return append(b, data...), nil
}

// samples checks the curves and returns how many samples each has, 0 if there
// is none.
func (v HardwareCalibration) samples() (int, error) {
	entries := 0
	for i, c := range v.Curves {
		if c == nil {
			continue
		}
		if len(c) < 2 || len(c) > calibrationSamples {
			return 0, fmt.Errorf("curve %d has %d samples; 2 to %d are possible, and nil is the identity", i, len(c), calibrationSamples)
		}
		if entries != 0 && len(c) != entries {
			return 0, fmt.Errorf("curve %d has %d samples, one before it %d; make them equally long", i, len(c), entries)
		}
		entries = len(c)
		for k, f := range c {
			if !(f >= 0 && f <= 1) {
				return 0, fmt.Errorf("curve %d, sample %d is %g; 0 to 1 are possible, so clip it", i, k, f)
			}
		}
	}
	return entries, nil
}

func readHardwareCalibration(r *reader) Value {
	if otherCalibration(r.b) {
		return Raw{TypeHardwareCalibration, r.b[4:len(r.b):len(r.b)]}
	}
	entries := r.u32()
	if r.err == nil && entries > calibrationSamples {
		r.fail(8, fmt.Errorf("curves of %d samples; %d are possible", entries, calibrationSamples))
	}
	v := HardwareCalibration{MinCdM2: r.fixed(), PeakCdM2: r.fixed()}
	matrix := r.u32()
	var curves [3]uint32
	for i := range curves {
		curves[i] = r.u32()
	}
	if matrix != 0 && r.move(matrix, 4*calibrationMatrix, "matrix") {
		v.HasMatrix = true
		for i := range calibrationMatrix {
			v.Matrix[i/4][i%4] = r.fixed()
		}
	}
	for i, off := range curves {
		if off != 0 && entries != 0 && r.move(off, 8+4*entries, "curve") {
			v.Curves[i] = r.calibrationCurve(entries)
		}
	}
	return v
}

// otherCalibration reports whether b has the layout of Little CMS 2.16: no
// samples, were it as documented, and the first part where none can be.
func otherCalibration(b []byte) bool {
	if len(b) < calibrationOther {
		return false
	}
	word := func(at int) uint32 { return binary.BigEndian.Uint32(b[at:]) }
	matrix, red := word(24), word(28)
	return word(8) == 0 && (matrix == calibrationOther || matrix == 0 && red == calibrationOther)
}

// move goes to a part of a HardwareCalibration.
func (r *reader) move(off, size uint32, what string) bool {
	if r.within(off, size, what) == nil {
		return false
	}
	r.off = int(off)
	return true
}

// calibrationCurve reads the curve that begins here.
func (r *reader) calibrationCurve(entries uint32) []float64 {
	if s := Signature(r.u32()); s != TypeFixedArray {
		r.fail(r.off-4, fmt.Errorf("curve of type %v; sf32 is needed", s))
	}
	r.take(4)
	c := make([]float64, r.room(entries, "samples", 4, 8))
	for i := range c {
		c[i] = r.fixed()
	}
	return c
}
