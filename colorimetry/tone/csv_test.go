package tone

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

func TestCurvesThroughCSV(t *testing.T) {
	n := 256
	var c [3][]float64
	for i := range n {
		x := float64(i) / float64(n-1)
		c[0], c[1], c[2] = append(c[0], math.Pow(x, 1.1)), append(c[1], x), append(c[2], 0.9*x)
	}
	want, err := NewChannels(c[0], c[1], c[2])
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := WriteCSV(&b, want); err != nil {
		t.Fatal(err)
	}
	got, err := ReadCSV(&b)
	if err != nil {
		t.Fatal(err)
	}
	if got.Digest() != want.Digest() {
		t.Errorf("curves came back as %s, were %s", got.Digest(), want.Digest())
	}
}

func TestBadCurves(t *testing.T) {
	for name, c := range map[string]struct{ text, says string }{
		"empty":        {"", "begins with the line"},
		"other header": {"R,G,B,input\n", "begins with the line"},
		"percent":      {"input,R,G,B\n0,0,0,0\n100,100,100,100\n", "line 3"},
		"nan":          {"input,R,G,B\n0,0,0,0\n1,NaN,1,1\n", "line 3"},
		"ragged":       {"input,R,G,B\n0,0,0\n1,1,1,1\n", "line 2"},
		"falling":      {"input,R,G,B\n0,0,0,0\n0.5,0.6,0.6,0.6\n1,0.5,1,1\n", "falls"},
		"uneven":       {"input,R,G,B\n0,0,0,0\n0.3,0.6,0.6,0.6\n1,1,1,1\n", "equally spaced"},
		"one row":      {"input,R,G,B\n0,0,0,0\n", "entries"},
		"too many":     {"input,R,G,B\n" + strings.Repeat("0,0,0,0\n", 5000), "more than 4096"},
	} {
		if _, err := ReadCSV(strings.NewReader(c.text)); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error %v, want one that says %q", name, err, c.says)
		}
	}
}

func FuzzReadCSV(f *testing.F) {
	f.Add("input,R,G,B\n0,0,0,0\n1,1,1,1\n")
	f.Add("#c\ninput,R,G,B\n0,0,0,0\n0.5,.4,.4,.4\n1,1,1,1\n")
	f.Fuzz(func(t *testing.T, text string) {
		c, err := ReadCSV(strings.NewReader(text))
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := WriteCSV(&b, c); err != nil {
			t.Fatal(err)
		}
		again, err := ReadCSV(&b)
		if err != nil || again.Digest() != c.Digest() {
			t.Fatalf("read, written and read again: %v, digest %s, was %s", err, again.Digest(), c.Digest())
		}
	})
}
