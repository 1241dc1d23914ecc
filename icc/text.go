package icc

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// Type returns TypeText.
func (Text) Type() Signature { return TypeText }

func (v Text) appendTo(b []byte) ([]byte, error) {
	if err := onlyASCII(string(v)); err != nil {
		return nil, err
	}
	return append(append(appendType(b, TypeText), v...), 0), nil
}

func onlyASCII(s string) error {
	for i := range len(s) {
		if s[i] == 0 || s[i] > 0x7e {
			return fmt.Errorf("byte %d of the text is 0x%02X; only 7-bit ASCII is possible here", i, s[i])
		}
	}
	return nil
}

func readText(r *reader) Value { return Text(readASCII(r, r.left())) }

// readASCII reads n bytes up to the first NUL as text.
func readASCII(r *reader, n int) string {
	b := r.take(n)
	if i := bytes.IndexByte(b, 0); i >= 0 {
		b = b[:i]
	}
	if !r.charge(3 * int64(len(b))) { // ISO 8859-1 takes up to two bytes in UTF-8
		return ""
	}
	if utf8.Valid(b) {
		return string(b)
	}
	var s strings.Builder
	s.Grow(2 * len(b))
	for _, c := range b {
		s.WriteRune(rune(c))
	}
	return s.String()
}

// readUTF16 decodes big-endian UTF-16 without the NULs at its end; lone
// surrogates become U+FFFD.
func readUTF16(r *reader, b []byte) string {
	if !r.charge(3 * int64(len(b))) { // three bytes of UTF-8 from two, twice over
		return ""
	}
	out := make([]byte, 0, len(b)+len(b)/2)
	for i := 0; i+1 < len(b); i += 2 {
		c := rune(binary.BigEndian.Uint16(b[i:]))
		if utf16.IsSurrogate(c) {
			next := rune(utf8.RuneError)
			if i+3 < len(b) {
				next = rune(binary.BigEndian.Uint16(b[i+2:]))
			}
			if c = utf16.DecodeRune(c, next); c != utf8.RuneError {
				i += 2
			}
		}
		out = utf8.AppendRune(out, c)
	}
	return string(bytes.TrimRight(out, "\x00"))
}

func appendUTF16(b []byte, s string) []byte {
	for _, u := range utf16.Encode([]rune(s)) {
		b = binary.BigEndian.AppendUint16(b, u)
	}
	return b
}

// scriptBytes is the fixed room for the third form of a version 2
// description.
const scriptBytes = 67

// Type returns TypeTextDescription.
func (TextDescription) Type() Signature { return TypeTextDescription }

func (v TextDescription) appendTo(b []byte) ([]byte, error) {
	if err := onlyASCII(v.ASCII); err != nil {
		return nil, err
	}
	if len(v.Script) > scriptBytes {
		return nil, fmt.Errorf("script text of %d bytes; 67 are possible", len(v.Script))
	}
	b = binary.BigEndian.AppendUint32(appendType(b, TypeTextDescription), uint32(len(v.ASCII)+1))
	b = append(append(b, v.ASCII...), 0)
	b = binary.BigEndian.AppendUint32(b, v.UnicodeLanguage)
	if v.Unicode == "" {
		b = append(b, 0, 0, 0, 0)
	} else {
		u := appendUTF16(nil, v.Unicode+"\x00")
		b = binary.BigEndian.AppendUint32(b, uint32(len(u)/2))
		b = append(b, u...)
	}
	b = binary.BigEndian.AppendUint16(b, v.ScriptCode)
	b = append(append(b, byte(len(v.Script))), v.Script...)
	return append(b, make([]byte, scriptBytes-len(v.Script))...), nil
}

// readTextDescription reads the ASCII part strictly and takes the other two
// parts as absent where they are cut off or lie about their length, as many
// version 2 profiles do: nothing depends on them.
func readTextDescription(r *reader) Value {
	var v TextDescription
	n := r.u32()
	if uint64(n) > uint64(r.left()) {
		r.fail(8, fmt.Errorf("description of %d bytes does not fit into the %d left", n, r.left()))
		return nil
	}
	v.ASCII = readASCII(r, int(n))
	if r.left() < 8 {
		return v
	}
	v.UnicodeLanguage = r.u32()
	if n = r.u32(); uint64(n)*2 > uint64(r.left()) {
		return v
	}
	v.Unicode = readUTF16(r, r.take(int(n)*2))
	if r.left() < 3 {
		return v
	}
	v.ScriptCode = r.u16()
	if k := int(r.u8()); k > 0 && k <= min(scriptBytes, r.left()) && r.charge(int64(k)) {
		v.Script = bytes.Clone(r.take(k))
	}
	return v
}

// localRecord is the stored size of one record of a LocalizedText.
const localRecord = 12

// Type returns TypeLocalized.
func (LocalizedText) Type() Signature { return TypeLocalized }

// String returns the English text if there is one, and the first otherwise.
func (v LocalizedText) String() string {
	for _, s := range v {
		if s.Language == "en" {
			return s.Text
		}
	}
	if len(v) > 0 {
		return v[0].Text
	}
	return ""
}

func (v LocalizedText) appendTo(b []byte) ([]byte, error) {
	start := len(b)
	b = binary.BigEndian.AppendUint32(appendType(b, TypeLocalized), uint32(len(v)))
	b = binary.BigEndian.AppendUint32(b, localRecord)
	at := 16 + localRecord*len(v)
	var texts []byte
	for _, s := range v {
		if len(s.Language) != 2 || len(s.Country) != 2 {
			return nil, fmt.Errorf("language %q, country %q: both codes need two bytes", s.Language, s.Country)
		}
		u := appendUTF16(nil, s.Text)
		b = append(append(b, s.Language...), s.Country...)
		b = binary.BigEndian.AppendUint32(b, uint32(len(u)))
		b = binary.BigEndian.AppendUint32(b, uint32(at+len(texts)))
		texts = append(texts, u...)
	}
	if b = append(b, texts...); uint64(len(b)-start) > math.MaxUint32 {
		return nil, errors.New("texts are longer than 4 GiB")
	}
	return b, nil
}

func readLocalized(r *reader) Value {
	n := r.u32()
	if size := r.u32(); r.err == nil && n > 0 && size != localRecord {
		r.fail(12, fmt.Errorf("records of %d bytes; 12 are defined", size))
	}
	count := r.room(n, "text records", localRecord, 48+localRecord)
	v := make(LocalizedText, count)
	// All codes share one string, so that a record costs no allocation.
	codes := ""
	if count > 0 {
		codes = string(r.b[r.off : r.off+count*localRecord])
	}
	for i := range v {
		c := codes[i*localRecord:]
		v[i].Language, v[i].Country = c[0:2], c[2:4]
		r.take(4)
		size, off := r.u32(), r.u32()
		v[i].Text = readUTF16(r, r.within(off, size, "text"))
	}
	return v
}
