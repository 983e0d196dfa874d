//go:build unix

package office

import (
	"os/exec"
	"syscall"
)

func runAs(cmd *exec.Cmd, uid, gid uint32) {
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uid, Gid: gid}}
}
