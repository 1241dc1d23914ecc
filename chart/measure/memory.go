package measure

import (
	"bytes"
	"errors"
)

// Memory is a Journal in memory, for tests and for runs that need no file. The
// zero value is an empty one. It is not safe for concurrent use.
type Memory struct{ lines [][]byte }

// NewMemory returns a Memory that already holds lines, which it copies: the
// journal to go on with when those lines are replayed.
func NewMemory(lines [][]byte) *Memory { return &Memory{lines: copyLines(lines)} }

// Append adds a copy of line.
func (m *Memory) Append(line []byte) error {
	if bytes.IndexByte(line, '\n') >= 0 {
		return errors.New("measure: a journal line holds a newline")
	}
	m.lines = append(m.lines, bytes.Clone(line))
	return nil
}

// Sync does nothing: what is in memory is as safe as it will be.
func (m *Memory) Sync() error { return nil }

// Lines returns a copy of all lines, as [Setup].Replay takes them.
func (m *Memory) Lines() [][]byte { return copyLines(m.lines) }

func copyLines(lines [][]byte) [][]byte {
	out := make([][]byte, len(lines))
	for i, l := range lines {
		out[i] = bytes.Clone(l)
	}
	return out
}
