package hardware

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
)

// maxFile bounds a file in bytes: 65 nodes an edge with curves of 16 bits take a
// third of it.
const maxFile = 16 << 20

// ReadCLF reads a file in Common LUT Format that holds a table of this package's
// form: at most a Range and a LUT1D, a LUT3D with tetrahedra, at most a LUT1D and
// a Range, in that order, all values whole codes. What a file can hold beside
// that is refused. Descriptions and Info are passed over.
//
// The bytes may come from anywhere: at most 16 MiB are read, and memory is
// bounded by them. Errors name the line and what to do.
func ReadCLF(r io.Reader) (Table, error) {
	b, err := bounded(r)
	if err != nil {
		return Table{}, err
	}
	in := clfReader{Decoder: xml.NewDecoder(bytes.NewReader(b))}
	c, err := in.list()
	if err == nil {
		var t Table
		if t, err = NewTable(c); err == nil {
			return t, nil
		}
		return Table{}, err
	}
	line, _ := in.InputPos()
	return Table{}, fmt.Errorf("hardware: common LUT format, line %d: %w", line, err)
}

// bounded reads all of r, unless that is too much.
func bounded(r io.Reader) ([]byte, error) {
	b, err := io.ReadAll(io.LimitReader(r, maxFile+1))
	if err != nil {
		return nil, fmt.Errorf("hardware: reading a table: %w", err)
	}
	if len(b) > maxFile {
		return nil, fmt.Errorf("hardware: the file is longer than %d bytes; no table of at most %d nodes an edge is", maxFile, maxNodes)
	}
	return b, nil
}

// clfReader reads elements.
type clfReader struct {
	*xml.Decoder
	contents Contents
	done     step
	depth    int // that the node before gives, 0 before the first
	scaled   int // depth that the last Range gives, 0 where there is none
}

// step is how far the nodes have come.
type step int

const (
	atBegin step = iota
	afterScale
	afterCurves
	afterTable
	afterSecond
	atEnd
)

// list reads the ProcessList, and that nothing follows.
func (r *clfReader) list() (Contents, error) {
	root, err := r.next()
	if err != nil {
		return Contents{}, err
	}
	if root == nil || root.Name.Local != "ProcessList" {
		return Contents{}, errors.New("the outermost element is no ProcessList; is this a .clf file?")
	}
	version := attribute(root, "compCLFversion")
	known := version == clfVersion || version == "3" || version == "" && root.Name.Space == clfSpace
	if !known || root.Name.Space != "" && root.Name.Space != clfSpace {
		return Contents{}, fmt.Errorf("version %.20q, name space %.60q; write version %s, name space %s", version, root.Name.Space, clfVersion, clfSpace)
	}
	for {
		e, err := r.next()
		if err != nil {
			return Contents{}, err
		}
		if e == nil {
			break
		}
		if err := r.child(e); err != nil {
			return Contents{}, fmt.Errorf("%s: %w", e.Name.Local, err)
		}
	}
	if r.done < afterTable {
		return Contents{}, errors.New("there is no LUT3D; other transforms are not read")
	}
	if r.scaled != 0 && r.scaled != r.contents.Path {
		return Contents{}, fmt.Errorf("%d bits enter and %d leave; write the same depth", r.contents.Path, r.scaled)
	}
	if _, err := r.next(); err != io.EOF {
		return Contents{}, errors.New("something follows the ProcessList; write one to a file")
	}
	return r.contents, nil
}

// next returns the next element's beginning, nil at the end of the one around it.
func (r *clfReader) next() (*xml.StartElement, error) {
	for {
		token, err := r.Token()
		if err != nil {
			return nil, err
		}
		switch t := token.(type) {
		case xml.StartElement:
			return &t, nil
		case xml.EndElement:
			return nil, nil
		case xml.CharData:
			if len(bytes.TrimSpace(t)) > 0 {
				return nil, fmt.Errorf("%.20q where an element should begin or end", bytes.TrimSpace(t))
			}
		case xml.Directive:
			return nil, errors.New("a document type; write none")
		}
	}
}

func attribute(e *xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// child reads one element of the ProcessList.
func (r *clfReader) child(e *xml.StartElement) error {
	var err error
	switch e.Name.Local {
	case "Id", "Description", "Info":
		return r.Skip()
	case "InputDescriptor":
		r.contents.Source, err = r.words()
	case "OutputDescriptor":
		r.contents.Display, err = r.words()
	case "Range":
		err = r.scale(e)
	case "LUT1D":
		err = r.curves(e)
	case "LUT3D":
		err = r.table(e)
	default:
		err = errors.New("this transform is not part of such tables; write Range, LUT1D, LUT3D, LUT1D, Range")
	}
	return err
}

// words reads the text of an element that has no others.
func (r *clfReader) words() (string, error) {
	var s strings.Builder
	for {
		token, err := r.Token()
		if err != nil {
			return "", err
		}
		switch t := token.(type) {
		case xml.CharData:
			s.Write(t)
		case xml.EndElement:
			return s.String(), nil
		case xml.StartElement:
			return "", fmt.Errorf("the element %.40q inside a text", t.Name.Local)
		}
	}
}

// node checks a node's depths and its place in the order: after is what must not
// have come yet.
func (r *clfReader) node(e *xml.StartElement, after step) (in, out int, err error) {
	in, out = clfDepth(attribute(e, "inBitDepth")), clfDepth(attribute(e, "outBitDepth"))
	switch {
	case r.done >= after:
		return 0, 0, errors.New("it stands too late; the order is Range, LUT1D, LUT3D, LUT1D, Range")
	case in == 0 || out == 0:
		return 0, 0, fmt.Errorf("depths %.10q and %.10q; write 8i, 10i, 12i or 16i", attribute(e, "inBitDepth"), attribute(e, "outBitDepth"))
	case r.depth != 0 && in != r.depth:
		return 0, 0, fmt.Errorf("it takes %d bits after a node that gives %d; write the same", in, r.depth)
	}
	if r.done == atBegin {
		r.contents.Path = in
	}
	r.done, r.depth = after, out
	return in, out, nil
}

func clfDepth(s string) int {
	for _, v := range [4]int{8, 10, 12, 16} {
		if s == strconv.Itoa(v)+"i" {
			return v
		}
	}
	return 0
}

// values notes the depth of the table's values.
func (r *clfReader) values(bits int) error {
	if r.contents.Bits != 0 && r.contents.Bits != bits {
		return fmt.Errorf("values of %d bits beside others of %d; write the same depth", bits, r.contents.Bits)
	}
	r.contents.Bits = bits
	return nil
}

// scale reads a Range: from the limited range before everything, to it after
// everything.
func (r *clfReader) scale(e *xml.StartElement) error {
	entering := r.done == atBegin
	place := atEnd
	if entering {
		place = afterScale
	}
	if !entering && r.done < afterTable {
		return errors.New("it stands between curves and table; the order is Range, LUT1D, LUT3D, LUT1D, Range")
	}
	in, out, err := r.node(e, place)
	if err != nil {
		return err
	}
	if s := attribute(e, "style"); s != "" && s != "Clamp" {
		return fmt.Errorf("style %.20q; write Clamp", s)
	}
	got := map[string]string{}
	for {
		v, err := r.next()
		if err != nil {
			return err
		}
		if v == nil {
			break
		}
		if v.Name.Local == "Description" {
			if err := r.Skip(); err != nil {
				return err
			}
			continue
		}
		if len(got) == 4 {
			return errors.New("more than four values")
		}
		text, err := r.words()
		if err != nil {
			return err
		}
		got[v.Name.Local] = strings.TrimSpace(text)
	}
	path, whole := in, out
	names := [4]string{"minInValue", "maxInValue", "minOutValue", "maxOutValue"}
	if !entering {
		path, whole = out, in
		names = [4]string{"minOutValue", "maxOutValue", "minInValue", "maxInValue"}
		r.contents.Out, r.scaled = Limited, path
	} else {
		r.contents.In = Limited
	}
	black, white := Limited.Codes(path)
	lowest, highest := 0, 1<<whole-1
	if got[names[2]] == strconv.Itoa(black) {
		lowest, highest, r.contents.WholeScale = black, white, true
	}
	for i, want := range [4]int{black, white, lowest, highest} {
		if got[names[i]] != strconv.Itoa(want) {
			return fmt.Errorf("%s is %.20q; between the limited range of %d bits and all codes of %d it is %d", names[i], got[names[i]], path, whole, want)
		}
	}
	return r.values(whole)
}

// curves reads a LUT1D.
func (r *clfReader) curves(e *xml.StartElement) error {
	place, to := afterCurves, &r.contents.Before
	if r.done >= afterTable {
		place, to = afterSecond, &r.contents.After
	}
	_, bits, err := r.node(e, place)
	if err != nil {
		return err
	}
	if s := attribute(e, "interpolation"); s != "" && s != "linear" || attribute(e, "halfDomain") != "" || attribute(e, "rawHalfs") != "" {
		return errors.New("it has half floats or is not linear; write whole numbers and straight lines")
	}
	if err := r.values(bits); err != nil {
		return err
	}
	rows, err := r.array(bits, 2, func(dim []int) (int, bool) {
		return dim[0], dim[0] >= minEntries && dim[0] <= maxEntries
	})
	for _, v := range rows {
		for c := range v {
			to[c] = append(to[c], v[c])
		}
	}
	return err
}

// table reads the LUT3D.
func (r *clfReader) table(e *xml.StartElement) error {
	_, bits, err := r.node(e, afterTable)
	if err != nil {
		return err
	}
	if s := attribute(e, "interpolation"); s != "tetrahedral" {
		return fmt.Errorf("interpolation %.20q; write tetrahedral", s)
	}
	if err := r.values(bits); err != nil {
		return err
	}
	r.contents.Values, err = r.array(bits, 4, func(dim []int) (int, bool) {
		n := dim[0]
		r.contents.Nodes = n
		return n * n * n, n >= minNodes && n <= maxNodes && dim[1] == n && dim[2] == n
	})
	return err
}
