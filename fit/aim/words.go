package aim

import (
	"fmt"
	"strings"

	"example.org/primaries/colorimetry/tone"
)

// Words are the parts of an aim as people write them, on a form or a command
// line. An empty word says nothing of its part.
type Words struct {
	White     string // as ParseWhite reads it
	Luminance string // as ParseLuminance
	Tone      string // as tone.Parse
	Black     string // as ParseBlack
	Policy    string // as ParsePolicy
}

// Only returns the words of those parts that keep says yes to, the others
// empty. The parts are called white, luminance, tone, black and black-policy.
func (w Words) Only(keep func(part string) bool) Words {
	for part, word := range map[string]*string{
		"white": &w.White, "luminance": &w.Luminance, "tone": &w.Tone, "black": &w.Black, "black-policy": &w.Policy,
	} {
		if !keep(part) {
			*word = ""
		}
	}
	return w
}

// With returns a with the parts that w names in place of its own. The error
// names the part and what can be written there.
func (a Aim) With(w Words) (Aim, error) {
	for _, part := range []struct {
		name, word string
		read       func(string) error
	}{
		{"white", w.White, func(s string) (err error) { a.White, err = ParseWhite(s); return err }},
		{"luminance", w.Luminance, func(s string) (err error) { a.Luminance, err = ParseLuminance(s); return err }},
		{"tone", w.Tone, func(s string) (err error) { a.Tone, err = tone.Parse(s); return err }},
		{"black", w.Black, func(s string) (err error) { a.BlackCdM2, err = ParseBlack(s); return err }},
		{"black policy", w.Policy, func(s string) (err error) { a.Black, err = ParsePolicy(s); return err }},
	} {
		if part.word == "" {
			continue
		}
		if err := part.read(part.word); err != nil {
			if strings.Contains(err.Error(), part.name) {
				return a, err
			}
			return a, fmt.Errorf("aim: %s: %w", part.name, err)
		}
	}
	return a, nil
}
