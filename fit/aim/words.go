package aim

import (
	"fmt"
	"strconv"
	"strings"
)

// Words are the parts of an aim as people write them, on a form or a command
// line. An empty word says nothing of its part.
type Words struct {
	White     string // as ParseWhite reads it
	Luminance string // as ParseLuminance, or ParsePrint for that of paper
	Tone      string // as ParseTone
	Black     string // as ParseBlack, or a ratio such as "1000:1"
	Policy    string // as ParsePolicy
	Ambient   string // as ParseAmbient
}

// Only returns the words of those parts that keep says yes to, the others
// empty. The parts are called white, luminance, tone, black, black-policy and
// ambient.
func (w Words) Only(keep func(part string) bool) Words {
	for part, word := range map[string]*string{
		"white": &w.White, "luminance": &w.Luminance, "tone": &w.Tone, "black": &w.Black, "black-policy": &w.Policy, "ambient": &w.Ambient,
	} {
		if !keep(part) {
			*word = ""
		}
	}
	return w
}

// With returns a with the parts that w names in place of its own. A luminance
// that is not that of paper takes the paper out. The error names the part and
// what can be written there.
func (a Aim) With(w Words) (Aim, error) {
	for _, part := range []struct {
		name, word string
		read       func(string) error
	}{
		{"white", w.White, func(s string) (err error) { a.White, err = ParseWhite(s); return err }},
		{"luminance", w.Luminance, a.readLuminance},
		{"tone", w.Tone, func(s string) (err error) { a.Tone, err = ParseTone(s); return err }},
		{"black", w.Black, a.readBlack},
		{"black policy", w.Policy, func(s string) (err error) { a.Black, err = ParsePolicy(s); return err }},
		{"ambient", w.Ambient, func(s string) (err error) { a.Ambient, err = ParseAmbient(s); return err }},
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

func (a *Aim) readLuminance(s string) error {
	if strings.HasPrefix(strings.ToLower(strings.TrimSpace(s)), "paper") {
		p, err := ParsePrint(s)
		if err != nil {
			return err
		}
		*a, err = a.ForPrints(p)
		return err
	}
	v, err := ParseLuminance(s)
	a.Luminance, a.Print = v, Print{}
	return err
}

func (a *Aim) readBlack(s string) (err error) {
	a.BlackRatio = 0
	if over, ok := strings.CutSuffix(strings.ReplaceAll(s, " ", ""), ":1"); ok {
		a.BlackCdM2 = 0
		a.BlackRatio, err = strconv.ParseFloat(over, 64)
		if err != nil || !(a.BlackRatio > 1 && a.BlackRatio <= maxRatio) {
			return fmt.Errorf("aim: black %q is no ratio; give white over black, such as 1000:1", s)
		}
		return nil
	}
	a.BlackCdM2, err = ParseBlack(s)
	return err
}
