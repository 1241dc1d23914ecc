//go:build unix

package keep

import (
	"errors"
	"fmt"
	"os"
	"syscall"
)

// syncFolder makes the names in dir safe. Some file systems cannot sync a
// folder and say so by EINVAL or ENOTSUP; there is nothing more to do there.
func syncFolder(dir string) error {
	if dir == "" {
		dir = "."
	}
	f, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("cannot sync the folder %s: %w", dir, err)
	}
	defer f.Close()
	if err := f.Sync(); err != nil && !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return fmt.Errorf("cannot sync the folder %s: %w", dir, err)
	}
	return nil
}
