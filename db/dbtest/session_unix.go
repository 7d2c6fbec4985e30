//go:build unix

package dbtest

import "syscall"

// ownSession keeps a Ctrl-C in the terminal from the keeper.
func ownSession() *syscall.SysProcAttr { return &syscall.SysProcAttr{Setsid: true} }
