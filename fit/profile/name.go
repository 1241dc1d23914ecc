package profile

import (
	"strings"
	"time"
)

// maxPart is the longest that one part of a file name may be, in bytes: four
// parts stay well below the 255 that file systems allow.
const maxPart = 48

// FileName returns the name of a profile's file: date, display, gamut mode and
// aim, joined by underscores, each in lower case with hyphens for everything
// but letters a to z, digits and points, such as
//
//	2026-11-25_studio-display_native_d65-100-power-2.2.icc
//
// The date is taken in UTC. Accents are dropped from Latin letters. A part that
// is empty, or holds no such character, becomes "display", "native" or
// "as-measured". The name is safe on every common file system.
func FileName(date time.Time, display, mode, aim string) string {
	return date.UTC().Format(time.DateOnly) +
		"_" + part(display, "display") +
		"_" + part(mode, "native") +
		"_" + part(aim, "as-measured") + ".icc"
}

// plain maps the accented letters of Latin-1 to the plain ones.
const accented, plain = "àáâãäåçèéêëìíîïñòóôõöøùúûüýÿ", "aaaaaaceeeeiiiinoooooouuuuyy"

// part returns s in the characters of a file name, or other.
func part(s, other string) string {
	var b strings.Builder
	for _, c := range strings.ToLower(s) {
		if i := strings.IndexRune(accented, c); i >= 0 {
			c = rune(plain[len([]rune(accented[:i]))])
		}
		switch {
		case c == 'ß':
			b.WriteString("ss")
		case c >= 'a' && c <= 'z', c >= '0' && c <= '9', c == '.':
			b.WriteRune(c)
		default:
			b.WriteByte('-')
		}
	}
	out := b.String()
	for strings.Contains(out, "--") {
		out = strings.ReplaceAll(out, "--", "-")
	}
	if out = strings.Trim(out, "-."); len(out) > maxPart {
		out = strings.Trim(out[:maxPart], "-.")
	}
	if out == "" {
		return other
	}
	return out
}
