//go:build unix

package local

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

// closedDir is a folder that only its owner can enter, as root's home is.
func closedDir(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(openDir(t), "closed")
	must(t, os.Mkdir(dir, 0o700))
	return dir
}

// serverUser is the account that home's server runs in, as the kernel has it.
func serverUser(t *testing.T, home string) int {
	t.Helper()
	info, err := os.Stat(filepath.Join("/proc", strconv.Itoa(running(t, home))))
	must(t, err)
	uid, _ := ownerOf(info)
	return uid
}

// Root's own folders are closed to the account that runs the server.
func TestRootBelowAClosedFolder(t *testing.T) {
	skipUnlessRoot(t)
	closed := closedDir(t)
	home := filepath.Join(closed, "deep", "home")
	for range 2 {
		s := opened(t, home)
		must(t, addRow(t.Context(), s))
		if uid := serverUser(t, home); uid == 0 {
			t.Error("server: found it running as root, expected another account")
		}
		must(t, s.Close())
		expectStopped(t, home)
	}
	// A link to the home from where everybody may pass leads the account to the same closed door.
	link := filepath.Join(openDir(t), "link")
	must(t, os.Symlink(home, link))
	killed := opened(t, link)
	killServer(t, home)
	must(t, addRow(t.Context(), opened(t, home)))
	must(t, killed.Close())
	for _, path := range []string{closed, home} {
		info, err := os.Stat(path)
		must(t, err)
		if uid, _ := ownerOf(info); uid != 0 {
			t.Errorf("%s: found it given to user %d, expected it still root's", path, uid)
		}
	}
	info, err := os.Stat(closed)
	must(t, err)
	if info.Mode().Perm() != 0o700 {
		t.Errorf("%s: found mode %v, expected 0700 as before", closed, info.Mode())
	}
}

// The closed folder does keep the account out: it is the open descriptor that lets the server in.
func TestClosedFolderKeepsTheAccountOut(t *testing.T) {
	skipUnlessRoot(t)
	home := filepath.Join(closedDir(t), "home")
	copyTree(t, newHome(t), home)
	a := siteOf(home).account(t)
	out, err := a.command(t.Context(), "/bin/ls", filepath.Join(home, "pgdata")).CombinedOutput()
	if err == nil {
		t.Errorf("found %s listed by %s, expected the folder above to keep it out", out, a.name)
	}
}

// Without an account to drop to, root goes by another number in a user namespace. A cluster changes hands both ways.
func TestRootInAUserNamespace(t *testing.T) {
	skipUnlessRoot(t)
	if err := exec.Command("unshare", "--user", "true").Run(); err != nil {
		t.Skipf("NOT CHECKED: no user namespaces here: %v", err)
	}
	home := filepath.Join(closedDir(t), "home")
	none := thisSystem()
	none.accounts = []string{"no-such-account"}
	for i, sys := range []system{none, none, thisSystem(), none} {
		s, err := open(t.Context(), home, sys, durable)
		must(t, err)
		must(t, addRow(t.Context(), s))
		if n := visits(t, s); n != strconv.Itoa(i+1) {
			t.Errorf("rows: found %s, expected %d", n, i+1)
		}
		must(t, s.Close())
		expectStopped(t, home)
	}
}

// Root that uses a user's home, as by sudo, leaves it usable for the user.
func TestRootInAUsersHome(t *testing.T) {
	skipUnlessRoot(t)
	nobody, ok := system{accounts: []string{"nobody"}}.unprivileged()
	if !ok {
		t.Skip("NOT CHECKED: no account nobody here")
	}
	for _, rootFirst := range []bool{true, false} {
		home := filepath.Join(openDir(t), "home")
		if rootFirst {
			must(t, os.Mkdir(home, 0o700))
		} else {
			copyTree(t, newHome(t), home)
		}
		must(t, nobody.give(home))
		useAsRoot := func() {
			s := opened(t, home)
			must(t, addRow(t.Context(), s))
			if uid := serverUser(t, home); uid != nobody.uid {
				t.Errorf("server: found user %d, expected the home's owner %d", uid, nobody.uid)
			}
			must(t, s.Close())
		}
		if rootFirst {
			useAsRoot()
		}
		startHelper(t, home, inAccount(t, nobody)).begun().end()
		useAsRoot()
		startHelper(t, home, inAccount(t, nobody)).begun().end()
		expectStopped(t, home)
	}
}

// An ordinary user, which the tests of this package otherwise are not when root runs them.
func TestOrdinaryUser(t *testing.T) {
	skipUnlessRoot(t)
	user, ok := system{accounts: []string{"nobody"}}.unprivileged()
	if !ok {
		t.Skip("NOT CHECKED: no account nobody here")
	}
	dir := openDir(t)
	must(t, os.Chown(dir, user.uid, user.gid))
	home := filepath.Join(dir, "share", "home")
	first := startHelper(t, home, inAccount(t, user)).begun()
	second := startHelper(t, home, inAccount(t, user)).begun()
	if uid := serverUser(t, home); uid != user.uid {
		t.Errorf("server: found user %d, expected %d", uid, user.uid)
	}
	info, err := os.Stat(home)
	must(t, err)
	if info.Mode().Perm() != 0o700 {
		t.Errorf("%s: found mode %v, expected 0700", home, info.Mode())
	}
	pid := running(t, home)
	first.kill()
	must(t, syscall.Kill(pid, syscall.SIGKILL))
	second.end()
	startHelper(t, home, inAccount(t, user)).begun().end()
	expectStopped(t, home)
	left, err := filepath.Glob(filepath.Join(home, "*"))
	must(t, err)
	for i := range left {
		left[i] = filepath.Base(left[i])
	}
	if got, want := strings.Join(left, " "), "pgdata postgres.log start.lock users.lock"; got != want {
		t.Errorf("home: found %s, expected %s", got, want)
	}
}

// containerRights are what root has in a container unless more is granted, from memory: among others it may not look
// into other accounts' processes, nor pass where permissions only let it search.
const containerRights = "-all,+chown,+dac_override,+fowner,+fsetid,+kill,+setgid,+setuid,+setpcap,+net_bind_service," +
	"+net_raw,+sys_chroot,+mknod,+audit_write,+setfcap"

func TestRootWithAContainersRights(t *testing.T) {
	skipUnlessRoot(t)
	setpriv, err := exec.LookPath("setpriv")
	if err != nil {
		t.Skip("NOT CHECKED: no setpriv here")
	}
	contained := func(cmd *exec.Cmd) {
		cmd.Path = setpriv
		cmd.Args = []string{"setpriv", "--no-new-privs", "--bounding-set", containerRights, "--inh-caps", containerRights, os.Args[0]}
	}
	closed := filepath.Join(closedDir(t), "home")
	copyTree(t, newHome(t), closed)
	for _, home := range []string{closed, newHome(t)} {
		killOneAfterTheOther(t, home, contained)
	}
}

func killOneAfterTheOther(t *testing.T, home string, contained func(*exec.Cmd)) {
	t.Helper()
	first := startHelper(t, home, contained).begun()
	second := startHelper(t, home, contained).begun()
	server := running(t, home)
	first.kill()
	third := startHelper(t, home, contained).begun()
	if pid := running(t, home); pid != server || pid == 0 {
		t.Errorf("server: found process %d, expected %d joined", pid, server)
	}
	killServer(t, home)
	startHelper(t, home, contained).begun().end()
	second.end()
	third.end()
	expectStopped(t, home)
}

// inAccount runs a helper in the account, from a copy of the test binary that it can reach.
func inAccount(t *testing.T, a account) func(*exec.Cmd) {
	t.Helper()
	binary := filepath.Join(openDirIn(t, ""), "helper")
	copyTree(t, os.Args[0], binary)
	must(t, os.Chmod(binary, 0o755))
	return func(cmd *exec.Cmd) {
		cmd.Path, cmd.Dir = binary, "/"
		as(a.uid, a.gid)(cmd)
	}
}
