package plug

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"reflect"
	"strings"
	"testing"

	"example.org/primaries/chart/measure"
)

// page returns the protocol's page and what its fenced blocks of a kind hold.
func protocolPage(t *testing.T, kind string) (page string, blocks []string) {
	t.Helper()
	b, err := os.ReadFile("PROTOCOL.md")
	if err != nil {
		t.Fatal(err)
	}
	parts := strings.Split(string(b), "```"+kind+"\n")
	for _, p := range parts[1:] {
		block, _, _ := strings.Cut(p, "```")
		blocks = append(blocks, block)
	}
	return string(b), blocks
}

// Every line on the page is one that this package writes or reads.
func TestPageLines(t *testing.T) {
	_, blocks := protocolPage(t, "lines")
	_, session := protocolPage(t, "session")
	did := map[string]bool{}
	for _, b := range append(blocks, session...) {
		last, spectrum := "", false
		for l := range strings.Lines(b) {
			if sent, ok := strings.CutPrefix(l, "> "); ok {
				var r request
				d := json.NewDecoder(strings.NewReader(sent))
				d.DisallowUnknownFields()
				if err := d.Decode(&r); err != nil {
					t.Errorf("%s: %v", l, err)
				}
				if again, err := r.line(); err != nil || string(again) != sent {
					t.Errorf("the page has %sand this package writes %s, %v", sent, again, err)
				}
				last = r.Do
				continue
			}
			got, ok := strings.CutPrefix(l, "< ")
			if !ok {
				t.Errorf("%q is no line of either side", l)
			}
			if err := readAs(last, got, &spectrum); err != nil {
				t.Errorf("%s: %v", l, err)
			}
			did[last] = true
		}
	}
	for _, do := range []string{doHello, doShow, doCheck, doCurves, doMeasure, doCalibrate, doSet, doSleep, doRestore} {
		if !did[do] {
			t.Errorf("the page shows no %s", do)
		}
	}
}

// readAs reads an answer to a message; spectrum is what the last hello offered.
func readAs(do, line string, spectrum *bool) error {
	a, err := decodeAnswer([]byte(strings.TrimSuffix(line, "\n")))
	if err != nil || a.Done == nil {
		return err
	}
	switch do {
	case doHello:
		var h helloDone
		if err := strict(a.Done, &h); err != nil {
			return err
		}
		o, err := h.offer()
		*spectrum = o.instrument != nil && o.instrument.spectrum
		return err
	case doMeasure:
		var m measureDone
		if err := strict(a.Done, &m); err != nil {
			return err
		}
		_, err := m.sample(*spectrum)
		return err
	case doCalibrate:
		return strict(a.Done, &darkDone{})
	}
	return strict(a.Done, &noDone{})
}

// The page names every field and word there is, and every limit as it is.
func TestPageIsWhole(t *testing.T) {
	page, _ := protocolPage(t, "lines")
	for _, v := range []any{request{}, answer{}, failure{}, helloDone{}, screenOffer{}, instrumentOffer{}, noiseOffer{}, controlOffer{}, measureDone{}, spectrumOffer{}, darkDone{}} {
		for i := range reflect.TypeOf(v).NumField() {
			name, _, _ := strings.Cut(reflect.TypeOf(v).Field(i).Tag.Get("json"), ",")
			if !strings.Contains(page, "`"+name+"`") && !strings.Contains(page, `"`+name+`"`) {
				t.Errorf("the page does not name the field %s of %T", name, v)
			}
		}
	}
	var words []string
	for c := range conditions {
		words = append(words, c)
	}
	for _, w := range append(words, kindPassing, kindCondition, kindFailure, kindUnknown, kindVersion) {
		if !strings.Contains(page, "| `"+w+"` |") {
			t.Errorf("the page does not name %s", w)
		}
	}
	o := Options{}.withDefaults()
	for _, row := range []string{
		fmt.Sprintf("| a line | %s bytes |", thousands(maxLine)), fmt.Sprintf("| nesting | %d |", maxDepth),
		fmt.Sprintf("certificate | %d bytes", maxName), fmt.Sprintf("cut after %s bytes", thousands(maxText)),
		fmt.Sprintf("| sentences within one message | %s |", thousands(maxSays)),
		fmt.Sprintf("| controls | %d, steps within ±%s |", maxControls, thousands(maxStep)),
		fmt.Sprintf("within ±%s |", thousands(measure.MaxLight)),
		fmt.Sprintf("the start of the program | %.0f s |", o.StartTimeout.Seconds()),
		fmt.Sprintf("| `measure` | %.0f s |", o.MeasureTimeout.Seconds()),
		fmt.Sprintf("`set` | %.0f min |", o.PersonTimeout.Minutes()),
		fmt.Sprintf("its span and %.0f s |", o.Timeout.Seconds()),
		fmt.Sprintf("| all others | %.0f s |", o.Timeout.Seconds()),
		fmt.Sprintf("version %d\n", ProtocolVersion),
	} {
		if !strings.Contains(page, row) {
			t.Errorf("the page does not say %q", row)
		}
	}
	if o.Restarts != 5 || o.Pause.Seconds() != 1 || o.EndTimeout.Seconds() != 2 || keptLines != 8 || keptBytes != 200 {
		t.Error("the page says five restarts, pauses from 1 s, two seconds to end, and eight lines of 200 bytes")
	}
}

func thousands(n int64) string {
	s := fmt.Sprint(n)
	var b bytes.Buffer
	for i, c := range s {
		if i > 0 && (len(s)-i)%3 == 0 {
			b.WriteByte(',')
		}
		b.WriteRune(c)
	}
	return b.String()
}
