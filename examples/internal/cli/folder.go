package cli

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"time"

	"example.org/primaries/chart/keep"
)

// JournalFile is the name of a run's journal in the folder of its results.
const JournalFile = "journal.jsonl"

// Further files by which a results folder knows its own state. The last file of
// a run is written after all others: where it lies, the run is finished.
const (
	lockFile = "run.lock"
	listFile = "files.json"
)

// Folder is the folder of one run's results, locked for this process.
type Folder struct {
	path    string
	options FolderOptions
	lock    *keep.RunLock
	journal *keep.Journal
	files   []string
}

// FolderOptions say how a folder of results may be used.
type FolderOptions struct {
	Force  bool   // earlier results are taken away first
	Resume bool   // a run that was begun goes on; a finished one stays as it is
	Last   string // name of the file that is written last
	// Same reports whether the first line of a finished run's journal is that of
	// the run which is to be resumed; nil takes every one for it.
	Same func(line []byte) bool
	// Notes takes a line where there is nothing to resume; nil drops it.
	Notes io.Writer
}

// OpenFolder makes the folder at path where there is none, takes its lock and
// looks what lies there; nothing of it changes before Begin. An earlier result,
// finished or not, is refused unless the options say what to do about it. Every
// refusal has the status BadInput, except that a finished run which is to be
// resumed has the status Done.
func OpenFolder(path string, o FolderOptions) (*Folder, error) {
	if err := os.MkdirAll(path, 0o777); err != nil {
		return nil, Bad("the results folder cannot be made: %w; give another with -out", err)
	}
	f := &Folder{path: path, options: o}
	var err error
	if f.lock, err = keep.Lock(f.Path(lockFile)); err != nil {
		if errors.Is(err, keep.ErrLocked) {
			return nil, Bad("another run is at work in %s; wait for it, or give another folder with -out", path)
		}
		return nil, Bad("the results folder %s cannot be written: %w; give another with -out", path, err)
	}
	if err := f.look(); err != nil {
		return nil, errors.Join(err, f.Close())
	}
	return f, nil
}

// look refuses what the options do not allow.
func (f *Folder) look() error {
	begun := size(f.Path(JournalFile)) > 0 || size(f.Path(listFile)) >= 0
	switch finished := size(f.Path(f.options.Last)) >= 0; {
	case f.options.Force:
	case finished && f.options.Resume && !f.same():
		return Bad("the run in %s is finished and was made with other options or inputs; give those, another folder with -out, or -force to replace it", f.path)
	case finished && f.options.Resume:
		return Give(Done, fmt.Errorf("the run in %s is finished; nothing was changed", f.path))
	case finished:
		return Bad("%s holds the result of an earlier run; give another folder with -out, or -force to replace it", f.path)
	case begun && !f.options.Resume:
		return Bad("%s holds a run that was begun and not finished; -resume goes on with it, -force begins anew", f.path)
	}
	return nil
}

// same asks whether the journal is that of the run which is to be resumed.
func (f *Folder) same() bool {
	if f.options.Same == nil {
		return true
	}
	lines, _, err := keep.ReadJournal(f.Path(JournalFile))
	return err == nil && len(lines) > 0 && f.options.Same(lines[0])
}

// Begin takes away what is to be replaced and opens the run's journal. The lines
// are those that it holds already, none in a new run.
func (f *Folder) Begin() (journal *keep.Journal, lines [][]byte, err error) {
	// Results without a line of a journal are what a replacement left that was
	// killed: they are not this run's.
	if f.options.Force || size(f.Path(JournalFile)) <= 0 {
		if err := f.clear(); err != nil {
			return nil, nil, err
		}
	}
	if err := keep.Sweep(f.path); err != nil {
		return nil, nil, err
	}
	if f.journal, lines, err = keep.OpenJournal(f.Path(JournalFile)); err != nil {
		return nil, nil, Bad("the run cannot go on: %w", err)
	}
	// A line that was cut off has been dropped; a whole one that is no entry
	// must not be taken for such and written behind.
	if n := len(lines); n > 0 && !json.Valid(lines[n-1]) {
		return nil, nil, Bad("%s, line %d: it is no line of a journal; restore the file from a copy, or begin anew with -force", f.Path(JournalFile), n)
	}
	if f.options.Resume && len(lines) == 0 && f.options.Notes != nil {
		fmt.Fprintf(f.options.Notes, "Nothing was begun in %s: the run begins there.\n", f.path)
	}
	f.files, err = f.listed()
	return f.journal, lines, err
}

// runWithout is the journal's one line of a run without readings of its own.
type runWithout struct {
	Run    string    `json:"run"`
	Start  time.Time `json:"start"`
	Digest string    `json:"digest"`
}

func readWithout(line []byte) (r runWithout, err error) {
	err = keep.StrictJSON(bytes.NewReader(line), &r, 1<<10)
	return r, err
}

// WithoutDigest returns the digest of a run whose journal BeginWithout began
// with line.
func WithoutDigest(line []byte) (string, error) {
	r, err := readWithout(line)
	return r.Digest, err
}

// BeginWithout is Begin for a run that takes no readings of its own: its journal
// says no more than what it is a run of, by a digest, and when it started. It
// returns the run's id and its start, on resume the journal's.
func (f *Folder) BeginWithout(digest string, start time.Time) (id string, began time.Time, err error) {
	journal, lines, err := f.Begin()
	if err != nil {
		return "", start, err
	}
	var begun runWithout
	if len(lines) > 0 {
		if begun, err = readWithout(lines[0]); err != nil || len(lines) > 1 || begun.Digest != digest {
			return "", start, Bad("%s, line 1: the run was begun with other options or inputs; resume with the same, or give another folder with -out", f.Path(JournalFile))
		}
	} else {
		sum := sha256.Sum256(fmt.Appendf(nil, "%s %s %s", f.path, digest, start.Format(time.RFC3339Nano)))
		begun.Run, begun.Start, begun.Digest = hex.EncodeToString(sum[:6]), start, digest
		line, err := json.Marshal(begun)
		if err == nil {
			err = errors.Join(journal.Append(line), journal.Sync())
		}
		if err != nil {
			return "", start, err
		}
	}
	return begun.Run, begun.Start, nil
}

// Discard takes away what this run wrote, for a run that was refused and that
// no -resume could finish: the folder is then as free as a new one.
func (f *Folder) Discard() error {
	if f.journal != nil {
		if err := f.journal.Close(); err != nil {
			return err
		}
		f.journal = nil
	}
	return f.clear()
}

// clear takes away what runs wrote here, and nothing else. The journal goes
// first: a kill leaves an earlier result that is finished, or no run to resume.
// The list goes last, so that what is left can be cleared again.
func (f *Folder) clear() error {
	old, err := f.listed()
	if err != nil {
		return err
	}
	for _, name := range slices.Concat([]string{JournalFile, f.options.Last}, old, []string{listFile}) {
		if err := os.Remove(f.Path(name)); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return Bad("an earlier result cannot be taken away: %w", err)
		}
	}
	return nil
}

// listed returns the names of the files that runs wrote here.
func (f *Folder) listed() ([]string, error) {
	b, err := os.ReadFile(f.Path(listFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var names []string
	if err := keep.StrictJSON(bytes.NewReader(b), &names, 1<<20); err != nil {
		return nil, Bad("%s: %w", f.Path(listFile), err)
	}
	for _, n := range names {
		if n != filepath.Base(n) || n == "." || n == ".." {
			return nil, Bad("%s names %q, which is not a file of this folder; take that line away", f.Path(listFile), n)
		}
	}
	return names, nil
}

// size returns the size of the file at path in bytes, -1 where there is none.
func size(path string) int64 {
	info, err := os.Lstat(path)
	if err != nil {
		return -1
	}
	return info.Size()
}

// Path returns the path of a file of the folder.
func (f *Folder) Path(name string) string { return filepath.Join(f.path, name) }

// Write writes a file of the folder, whole or not at all, after it has noted
// the name among those that a later run may replace.
func (f *Folder) Write(name string, write func(io.Writer) error) error {
	if !slices.Contains(f.files, name) {
		f.files = append(f.files, name)
		slices.Sort(f.files)
		err := keep.ReplaceFile(f.Path(listFile), func(w io.Writer) error {
			return json.NewEncoder(w).Encode(f.files)
		})
		if err != nil {
			return err
		}
	}
	return keep.ReplaceFile(f.Path(name), write)
}

// Close closes the journal and gives the lock back.
func (f *Folder) Close() error {
	var err error
	if f.journal != nil {
		err = f.journal.Close()
	}
	return errors.Join(err, f.lock.Release())
}
