package icc

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
)

// allDebian returns the profiles of Debian's icc-profiles-free.
func allDebian(t testing.TB) map[string][]byte {
	t.Helper()
	debianProfile(t, "sRGB.icc") // skips
	files, err := filepath.Glob("/usr/share/color/icc/*.[iI][cC]*")
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(f)] = b
	}
	return out
}

// misplaced names the profiles that don't follow the rules of padding: in two,
// tags start on odd bytes, and the third ends in a line feed.
func misplaced(name string) bool {
	return name == "LCMSXYZI.ICM" || name == "LCMSLABI.ICM" || name == "sRGB.icc"
}

// Strangers' profiles come back byte for byte where they follow the rules of
// padding, and with the same tags otherwise.
func TestDebianProfilesRoundTrip(t *testing.T) {
	all := allDebian(t)
	more, err := filepath.Glob("/usr/share/color/icc/ghostscript/*.icc") // of libgs-common
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range more {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		all["libgs-common "+filepath.Base(f)] = b
	}
	for name, b := range all {
		t.Run(name, func(t *testing.T) {
			keep := bytes.Clone(b)
			p, err := Decode(b)
			if err != nil {
				t.Fatal(err)
			}
			use(t, p)
			out, q := mustEncode(t, p)
			if !bytes.Equal(keep, b) {
				t.Error("Decode changed its input")
			}
			if bytes.Equal(out, b) == misplaced(name) {
				t.Errorf("%d bytes came back as %d; the same: %v", len(b), len(out), bytes.Equal(out, b))
			}
			if again, _ := mustEncode(t, q); !bytes.Equal(again, out) {
				t.Error("a second round changed the bytes")
			}
			for i, tag := range p.Tags {
				if !bytes.Equal(tag.raw, q.Tags[i].raw) || tag.Signature != q.Tags[i].Signature {
					t.Errorf("tag %v changed", tag.Signature)
				}
			}
			if p.Description() == "" || p.Copyright() == "" {
				t.Errorf("description %q, copyright %q", p.Description(), p.Copyright())
			}
		})
	}
}

func TestProfileIDs(t *testing.T) {
	for _, r := range readTable(t, "profile_id.csv") {
		id, err := ProfileID(debianProfile(t, r.m["file"]))
		if want := r.m["profile_id_computed_from_raw_bytes"]; err != nil || hex.EncodeToString(id[:]) != want {
			t.Errorf("%s: %x, %v; want %s", r.m["file"], id, err, want)
		}
	}
}

// The header as ICC.1:2022, 7.2, table 17 lays it out.
func TestHeaderLayout(t *testing.T) {
	spec := testSpec(t, V4, true)
	spec.Manufacturer, spec.Model, spec.Intent = 0x61626364, 0x65666768, Relative
	_, b := mustMatrix(t, spec)
	for off, want := range map[int]string{
		0:  fmt.Sprintf("%08x", len(b)),
		8:  "04300000",
		12: hex.EncodeToString([]byte("mntrRGB XYZ ")),
		24: "07ea000b00190009" + "0014001e", // 2026-11-25 09:20:30 UTC
		36: hex.EncodeToString([]byte("acsp")),
		48: hex.EncodeToString([]byte("abcdefgh")),
		64: "00000001",
		68: "0000f6d6000100000000d32d",
	} {
		if got := hex.EncodeToString(b[off : off+len(want)/2]); got != want {
			t.Errorf("bytes from %d are %s, want %s", off, got, want)
		}
	}
	if !bytes.Equal(b[100:128], make([]byte, 28)) {
		t.Error("reserved bytes are not zero")
	}
}

// Every tag starts on a multiple of four, padding is zero and at most three
// bytes, and equal curves are stored once (ICC.1:2022, 7.3.3 to 7.3.5).
func TestTagTableLayout(t *testing.T) {
	_, b := mustMatrix(t, testSpec(t, V4, true))
	n := int(binary.BigEndian.Uint32(b[128:]))
	next := tableStart + 12*n
	at := map[string]uint32{}
	for i := range n {
		e := b[tableStart+12*i:]
		off, size := int(binary.BigEndian.Uint32(e[4:])), int(binary.BigEndian.Uint32(e[8:]))
		at[string(e[:4])] = uint32(off)
		if off%4 != 0 || off > next {
			t.Errorf("tag %s starts at %d, the one before ended at %d", e[:4], off, next)
		}
		for off == next && size%4 != 0 {
			if b[off+size] != 0 {
				t.Errorf("padding after %s is %d", e[:4], b[off+size])
			}
			size++
		}
		next = max(next, off+size)
	}
	if next != len(b) {
		t.Errorf("the last tag ends at %d of %d", next, len(b))
	}
	if at["rTRC"] != at["gTRC"] || at["rTRC"] != at["bTRC"] {
		t.Errorf("equal curves are stored apart: %v", at)
	}
}

func TestChangedProfile(t *testing.T) {
	p, b := mustMatrix(t, testSpec(t, V4, false))
	q, err := Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	q.Set(TagDescription, LocalizedText{{"en", "US", "Another name"}})
	q.Value(TagRedCurve).(SampledCurve)[0] = 7 // written into, not Set
	c, r := mustEncode(t, q)
	if r.Description() != "Another name" || r.Value(TagRedCurve).(SampledCurve)[0] != 7 {
		t.Error("a change was lost")
	}
	if id, err := ProfileID(c); err != nil || r.Header.ID != id || id == p.Header.ID {
		t.Errorf("ID is %x, want %x, %v", r.Header.ID, id, err)
	}
	q.Header.ID = [16]byte{}
	if _, r = mustEncode(t, q); r.Header.ID != [16]byte{} {
		t.Errorf("an ID that was cleared came back as %x", r.Header.ID)
	}
	q.Tags = append(q.Tags, Tag{Signature: TagCopyright, Value: Text("x")})
	if _, err := q.Encode(); err == nil {
		t.Error("a tag was written twice")
	}
	q.Tags = []Tag{{Signature: TagCopyright}}
	if _, err := q.Encode(); err == nil {
		t.Error("a tag without value was written")
	}
}

// Bytes beyond the stated size are ignored, and don't come back.
func TestTrailingBytes(t *testing.T) {
	_, b := mustMatrix(t, testSpec(t, V4, false))
	p, err := Decode(append(bytes.Clone(b), "more"...))
	if err != nil {
		t.Fatal(err)
	}
	if out, err := p.Encode(); err != nil || !bytes.Equal(out, b) {
		t.Errorf("%d bytes, %v", len(out), err)
	}
}

func TestEveryPrefixFails(t *testing.T) {
	for _, version := range []Version{V2, V4} {
		_, b := mustMatrix(t, testSpec(t, version, false))
		for n := range b {
			mustFail(t, b[:n:n], fmt.Sprintf("the first %d of %d bytes", n, len(b)))
		}
		// The same with the stated size made to match: what is cut off is then
		// a tag, unless it is padding.
		for n := range b {
			cut := bytes.Clone(b[:n])
			if n >= 4 {
				binary.BigEndian.PutUint32(cut, uint32(n))
			}
			if p, err := Decode(cut); err == nil && n < len(b)-3 {
				t.Errorf("%d of %d bytes became %d tags", n, len(b), len(p.Tags))
			}
		}
	}
}

func mustFail(t *testing.T, b []byte, what string) {
	t.Helper()
	var f *FormatError
	if _, err := Decode(b); !errors.As(err, &f) {
		t.Errorf("%s: error is %v", what, err)
	} else if f.Offset < 0 || f.Offset > int64(len(b)) || f.Tag == "" {
		t.Errorf("%s: error is at %d of %d bytes, tag %q", what, f.Offset, len(b), f.Tag)
	}
}

// put returns b with the word at off set to v.
func put(b []byte, off int, v uint32) []byte {
	b = bytes.Clone(b)
	binary.BigEndian.PutUint32(b[off:], v)
	return b
}

func TestBadContainers(t *testing.T) {
	_, good := mustMatrix(t, testSpec(t, V4, false))
	n := binary.BigEndian.Uint32(good[128:])
	cases := map[string][]byte{
		"empty":                    nil,
		"no acsp":                  put(good, 36, 0),
		"size 0":                   put(good, 0, 0),
		"size of a bare header":    put(good, 0, 128),
		"size one too large":       put(good, 0, uint32(len(good))+1),
		"size 4 GiB":               put(good, 0, math.MaxUint32),
		"version 5":                put(good, 8, 0x05000000),
		"version 0":                put(good, 8, 0),
		"4 billion tags":           put(good, 128, math.MaxUint32),
		"300 tags":                 put(good, 128, 300),
		"one tag more than stored": put(good, 128, n+1), // its entry is data of the first tag
		"tag in the header":        put(good, tableStart+4, 0),
		"tag in its own table":     put(good, tableStart+4, tableStart),
		"tag far away":             put(good, tableStart+4, math.MaxUint32-3),
		"tag that wraps around":    put(put(good, tableStart+4, math.MaxUint32-7), tableStart+8, 16),
		"tag past the end":         put(good, tableStart+8, uint32(len(good))),
		"tag of 4 GiB":             put(good, tableStart+8, math.MaxUint32),
		"tag of 7 bytes":           put(good, tableStart+8, 7),
		"tag of no bytes":          put(good, tableStart+8, 0),
		"the same tag twice":       put(good, tableStart+12, uint32(TagDescription)),
	}
	for name, b := range cases {
		t.Run(name, func(t *testing.T) { mustFail(t, b, name) })
	}
	if _, err := Decode(cases["version 5"]); !errors.Is(err, ErrUnsupported) {
		t.Errorf("version 5 gives %v", err)
	}
	var f *FormatError
	if _, err := Decode(put(good, tableStart+4, 0)); !errors.As(err, &f) || !strings.Contains(f.Error(), "tag table at byte 132") {
		t.Errorf("error is %v", err)
	}
}

func TestLimits(t *testing.T) {
	_, b := mustMatrix(t, testSpec(t, V4, false))
	for _, l := range []Limits{{Bytes: len(b) - 1}, {Tags: 3}, {Entries: 1023}} {
		var f *FormatError
		if _, err := DecodeLimited(b, l); !errors.As(err, &f) || !strings.Contains(err.Error(), "limit") {
			t.Errorf("%+v: error is %v", l, err)
		}
	}
	if _, err := DecodeLimited(b, Limits{Bytes: len(b), Tags: 20, Entries: 1024}); err != nil {
		t.Error(err)
	}
}

// element builds a profile with one tag for each of the given elements.
func element(elements ...[]byte) []byte {
	h, _ := Header{Version: V4, Class: ClassDisplay, Space: SpaceRGB, PCS: SpaceXYZ}.appendTo(nil)
	b := binary.BigEndian.AppendUint32(h, uint32(len(elements)))
	b = append(b, make([]byte, 12*len(elements))...)
	for i, e := range elements {
		b = pad4(b)
		binary.BigEndian.PutUint32(b[tableStart+12*i:], 0x61616100+uint32(i))
		binary.BigEndian.PutUint32(b[tableStart+12*i+4:], uint32(len(b)))
		binary.BigEndian.PutUint32(b[tableStart+12*i+8:], uint32(len(e)))
		b = append(b, e...)
	}
	binary.BigEndian.PutUint32(b, uint32(len(b)))
	return b
}

func words(v ...uint32) []byte {
	var b []byte
	for _, w := range v {
		b = binary.BigEndian.AppendUint32(b, w)
	}
	return b
}

func TestBadElements(t *testing.T) {
	big := uint32(math.MaxUint32)
	cases := map[string][]byte{
		"curve of 4 billion":        words(uint32(TypeCurve), 0, big),
		"curve without count":       words(uint32(TypeCurve), 0),
		"curve one short":           words(uint32(TypeCurve), 0, 5, 0, 0),
		"parametric function 5":     words(uint32(TypeParametricCurve), 0, 5<<16, 0, 0, 0, 0, 0, 0, 0),
		"parametric cut":            words(uint32(TypeParametricCurve), 0, 4<<16, 0, 0, 0, 0, 0, 0),
		"4 billion texts":           words(uint32(TypeLocalized), 0, big, 12),
		"text records of 8 bytes":   words(uint32(TypeLocalized), 0, 1, 8, 0, 0, 0),
		"text outside":              words(uint32(TypeLocalized), 0, 1, 12, 0, 8, 28),
		"text that wraps":           words(uint32(TypeLocalized), 0, 1, 12, 0, 8, big-3),
		"description of 4 GiB":      words(uint32(TypeTextDescription), 0, big),
		"description without count": words(uint32(TypeTextDescription), 0),
		"4 billion names":           words(uint32(TypeDict), 0, big, 16),
		"name records of 12 bytes":  words(uint32(TypeDict), 0, 1, 12, 0, 0, 0),
		"name records of 0 bytes":   words(uint32(TypeDict), 0, 60000, 0),
		"name outside":              words(uint32(TypeDict), 0, 1, 16, 16, 32, 0, 0),
		"value outside":             words(uint32(TypeDict), 0, 1, 16, 0, 0, 32, 4),
		"translation of no type":    words(uint32(TypeDict), 0, 1, 24, 0, 0, 0, 0, 16, 8),
		"translation too short":     words(uint32(TypeDict), 0, 1, 24, 0, 0, 0, 0, 16, 2),
		"translation of itself":     words(uint32(TypeDict), 0, 1, 32, 0, 0, 0, 0, 4, 40, 0, 0),
		"vcgt of kind 2":            words(uint32(TypeVideoCurves), 0, 2),
		"vcgt formula cut":          words(uint32(TypeVideoCurves), 0, 1, 0, 0, 0, 0, 0, 0, 0, 0),
		"65535 chromaticities":      words(uint32(TypeChromaticity), 0, 0xffff0000, 0, 0),
		"signature cut":             words(uint32(TypeSignature), 0),
		"date cut":                  words(uint32(TypeDateTime), 0, 0, 0),
		"cicp cut":                  words(uint32(TypeCICP), 0),
	}
	for name, e := range cases {
		t.Run(name, func(t *testing.T) {
			mustFail(t, element(e), name)
			var f *FormatError
			if _, err := Decode(element(words(0, 0), e)); !errors.As(err, &f) || f.Tag != "0x61616101" || f.Offset < int64(tableStart+24+8) {
				t.Errorf("error names tag %q at %d: %v", f.Tag, f.Offset, err)
			}
		})
	}
}

// Departures that common readers tolerate and nothing depends on.
func TestToleratedElements(t *testing.T) {
	cases := map[string]struct {
		e    []byte
		want Value
	}{
		"XYZ with odd bytes behind":     {append(words(uint32(TypeXYZ), 0, 65536, 0, 0), 1, 2), XYZArray{{X: 1}}},
		"reserved bytes set":            {words(uint32(TypeSignature), 99, 7), SignatureValue(7)},
		"description cut off":           {append(words(uint32(TypeTextDescription), 0, 2), "a\x00"...), TextDescription{ASCII: "a"}},
		"description, lying Unicode":    {append(append(words(uint32(TypeTextDescription), 0, 2), "a\x00"...), words(0, 99999)...), TextDescription{ASCII: "a"}},
		"description, lying script":     {append(append(words(uint32(TypeTextDescription), 0, 2), "a\x00"...), append(words(0, 0), 0, 3, 60)...), TextDescription{ASCII: "a", ScriptCode: 3}},
		"no texts, record size unknown": {words(uint32(TypeLocalized), 0, 0, 0), LocalizedText{}},
	}
	for name, c := range cases {
		t.Run(name, func(t *testing.T) {
			b := element(c.e)
			p, err := Decode(b)
			if err != nil {
				t.Fatal(err)
			}
			if got := p.Tags[0].Value; fmt.Sprintf("%#v", got) != fmt.Sprintf("%#v", c.want) {
				t.Errorf("read as %#v, want %#v", got, c.want)
			}
			// Untouched, it goes back as it came, padding apart.
			if out, err := p.Encode(); err != nil || !bytes.Equal(out[4:len(b)], b[4:]) {
				t.Errorf("came back as % x, %v", out, err)
			}
		})
	}
}

// use does everything with a decoded profile that a caller would do.
func use(t testing.TB, p *Profile) {
	t.Helper()
	_ = p.Description() + p.Copyright()
	_, _ = p.Luminance()
	_, _ = p.MediaWhite()
	_, _ = p.Adaptation()
	_, _ = p.CurvesInForce()
	useTags(t, p)
	useCheck(t, p)
	useWay(t, p, ownWay(p))
	// The search for the inverse of a table begins with thousands of colours.
	for intent := range Absolute + 1 {
		if p.Header.Intent != intent && p.choose(toElements, toTables, intent).value != nil {
			continue
		}
		e, err := NewEvaluator(p, intent)
		if err != nil {
			continue
		}
		for _, v := range []float64{0, 0.3, 1} {
			c := e.ToPCS(colorimetry.RGB{R: v, G: 1 - v, B: 0.5})
			if !c.Finite() {
				t.Errorf("%v: signal %g gives %v", intent, v, c)
			}
			if s := e.FromPCS(c); s != s.Clamp() {
				t.Errorf("%v: %v gives %v", intent, c, s)
			}
		}
	}
}

// check decodes b, within the promised memory, and uses what comes out. It
// reports whether b was accepted.
func check(t testing.TB, b []byte) bool {
	t.Helper()
	p, err := Decode(b)
	if err != nil {
		var f *FormatError
		if !errors.As(err, &f) {
			t.Errorf("error is no *FormatError: %v", err)
		}
		return false
	}
	use(t, p)
	out, err := p.Encode()
	if err != nil {
		t.Errorf("a profile that was read cannot be written: %v", err)
		return true
	}
	q, err := Decode(out)
	if err != nil {
		t.Errorf("a profile that was written cannot be read: %v", err)
		return true
	}
	if len(q.Tags) != len(p.Tags) {
		t.Errorf("%d tags became %d", len(p.Tags), len(q.Tags))
	}
	for i := range q.Tags {
		if a, b := p.Tags[i].Value, q.Tags[i].Value; !reflect.DeepEqual(a, b) {
			t.Errorf("tag %v changed from\n%#v to\n%#v", p.Tags[i].Signature, a, b)
		}
	}
	return true
}

// allocated returns how many bytes Decode allocates for b.
func allocated(b []byte) uint64 {
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	p, _ := Decode(b)
	runtime.ReadMemStats(&after)
	runtime.KeepAlive(p)
	return after.TotalAlloc - before.TotalAlloc
}

// Decoding allocates at most 8 times the input plus 1 MiB, whatever the input
// claims.
func TestMemoryBound(t *testing.T) {
	cases := map[string][]byte{}
	_, cases["display profile"] = mustMatrix(t, testSpec(t, V2, false))
	// 60,000 records that all point to one long text.
	texts := words(uint32(TypeLocalized), 0, 60000, 12)
	names := words(uint32(TypeDict), 0, 30000, 16)
	nested := words(uint32(TypeDict), 0, 20000, 32)
	for range 60000 {
		texts = append(texts, words(0x656e5553, 12*60000, 16)...)
	}
	for range 30000 {
		names = append(names, words(16, 16*30000, 16, 16*30000)...)
	}
	inner := uint32(16 + 32*20000)
	for range 20000 {
		nested = append(nested, words(0, 0, 0, 0, inner, 16+12*1000, inner, 16+12*1000)...)
	}
	nested = append(nested, words(uint32(TypeLocalized), 0, 1000, 12)...)
	nested = append(nested, make([]byte, 12*1000)...)
	cases["overlapping texts"] = element(texts)
	cases["overlapping names"] = element(names)
	cases["overlapping translations"] = element(nested)
	cases["empty texts"] = element(append(words(uint32(TypeLocalized), 0, 60000, 12), make([]byte, 12*60000)...))
	cases["empty names"] = element(append(words(uint32(TypeDict), 0, 60000, 16), make([]byte, 16*60000)...))
	cases["8-bit vcgt"] = element(append(words(uint32(TypeVideoCurves), 0, 0, 0x0003ffff, 0x00010000), make([]byte, 3*65535)...))
	cases["latin text"] = element(append(words(uint32(TypeText), 0), bytes.Repeat([]byte{0xe4}, 1<<20)...))
	numbers := words(uint32(TypeFixedArray), 0)
	cases["numbers"] = element(append(numbers, make([]byte, 4*60000)...))
	// 200 tags over the same bytes, each a little shorter than the one before.
	over := element(append([][]byte{}, make([][]byte, 200)...)...)
	start := len(over)
	over = append(over, append(words(uint32(TypeText), 0), bytes.Repeat([]byte{'x'}, 1<<18)...)...)
	binary.BigEndian.PutUint32(over, uint32(len(over)))
	for i := range 200 {
		binary.BigEndian.PutUint32(over[tableStart+12*i+4:], uint32(start))
		binary.BigEndian.PutUint32(over[tableStart+12*i+8:], uint32(len(over)-start-i))
	}
	cases["overlapping tags"] = over
	for name, b := range cases {
		t.Run(name, func(t *testing.T) {
			got, bound := allocated(b), uint64(8*len(b)+1<<20)
			_, err := Decode(b)
			t.Logf("%d bytes allocate %d, %.2f times as much (%v)", len(b), got, float64(got)/float64(len(b)), err)
			if got > bound {
				t.Errorf("%d bytes allocate %d, more than %d", len(b), got, bound)
			}
		})
	}
}

// Thousands of damaged profiles: every word of header, table and elements set
// to values that hurt, and random damage.
func TestDamagedProfiles(t *testing.T) {
	count, accepted := 0, 0
	try := func(b []byte) {
		count++
		if check(t, b) {
			accepted++
		}
		if got := allocated(b); got > uint64(8*len(b)+1<<20) {
			t.Errorf("%d bytes allocate %d", len(b), got)
		}
	}
	for _, version := range []Version{V2, V4} {
		spec := testSpec(t, version, true)
		for i := range spec.Curves {
			spec.Curves[i] = samples(5, gamma(2))
		}
		spec.Parametric[0] = nil
		spec.InForce = curves(t, 4)
		if version == V2 {
			spec.Parametric = [3]*ParametricCurve{}
		}
		_, b := mustMatrix(t, spec)
		for off := 0; off < len(b)-3; off += 4 {
			for _, v := range []uint32{0, 1, 0x7fffffff, 0x80000000, math.MaxUint32, uint32(len(b)), uint32(off)} {
				try(put(b, off, v))
			}
		}
		rnd := rand.New(rand.NewPCG(uint64(version), 5))
		for range 1000 {
			c := bytes.Clone(b)
			for range 1 + rnd.IntN(8) {
				c[tableStart+rnd.IntN(len(c)-tableStart)] = byte(rnd.Uint32())
			}
			try(c)
		}
	}
	t.Logf("%d damaged profiles, %d accepted", count, accepted)
	if count < 2000 || accepted == 0 || accepted == count {
		t.Errorf("%d damaged profiles, %d accepted", count, accepted)
	}
}

func BenchmarkDecode(b *testing.B) {
	_, p := mustMatrix(b, testSpec(b, V4, false))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Decode(p); err != nil {
			b.Fatal(err)
		}
	}
}
