package embed

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// Checks against programs that others wrote, from Debian's packages python3-pil,
// libimage-exiftool-perl, libtiff-tools, libjpeg-turbo-progs and pngcheck.

// run returns what a program prints. It skips the test where the program is not
// there, and fails it where the program does.
func run(t *testing.T, pkg, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		t.Skipf("%s of Debian's package %s is not installed", name, pkg)
	}
	out, err := exec.Command(path, args...).Output()
	if err != nil {
		var e *exec.ExitError
		if errors.As(err, &e) && bytes.Contains(e.Stderr, []byte("No module named")) {
			t.Skipf("Debian's package %s is not installed", pkg)
		}
		if e != nil {
			t.Fatalf("%s %s: %v\n%s%s", name, args, err, out, e.Stderr)
		}
		t.Fatalf("%s %s: %v", name, args, err)
	}
	return string(out)
}

// pillow runs a script of ours by Debian's own Python, whatever stands first in
// the path.
func pillow(t *testing.T, script string, args ...string) string {
	t.Helper()
	return run(t, "python3-pil", "/usr/bin/python3", append([]string{"-c", script}, args...)...)
}

// makeFiles writes files of many kinds into folder, with the profile in file
// argv[2] in those whose names begin with "with". Names end in the profile's
// space.
const makeFiles = `
import sys
from PIL import Image
folder, p, gray = sys.argv[1], open(sys.argv[2], 'rb').read(), open(sys.argv[3], 'rb').read()
base = Image.merge('RGB', [Image.linear_gradient('L'), Image.radial_gradient('L'), Image.linear_gradient('L').rotate(90)]).resize((61, 47))
def save(name, mode, **o):
    space = {'1': 'GRAY', 'L': 'GRAY', 'LA': 'GRAY', 'I;16': 'GRAY', 'CMYK': 'CMYK', 'LAB': 'Lab '}.get(mode, 'RGB ')
    if mode == 'I;16':
        m = base.convert('I').point(lambda v: v * 257).convert('I;16')
    elif mode == 'LAB':
        m = Image.merge('LAB', base.split())
    else:
        m = base.convert(mode)
    stem, ext = name.rsplit('.', 1)
    m.save('%s/bare-%s-%s.%s' % (folder, stem, space, ext), **o)
    m.save('%s/with-%s-%s.%s' % (folder, stem, space, ext), icc_profile=gray if space == 'GRAY' else p, **o)
for mode in ['1', 'L', 'LA', 'P', 'RGB', 'RGBA', 'I;16']:
    save('mode%s.png' % mode.replace(';', ''), mode)
save('animated.png', 'RGB', save_all=True, append_images=[base.rotate(90), base.rotate(180)], duration=100)
for mode in ['L', 'RGB', 'CMYK']:
    for progressive in [False, True]:
        save('%s%s.jpg' % (mode, '-progressive' if progressive else ''), mode, progressive=progressive, quality=85)
save('444.jpg', 'RGB', subsampling=0, dpi=(300, 300), comment=b'a comment')
for mode in ['1', 'L', 'P', 'RGB', 'RGBA', 'CMYK', 'LAB', 'I;16']:
    save('mode%s.tif' % mode.replace(';', ''), mode)
save('lzw.tif', 'RGB', compression='tiff_lzw')
save('jpeg.tif', 'RGB', compression='jpeg')
save('pages.tif', 'RGB', save_all=True, append_images=[base.rotate(90), base.rotate(180)])
`

// lookAt prints for each file the SHA-256 of its profile and that of the pixels
// of all its frames.
const lookAt = `
import sys, hashlib
from PIL import Image, ImageSequence
for name in sys.argv[1:]:
    m = Image.open(name)
    p = m.info.get('icc_profile') or b''
    h = hashlib.sha256()
    for frame in ImageSequence.Iterator(m):
        h.update(repr((frame.mode, frame.size, frame.getpalette())).encode())
        h.update(frame.tobytes())
    print(hashlib.sha256(p).hexdigest(), h.hexdigest())
`

func digest(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

func readFile(t *testing.T, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func writeFile(t *testing.T, name string, b []byte) string {
	t.Helper()
	if err := os.WriteFile(name, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return name
}

// foreignFiles returns the files that Pillow made, a BigTIFF that libtiff made
// of one, and the profiles that Pillow embedded, for RGB (any but gray) and gray.
func foreignFiles(t *testing.T) (names []string, rgb, gray []byte) {
	t.Helper()
	folder := t.TempDir()
	rgb, gray = fakeProfile("mntr", "RGB ", 150000), fakeProfile("mntr", "GRAY", 1001)
	pillow(t, makeFiles, folder,
		writeFile(t, filepath.Join(t.TempDir(), "rgb"), rgb), writeFile(t, filepath.Join(t.TempDir(), "gray"), gray))
	for _, order := range []string{"-B", "-L"} {
		for _, kind := range []string{"bare", "with"} {
			from := filepath.Join(folder, kind+"-pages-RGB .tif")
			run(t, "libtiff-tools", "tiffcp", "-8", order, from, filepath.Join(folder, kind+"-BigTIFF"+order+"-RGB .tif"))
			run(t, "libtiff-tools", "tiffcp", order, "-t", from, filepath.Join(folder, kind+"-tiles"+order+"-RGB .tif"))
		}
	}
	names, err := filepath.Glob(filepath.Join(folder, "*"))
	if err != nil || len(names) < 50 {
		t.Fatalf("%d files were made, %v", len(names), err)
	}
	return names, rgb, gray
}

// spaceOf returns the space that a name of makeFiles ends in.
func spaceOf(name string) string {
	stem := strings.TrimSuffix(name, filepath.Ext(name))
	return stem[len(stem)-4:]
}

// What Pillow, over libpng's format, libjpeg and libtiff, embedded is found here,
// and what is embedded here Pillow finds, with the same pixels in all frames.
func TestPillow(t *testing.T) {
	names, rgb, gray := foreignFiles(t)
	// Pillow 9.4 knows BigTIFF in one byte order alone.
	names = slices.DeleteFunc(names, func(s string) bool { return strings.Contains(s, "BigTIFF-B") })
	before := strings.Fields(pillow(t, lookAt, names...))
	var changed []string
	var want []string
	folder := t.TempDir()
	for i, name := range names {
		file := readFile(t, name)
		found := mustExtract(t, file)
		switch {
		case digest(found.Profile) != before[2*i]:
			t.Errorf("%s: Pillow and this package find different profiles", filepath.Base(name))
		case strings.HasPrefix(filepath.Base(name), "bare"):
			if found.Profile != nil {
				t.Errorf("%s has a profile", filepath.Base(name))
			}
		case !bytes.Equal(found.Profile, rgb) && !bytes.Equal(found.Profile, gray):
			t.Errorf("%s has another profile than was given", filepath.Base(name))
		}
		space := spaceOf(name)
		for kind, profile := range map[string][]byte{"real": profileFor(t, space), "long": fakeProfile("prtr", space, 200001), "none": nil} {
			for _, all := range []bool{false, true} {
				out := mustRemove(t, file, Options{AllPages: all})
				if profile != nil {
					out = mustInsert(t, file, profile, Options{AllPages: all})
				}
				to := filepath.Join(folder, kind+map[bool]string{true: "-all-"}[all]+filepath.Base(name))
				changed = append(changed, writeFile(t, to, out))
				want = append(want, digest(profile), before[2*i+1])
			}
		}
	}
	got := strings.Fields(pillow(t, lookAt, changed...))
	if len(got) != len(want) {
		t.Fatalf("%d results for %d files", len(got), len(changed))
	}
	for i, name := range changed {
		if got[2*i] != want[2*i] {
			t.Errorf("%s: Pillow finds another profile", filepath.Base(name))
		}
		if got[2*i+1] != want[2*i+1] {
			t.Errorf("%s: Pillow decodes other pixels", filepath.Base(name))
		}
	}
	t.Logf("%d files of Pillow and libtiff, %d made of them", len(names), len(changed))
}

// ExifTool finds the same bytes, and has no more to warn of than before.
func TestExifTool(t *testing.T) {
	names, _, _ := foreignFiles(t)
	from, to := filepath.Dir(names[0]), t.TempDir()
	exiftool := func(args ...string) string {
		return run(t, "libimage-exiftool-perl", "exiftool", append([]string{"-q", "-q", "-fileOrder", "filename"}, args...)...)
	}
	for _, name := range names {
		writeFile(t, filepath.Join(to, filepath.Base(name)), mustInsert(t, readFile(t, name), profileFor(t, spaceOf(name)), Options{AllPages: true}))
	}
	validate := func(folder string) []string {
		return strings.Split(exiftool("-T", "-filename", "-validate", "-warning", folder), "\n")
	}
	was, is := validate(from), validate(to)
	if len(is) < len(names) || len(was) != len(is) {
		t.Fatalf("ExifTool says %d and %d things about %d files", len(was), len(is), len(names))
	}
	for i := range is {
		if was[i] != is[i] && strings.HasPrefix(is[i], "bare") { // Pillow's "with" have no real profiles
			t.Errorf("ExifTool says %q, before it said %q", is[i], was[i])
		}
	}
	exiftool("-b", "-icc_profile", "-w", "%d%f.%e.icc", to)
	for _, name := range names {
		got := readFile(t, filepath.Join(to, filepath.Base(name)+".icc"))
		if !bytes.Equal(got, profileFor(t, spaceOf(name))) {
			t.Errorf("%s: ExifTool finds %d other bytes", filepath.Base(name), len(got))
		}
	}
}

// ExifTool finds the second image of a multi-picture file by its list, and the
// code points of a PNG.
func TestExifToolOtherMarks(t *testing.T) {
	folder := t.TempDir()
	file, length := multi(t, binary.BigEndian, "MM\x00*")
	for name, b := range map[string][]byte{
		"before":   file,
		"inserted": mustInsert(t, file, fakeProfile("mntr", "RGB ", 99999), Options{}),
		"removed":  mustRemove(t, file, Options{}),
	} {
		out := writeFile(t, filepath.Join(folder, name+".jpg"), b)
		if got := run(t, "libimage-exiftool-perl", "exiftool", "-b", "-MPImage2", out); got != string(file[length:]) {
			t.Errorf("%s: ExifTool finds a second image of %d bytes, it has %d", name, len(got), len(file)-length)
		}
	}
	out := writeFile(t, filepath.Join(folder, "p3.png"), mustRemove(t, samples(t)[2].bytes, Options{CICP: cicpFor(".png")}))
	if got := run(t, "libimage-exiftool-perl", "exiftool", "-v3", out); !strings.Contains(got, "0c 0d 00 01") {
		t.Errorf("ExifTool prints\n%s", got)
	}
}

// Each format's own tools accept the files: pngcheck, djpeg and tiffinfo.
func TestFormatTools(t *testing.T) {
	names, _, _ := foreignFiles(t)
	folder := t.TempDir()
	for _, name := range names {
		profile := profileFor(t, spaceOf(name))
		out := writeFile(t, filepath.Join(folder, filepath.Base(name)), mustInsert(t, readFile(t, name), profile, Options{}))
		switch filepath.Ext(name) {
		case ".png":
			if s := run(t, "pngcheck", "pngcheck", "-v", out); !strings.Contains(s, "iCCP") || !strings.Contains(s, "No errors detected") {
				t.Errorf("%s: %s", filepath.Base(name), s)
			}
		case ".jpg":
			if run(t, "libjpeg-turbo-progs", "djpeg", name) != run(t, "libjpeg-turbo-progs", "djpeg", out) {
				t.Errorf("%s: djpeg decodes other pixels", filepath.Base(name))
			}
			if icc := filepath.Join(folder, "icc"); run(t, "libjpeg-turbo-progs", "djpeg", "-icc", icc, out) == "" || !bytes.Equal(readFile(t, icc), profile) {
				t.Errorf("%s: djpeg finds another profile", filepath.Base(name))
			}
		case ".tif":
			if s := run(t, "libtiff-tools", "tiffinfo", "-D", out); !strings.Contains(s, fmt.Sprintf("ICC Profile: <present>, %d bytes", len(profile))) {
				t.Errorf("%s: %s", filepath.Base(name), s)
			}
		}
	}
}
