package plug

import (
	"errors"
	"fmt"
	"slices"
	"strings"
)

// Command is a program to run, and its arguments. No shell has a part in it.
type Command struct {
	Path string // looked for as the system looks for programs, where it names no folder
	Args []string
}

// Equal reports whether c and d start the same program with the same arguments.
func (c Command) Equal(d Command) bool { return c.Path == d.Path && slices.Equal(c.Args, d.Args) }

// String returns the command such that [ParseCommand] reads it.
func (c Command) String() string {
	words := make([]string, 0, len(c.Args)+1)
	for _, w := range append([]string{c.Path}, c.Args...) {
		if w == "" || strings.ContainsAny(w, spaces+`"'`) {
			w = `"` + strings.ReplaceAll(w, `"`, `""`) + `"`
		}
		words = append(words, w)
	}
	return strings.Join(words, " ")
}

// CommandPrefix begins the text of a command in an option that names devices:
// "process:CMD ARG ...".
const CommandPrefix = "process:"

const (
	spaces      = " \t\r\n\v\f"
	maxCommand  = 32 << 10 // bytes, what the narrowest of the usual systems takes
	maxArgument = 1000
)

// ParseCommand reads a command line: words parted by white space, where single
// or double quotes keep a word with spaces together, and a quote that stands
// doubled within its own kind is a quote. Nothing else is special, a backslash
// neither. The prefix "process:" may stand before the first word.
func ParseCommand(s string) (Command, error) {
	s = strings.TrimPrefix(s, CommandPrefix)
	if len(s) > maxCommand || strings.ContainsRune(s, 0) {
		return Command{}, fmt.Errorf("plug: the command is longer than %d bytes or has a zero byte in it", maxCommand)
	}
	var words []string
	for {
		s = strings.TrimLeft(s, spaces)
		if s == "" {
			break
		}
		word, rest, err := nextWord(s)
		if err != nil {
			return Command{}, err
		}
		if words, s = append(words, word), rest; len(words) > maxArgument {
			return Command{}, fmt.Errorf("plug: the command has more than %d words", maxArgument)
		}
	}
	if len(words) == 0 || words[0] == "" {
		return Command{}, errors.New("plug: the command names no program; write process:PROGRAM and its arguments")
	}
	return Command{Path: words[0], Args: words[1:]}, nil
}

// nextWord takes the first word off s, which begins with it.
func nextWord(s string) (word, rest string, err error) {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		switch c := s[i]; {
		case strings.IndexByte(spaces, c) >= 0:
			return b.String(), s[i:], nil
		case c == '"' || c == '\'':
			for {
				end := strings.IndexByte(s[i+1:], c)
				if end < 0 {
					return "", "", fmt.Errorf("plug: the quote %c in %.60q is not closed", c, s)
				}
				b.WriteString(s[i+1 : i+1+end])
				i += 1 + end
				if i+1 == len(s) || s[i+1] != c {
					break
				}
				b.WriteByte(c)
				i++
			}
		default:
			b.WriteByte(c)
		}
	}
	return b.String(), "", nil
}
