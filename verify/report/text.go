package report

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode"

	"example.org/primaries/verify"
)

// The last screen's bounds.
const (
	maxLines   = 25
	maxColumns = 80
)

// WriteText writes the last screen: at most 25 lines of at most 80 columns,
// what was reached, what was not, the warnings, what to do next. What does not
// fit is counted, and is in the HTML report; how true the profile is and what to
// load always fit. Control characters in names are taken
// out: they could command a terminal.
func WriteText(w io.Writer, r *Report) error {
	head := []string{cut(printable(title(r)), maxColumns)}
	if s := tally(r.Verdicts); s != "" {
		head = append(head, cut(printable(fmt.Sprintf("%s (limits: %s)", s, r.Limits)), maxColumns))
	}
	head = append(head, brief("Aim: ", r.Aim.words())...)
	head = append(head, brief("", r.concludeReadings())...)
	foot := wrap("", cautions[0])
	// The warnings stand here themselves, so that no line has to point to them.
	next := slices.DeleteFunc(slices.Clone(r.Next), func(s string) bool { return s == r.heed() })
	first := r.essentials()
	sections := []section{
		titled(r.reachedTitle(), bullets(r.Reached), r.Reached, first),
		titled("Not reached", bullets(r.NotReached), r.NotReached, first),
		titled("Warnings to heed (report.html has them in full)", single(r.Warnings), nil, nil),
		titled("Next", bullets(next), next, first),
	}
	room := maxLines - len(head) - len(foot)
	for _, s := range sections {
		if len(s.lines) > 0 {
			room-- // its title
		}
	}
	share(sections, room)
	lines := head
	for _, s := range sections {
		if len(s.lines) > 0 {
			lines = append(append(lines, s.title), s.fit()...)
		}
	}
	_, err := io.WriteString(w, strings.Join(append(lines, foot...), "\n")+"\n")
	return err
}

// essentials are the sentences that the last screen never leaves out.
func (r *Report) essentials() []string {
	var out []string
	if a := r.ProfileAccuracy.Relative; a.DeltaE2000.Count > 0 {
		out = append(out, profileWords(a))
	}
	if s := r.load(); s != "" {
		out = append(out, s)
	}
	return out
}

// brief is a line or a few of the last screen's head: a name, and what there is
// to say of it.
func brief(name string, says []string) []string {
	if len(says) == 0 {
		return nil
	}
	lines := wrap("", printable(name+strings.Join(says, " ")))
	if len(lines) > maxBullet {
		lines = lines[:maxBullet]
		lines[maxBullet-1] = cut(lines[maxBullet-1]+" …", maxColumns)
	}
	return lines
}

// title says what was measured, when, and whether it was there at all.
func title(r *Report) string {
	s := fmt.Sprintf("%s, %s, %s", r.Display.Name, r.Display.Mode, r.Run.Start.UTC().Format("2006-01-02 15:04 MST"))
	if r.Run.Simulated {
		s += ", simulated"
	}
	return s
}

// tally sums verdicts up as a bar with its word.
func tally(verdicts []verify.Verdict) string {
	if len(verdicts) == 0 {
		return ""
	}
	count := map[verify.State]int{}
	for _, v := range verdicts {
		count[v.State]++
	}
	state := verify.Overall(verdicts)
	s := fmt.Sprintf("[%s] %s", [...]string{"    ", "##  ", "####"}[fill(state)], state)
	return fmt.Sprintf("%s: %d passed, %d undecided, %d failed", s, count[verify.Passed], count[verify.Undecided], count[verify.Failed])
}

// fill is how full the bar of a state is, in halves.
func fill(s verify.State) int {
	switch s {
	case verify.Passed:
		return 2
	case verify.Undecided:
		return 1
	}
	return 0
}

// section is a title and its bullets, each wrapped to lines; room is how many
// lines it may take, and must the bullet that is shown whatever the room, -1 for
// none.
type section struct {
	title string
	lines [][]string
	room  int
	must  int
}

// titled returns the section of sentences that were wrapped to lines: one that
// holds one of the essentials must be shown, and has its room.
func titled(title string, lines [][]string, sentences, essentials []string) section {
	s := section{title: title, lines: lines, must: -1}
	for i, sentence := range sentences {
		for _, e := range essentials {
			if s.must < 0 && len(lines) == len(sentences) && strings.Contains(sentence, e) {
				s.must, s.room = i, min(len(lines[i])+1, s.size())
			}
		}
	}
	return s
}

func (s section) size() int {
	n := 0
	for _, b := range s.lines {
		n += len(b)
	}
	return n
}

// share deals out the lines: beside what must be shown each section has its first
// bullet, as long as there is room, and what is left goes a line at a time to the
// sections that need more.
func share(sections []section, room int) {
	for _, s := range sections {
		room -= s.room
	}
	for i, s := range sections {
		if s.room == 0 && s.size() > 0 {
			sections[i].room = max(0, min(room, len(s.lines[0])+1, s.size()))
			room -= sections[i].room
		}
	}
	for gave := true; gave && room > 0; {
		gave = false
		for i := range sections {
			if room > 0 && sections[i].room < sections[i].size() {
				sections[i].room++
				room--
				gave = true
			}
		}
	}
}

// fit returns the section's lines in its room: whole bullets in their order, and
// a count of those left out.
func (s section) fit() []string {
	if s.size() <= s.room {
		return flatten(s.lines)
	}
	left := s.room - 1
	if s.must >= 0 {
		left -= len(s.lines[s.must])
	}
	var out []string
	count, full := 0, false
	for i, b := range s.lines {
		if i == s.must {
			out = append(out, b...)
			continue
		}
		if full = full || len(b) > left; full {
			count++
			continue
		}
		left -= len(b)
		out = append(out, b...)
	}
	return append(out, fmt.Sprintf("  … and %d more in the report", count))
}

func flatten(lines [][]string) []string {
	var out []string
	for _, b := range lines {
		out = append(out, b...)
	}
	return out
}

// maxBullet is how many lines one bullet may take.
const maxBullet = 3

func bullets(sentences []string) [][]string {
	var out [][]string
	for _, s := range sentences {
		b := wrap("  ", printable(s))
		if len(b) > maxBullet {
			b = b[:maxBullet]
			b[maxBullet-1] = cut(b[maxBullet-1], maxColumns-2) + " …"
		}
		if len(b) > 0 {
			out = append(out, b)
		}
	}
	return out
}

// single returns sentences as bullets of one line each.
func single(sentences []string) [][]string {
	var out [][]string
	for _, s := range sentences {
		if s = strings.TrimSpace(printable(s)); s != "" {
			out = append(out, []string{cut("  "+s, maxColumns)})
		}
	}
	return out
}

// noBreak is a blank at which no line is broken.
const noBreak = '\u00a0'

// wrap breaks s at blanks into lines of at most 80 columns, indented; lines
// after the first two columns more. A word that is too long is cut.
func wrap(indent, s string) []string {
	var lines []string
	line := indent
	empty := true
	for _, word := range strings.FieldsFunc(s, func(c rune) bool { return c != noBreak && unicode.IsSpace(c) }) {
		word = cut(word, maxColumns-len(indent)-2)
		switch {
		case empty:
			line += word
		case columns(line)+1+columns(word) <= maxColumns:
			line += " " + word
		default:
			lines = append(lines, line)
			line = indent + "  " + word
			if indent == "" {
				line = word
			}
		}
		empty = false
	}
	if !empty {
		lines = append(lines, line)
	}
	return lines
}

// printable takes everything out of s that does not print, such as the escape
// that begins a terminal's command or a mark that turns the writing round.
func printable(s string) string {
	return strings.Map(func(c rune) rune {
		if unicode.IsPrint(c) || c == noBreak {
			return c
		}
		return ' '
	}, s)
}

// columns is the width of s on a terminal: letters of the East Asian scripts
// take two columns. Marks that combine count as one, which errs on the safe
// side.
func columns(s string) int {
	n := 0
	for _, c := range s {
		n++
		if c >= 0x1100 && !(c >= 0x2000 && c < 0x2E80) {
			n++
		}
	}
	return n
}

// cut shortens s to n columns.
func cut(s string, n int) string {
	if columns(s) <= n {
		return s
	}
	width := 0
	for i, c := range s {
		if width += columns(string(c)); width > n-1 {
			return s[:i] + "…"
		}
	}
	return s
}
