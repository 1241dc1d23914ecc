//go:build !linux && !js

package keep_test

import "fmt"

// systemTask would do the tasks of children that need Linux.
func systemTask(task, _ string) error { return fmt.Errorf("no task %q", task) }
