//go:build unix

package plug

import (
	"os/exec"
	"syscall"
)

// apart makes the program the head of a process group of its own, which can be
// ended whole and which an interrupt from the keyboard does not reach.
func apart(cmd *exec.Cmd) { cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true} }

// killGroup ends the program and all that it started, as long as those stayed
// in its group. The program has not been waited for yet, so that its number is
// no other's. It is ended by that too where it left its group.
func killGroup(cmd *exec.Cmd) {
	_ = syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL)
	_ = cmd.Process.Kill()
}
