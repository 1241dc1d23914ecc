package cli

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"
)

// Progress draws how far a long job has come: on a terminal one line with a
// bar, drawn again; elsewhere a plain line at the start of each stage and at
// each quarter of a longer one. It is not safe for concurrent use.
type Progress struct {
	std     IO
	stage   string
	quarter int
	drawn   int
}

// NewProgress returns a progress display on std.Err.
func NewProgress(std IO) *Progress { return &Progress{std: std} }

// Update reports that done of total steps of a stage are finished and left is
// about the time to its end; a total of 0 is a stage of unknown length, a left
// of 0 an unknown time.
func (p *Progress) Update(stage string, done, total int, left time.Duration) {
	text := fmt.Sprintf("%s: %d read", stage, done)
	if total > 0 {
		text = fmt.Sprintf("%s: %d/%d read", stage, done, total)
	}
	if left > 0 && total > 0 && done < total {
		text += ", about " + Duration(left) + " left"
	}
	if p.std.Terminal {
		p.draw(bar(done, total) + " " + text)
		p.stage = stage
		return
	}
	quarter := 0
	if total >= 20 { // a shorter stage is over before its line is read
		quarter = 4 * done / total
	}
	if stage != p.stage || quarter > p.quarter {
		fmt.Fprintln(p.std.Err, text)
		p.stage, p.quarter = stage, quarter
	}
}

// Line prints a sentence of its own, above the bar where there is one: wrapped
// on a terminal, elsewhere on one line.
func (p *Progress) Line(text string) {
	p.Clear()
	if p.std.Terminal {
		wrap(p.std.Err, "", "  ", text)
		return
	}
	fmt.Fprintln(p.std.Err, text)
}

// wrap prints words after a lead, and begins every further line with indent.
func wrap(w io.Writer, lead, indent, words string) {
	const width = 80
	line := lead
	for _, word := range strings.Fields(words) {
		if strings.TrimSpace(line) != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			fmt.Fprintln(w, line)
			line = indent + word
			continue
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	fmt.Fprintln(w, line)
}

// Clear takes the bar away.
func (p *Progress) Clear() {
	if p.drawn > 0 {
		fmt.Fprintf(p.std.Err, "\r%s\r", strings.Repeat(" ", p.drawn))
		p.drawn = 0
	}
}

func (p *Progress) draw(line string) {
	n := len([]rune(line))
	fmt.Fprintf(p.std.Err, "\r%s%s", line, strings.Repeat(" ", max(0, p.drawn-n)))
	p.drawn = n
}

const barWidth = 24

func bar(done, total int) string {
	n := 0
	if total > 0 {
		n = min(barWidth, barWidth*done/total)
	}
	return strings.Repeat("█", n) + strings.Repeat("·", barWidth-n)
}

// Duration writes d as a person says it: "40 s", "4 min", "1 h 20 min".
func Duration(d time.Duration) string {
	switch {
	case d < 90*time.Second:
		return fmt.Sprintf("%d s", max(1, int(d.Round(time.Second)/time.Second)))
	case d < 90*time.Minute:
		return fmt.Sprintf("%d min", int(d.Round(time.Minute)/time.Minute))
	}
	d = d.Round(time.Minute)
	return fmt.Sprintf("%d h %d min", int(d/time.Hour), int(d%time.Hour/time.Minute))
}
