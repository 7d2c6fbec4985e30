//go:build unix

package local

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// bare is a system with nothing on it but what a test puts there: commands in bin, servers in servers/MAJOR.
type bare struct {
	system
	dir string
	env map[string]string
}

func bareSystem(t *testing.T) bare {
	t.Helper()
	dir := openDirIn(t, "") // programs may not be run from memory everywhere
	b := bare{dir: dir, env: map[string]string{"PATH": filepath.Join(dir, "bin")}}
	release := filepath.Join(dir, "os-release")
	must(t, os.WriteFile(release, []byte("ID=debian\nVERSION_ID=\"12\"\n"), 0o644))
	b.system = system{
		getenv:    func(name string) string { return b.env[name] },
		folders:   []string{filepath.Join(dir, "servers", "*")},
		accounts:  thisSystem().accounts,
		osRelease: []string{release},
	}
	return b
}

func (b bare) script(t *testing.T, path, text string) {
	t.Helper()
	path = filepath.Join(b.dir, path)
	must(t, os.MkdirAll(filepath.Dir(path), 0o755))
	must(t, os.WriteFile(path, []byte("#!/bin/sh\n"+text+"\n"), 0o755))
}

// fakeServer says it is of that version and can do nothing else.
func (b bare) fakeServer(t *testing.T, folder, version string) string {
	t.Helper()
	b.script(t, folder+"/postgres", "echo 'postgres (PostgreSQL) "+version+"'")
	b.script(t, folder+"/initdb", "exit 1")
	return filepath.Join(b.dir, folder)
}

// realServer puts the server of this system into the folder of servers.
func (b bare) realServer(t *testing.T, folder string) string {
	t.Helper()
	p, _, ok := siteOf(t.TempDir()).installed(t.Context(), 0)
	if !ok {
		t.Skip("NOT CHECKED: no server is installed here")
	}
	must(t, os.MkdirAll(filepath.Join(b.dir, "servers"), 0o755))
	must(t, os.Symlink(p.dir, filepath.Join(b.dir, folder)))
	return filepath.Join(b.dir, folder)
}

func TestWhichServerIsUsed(t *testing.T) {
	tests := []struct {
		name  string
		major int // of the cluster
		lay   func(t *testing.T, b bare)
		want  string
	}{
		{"the newest of the usual folders", 0, func(t *testing.T, b bare) {
			for _, v := range []string{"15", "18", "9.6", "16"} {
				b.fakeServer(t, "servers/"+v, v+".1")
			}
		}, "servers/18"},
		{"PATH before the usual folders", 0, func(t *testing.T, b bare) {
			b.fakeServer(t, "servers/18", "18.1")
			b.fakeServer(t, "bin", "16.4")
		}, "bin"},
		{"pg_config's before the usual folders", 0, func(t *testing.T, b bare) {
			b.fakeServer(t, "servers/18", "18.1")
			b.script(t, "bin/pg_config", "echo "+b.fakeServer(t, "elsewhere", "17.2"))
		}, "elsewhere"},
		{"pg_config of a client library alone does not matter", 0, func(t *testing.T, b bare) {
			b.fakeServer(t, "servers/18", "18.1")
			b.script(t, "bin/pg_config", "echo /nowhere")
		}, "servers/18"},
		{"one too old is passed over", 0, func(t *testing.T, b bare) {
			b.fakeServer(t, "bin", "14.9")
			b.fakeServer(t, "servers/15", "15.0")
		}, "servers/15"},
		{"a version not yet released", 0, func(t *testing.T, b bare) { b.fakeServer(t, "servers/19", "19beta1 (Debian 19~beta1)") }, "servers/19"},
		{"the cluster's version before newer ones", 16, func(t *testing.T, b bare) {
			for _, v := range []string{"15", "16", "18"} {
				b.fakeServer(t, "servers/"+v, v+".1")
			}
		}, "servers/16"},
		{"the one named before all others", 0, func(t *testing.T, b bare) {
			b.fakeServer(t, "bin", "18.1")
			b.env[binVariable] = b.fakeServer(t, "named", "15.2")
		}, "named"},
		{"programs that are not whole are passed over", 0, func(t *testing.T, b bare) {
			b.fakeServer(t, "servers/18", "18.1")
			must(t, os.Remove(filepath.Join(b.dir, "servers/18/initdb")))
			b.fakeServer(t, "servers/17", "17.1")
		}, "servers/17"},
		{"a server that does not run here is passed over", 0, func(t *testing.T, b bare) {
			b.fakeServer(t, "servers/18", "18.1")
			b.script(t, "servers/18/postgres", "exit 127")
			b.fakeServer(t, "servers/17", "17.1")
		}, "servers/17"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := bareSystem(t)
			tt.lay(t, b)
			s := site{home: filepath.Join(b.dir, "home"), system: b.system}
			p, err := s.programs(t.Context(), tt.major)
			must(t, err)
			if want := filepath.Join(b.dir, tt.want); p.dir != want {
				t.Errorf("found %s, expected %s", p.dir, want)
			}
		})
	}
}

// What the user named and is of no use is an error, not a reason to take something else.
func TestNamedServerThatDoesNotDo(t *testing.T) {
	for name, tt := range map[string]struct {
		folder, version string
		major           int
		says            []string
	}{
		"not there":                    {"", "", 0, []string{"initdb", "/nowhere"}},
		"too old":                      {"named", "14.2", 0, []string{"PostgreSQL 14", "version 15 or newer"}},
		"another version than cluster": {"named", "17.2", 16, []string{"PostgreSQL 17", "made by PostgreSQL 16", "pgdata"}},
	} {
		t.Run(name, func(t *testing.T) {
			b := bareSystem(t)
			b.env[binVariable] = "/nowhere"
			if tt.folder != "" {
				b.env[binVariable] = b.fakeServer(t, tt.folder, tt.version)
			}
			b.fakeServer(t, "servers/16", "16.1")
			_, err := site{home: "/home", system: b.system}.programs(t.Context(), tt.major)
			if !errors.Is(err, ErrNoServer) {
				t.Fatalf("found %v, expected %v", err, ErrNoServer)
			}
			expectContains(t, err.Error(), append(tt.says, binVariable)...)
		})
	}
}

func TestNothingInstalledAndNoNpm(t *testing.T) {
	b := bareSystem(t)
	home := filepath.Join(openDir(t), "home")
	b.env["PATH"] += string(filepath.ListSeparator) + b.fakeServer(t, "servers/old", "14.2")
	_, err := site{home: home, system: b.system}.programs(t.Context(), 0)
	if n := strings.Count(err.Error(), "PostgreSQL 14"); n != 1 {
		t.Errorf("found %q, expected the one server that is too old to be named once", err)
	}
	must(t, os.RemoveAll(filepath.Join(b.dir, "servers")))
	_, err = open(t.Context(), home, b.system, durable)
	if !errors.Is(err, ErrNoServer) {
		t.Fatalf("found %v, expected %v", err, ErrNoServer)
	}
	expectContains(t, err.Error(), "none installed", "version 15 or newer", "npm", "apt-get install postgresql")
	// The lock is free again, and what is installed then is found.
	b.realServer(t, "servers/15")
	s, err := open(t.Context(), home, b.system, durable)
	must(t, err)
	must(t, s.Close())
}

// contents is a fingerprint of every file below root.
func contents(t *testing.T, root string) map[string]string {
	t.Helper()
	all := map[string]string{}
	must(t, filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile(path)
		sum := sha256.Sum256(text)
		all[path] = hex.EncodeToString(sum[:])
		return err
	}))
	return all
}

// A cluster of a version that is not to be had is named, and not a byte of it is touched.
func TestClusterOfAnotherVersion(t *testing.T) {
	b := bareSystem(t)
	server := b.realServer(t, "servers/15")
	home := newHome(t)
	must(t, os.WriteFile(filepath.Join(home, "pgdata", "PG_VERSION"), []byte("16\n"), 0o600))
	before := contents(t, filepath.Join(home, "pgdata"))
	_, err := open(t.Context(), home, b.system, durable)
	if !errors.Is(err, ErrNoServer) {
		t.Fatalf("found %v, expected %v", err, ErrNoServer)
	}
	expectContains(t, err.Error(), "version 16", filepath.Join(home, "pgdata"), "PostgreSQL 15 in "+server, "apt-get install postgresql-16")
	if after := contents(t, filepath.Join(home, "pgdata")); fmt.Sprint(before) != fmt.Sprint(after) {
		t.Error("data folder: found it changed, expected every file as before")
	}
}

// A folder in the cluster's place that is none is the user's.
func TestFolderThatIsNoCluster(t *testing.T) {
	home := filepath.Join(openDir(t), "home")
	must(t, os.MkdirAll(filepath.Join(home, "pgdata"), 0o700))
	must(t, os.WriteFile(filepath.Join(home, "pgdata", "thesis.txt"), []byte("x"), 0o600))
	_, err := Open(t.Context(), home)
	if err == nil {
		t.Fatal("found it used, expected it refused")
	}
	expectContains(t, err.Error(), "pgdata", "PG_VERSION")
	if _, err := os.Stat(filepath.Join(home, "pgdata", "thesis.txt")); err != nil {
		t.Errorf("the user's file: %v, expected it kept", err)
	}
}

func TestInstallCommand(t *testing.T) {
	tests := []struct {
		name, release string
		major         int
		want          string
	}{
		{"Debian", "ID=debian\nVERSION_ID=\"12\"", 0, "apt-get install postgresql"},
		{"Debian, for a cluster", "ID=debian\nVERSION_ID=\"12\"", 16, "apt-get install postgresql-16"},
		{"Debian testing has no number", "ID=debian", 0, "apt-get install postgresql"},
		{"a Debian whose server is too old brings npm", "ID=debian\nVERSION_ID=\"11\"", 0, "apt-get install npm"},
		{"Ubuntu", "ID=ubuntu\nID_LIKE=debian\nVERSION_ID=\"24.04\"", 0, "apt-get install postgresql"},
		{"an Ubuntu whose server is too old", "ID=ubuntu\nID_LIKE=debian\nVERSION_ID=\"22.04\"", 0, "apt-get install npm"},
		{"one like Ubuntu, numbered its own way", "ID=other\nID_LIKE=\"ubuntu debian\"\nVERSION_ID=\"6\"", 0, "apt-get install postgresql"},
		{"Fedora", "ID=fedora\nVERSION_ID=41", 0, "dnf install postgresql-server"},
		{"an enterprise Linux with streams", "ID=\"rocky\"\nID_LIKE=\"rhel centos fedora\"\nVERSION_ID=\"9.4\"", 0, "dnf module install postgresql:16/server"},
		{"an enterprise Linux without", "ID=\"rhel\"\nVERSION_ID=\"10.0\"", 0, "dnf install postgresql-server"},
		{"Arch", "ID=arch", 0, "pacman -S postgresql"},
		{"Alpine", "ID=alpine\nVERSION_ID=3.20.1", 0, "apk add postgresql"},
		{"openSUSE", "ID=\"opensuse-leap\"\nID_LIKE=\"suse opensuse\"", 0, "zypper install postgresql-server"},
		{"unknown", "ID=other", 0, "package manager"},
		{"no file", "", 0, "package manager"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "os-release")
			must(t, os.WriteFile(path, []byte(tt.release+"\n"), 0o644))
			got := system{osRelease: []string{"/no/such/file", path}}.linuxCommand(tt.major)
			if tt.want == "package manager" {
				got = system{osRelease: []string{"/no/such/file", path}}.installCommand(tt.major)
				expectContains(t, got, tt.want, "--database")
			} else if got != tt.want {
				t.Errorf("found %q, expected %q", got, tt.want)
			}
		})
	}
}

func TestFolderVersion(t *testing.T) {
	for path, want := range map[string]int{
		"/usr/lib/postgresql/17/bin": 17, "/usr/pgsql-16/bin": 16, "/usr/lib/postgresql/9.6/bin": 9, "/usr/bin": 0,
		"/opt/homebrew/opt/postgresql@18/bin": 18, "/mnt/disk2/Postgres.app/Contents/Versions/15/bin": 15,
	} {
		if got := folderVersion(path); got != want {
			t.Errorf("%s: found %d, expected %d", path, got, want)
		}
	}
}

func TestLastLines(t *testing.T) {
	if got := lastLines([]byte(strings.Repeat("x\n", 9)+"a\nb\n"), 2); got != "a; b" {
		t.Errorf("found %q, expected the last two lines", got)
	}
}
