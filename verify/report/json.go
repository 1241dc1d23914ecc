package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"
	"time"
)

// WriteJSON writes r as report.json: indented, fields in the order of the
// types, the same bytes for the same report. A figure that is not a number is
// written as null, since JSON has no word for it; an empty list as [].
func WriteJSON(w io.Writer, r *Report) error {
	var compact, out bytes.Buffer
	if err := encode(&compact, reflect.ValueOf(r)); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	if err := json.Indent(&out, compact.Bytes(), "", "  "); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	out.WriteByte('\n')
	_, err := w.Write(out.Bytes())
	return err
}

// encode is encoding/json for the kinds that a Report is made of, except for
// numbers that are none and for nil slices.
func encode(b *bytes.Buffer, v reflect.Value) error {
	if t, ok := v.Interface().(time.Time); ok {
		return encodePlain(b, t)
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			b.WriteString("null")
			return nil
		}
		return encode(b, v.Elem())
	case reflect.Float64:
		if f := v.Float(); math.IsNaN(f) || math.IsInf(f, 0) {
			b.WriteString("null")
			return nil
		}
	case reflect.Slice:
		b.WriteByte('[')
		for i := range v.Len() {
			if i > 0 {
				b.WriteByte(',')
			}
			if err := encode(b, v.Index(i)); err != nil {
				return err
			}
		}
		b.WriteByte(']')
		return nil
	case reflect.Struct:
		return encodeStruct(b, v)
	}
	return encodePlain(b, v.Interface())
}

func encodeStruct(b *bytes.Buffer, v reflect.Value) error {
	b.WriteByte('{')
	first := true
	for i := range v.NumField() {
		tag, option, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
		if tag == "" { // colorimetry's own structs: X, Y, Z; R, G, B; L, A, B
			tag = strings.ToLower(v.Type().Field(i).Name)
		}
		if option == "omitempty" && (v.Field(i).IsZero() || v.Field(i).Kind() == reflect.Slice && v.Field(i).Len() == 0) {
			continue
		}
		if !first {
			b.WriteByte(',')
		}
		first = false
		fmt.Fprintf(b, "%q:", tag)
		if err := encode(b, v.Field(i)); err != nil {
			return fmt.Errorf("%s: %w", tag, err)
		}
	}
	b.WriteByte('}')
	return nil
}

func encodePlain(b *bytes.Buffer, v any) error {
	e := json.NewEncoder(b)
	e.SetEscapeHTML(false)
	return e.Encode(v) // its newline goes when the whole is indented
}
