package local

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// serves says whether the process belongs to a server of the cluster in data, which carries that name. The name stands
// in the command line, which anybody may read; the working folder tells for a server started by hand, but a container
// keeps it from root.
func serves(pid int, name, data string) bool {
	proc := filepath.Join("/proc", strconv.Itoa(pid))
	comm, err := os.ReadFile(filepath.Join(proc, "comm"))
	if err != nil || !strings.HasPrefix(string(comm), "postgres") {
		return false
	}
	line, err := os.ReadFile(filepath.Join(proc, "cmdline"))
	if err == nil && strings.Contains(string(line), name) {
		return true
	}
	cwd, errC := os.Stat(filepath.Join(proc, "cwd"))
	want, errD := os.Stat(data)
	return errC == nil && errD == nil && os.SameFile(cwd, want)
}

// endOrphans kills the processes that a killed postmaster left behind. Nothing is lost: recovery starts from the log in
// any case.
func endOrphans(name, data string) {
	processes, _ := filepath.Glob("/proc/[0-9]*")
	for _, path := range processes {
		pid, err := strconv.Atoi(filepath.Base(path))
		if err == nil && serves(pid, name, data) {
			_ = syscall.Kill(pid, syscall.SIGKILL)
		}
	}
}
