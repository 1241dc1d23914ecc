package keep

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// AppendLine adds line, one JSON value, and a newline to the file at path, made
// where there is none, and returns once they are safe. Where the file's last
// line lacks its end, it is completed if it is whole JSON, and cut off if it is
// not: then an earlier call was killed while writing it.
//
// It takes no lock. Where several processes may append, or where the caller
// must look before it appends, it holds [Lock] meanwhile.
//
// It is an error if line is not one JSON value on one line of at most 1 MiB, or
// if the system cannot write it; what it took of the line is then cut off.
func AppendLine(path string, line []byte) error {
	if bytes.IndexByte(line, '\n') >= 0 || len(line) > maxJournalLine || !json.Valid(line) {
		return fmt.Errorf("keep: cannot append to %s: the line is not one JSON value on one line of at most %d bytes", path, maxJournalLine)
	}
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o666)
	if err != nil {
		return fmt.Errorf("keep: cannot append to the file: %w", err)
	}
	err = appendTo(f, line)
	if closeErr := f.Close(); err == nil {
		err = closeErr
	}
	if err == nil {
		err = syncFolder(filepath.Dir(path))
	}
	if err != nil {
		return fmt.Errorf("keep: cannot append to %s: %w", path, err)
	}
	return nil
}

func appendTo(f *os.File, line []byte) error {
	size, mended, err := mendEnd(f)
	if err != nil {
		return err
	}
	whole := append(append(mended, line...), '\n')
	if _, err := f.WriteAt(whole, size); err != nil {
		return errors.Join(err, f.Truncate(size))
	}
	return f.Sync()
}

// mendEnd returns where the next line goes and what must go there first: a
// newline where the last line is whole but lacks it.
func mendEnd(f *os.File) (size int64, first []byte, err error) {
	end, err := f.Seek(0, io.SeekEnd)
	if err != nil {
		return 0, nil, err
	}
	tail := make([]byte, min(end, maxJournalLine+1))
	start := end - int64(len(tail))
	if _, err := f.ReadAt(tail, start); err != nil && err != io.EOF {
		return 0, nil, err
	}
	cut := bytes.LastIndexByte(tail, '\n') + 1
	last := tail[cut:]
	switch {
	case len(last) == 0:
		return end, nil, nil
	case json.Valid(last):
		return end, []byte{'\n'}, nil
	case cut == 0 && start > 0:
		return 0, nil, fmt.Errorf("its last line is longer than %d bytes; is it the right file?", maxJournalLine)
	}
	size = start + int64(cut)
	return size, nil, f.Truncate(size)
}
