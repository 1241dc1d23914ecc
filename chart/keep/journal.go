package keep

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
)

// Bounds of a journal. A reading takes about a kilobyte, a set of correction
// curves some tens: 1 MiB a line and 1 GiB in all are far from both.
const (
	maxJournalLine  = 1 << 20
	maxJournalBytes = 1 << 30
)

// Journal is a file that grows by lines. It is safe for concurrent use.
type Journal struct {
	mu     sync.Mutex
	file   *os.File
	size   int64 // bytes of whole lines
	broken error // why nothing more can be appended
}

// OpenJournal opens the journal at path, making it where there is none, and
// returns the lines it holds, without their ends. A last line without its end
// was being written when the run died; nothing was built on it, and it is cut
// off. The caller closes the journal.
//
// The file is locked, as by [Lock], until the journal is closed or the process
// ends: two runs on one journal would write over each other. The error wraps
// [ErrLocked] where another run has it open. It is also an error if the file
// cannot be read and written, is larger than 1 GiB or has a line longer than
// 1 MiB.
func OpenJournal(path string) (*Journal, [][]byte, error) {
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return nil, nil, fmt.Errorf("keep: cannot open the journal: %w", err)
	}
	held, err := tryLock(f)
	if err == nil && !held {
		err = fmt.Errorf("%w; wait until it has ended, or end it", ErrLocked)
	}
	var lines [][]byte
	var size int64
	var torn bool
	if err == nil {
		lines, size, torn, err = wholeLines(f)
	}
	if err == nil && torn {
		err = f.Truncate(size)
	}
	if err == nil {
		err = f.Sync()
	}
	if err == nil {
		err = syncFolder(filepath.Dir(path))
	}
	if err != nil {
		f.Close()
		return nil, nil, fmt.Errorf("keep: cannot open the journal %s: %w", path, err)
	}
	return &Journal{file: f, size: size}, lines, nil
}

// ReadJournal returns the lines of the journal at path, without their ends, and
// whether a torn last line was left out. It changes nothing. A journal that
// does not exist gives an error that wraps fs.ErrNotExist.
func ReadJournal(path string) (lines [][]byte, torn bool, err error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, false, fmt.Errorf("keep: cannot read the journal: %w", err)
	}
	defer f.Close()
	lines, _, torn, err = wholeLines(f)
	if err != nil {
		return nil, false, fmt.Errorf("keep: cannot read the journal %s: %w", path, err)
	}
	return lines, torn, nil
}

// wholeLines returns the whole lines of r, their bytes in all, and whether
// something follows them.
func wholeLines(r io.Reader) (lines [][]byte, size int64, torn bool, err error) {
	b := bufio.NewReaderSize(r, 64<<10)
	for {
		line, err := readLine(b)
		switch {
		case err == io.EOF:
			return lines, size, len(line) > 0, nil
		case err != nil:
			return nil, 0, false, fmt.Errorf("line %d: %w", len(lines)+1, err)
		}
		if size += int64(len(line)) + 1; size > maxJournalBytes {
			return nil, 0, false, fmt.Errorf("it is larger than %d bytes", maxJournalBytes)
		}
		lines = append(lines, line)
	}
}

// readLine returns the next line without its end. A line that has none comes
// with io.EOF.
func readLine(r *bufio.Reader) ([]byte, error) {
	var line []byte
	for {
		chunk, err := r.ReadSlice('\n')
		if len(line)+len(chunk) > maxJournalLine+1 {
			return nil, fmt.Errorf("it is longer than %d bytes", maxJournalLine)
		}
		line = append(line, chunk...)
		switch err {
		case nil:
			return line[:len(line)-1], nil
		case bufio.ErrBufferFull:
		default:
			return line, err
		}
	}
}

// Append writes line and a newline in one piece. It returns once the system has
// them: a kill of the process loses nothing then, a crash of the machine what
// was not synced.
//
// It is an error if line holds a newline or is longer than 1 MiB, and if the
// system cannot take it, for instance because the disk is full; what it took of
// the line is cut off again, and where not even that is possible, every later
// Append fails too.
func (j *Journal) Append(line []byte) error {
	if bytes.IndexByte(line, '\n') >= 0 {
		return errors.New("keep: a line of a journal holds no newline")
	}
	if len(line) > maxJournalLine {
		return fmt.Errorf("keep: a line of a journal has at most %d bytes; this one has %d", maxJournalLine, len(line))
	}
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.broken != nil {
		return j.broken
	}
	whole := append(append(make([]byte, 0, len(line)+1), line...), '\n')
	if _, err := j.file.WriteAt(whole, j.size); err != nil {
		err = fmt.Errorf("keep: cannot write to the journal: %w", err)
		if cut := j.file.Truncate(j.size); cut != nil {
			j.broken = err
		}
		return err
	}
	j.size += int64(len(whole))
	return nil
}

// Sync returns once all appended lines are on the disk, as far as the system
// can tell.
func (j *Journal) Sync() error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if j.broken != nil {
		return j.broken
	}
	if err := j.file.Sync(); err != nil {
		// What a failed sync left on the disk is unknown, and a second one may
		// succeed without having written it.
		j.broken = fmt.Errorf("keep: cannot sync the journal: %w", err)
		return j.broken
	}
	return nil
}

// Close syncs and closes the journal. Nothing can be appended afterwards;
// closing again does nothing.
func (j *Journal) Close() error {
	j.mu.Lock()
	defer j.mu.Unlock()
	if errors.Is(j.broken, fs.ErrClosed) {
		return nil
	}
	err := errors.Join(j.broken, j.file.Sync(), j.file.Close())
	j.broken = fmt.Errorf("keep: the journal: %w", fs.ErrClosed)
	return err
}
