//go:build unix

package local

import (
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
)

// maxSocketPath is what fits into a socket's address: 107 bytes on Linux, 103 on macOS.
const maxSocketPath = 103

// plainPath needs no quoting in the server's list of folders nor in a connection string.
var plainPath = regexp.MustCompile(`^[\w./+-]+$`)

// socketFolder makes the folder of the server's socket anew; start.lock is held and no server runs, so one that is there
// is a killed server's, or a stranger's, which is refused. A server that runs says in postmaster.pid where it is, so a
// process with another TMPDIR finds it.
func (s site) socketFolder(a account) (string, error) {
	dir, err := s.chooseSocketFolder()
	if err != nil {
		return "", err
	}
	clearSocketFolder(dir)
	// Mkdir fails for whatever is there, links included, so the folder is ours and closed.
	if err := os.Mkdir(dir, 0o700); err != nil {
		return "", fmt.Errorf("folder of the database's socket: %w; expected none there, remove it", err)
	}
	return dir, a.give(dir)
}

// clearSocketFolder removes a socket's folder as far as there is nothing else in it.
func clearSocketFolder(dir string) {
	// Not RemoveAll: the name may be a user's folder by chance.
	name := filepath.Join(dir, fmt.Sprintf(".s.PGSQL.%d", port))
	_ = os.Remove(name)
	_ = os.Remove(name + ".lock")
	_ = os.Remove(dir)
}

// chooseSocketFolder takes the home if its path is short enough for a socket and the account can pass, else a folder
// for temporary files.
func (s site) chooseSocketFolder() (string, error) {
	home, err := filepath.EvalSymlinks(s.home)
	if err != nil {
		return "", err
	}
	choices := []string{filepath.Join(home, "pgsocket"), filepath.Join(s.system.getenv("TMPDIR"), s.name())}
	for _, dir := range choices {
		full := filepath.Join(dir, fmt.Sprintf(".s.PGSQL.%d", port))
		if filepath.IsAbs(dir) && len(full) <= maxSocketPath && plainPath.MatchString(dir) && passable(filepath.Dir(dir)) {
			return dir, nil
		}
	}
	return filepath.Join("/tmp", s.name()), nil
}

// passable says whether the account that runs the server may pass through the folder and all above it. Only root's
// server runs in another account.
func passable(dir string) bool {
	if os.Geteuid() != 0 {
		return true
	}
	// Rights given to its groups or by access lists do not count; /tmp will do then.
	for ; ; dir = filepath.Dir(dir) {
		info, err := os.Stat(dir)
		if err != nil || info.Mode()&0o001 == 0 {
			return false
		}
		if dir == filepath.Dir(dir) {
			return true
		}
	}
}

// oursAlone says whether the folder is one that socketFolder makes: a cluster started by hand has its socket elsewhere.
func oursAlone(dir string) bool {
	base := filepath.Base(dir)
	return base == "pgsocket" || strings.HasPrefix(base, "circlip-")
}
