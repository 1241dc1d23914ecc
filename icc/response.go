package icc

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"

	"example.org/primaries/colorimetry"
)

// ResponseUnit names what a ResponseSet was measured in: the response of a
// densitometer. Source: ICC.1:2022, 10.21.
type ResponseUnit Signature

// Units of response, as their letters say. For the four of DIN the standard
// prints hexadecimal codes that begin with the letter C rather than D; String
// knows both.
const (
	StatusA      ResponseUnit = 0x53746141 // StaA: ISO 5-3 status A
	StatusE      ResponseUnit = 0x53746145 // StaE: ISO 5-3 status E
	StatusI      ResponseUnit = 0x53746149 // StaI: ISO 5-3 status I
	StatusM      ResponseUnit = 0x5374614d // StaM: ISO 5-3 status M
	StatusT      ResponseUnit = 0x53746154 // StaT: ISO 5-3 status T
	DIN          ResponseUnit = 0x444e2020 // DN: DIN 16536-2, no polarising filter
	DINPolarised ResponseUnit = 0x444e2050 // DN P: DIN 16536-2, polarising filter
	DINNarrow    ResponseUnit = 0x444e4e20 // DNN: DIN 16536-2, narrow band, no polarising filter
	// DINNarrowPolarised is DNNP: DIN 16536-2, narrow band, polarising filter.
	DINNarrowPolarised ResponseUnit = 0x444e4e50
)

// firstByteC turns the D that the DIN units begin with into a C.
const firstByteC = ('D' ^ 'C') << 24

// String returns the unit's name, or the letters of an undefined one.
func (u ResponseUnit) String() string {
	switch u {
	case StatusA, StatusE, StatusI, StatusM, StatusT:
		return "status " + string(rune(u&0xff))
	case DIN, DIN ^ firstByteC:
		return "DIN 16536-2"
	case DINPolarised, DINPolarised ^ firstByteC:
		return "DIN 16536-2, polarised"
	case DINNarrow, DINNarrow ^ firstByteC:
		return "DIN 16536-2, narrow band"
	case DINNarrowPolarised, DINNarrowPolarised ^ firstByteC:
		return "DIN 16536-2, narrow band, polarised"
	}
	return Signature(u).String()
}

// ResponsePoint is one measurement of a channel.
type ResponsePoint struct {
	Device   uint16 // device code, 65535 being the channel's maximum
	Measured float64
}

// ChannelResponse is what was measured of one channel.
type ChannelResponse struct {
	Maximum colorimetry.XYZ // of the channel's maximum, relative to the medium, under D50
	Points  []ResponsePoint // by rising device code
}

// ResponseSet holds the responses of all channels in one unit.
type ResponseSet struct {
	Unit     ResponseUnit
	Channels []ChannelResponse
}

// ResponseCurves is a responseCurveSet16Type: how much colorant a device laid
// down at each code when its profile was made, so that a change can be made
// good. Source: ICC.1:2022, 10.21.
type ResponseCurves struct {
	Channels int // of the device, as many as each set has
	Sets     []ResponseSet
}

// Stored sizes: before the offsets, of a point, and of a channel's count and
// colour.
const (
	responseHead    = 12
	responsePoint   = 8
	responseChannel = 4 + 12
)

// Type returns TypeResponseCurves.
func (ResponseCurves) Type() Signature { return TypeResponseCurves }

func (v ResponseCurves) appendTo(b []byte) ([]byte, error) {
	if v.Channels < 0 || v.Channels > maxChannels {
		return nil, fmt.Errorf("%d channels; 0 to %d are possible", v.Channels, maxChannels)
	}
	if len(v.Sets) > math.MaxUint16 {
		return nil, fmt.Errorf("%d units; 65535 are possible", len(v.Sets))
	}
	b = binary.BigEndian.AppendUint16(appendType(b, TypeResponseCurves), uint16(v.Channels))
	b = binary.BigEndian.AppendUint16(b, uint16(len(v.Sets)))
	at := responseHead + 4*len(v.Sets)
	var sets []byte
	for i, s := range v.Sets {
		if len(s.Channels) != v.Channels {
			return nil, fmt.Errorf("set %d has %d channels, the tag states %d; make them agree", i, len(s.Channels), v.Channels)
		}
		if uint64(at)+uint64(len(sets)) > math.MaxUint32 {
			return nil, errors.New("sets are longer than 4 GiB")
		}
		b = binary.BigEndian.AppendUint32(b, uint32(at+len(sets)))
		var err error
		if sets, err = s.appendTo(sets); err != nil {
			return nil, fmt.Errorf("set %d: %w", i, err)
		}
	}
	return append(b, sets...), nil
}

func (s ResponseSet) appendTo(b []byte) ([]byte, error) {
	b = binary.BigEndian.AppendUint32(b, uint32(s.Unit))
	for _, c := range s.Channels {
		if uint64(len(c.Points)) > math.MaxUint32 {
			return nil, errors.New("more points than a count of 32 bits holds")
		}
		b = binary.BigEndian.AppendUint32(b, uint32(len(c.Points)))
	}
	var err error
	for i, c := range s.Channels {
		if b, err = appendFixed(b, c.Maximum.X, c.Maximum.Y, c.Maximum.Z); err != nil {
			return nil, fmt.Errorf("channel %d, maximum: %w", i, err)
		}
	}
	for i, c := range s.Channels {
		for k, p := range c.Points {
			b = append(binary.BigEndian.AppendUint16(b, p.Device), 0, 0)
			if b, err = appendFixed(b, p.Measured); err != nil {
				return nil, fmt.Errorf("channel %d, point %d: %w", i, k, err)
			}
		}
	}
	return b, nil
}

func readResponseCurves(r *reader) Value {
	channels, n := r.u16(), r.u16()
	if r.err == nil && channels > maxChannels {
		r.fail(8, fmt.Errorf("%d channels; %d are possible", channels, maxChannels))
		return nil
	}
	v := ResponseCurves{Channels: int(channels)}
	v.Sets = make([]ResponseSet, r.room(uint32(n), "units", 4, 32))
	for i := range v.Sets {
		r.off = responseHead + 4*i
		off := r.u32()
		if uint64(off) > uint64(len(r.b)) || off < responseHead {
			r.fail(responseHead+4*i, fmt.Errorf("set at byte %d of %d", off, len(r.b)))
			return nil
		}
		r.off = int(off)
		v.Sets[i] = r.responses(v.Channels)
		if r.err != nil {
			return nil
		}
	}
	return v
}

// responses reads the set that begins here.
func (r *reader) responses(channels int) ResponseSet {
	s := ResponseSet{Unit: ResponseUnit(r.u32())}
	s.Channels = make([]ChannelResponse, r.room(uint32(channels), "channels", responseChannel, 48+4))
	counts := make([]uint32, len(s.Channels))
	for i := range counts {
		counts[i] = r.u32()
	}
	for i := range s.Channels {
		s.Channels[i].Maximum = r.xyz()
	}
	for i := range s.Channels {
		points := make([]ResponsePoint, r.room(counts[i], "points", responsePoint, 16))
		for k := range points {
			points[k].Device = r.u16()
			r.take(2) // reserved
			points[k].Measured = r.fixed()
		}
		s.Channels[i].Points = points
	}
	return s
}
