package tone

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

const (
	maxEntries  = 4096
	maxCurveCSV = 1 << 20 // bytes; 4096 rows of four numbers take less than half
)

// WriteCSV writes c as a table with the columns input,R,G,B: the signal that
// enters and the three that leave, 0 to 1, a row an entry. ReadCSV returns the
// same curves, to the bit. No curves are an error: there is nothing to write.
func WriteCSV(w io.Writer, c Channels) error {
	n := c.Len()
	if n == 0 {
		return errors.New("tone: there are no curves to write")
	}
	out := csv.NewWriter(w)
	out.Write([]string{"input", "R", "G", "B"})
	for i := range n {
		row := []string{number(float64(i) / float64(n-1))}
		for _, t := range [][]uint16{c.r, c.g, c.b} {
			row = append(row, number(float64(t[i])/65535))
		}
		out.Write(row)
	}
	out.Flush()
	return out.Error()
}

// ReadCSV reads curves from a table with the columns input,R,G,B, the inputs
// equally spaced from 0 to 1, 2 to 4096 rows. Lines that begin with # are
// passed over. Errors name the line and what to do.
func ReadCSV(r io.Reader) (Channels, error) {
	in := csv.NewReader(io.LimitReader(r, maxCurveCSV))
	in.Comment, in.FieldsPerRecord, in.ReuseRecord = '#', 4, true
	head, err := in.Read()
	if err != nil || !strings.EqualFold(strings.TrimPrefix(strings.Join(head, ","), "\ufeff"), "input,R,G,B") {
		return Channels{}, errors.New("tone: a table of curves begins with the line input,R,G,B; write it so")
	}
	var cols [4][]float64
	for {
		rec, err := in.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return Channels{}, fmt.Errorf("tone: curves: %w", err)
		}
		line, _ := in.FieldPos(0)
		if len(cols[0]) == maxEntries {
			return Channels{}, fmt.Errorf("tone: line %d: more than %d entries; sample the curves at fewer inputs", line, maxEntries)
		}
		for i, f := range rec {
			v, err := strconv.ParseFloat(strings.TrimSpace(f), 64)
			if err != nil || !(v >= 0 && v <= 1) {
				return Channels{}, fmt.Errorf("tone: line %d: %.20q is not a number from 0 to 1; write signals so that full signal is 1", line, f)
			}
			cols[i] = append(cols[i], v)
		}
	}
	for i, v := range cols[0] {
		if want := float64(i) / float64(len(cols[0])-1); math.Abs(v-want) > 1e-4 {
			return Channels{}, fmt.Errorf("tone: entry %d stands at input %g; inputs are equally spaced from 0 to 1, so it should stand at %g", i, v, want)
		}
	}
	return NewChannels(cols[1], cols[2], cols[3])
}
