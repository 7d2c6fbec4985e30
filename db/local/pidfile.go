//go:build unix

package local

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
)

// What PostgreSQL itself makes of a postmaster.pid that is there when it starts:
//
//	the process is gone                          removes it and recovers
//	the process is of another account            takes it for gone
//	the process is of the same account           refuses, though it may be a stranger with a number given away anew
//	the file is empty, as after a power cut      refuses
//	processes of the old server live on          refuses, as long as they hold its shared memory
//
// The three refusals are cleared up before a start, when nothing that holds the cluster is left.

// postmaster is what a server says about itself in postmaster.pid.
type postmaster struct {
	pid    int    // 0 when the file does not say
	socket string // folder of its socket; empty while it begins
	ready  bool
}

// postmaster reads the file. It is not there when no server ran or the last one ended in order; one that a power cut
// left empty or half written has pid 0.
func (s site) postmaster() (p postmaster, there bool, err error) {
	text, err := os.ReadFile(filepath.Join(s.data(), "postmaster.pid"))
	if errors.Is(err, fs.ErrNotExist) {
		return p, false, nil
	}
	if err != nil {
		return p, false, err
	}
	// Lines: pid, data folder, start time, port, socket folder, address, memory key, state.
	// https://www.postgresql.org/docs/15/storage-file-layout.html
	lines := strings.Split(string(text), "\n")
	line := func(n int) string {
		if n < len(lines) {
			return strings.TrimSpace(lines[n])
		}
		return ""
	}
	// A standalone backend writes its process id as a negative number; 1 is never a server of ours.
	if pid, err := strconv.Atoi(line(0)); err == nil && pid > 1 {
		p.pid = pid
	}
	p.socket, p.ready = line(4), line(7) == "ready"
	return p, true, nil
}

// lives says whether the postmaster is a process of this cluster. A process id alone does not tell: after a crash it
// may have gone to a stranger.
func (s site) lives(p postmaster) bool {
	if p.pid == 0 {
		return false
	}
	if err := syscall.Kill(p.pid, 0); err != nil && !errors.Is(err, syscall.EPERM) {
		return false
	}
	return serves(p.pid, s.name(), s.data())
}

// forget removes a postmaster.pid that a server which is no more left behind. PostgreSQL does so itself unless the
// file is empty or the process id belongs to somebody else of the same account now.
func (s site) forget() error {
	err := os.Remove(filepath.Join(s.data(), "postmaster.pid"))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	return err
}
