//go:build unix

package plug_test

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// survivors returns the processes that the helper noted in dir and that live.
func survivors(dir string) (alive []string) {
	b, err := os.ReadFile(filepath.Join(dir, "pids"))
	if err != nil {
		return nil
	}
	for _, f := range strings.Fields(string(b)) {
		pid, err := strconv.Atoi(f)
		if err == nil && syscall.Kill(pid, 0) == nil && !zombie(pid) {
			alive = append(alive, f)
		}
	}
	return alive
}

// zombie reports whether a process ended and only its parent, which is not we,
// has not taken notice yet.
func zombie(pid int) bool {
	b, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/stat")
	if err != nil {
		return false
	}
	_, state, _ := strings.Cut(string(b), ") ")
	return strings.HasPrefix(state, "Z")
}
