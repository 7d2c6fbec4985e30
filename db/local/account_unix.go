//go:build unix

package local

import (
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"runtime"
	"strconv"
	"syscall"
)

// Root starts a server in one of two ways, since PostgreSQL refuses to run as root.
//
// Dropped to an account: the owner of the cluster or of the home, if that is not root, else postgres or nobody. The
// account gets the cluster and needs nothing else: a home that it cannot enter does not matter, because the data folder
// is handed over open and reached as /proc/self/fd/3. This needs no right beyond those root has in any container.
//
// In a user namespace, where root goes by another number: for programs that the account cannot reach, as those fetched
// into such a home, and where there is no account. Containers often forbid it.
//
// Not taken: a cluster elsewhere with a pointer in the home (deleting or copying the home would miss it); giving the
// account the right to pass through closed folders (CAP_DAC_READ_SEARCH: others in that account could then read all
// files through the server); the data folder as working folder (initdb up to version 15 leaves it and cannot get back).

// An account is who the server's programs run as.
type account struct {
	name     string
	uid, gid int                 // owner of the cluster's files
	attr     syscall.SysProcAttr // how to become it
	// byDescriptor hands the data folder over already open, so that the account need not be able to enter the folders
	// above it: root's own are closed to everybody else.
	byDescriptor bool
}

// accounts are those that may run the cluster, best first. Only root has a choice.
func (s site) accounts() []account {
	if uid := os.Geteuid(); uid != 0 {
		return []account{{name: "this user", uid: uid, gid: os.Getegid(), attr: newSession()}}
	}
	var all []account
	if a, ok := s.owner(); ok {
		all = append(all, a)
	} else if a, ok := s.system.unprivileged(); ok {
		all = append(all, a)
	}
	return append(all, namespaced()...)
}

// owner is whose cluster it is, or whose home, unless that is root: root then uses it in that account, and its owner
// can use it afterwards.
func (s site) owner() (account, bool) {
	for _, path := range []string{s.data(), s.home} {
		info, err := os.Stat(path)
		if err != nil {
			continue
		}
		uid, _ := ownerOf(info)
		// initdb insists on an account with a name.
		u, err := user.LookupId(strconv.Itoa(uid))
		if err != nil {
			continue
		}
		if a, ok := droppedTo(u); ok {
			return a, true
		}
	}
	return account{}, false
}

// unprivileged is the account that a PostgreSQL package makes for this, or the one of services without their own.
func (sys system) unprivileged() (account, bool) {
	for _, name := range sys.accounts {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		if a, ok := droppedTo(u); ok {
			return a, true
		}
	}
	return account{}, false
}

// droppedTo is the user's account, unless that is root's.
func droppedTo(u *user.User) (account, bool) {
	uid, errU := strconv.Atoi(u.Uid)
	gid, errG := strconv.Atoi(u.Gid)
	if errU != nil || errG != nil || uid == 0 {
		return account{}, false
	}
	attr := newSession()
	attr.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	return account{u.Username, uid, gid, attr, runtime.GOOS == "linux"}, true
}

// newSession takes the server out of the terminal's reach: a Ctrl-C is for the program, not for what others share.
func newSession() syscall.SysProcAttr { return syscall.SysProcAttr{Setsid: true} }

// give makes the account the owner of everything at root.
func (a account) give(root string) error {
	if os.Geteuid() != 0 {
		return nil
	}
	return filepath.WalkDir(root, func(path string, _ fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		return os.Lchown(path, a.uid, a.gid)
	})
}

// ownLikeFolder gives a file made by root to the owner of its folder, who must be able to use it as well.
func ownLikeFolder(path string) error {
	if os.Geteuid() != 0 {
		return nil
	}
	info, err := os.Stat(filepath.Dir(path))
	if err != nil {
		return err
	}
	uid, gid := ownerOf(info)
	return os.Lchown(path, uid, gid)
}

func ownerOf(info fs.FileInfo) (uid, gid int) {
	stat := info.Sys().(*syscall.Stat_t)
	return int(stat.Uid), int(stat.Gid)
}
