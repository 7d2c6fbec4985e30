//go:build unix

package local

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
)

// maxSocketPath is what fits into a socket's address: 107 bytes on Linux, 103 on macOS.
const maxSocketPath = 103

// plainPath needs no quoting in the server's list of folders nor in a connection string.
var plainPath = regexp.MustCompile(`^[\w./+-]+$`)

// socketFolder makes the folder of the server's socket. It lies outside the home, whose path may be too long for a
// socket and which the account may not be able to enter; a server that runs says in postmaster.pid where it is, so that
// a process with another TMPDIR finds it. The folder is nobody else's: one made by a stranger is refused.
func (s site) socketFolder(a account) (string, error) {
	real, err := filepath.EvalSymlinks(s.home)
	if err != nil {
		return "", err
	}
	hash := sha256.Sum256([]byte(real))
	name := fmt.Sprintf("circlip-%x", hash[:8])
	dir := filepath.Join(s.system.getenv("TMPDIR"), name)
	full := filepath.Join(dir, fmt.Sprintf(".s.PGSQL.%d", port))
	// Root's TMPDIR may be closed to the account.
	if os.Geteuid() == 0 || !filepath.IsAbs(dir) || len(full) > maxSocketPath || !plainPath.MatchString(dir) {
		dir = filepath.Join("/tmp", name)
	}
	err = os.Mkdir(dir, 0o700)
	if err != nil && !errors.Is(err, fs.ErrExist) {
		return "", fmt.Errorf("folder of the database's socket: %w", err)
	}
	made := err == nil
	info, err := os.Lstat(dir)
	if err != nil {
		return "", err
	}
	uid, _ := ownerOf(info)
	if !info.IsDir() || info.Mode().Perm() != 0o700 || !made && uid != a.uid && uid != os.Geteuid() {
		return "", fmt.Errorf("folder of the database's socket: found %s (%v, of user %d), expected a folder of user %d that nobody else may enter; remove it",
			dir, info.Mode(), uid, a.uid)
	}
	return dir, a.give(dir)
}
