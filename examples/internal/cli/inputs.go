package cli

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"os"
	"strings"
)

// Inputs reads the files that a user named and remembers what they held.
type Inputs struct{ sums []string }

// Read opens the file at path and lets use read it. Every error has the status
// BadInput and names the path.
func (in *Inputs) Read(path string, use func(io.Reader) error) error {
	file, err := os.Open(path)
	if err != nil {
		return Bad("%w", err)
	}
	defer file.Close()
	sum := sha256.New()
	if err := use(io.TeeReader(file, sum)); err != nil {
		if strings.Contains(err.Error(), path) {
			return Give(BadInput, err)
		}
		return Bad("%s: %w", path, err)
	}
	in.sums = append(in.sums, hex.EncodeToString(sum.Sum(nil)))
	return nil
}

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
