package local

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// worksIn says whether the process's working folder is dir, as it is for every process of a PostgreSQL server.
func worksIn(pid int, dir string) bool {
	cwd, err := os.Stat(fmt.Sprintf("/proc/%d/cwd", pid))
	if err != nil {
		return false
	}
	want, err := os.Stat(dir)
	return err == nil && os.SameFile(cwd, want)
}

// endOrphans kills the processes that a killed postmaster left behind: one that is busy does not notice for as long as
// its statement runs, and keeps a new server from starting. Nothing is lost, recovery starts from the log in any case.
func endOrphans(dir string) {
	commands, _ := filepath.Glob("/proc/[0-9]*/comm")
	for _, path := range commands {
		comm, err := os.ReadFile(path)
		pid, _ := strconv.Atoi(filepath.Base(filepath.Dir(path)))
		if err == nil && strings.HasPrefix(string(comm), "postgres") && worksIn(pid, dir) {
			_ = syscall.Kill(pid, syscall.SIGKILL)
		}
	}
}
