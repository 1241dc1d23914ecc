package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestInputsNameTheFile(t *testing.T) {
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a"), filepath.Join(dir, "b")
	for _, p := range []string{a, b} {
		if err := os.WriteFile(p, []byte(p), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	var in Inputs
	fails := func(err error) func(io.Reader) error { return func(io.Reader) error { return err } }
	nested := func(use func(ra, rb io.Reader) error) error {
		return in.Read(a, func(ra io.Reader) error { return in.Read(b, func(rb io.Reader) error { return use(ra, rb) }) })
	}
	for name, c := range map[string]struct {
		err  error
		want string
	}{
		"plain":          {in.Read(a, fails(errors.New("bad"))), a + ": bad"},
		"named":          {in.Read(a, fails(fmt.Errorf("%s, line 3: bad", a))), a + ", line 3: bad"},
		"inner":          {nested(func(_, _ io.Reader) error { return errors.New("bad") }), b + ": bad"},
		"outer in inner": {nested(func(ra, _ io.Reader) error { return fmt.Errorf("%s: bad", ra.(interface{ Name() string }).Name()) }), a + ": bad"},
	} {
		if c.err == nil || c.err.Error() != c.want || Status(c.err) != BadInput {
			t.Errorf("%s: %v, want %s", name, c.err, c.want)
		}
	}
	if err := in.Read(filepath.Join(dir, "none"), fails(nil)); Status(err) != BadInput || !strings.Contains(err.Error(), "none") {
		t.Errorf("a missing file: %v", err)
	}
	if err := in.Read("", fails(errors.New("read"))); err != nil {
		t.Errorf("an input that was not given: %v", err)
	}
}

func TestDigestOfInputs(t *testing.T) {
	path := filepath.Join(t.TempDir(), "in")
	digest := func(text string, values ...any) string {
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		var in Inputs
		if err := in.Read(path, func(r io.Reader) error { _, err := io.Copy(io.Discard, r); return err }); err != nil {
			t.Fatal(err)
		}
		d, err := in.Digest(values...)
		if err != nil || len(d) != 16 {
			t.Fatalf("digest %q, %v", d, err)
		}
		return d
	}
	one := digest("text", 1, "a")
	if digest("text", 1, "a") != one {
		t.Error("the same inputs have two digests")
	}
	if digest("other", 1, "a") == one || digest("text", 2, "a") == one || digest("text", "a", 1) == one {
		t.Error("other inputs have the same digest")
	}
}

func TestSave(t *testing.T) {
	dir := t.TempDir()
	if err := Save("aim", "", text("x")); err != nil {
		t.Error(err)
	}
	path := filepath.Join(dir, "x")
	if err := Save("aim", path, text("x")); err != nil {
		t.Error(err)
	}
	if b, err := os.ReadFile(path); err != nil || string(b) != "x" {
		t.Errorf("%q, %v", b, err)
	}
	if err := Save("aim", filepath.Join(path, "y"), text("y")); Status(err) != BadInput || !strings.Contains(err.Error(), "-aim") {
		t.Errorf("below a file: %v", err)
	}
}

func TestSentencesWrapOnTerminals(t *testing.T) {
	long := strings.Repeat("word ", 40)
	var out bytes.Buffer
	NewProgress(IO{Err: &out, Terminal: true}).Line(long)
	for line := range strings.Lines(out.String()) {
		if len(line) > 81 {
			t.Errorf("a line of %d bytes: %q", len(line), line)
		}
	}
	if got, want := strings.Fields(out.String()), strings.Fields(long); len(got) != len(want) {
		t.Errorf("%d words became %d", len(want), len(got))
	}
	out.Reset()
	NewProgress(IO{Err: &out}).Line(long)
	if out.String() != long+"\n" {
		t.Errorf("elsewhere it became %q", out.String())
	}
}

func TestAllIsBounded(t *testing.T) {
	for _, c := range []struct {
		bytes int
		want  string
	}{{0, ""}, {1 << 20, ""}, {1<<20 + 1, "the file is larger than 1 MiB; make it smaller"}} {
		b, err := All(bytes.NewReader(make([]byte, c.bytes)), 1, "make it smaller")
		if got := fmt.Sprint(err); c.want != "" && got != c.want || c.want == "" && (err != nil || len(b) != c.bytes) {
			t.Errorf("%d bytes: %d and %v, want %q", c.bytes, len(b), err, c.want)
		}
	}
}
