//go:build !unix

package plug

import "os/exec"

// apart does nothing: this system knows no process groups that can be ended.
func apart(*exec.Cmd) {}

// killGroup ends the program. What it started itself is left behind.
func killGroup(cmd *exec.Cmd) { _ = cmd.Process.Kill() }
