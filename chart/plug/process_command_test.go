package plug_test

import (
	"strings"
	"testing"

	"example.org/primaries/chart/plug"
	"github.com/google/go-cmp/cmp"
)

func TestParseCommand(t *testing.T) {
	for in, want := range map[string][]string{
		`mydriver`:                           {"mydriver"},
		`process:mydriver -port  7`:          {"mydriver", "-port", "7"},
		`"C:\Program Files\d.exe" 'a "b" c'`: {`C:\Program Files\d.exe`, `a "b" c`},
		`a b"c d"e '' "say ""hi"""`:          {"a", "bc de", "", `say "hi"`},
		"\ta\n'it''s'\t":                     {"a", "it's"},
		`a $HOME *.txt ; rm`:                 {"a", "$HOME", "*.txt", ";", "rm"},
	} {
		got, err := plug.ParseCommand(in)
		if err != nil {
			t.Errorf("%s: %v", in, err)
			continue
		}
		if diff := cmp.Diff(want, append([]string{got.Path}, got.Args...)); diff != "" {
			t.Errorf("%s: %s", in, diff)
		}
		if back, err := plug.ParseCommand(got.String()); err != nil || !back.Equal(got) {
			t.Errorf("%s: %s is read as %v, %v", in, got, back, err)
		}
	}
	for in, says := range map[string]string{
		``: "names no program", `process:`: "names no program", ` '' x`: "names no program", `a "b`: `the quote " in "\"b" is not closed`,
		"a\x00b": "zero byte", "a" + strings.Repeat(" b", 1001): "more than 1000 words", strings.Repeat("a", 40000): "longer than 32768",
	} {
		if _, err := plug.ParseCommand(in); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%.20q: %v, want %s", in, err, says)
		}
	}
}

func FuzzParseCommand(f *testing.F) {
	f.Add(`process:a 'b c' "d ""e"`)
	f.Fuzz(func(t *testing.T, s string) {
		c, err := plug.ParseCommand(s)
		if err != nil {
			return
		}
		// The prefix is taken off once, so a program cannot be called by it.
		if strings.HasPrefix(c.Path, plug.CommandPrefix) {
			return
		}
		if back, err := plug.ParseCommand(c.String()); len(c.String()) <= 32<<10 && (err != nil || !back.Equal(c)) {
			t.Errorf("%q is written %q and read %q, %v", s, c, back, err)
		}
	})
}
