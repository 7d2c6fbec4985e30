//go:build unix && !linux

package local

import (
	"os/exec"
	"strconv"
	"strings"
)

// worksIn says whether the process is a server of the cluster in dir. There is no telling a process's working folder
// here without help, but a server shows the cluster it was started for in its command line.
func worksIn(pid int, dir string) bool {
	out, err := exec.Command("ps", "-ww", "-o", "command=", "-p", strconv.Itoa(pid)).Output()
	return err == nil && strings.Contains(string(out), dir)
}

// endOrphans is for Linux; elsewhere the start is tried again until they have gone.
func endOrphans(string) {}
