package embed

import (
	"bytes"
	"compress/zlib"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"

	"example.org/primaries/icc"
)

// defaultName stands in a PNG, which must name its profile.
const defaultName = "ICC profile"

// editPNG puts the new chunks behind IHDR, where they precede palette and
// pixels whatever comes, and drops those that they replace or that contradict
// them: iCCP wherever it is, cICP where there is another or where it would
// overrule the profile, and sRGB, beside which the standard wants no iCCP.
//
// Source: PNG 3rd edition, 11.3.2.3 and 11.3.2.5, and its table of precedence
// among colour chunks: cICP, iCCP, sRGB, then cHRM and gAMA.
func (f *file) editPNG(p *profile, o Options) ([]edit, error) {
	var edits []edit
	err := f.chunks(func(c chunk) (bool, error) {
		drop := false
		switch c.kind {
		case "IHDR":
			edits = append(edits, edit{off: c.end(), end: c.end()}) // see below
			return false, f.fitPNG(c, p)
		case "iCCP":
			drop = true
		case "cICP":
			drop = p != nil || o.CICP != nil
		case "sRGB":
			drop = p != nil
		}
		if !drop {
			return false, nil
		}
		if last := &edits[len(edits)-1]; last.end == c.off {
			last.end = c.end()
		} else {
			edits = append(edits, edit{off: c.off, end: c.end()})
		}
		return false, nil
	})
	if err != nil {
		return nil, err
	}
	edits[0].with, err = freshChunks(p, o)
	return edits, err
}

// fitPNG checks IHDR, and the profile against the colour type that it states.
//
// Source: PNG 3rd edition, 11.2.1, and 11.3.2.3: RGB profiles for colour types
// 2, 3 and 6, gray ones for 0 and 4.
func (f *file) fitPNG(c chunk, p *profile) error {
	b, err := f.content(c, 13)
	if err != nil {
		return err
	}
	switch kind := b[9]; {
	case kind > 6 || kind == 1 || kind == 5:
		return f.damaged(c.off, "colour type %d is not defined", kind)
	case p == nil:
	case kind == 0 || kind == 4:
		if p.space != icc.SpaceGray {
			return f.misfit(c.off, p, "gray", "gray")
		}
	case p.space != icc.SpaceRGB:
		return f.misfit(c.off, p, "RGB", "RGB")
	}
	return nil
}

// freshChunks returns the chunks to be put in.
func freshChunks(p *profile, o Options) ([]byte, error) {
	var out []byte
	if c := o.CICP; c != nil {
		out = appendChunk(out, "cICP", []byte{c.Primaries, c.Transfer, c.Matrix, c.FullRange})
	}
	if p == nil {
		return out, nil
	}
	name, err := latin1Name(o.Name)
	if err != nil {
		return nil, err
	}
	var data bytes.Buffer
	data.Write(append(name, 0, 0))
	z, err := zlib.NewWriterLevel(&data, zlib.BestCompression)
	if err == nil {
		_, err = z.Write(p.bytes)
	}
	if err == nil {
		err = z.Close()
	}
	if err != nil {
		return nil, fmt.Errorf("embed: packing the profile: %w", err)
	}
	if data.Len() > mostPNGChunk {
		return nil, fmt.Errorf("embed: the profile packs to %d bytes, more than a PNG can hold: %w; give a smaller one", data.Len(), icc.ErrUnsupported)
	}
	return appendChunk(out, "iCCP", data.Bytes()), nil
}

func appendChunk(out []byte, kind string, data []byte) []byte {
	out = binary.BigEndian.AppendUint32(out, uint32(len(data)))
	start := len(out)
	out = append(append(out, kind...), data...)
	return binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(out[start:]))
}

// latin1Name returns the bytes of a profile's name.
//
// Source: PNG 3rd edition, 11.3.2.3: code points 0x20 to 0x7E and 0xA1 to 0xFF,
// no space first, last or after another.
func latin1Name(s string) ([]byte, error) {
	if s == "" {
		s = defaultName
	}
	var out []byte
	for _, r := range s {
		printable := r >= 0x20 && r <= 0x7e || r >= 0xa1 && r <= 0xff
		doubled := r == ' ' && (len(out) == 0 || out[len(out)-1] == ' ')
		if !printable || doubled || len(out) == mostName {
			return nil, errName
		}
		out = append(out, byte(r))
	}
	if out[len(out)-1] == ' ' {
		return nil, errName
	}
	return out, nil
}

var errName = errors.New("embed: Options.Name: give 1 to 79 printable characters of Latin-1, no space at the ends, no two in a row")
