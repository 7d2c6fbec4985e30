//go:build unix && !linux

package local

import (
	"os/exec"
	"strconv"
	"strings"
)

// serves says whether the process belongs to a server of the cluster in data, which carries that name.
func serves(pid int, name, data string) bool {
	out, err := exec.Command("ps", "-ww", "-o", "command=", "-p", strconv.Itoa(pid)).Output()
	line := string(out)
	return err == nil && strings.Contains(line, "postgres") && (strings.Contains(line, name) || strings.Contains(line, data))
}

// endOrphans is for Linux; elsewhere a new server waits until they have gone.
func endOrphans(string, string) {}
