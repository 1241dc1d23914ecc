package cli

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"example.org/primaries/chart/keep"
)

// Inputs reads the files that a user named and remembers what they held.
type Inputs struct {
	// In is what the path "-" stands for; nil makes that a file like any other.
	In          io.Reader
	paths, sums []string
}

// Read opens the file at path and lets use read it, through a reader whose Name
// method returns the path. Every error has the status BadInput and names the
// path, or that of another input, where use says that the error lies there. An
// empty path is an input that was not given, and no error.
func (in *Inputs) Read(path string, use func(io.Reader) error) error {
	if path == "" {
		return nil
	}
	var source io.Reader
	if path == "-" && in.In != nil {
		source, path = in.In, "standard input"
	} else {
		file, err := os.Open(path)
		if err != nil {
			return Bad("%w; give the path of a file that can be read", err)
		}
		defer file.Close()
		source = file
	}
	in.paths = append(in.paths, path)
	sum := sha256.New()
	if err := use(named{io.TeeReader(source, sum), path}); err != nil {
		var other *Error
		if errors.As(err, &other) { // of an input that was read within this one
			return err
		}
		for _, p := range in.paths {
			if strings.Contains(err.Error(), p+",") || strings.Contains(err.Error(), p+":") {
				return Give(BadInput, err)
			}
		}
		return Bad("%s: %w", path, err)
	}
	in.sums = append(in.sums, hex.EncodeToString(sum.Sum(nil)))
	return nil
}

// All returns what r holds, at most mib MiB of it. The error of more ends with
// remedy, such as "make it smaller".
func All(r io.Reader, mib int, remedy string) ([]byte, error) {
	limit := mib << 20
	b, err := io.ReadAll(io.LimitReader(r, int64(limit)+1))
	if err == nil && len(b) > limit {
		return nil, fmt.Errorf("the file is larger than %d MiB; %s", mib, remedy)
	}
	return b, err
}

// Save writes the file whose path the user gave by an option, whole or not at
// all; nothing where the path is empty. An error has the status BadInput.
func Save(option, path string, write func(io.Writer) error) error {
	if path == "" {
		return nil
	}
	if err := keep.ReplaceFile(path, write); err != nil {
		return Bad("%w; give another file with -%s", err, option)
	}
	return nil
}

type named struct {
	io.Reader
	name string
}

func (n named) Name() string { return n.name }

// Digest returns 16 hex digits that name the values, which are anything that
// encoding/json takes, and everything that was read.
func (in *Inputs) Digest(values ...any) (string, error) {
	b, err := json.Marshal([]any{values, in.sums})
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:8]), nil
}
