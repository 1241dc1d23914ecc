package hardware

import (
	"encoding/xml"
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// array reads the Array of a node, and the node's end. rows says how many rows
// its dimensions mean, and whether they are possible.
func (r *clfReader) array(bits, dims int, rows func(dim []int) (int, bool)) ([][3]uint16, error) {
	var out [][3]uint16
	for {
		e, err := r.next()
		if err != nil {
			return nil, err
		}
		if e == nil {
			break
		}
		switch e.Name.Local {
		case "Description":
			err = r.Skip()
		case "Array":
			if out != nil {
				return nil, errors.New("two arrays; write one")
			}
			out, err = r.rows(e, bits, dims, rows)
		default:
			err = fmt.Errorf("the element %.40q; write an Array", e.Name.Local)
		}
		if err != nil {
			return nil, err
		}
	}
	if out == nil {
		return nil, errors.New("there is no Array")
	}
	return out, nil
}

// rows reads the values of an Array.
func (r *clfReader) rows(e *xml.StartElement, bits, dims int, rows func(dim []int) (int, bool)) ([][3]uint16, error) {
	fields := strings.Fields(attribute(e, "dim"))
	dim := make([]int, 0, dims)
	for _, f := range fields {
		if v, err := strconv.Atoi(f); err == nil && len(f) <= 5 && len(dim) < dims {
			dim = append(dim, v)
		}
	}
	var count int
	ok := len(fields) == dims && len(dim) == dims && dim[dims-1] == 3
	if ok {
		count, ok = rows(dim)
	}
	if !ok {
		return nil, fmt.Errorf("dimensions %.40q; tables have %d to %d nodes an edge and curves %d to %d entries, of three values", attribute(e, "dim"), minNodes, maxNodes, minEntries, maxEntries)
	}
	text, err := r.words()
	if err != nil {
		return nil, err
	}
	top := uint64(1)<<bits - 1
	// Each value has a digit and a space, so that no more room is made than the
	// text can fill.
	out := make([][3]uint16, 0, min(count, len(text)/6+1))
	n := 0
	for f := range strings.FieldsSeq(text) {
		v, err := strconv.ParseUint(f, 10, 16)
		if err != nil || v > top {
			return nil, fmt.Errorf("value %d is %.20q; write codes from 0 to %d", n+1, f, top)
		}
		if n%3 == 0 {
			if len(out) == count {
				return nil, fmt.Errorf("more than %d rows; dimensions %s have no more", count, attribute(e, "dim"))
			}
			out = append(out, [3]uint16{})
		}
		out[n/3][n%3] = uint16(v)
		n++
	}
	if n != 3*count {
		return nil, fmt.Errorf("%d values where dimensions %s ask for %d", n, attribute(e, "dim"), 3*count)
	}
	return out, nil
}
