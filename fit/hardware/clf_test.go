package hardware_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"example.org/primaries/colorimetry"
	"example.org/primaries/colorimetry/rgb"
	"example.org/primaries/fit/hardware"
	"github.com/google/go-cmp/cmp"
)

func clf(t testing.TB, table hardware.Table) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := hardware.WriteCLF(&b, table); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// tables are of every form that is written.
func tables(t testing.TB) map[string]hardware.Table {
	whole := randomTable(t, 3, 10, 16, hardware.Limited, hardware.Limited, 9).Contents()
	whole.WholeScale = true
	scaled, err := hardware.NewTable(whole)
	if err != nil {
		t.Fatal(err)
	}
	return map[string]hardware.Table{
		"whole scale":  scaled,
		"full":         randomTable(t, 3, 10, 16, hardware.Full, hardware.Full, 1),
		"limited":      randomTable(t, 3, 12, 16, hardware.Limited, hardware.Limited, 2),
		"limited in":   randomTable(t, 2, 8, 2, hardware.Limited, hardware.Full, 3),
		"limited out":  randomTable(t, 2, 16, 33, hardware.Full, hardware.Limited, 4),
		"plain":        randomTable(t, 4, 12, 0, hardware.Full, hardware.Full, 5),
		"plain, video": randomTable(t, 4, 10, 0, hardware.Limited, hardware.Limited, 6),
	}
}

func TestCLFComesBack(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		b := clf(t, table)
		got, err := hardware.ReadCLF(bytes.NewReader(b))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d := cmp.Diff(table.Contents(), got.Contents()); d != "" {
			t.Errorf("%s comes back changed: %s", name, d)
		}
		if !bytes.Equal(clf(t, got), b) {
			t.Errorf("%s, written again, has other bytes", name)
		}
	}
}

// The elements and their order are those of the sample files of the public
// committee draft of SMPTE ST 2136-1 (2025-02), and the Range that of example 5 of
// the Academy's specification, version 3, the other way round.
func TestCLFForm(t *testing.T) {
	t.Parallel()
	content := hardware.Identity(2, 10).Contents()
	content.In, content.Out, content.Source, content.Display = hardware.Limited, hardware.Limited, "BT.709", "A & B"
	content.Before = [3][]uint16{{0, 1023}, {0, 1023}, {0, 1023}}
	table, err := hardware.NewTable(content)
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(clf(t, table)), "\n")
	id := strings.TrimSuffix(strings.TrimPrefix(lines[2], "\t<Id>"), "</Id>")
	if len(id) != len("urn:uuid:9d768121-0cf9-40a3-a8e3-7b49f79858a7") || !strings.HasPrefix(id, "urn:uuid:") {
		t.Errorf("the identifier is %q", id)
	}
	want := []string{
		`<?xml version="1.0" encoding="UTF-8"?>`,
		`<ProcessList xmlns="http://www.smpte-ra.org/ns/2136-1/2024" id="` + id + `" compCLFversion="3.0">`,
		"\t<Id>" + id + "</Id>",
		"\t<Description>From a source signal of the limited range to a device signal of the limited range</Description>",
		"\t<InputDescriptor>BT.709</InputDescriptor>",
		"\t<OutputDescriptor>A &amp; B</OutputDescriptor>",
		"\t" + `<Range inBitDepth="10i" outBitDepth="10i">`,
		"\t\t<minInValue>64</minInValue>",
		"\t\t<maxInValue>940</maxInValue>",
		"\t\t<minOutValue>0</minOutValue>",
		"\t\t<maxOutValue>1023</maxOutValue>",
		"\t</Range>",
		"\t" + `<LUT1D inBitDepth="10i" outBitDepth="10i" interpolation="linear">`,
		"\t\t" + `<Array dim="2 3">`,
		"0 0 0", "1023 1023 1023",
		"\t\t</Array>",
		"\t</LUT1D>",
		"\t" + `<LUT3D inBitDepth="10i" outBitDepth="10i" interpolation="tetrahedral">`,
		"\t\t" + `<Array dim="2 2 2 3">`,
		// Example 2 of the Academy's specification: blue changes fastest.
		"0 0 0", "0 0 1023", "0 1023 0", "0 1023 1023", "1023 0 0", "1023 0 1023", "1023 1023 0", "1023 1023 1023",
		"\t\t</Array>",
		"\t</LUT3D>",
		"\t" + `<Range inBitDepth="10i" outBitDepth="10i">`,
		"\t\t<minInValue>0</minInValue>",
		"\t\t<maxInValue>1023</maxInValue>",
		"\t\t<minOutValue>64</minOutValue>",
		"\t\t<maxOutValue>940</maxOutValue>",
		"\t</Range>",
		"</ProcessList>",
		"",
	}
	if d := cmp.Diff(want, lines); d != "" {
		t.Error(d)
	}
}

// Every beginning of a file that is not the whole of it is refused.
func TestCLFTruncated(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		b := bytes.TrimSpace(clf(t, table))
		for n := range b {
			if _, err := hardware.ReadCLF(bytes.NewReader(b[:n])); err == nil {
				t.Fatalf("%s: the first %d of %d bytes make a table", name, n, len(b))
			}
		}
	}
}

func TestCLFRefuses(t *testing.T) {
	t.Parallel()
	good := string(clf(t, randomTable(t, 2, 10, 2, hardware.Limited, hardware.Limited, 7)))
	for name, c := range map[string]struct{ old, new, says string }{
		"other root":       {"ProcessList", "Processes", "ProcessList"},
		"other version":    {`compCLFversion="3.0"`, `compCLFversion="4"`, "version"},
		"other name space": {"2136-1/2024", "2136-1/1999", "name space"},
		"document type":    {"<ProcessList", "<!DOCTYPE x>\n<ProcessList", "document type"},
		"another node":     {"<Id>", "<Matrix/><Id>", "not part"},
		"text":             {"<Id>", "text<Id>", "where an element"},
		"trilinear":        {"tetrahedral", "trilinear", "tetrahedral"},
		"cubic":            {`"linear"`, `"cubic"`, "not linear"},
		"half floats":      {`interpolation="linear"`, `rawHalfs="true"`, "half floats"},
		"float depth":      {`outBitDepth="10i"`, `outBitDepth="32f"`, "32f"},
		"depths apart":     {`<LUT3D inBitDepth="10i"`, `<LUT3D inBitDepth="12i"`, "12 bits after"},
		"no scale":         {"<maxInValue>940", "<maxInValue>941", "941"},
		"no clamp":         {`<Range inBitDepth`, `<Range style="noClamp" inBitDepth`, "noClamp"},
		"dimensions":       {`dim="2 2 2 3"`, `dim="2 2 3 3"`, "dimensions"},
		"huge":             {`dim="2 2 2 3"`, `dim="99999 99999 99999 3"`, "dimensions"},
		"many":             {`dim="2 2 2 3"`, `dim="65 65 65 3"`, "values where"},
		"few":              {`dim="2 3"`, `dim="4096 3"`, "values where"},
		"a value too many": {"\t\t</Array>", "0\t\t</Array>", "more than 2 rows"},
		"no number":        {"\t\t</Array>", "x\t\t</Array>", "codes from 0"},
		"another table":    {"<LUT1D", "<LUT3D", "LUT3D"},
		"no array":         {"Array", "Matrix", "Matrix"},
		"nested":           {"<Id>", "<InputDescriptor><b></b></InputDescriptor><Id>", "inside a text"},
		"two":              {"</ProcessList>", "</ProcessList><ProcessList/>", "follows"},
	} {
		_, err := hardware.ReadCLF(strings.NewReader(strings.ReplaceAll(good, c.old, c.new)))
		if err == nil || !strings.Contains(err.Error(), c.says) || !strings.Contains(err.Error(), "line") {
			t.Errorf("%s: want a line and %q, got %v", name, c.says, err)
		}
	}
	if _, err := hardware.ReadCLF(strings.NewReader(strings.Repeat(" ", 17<<20))); err == nil || !strings.Contains(err.Error(), "longer") {
		t.Errorf("17 MiB: %v", err)
	}
	if err := hardware.WriteCLF(&bytes.Buffer{}, hardware.Table{}); err == nil {
		t.Error("no table was written")
	}
	broken := failing{errors.New("full")}
	if err := hardware.WriteCLF(broken, hardware.Identity(9, 10)); !errors.Is(err, broken.err) {
		t.Errorf("the writer's error comes back as %v", err)
	}
}

type failing struct{ err error }

func (f failing) Write([]byte) (int, error) { return 0, f.err }

func FuzzReadCLF(f *testing.F) {
	for _, table := range tables(f) {
		f.Add(clf(f, table))
	}
	f.Add([]byte(`<ProcessList xmlns="http://www.smpte-ra.org/ns/2136-1/2024"><Info><a/></Info><!-- x --></ProcessList>`))
	f.Fuzz(func(t *testing.T, b []byte) {
		table, err := hardware.ReadCLF(bytes.NewReader(b))
		if err != nil {
			if !strings.HasPrefix(err.Error(), "hardware: ") {
				t.Fatalf("error %q names no package", err)
			}
			return
		}
		used(t, table)
		again, err := hardware.ReadCLF(bytes.NewReader(clf(t, table)))
		if err != nil || again.Digest() != table.Digest() {
			t.Fatalf("read, written and read again: %v", err)
		}
	})
}

// used sends a signal through a table.
func used(t *testing.T, table hardware.Table) {
	if s := table.Apply(colorimetry.RGB{R: 0.3, G: 1, B: 0.7}); s != s.Clamp() || s.R != s.R {
		t.Fatalf("a table gives %v", s)
	}
}

// ocio applies a file by OpenColorIO and returns what it makes of signals, which
// are shares of the highest code.
const ocio = `
import sys, json
import PyOpenColorIO as ocio
config = ocio.Config.CreateRaw()
config.setMajorVersion(2)
cpu = config.getProcessor(ocio.FileTransform(sys.argv[1])).getOptimizedCPUProcessor(ocio.OPTIMIZATION_NONE)
print(json.dumps([cpu.applyRGB(s) for s in json.load(sys.stdin)]))
`

// What OpenColorIO, whose Common LUT Format reader is not ours, makes of our files
// is what Apply makes of signals. It reckons in single precision, with steps of
// 6e-8 near 1, which random curves and nodes, that rise by as much as the whole
// scale between two entries, enlarge by some hundred times.
func TestCLFOpenColorIO(t *testing.T) {
	t.Parallel()
	for name, table := range tables(t) {
		t.Run(name, func(t *testing.T) { agree(t, table, 1e-4) })
	}
	for name, o := range map[string]hardware.Options{
		"built":         {Nodes: 17},
		"built, video":  {Nodes: 17, Bits: 16, PathBits: 10, In: hardware.Limited, Out: hardware.Limited},
		"built, curves": {Nodes: 9, Bits: 10, Entries: 256},
		"built, plain":  {Nodes: 17, Bits: 10, Plain: true},
		"built, whole":  {Nodes: 17, Bits: 10, Plain: true, WholeScale: true, In: hardware.Limited, Out: hardware.Limited},
	} {
		t.Run(name, func(t *testing.T) {
			table, _ := build(t, wide(t), hardware.Want{Space: rgb.SRGB()}, o)
			agree(t, table, 2e-6)
		})
	}
}

func agree(t *testing.T, table hardware.Table, tolerance float64) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "table.clf")
	if err := os.WriteFile(file, clf(t, table), 0o600); err != nil {
		t.Fatal(err)
	}
	in, out, bits := table.Path()
	top := float64(uint(1)<<bits) - 1
	share := func(r hardware.Range, v float64) float64 {
		black, white := r.Codes(bits)
		return (float64(black) + v*float64(white-black)) / top
	}
	signals := append(randomSignals(300, 8), colorimetry.RGB{}, colorimetry.Gray(1), colorimetry.RGB{G: 1})
	var codes [][3]float64
	for _, s := range signals {
		codes = append(codes, [3]float64{share(in, s.R), share(in, s.G), share(in, s.B)})
	}
	got := openColorIO(t, file, codes)
	for i, s := range signals {
		want := table.Apply(s)
		for c, v := range [3]float64{want.R, want.G, want.B} {
			if v = share(out, v); math.Abs(v-got[i][c]) > tolerance {
				t.Errorf("%v, channel %d: %.7f, OpenColorIO says %.7f", s, c, v, got[i][c])
			}
		}
	}
}

func openColorIO(t *testing.T, file string, signals [][3]float64) [][3]float64 {
	t.Helper()
	const python = "/usr/bin/python3" // Debian's own, whatever stands first in the path
	if _, err := os.Stat(python); err != nil {
		t.Skip("Debian's package python3 is not installed")
	}
	in, err := json.Marshal(signals)
	if err != nil {
		t.Fatal(err)
	}
	var said bytes.Buffer
	cmd := exec.Command(python, "-c", ocio, file)
	cmd.Stdin, cmd.Stderr = bytes.NewReader(in), &said
	text, err := cmd.Output()
	if err != nil && strings.Contains(said.String(), "No module named") {
		t.Skip("Debian's package python3-pyopencolorio is not installed")
	}
	if err != nil {
		t.Fatalf("%v: %s", err, said.String())
	}
	var out [][3]float64
	if err := json.Unmarshal(text, &out); err != nil || len(out) != len(signals) {
		t.Fatal(fmt.Errorf("%d answers for %d signals: %w", len(out), len(signals), err))
	}
	return out
}
