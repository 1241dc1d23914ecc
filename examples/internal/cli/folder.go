package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"

	"example.org/primaries/chart/keep"
)

// Names of the files by which a results folder knows its own state. The last
// file of a run is written after all others: where it lies, the run is
// finished.
const (
	journalFile = "journal.jsonl"
	lockFile    = "run.lock"
	listFile    = "files.json"
)

// Folder is the folder of one run's results, locked for this process.
type Folder struct {
	path    string
	last    string
	lock    *keep.RunLock
	journal *keep.Journal
	lines   [][]byte
	files   []string
}

// FolderOptions say how a folder of results may be used.
type FolderOptions struct {
	Force  bool   // earlier results are taken away first
	Resume bool   // a run that was begun goes on; a finished one stays as it is
	Last   string // name of the file that is written last
}

// ErrFinished is returned by OpenFolder where the run to resume is finished.
var ErrFinished = errors.New("this run is finished")

// OpenFolder makes the folder at path where there is none, takes its lock and
// opens its journal. An earlier result, finished or not, is refused unless the
// options say what to do about it. Every refusal has the status BadInput.
func OpenFolder(path string, o FolderOptions) (*Folder, error) {
	if err := os.MkdirAll(path, 0o777); err != nil {
		return nil, Bad("the results folder cannot be made: %w; give another with -out", err)
	}
	f := &Folder{path: path, last: o.Last}
	var err error
	if f.lock, err = keep.Lock(f.Path(lockFile)); err != nil {
		if errors.Is(err, keep.ErrLocked) {
			return nil, Bad("another run is at work in %s; wait for it, or give another folder with -out", path)
		}
		return nil, Bad("the results folder %s cannot be written: %w; give another with -out", path, err)
	}
	if err := f.open(o); err != nil {
		f.Close()
		return nil, err
	}
	return f, nil
}

func (f *Folder) open(o FolderOptions) error {
	finished, begun := exists(f.Path(o.Last)), exists(f.Path(journalFile)) || exists(f.Path(listFile))
	switch {
	case o.Force:
		if err := f.clear(); err != nil {
			return err
		}
	case finished && o.Resume:
		return ErrFinished
	case finished:
		return Bad("%s holds the result of an earlier run; give another folder with -out, or -force to replace it", f.path)
	case begun && !o.Resume:
		return Bad("%s holds a run that was begun and not finished; -resume goes on with it, -force begins anew", f.path)
	}
	if err := keep.Sweep(f.path); err != nil {
		return err
	}
	var err error
	if f.journal, f.lines, err = keep.OpenJournal(f.Path(journalFile)); err != nil {
		return Bad("the journal in %s cannot be opened: %w", f.path, err)
	}
	f.files, err = f.listed()
	return err
}

// clear takes away what earlier runs wrote here, and nothing else: first the
// file that says they were finished.
func (f *Folder) clear() error {
	old, err := f.listed()
	if err != nil {
		return err
	}
	for _, name := range append(append([]string{f.last}, old...), journalFile, listFile) {
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

func exists(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}

// Path returns the path of a file of the folder.
func (f *Folder) Path(name string) string { return filepath.Join(f.path, name) }

// Journal returns the run's journal and the lines that it already holds.
func (f *Folder) Journal() (*keep.Journal, [][]byte) { return f.journal, f.lines }

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
