package keep

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
)

// Files that are being written lie beside the one they will replace, under its
// name between these two.
const (
	partPrefix = "."
	partSuffix = ".part"
)

// ReplaceFile makes the file at path hold what write writes. Until write has
// returned nil and all of it is safe on disk, path is as it was; then the new
// file takes its place in one step. Whoever reads path meanwhile, and whoever
// comes after a kill at any moment, finds the old file or the new one, whole.
//
// A file that is there keeps its permissions; a symbolic link stays one, and
// what it points to is replaced. The error is write's own, wrapped, or the
// system's; path is untouched then, unless the system fails at the very last,
// when the new file is in place but its name not safe yet, which the error
// says. Only a kill leaves the unfinished file behind: see [Sweep].
func ReplaceFile(path string, write func(io.Writer) error) error {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	mode := fs.FileMode(0o666) // less the user's mask
	info, err := os.Stat(path)
	switch {
	case err == nil && !info.Mode().IsRegular():
		return fmt.Errorf("keep: %s is no ordinary file; give another name", path)
	case err == nil:
		mode = info.Mode().Perm()
	}
	part, err := createPart(path, mode)
	if err != nil {
		return fmt.Errorf("keep: cannot write beside %s: %w", path, err)
	}
	if err := finish(part, info != nil, mode, write); err != nil {
		return errors.Join(fmt.Errorf("keep: cannot write %s: %w", path, err), os.Remove(part.Name()))
	}
	if err := os.Rename(part.Name(), path); err != nil {
		return errors.Join(fmt.Errorf("keep: cannot replace %s: %w", path, err), os.Remove(part.Name()))
	}
	if err := syncFolder(filepath.Dir(path)); err != nil {
		return fmt.Errorf("keep: %s is replaced, but perhaps not safe yet: %w", path, err)
	}
	return nil
}

// ReadFile returns what the file at path holds, at most limit bytes; a larger
// one is an error, and nothing of it is returned. Where there is no file the
// error wraps fs.ErrNotExist.
func ReadFile(path string, limit int64) ([]byte, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("keep: %w", err)
	}
	defer f.Close()
	b, err := io.ReadAll(io.LimitReader(f, limit+1))
	if err != nil {
		return nil, fmt.Errorf("keep: %w", err)
	}
	if int64(len(b)) > limit {
		return nil, fmt.Errorf("keep: %s holds more than %d bytes; is it the right file?", path, limit)
	}
	return b, nil
}

// finish writes and closes part.
func finish(part *os.File, replaces bool, mode fs.FileMode, write func(io.Writer) error) error {
	err := write(part)
	if err == nil && replaces {
		err = part.Chmod(mode) // the mask may have taken something away
		if errors.Is(err, errors.ErrUnsupported) {
			err = nil
		}
	}
	if err == nil {
		err = part.Sync()
	}
	if closeErr := part.Close(); err == nil {
		err = closeErr
	}
	return err
}

// createPart makes a new file beside path under a name that nobody has.
func createPart(path string, mode fs.FileMode) (*os.File, error) {
	dir, base := filepath.Split(path)
	for try := 0; ; try++ {
		name := fmt.Sprintf("%s%s%s.%08x%s", dir, partPrefix, base, rand.Uint32(), partSuffix)
		f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode|0o200)
		if err == nil || !errors.Is(err, fs.ErrExist) || try == 100 {
			return f, err
		}
	}
}

// Sweep removes the unfinished files that killed calls of [ReplaceFile] left in
// the folder dir. Call it where nobody else writes there, for instance while
// holding the folder's lock. A folder that does not exist is swept.
func Sweep(dir string) error {
	entries, err := os.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("keep: cannot sweep %s: %w", dir, err)
	}
	var all error
	for _, e := range entries {
		if isPart(e.Name()) && e.Type().IsRegular() {
			if err := os.Remove(filepath.Join(dir, e.Name())); err != nil {
				all = errors.Join(all, fmt.Errorf("keep: cannot sweep %s: %w", dir, err))
			}
		}
	}
	return all
}

// isPart reports whether name is one that createPart gives: .NAME.DIGITS.part,
// the digits eight and hexadecimal.
func isPart(name string) bool {
	rest, ok := strings.CutPrefix(name, partPrefix)
	if !ok {
		return false
	}
	rest, ok = strings.CutSuffix(rest, partSuffix)
	if !ok || len(rest) < 10 || rest[len(rest)-9] != '.' {
		return false
	}
	return strings.Trim(rest[len(rest)-8:], "0123456789abcdef") == ""
}
