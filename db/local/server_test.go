//go:build unix

package local

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
)

// What SHOW says is what is in force. The three that a crash may not do without, and checksums, are PostgreSQL's
// defaults or better: https://www.postgresql.org/docs/15/runtime-config-wal.html
func TestSettingsInForce(t *testing.T) {
	home := newHome(t)
	// Settings in the cluster's own files give way.
	auto := filepath.Join(home, "pgdata", "postgresql.auto.conf")
	must(t, os.WriteFile(auto, []byte("fsync = off\nlisten_addresses = '*'\nsynchronous_commit = off\n"), 0o600))
	s := opened(t, home)
	for name, want := range map[string]string{
		"fsync": "on", "full_page_writes": "on", "synchronous_commit": "on", "data_checksums": "on",
		"listen_addresses": "", "unix_socket_permissions": "0700", "TimeZone": "UTC", "server_encoding": "UTF8",
		"lc_messages": "C", "wal_level": "replica",
	} {
		if got := ask(t, s, "SHOW "+name); got != want {
			t.Errorf("%s: found %q, expected %q", name, got, want)
		}
	}
	if got := ask(t, s, "SELECT datcollate FROM pg_database WHERE datname = current_database()"); got != "C" {
		t.Errorf("collation: found %q, expected C", got)
	}
}

// The kernel's own list of listening sockets, whatever the server says.
func TestListensOnNoNetwork(t *testing.T) {
	listening, ok := listeningSockets(t)
	if !ok {
		t.Skip("NOT CHECKED: no /proc/net/tcp here")
	}
	s := opened(t, newHome(t))
	fds := filepath.Join("/proc", strconv.Itoa(running(t, s.site.home)), "fd")
	entries, err := os.ReadDir(fds)
	must(t, err)
	sockets := 0
	for _, e := range entries {
		target, err := os.Readlink(filepath.Join(fds, e.Name()))
		if errors.Is(err, fs.ErrPermission) {
			t.Skip("NOT CHECKED: the server's open files are not to be seen here")
		}
		if inode, ok := strings.CutPrefix(target, "socket:["); ok {
			sockets++
			if at, ok := listening[strings.TrimSuffix(inode, "]")]; ok {
				t.Errorf("found the server listening on the network at %s", at)
			}
		}
	}
	if sockets == 0 {
		t.Error("found no socket of the server at all, so nothing was checked")
	}
}

// listeningSockets maps the inodes of all listening TCP sockets to their addresses.
func listeningSockets(t *testing.T) (map[string]string, bool) {
	t.Helper()
	all := map[string]string{}
	for _, path := range []string{"/proc/net/tcp", "/proc/net/tcp6"} {
		text, err := os.ReadFile(path)
		if err != nil {
			return nil, false
		}
		for _, line := range strings.Split(string(text), "\n")[1:] {
			// Columns: number, local address, remote address, state (0A is LISTEN), …, the tenth the inode.
			if f := strings.Fields(line); len(f) > 9 && f[3] == "0A" {
				all[f[9]] = f[1]
			}
		}
	}
	return all, true
}

func TestDataSurvives(t *testing.T) {
	home := newHome(t)
	for range 3 {
		s := opened(t, home)
		must(t, addRow(t.Context(), s))
		must(t, s.Close())
	}
	if n := visits(t, opened(t, home)); n != "3" {
		t.Errorf("rows: found %s, expected 3", n)
	}
}

// A program killed between making the cluster and making the database.
func TestMissingDatabaseIsMade(t *testing.T) {
	home := newHome(t)
	s := opened(t, home)
	conn, err := pgx.Connect(t.Context(), dsn(s.socket, "postgres"))
	must(t, err)
	_, err = conn.Exec(t.Context(), "DROP DATABASE circlip")
	must(t, errors.Join(err, conn.Close(t.Context())))
	must(t, addRow(t.Context(), opened(t, home))) // joins
	must(t, s.Close())
}

// Linux gives a socket's address 108 bytes, the closing zero included: unix(7).
func TestHomePathLongerThanASocketsLimit(t *testing.T) {
	home := newHome(t)
	for _, length := range []int{86, 87, 88, 89, 107, 108, 109, 400} {
		t.Run(fmt.Sprint(length), func(t *testing.T) {
			long := filepath.Dir(home) + "/"
			for len(long) < length {
				long += strings.Repeat("x", min(200, max(1, length-len(long)-1))) + "/"
			}
			long = filepath.Clean(long[:length])
			must(t, os.MkdirAll(filepath.Dir(long), 0o755))
			must(t, os.Rename(home, long))
			defer os.Rename(long, home)
			s := opened(t, long)
			must(t, addRow(t.Context(), s))
			must(t, s.Close())
			expectStopped(t, long)
		})
	}
}

// A path with characters that mean something in settings, connection strings and shells.
func TestHomePathWithOddCharacters(t *testing.T) {
	home := filepath.Join(openDir(t), `it's, a "home" $HOME; 100 % ü`)
	s := opened(t, home)
	must(t, addRow(t.Context(), s))
	must(t, s.Close())
	expectStopped(t, home)
}

// The environment is the user's, who may work with other servers as well.
func TestEnvironmentOfOtherServers(t *testing.T) {
	for name, value := range map[string]string{
		"PGPORT": "6543", "PGHOST": "example.invalid", "PGUSER": "someone", "PGDATABASE": "other", "PGDATA": "/elsewhere",
		"PGSSLMODE": "verify-full", "PGSSLROOTCERT": "/no/such/file", "LC_ALL": "de_DE.UTF-8", "TZ": "Asia/Kolkata",
	} {
		t.Setenv(name, value)
	}
	s := opened(t, newHome(t))
	if got := ask(t, s, "SHOW log_timezone"); got != "UTC" {
		t.Errorf("log_timezone: found %q, expected UTC", got)
	}
	if got := ask(t, s, "SELECT current_database()::text"); got != "circlip" {
		t.Errorf("database: found %q, expected circlip", got)
	}
}

// Two terminals with different folders for temporary files share one server.
func TestJoinWithAnotherTemporaryFolder(t *testing.T) {
	home := filepath.Join(openDir(t), strings.Repeat("long", 30))
	must(t, os.Rename(newHome(t), home))
	t.Setenv("TMPDIR", openDir(t))
	first := opened(t, home)
	t.Setenv("TMPDIR", openDir(t))
	second := opened(t, home)
	if first.DSN() != second.DSN() {
		t.Errorf("found %s and %s, expected the second to join the first", first.DSN(), second.DSN())
	}
}

// Only the server's account and root may enter the socket's folder, for who gets in is asked for no password.
func TestSocketFolderIsClosed(t *testing.T) {
	s := opened(t, newHome(t))
	info, err := os.Stat(s.socket)
	must(t, err)
	if info.Mode().Perm() != 0o700 {
		t.Errorf("%s: found mode %v, expected 0700", s.socket, info.Mode())
	}
	must(t, s.Close())
	if _, err := os.Stat(s.socket); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%s after the last one left: found %v, expected it removed", s.socket, err)
	}
}

// A stranger may have made a folder of that name where anybody may make folders.
func TestStrangersSocketFolderIsRefused(t *testing.T) {
	home := newHome(t)
	socket := filepath.Join(home, "pgsocket")
	must(t, os.Mkdir(socket, 0o777))
	must(t, os.WriteFile(filepath.Join(socket, "theirs"), nil, 0o600))
	_, err := Open(t.Context(), home)
	if err == nil {
		t.Fatal("found it used, expected it refused")
	}
	expectContains(t, err.Error(), socket)
	if _, err := os.Stat(filepath.Join(socket, "theirs")); err != nil {
		t.Errorf("the stranger's file: %v, expected it left alone", err)
	}
}

func TestLogIsBounded(t *testing.T) {
	home := newHome(t)
	s := opened(t, home)
	long := strings.Repeat("a line of an old log\n", logLimit/20) + "the last line\n"
	must(t, os.WriteFile(s.site.log(), []byte(long), 0o600))
	must(t, s.site.capLog())
	conn, err := pgx.Connect(t.Context(), s.DSN())
	must(t, err)
	defer conn.Close(t.Context())
	// The server goes on writing into the file that was cut short, at its end.
	_, err = conn.Exec(t.Context(), "SELECT 1/0")
	if err == nil {
		t.Fatal("expected an error to be logged")
	}
	text, err := os.ReadFile(s.site.log())
	must(t, err)
	expectContains(t, string(text), "division by zero")
	if len(text) > 1000 || text[0] == 0 {
		t.Errorf("log: found %d bytes beginning %q, expected only what was said since", len(text), text[:1])
	}
	old, err := os.ReadFile(s.site.log() + ".old")
	if err != nil || string(old) != long[len(long)-logLimit:] {
		t.Errorf("old log: found %d bytes (%v), expected the last %d of before", len(old), err, logLimit)
	}
}

// The throwaway server is fast and unsafe, and cannot be had for a home that is meant to last, nor the other way about.
func TestThrowaway(t *testing.T) {
	dir := newHome(t)
	s, err := OpenThrowaway(t.Context(), dir)
	must(t, err)
	defer func() { must(t, s.Close()) }()
	for name, want := range map[string]string{"fsync": "off", "autovacuum": "off", "listen_addresses": ""} {
		if got := ask(t, s, "SHOW "+name); got != want {
			t.Errorf("%s: found %q, expected %q", name, got, want)
		}
	}
	lasting := opened(t, dir)
	if got := ask(t, lasting, "SHOW fsync"); got != "on" {
		t.Errorf("fsync of a lasting server in the same folder: found %q, expected on", got)
	}
}

func TestHomeThatIsThereKeepsItsMode(t *testing.T) {
	home := newHome(t)
	must(t, os.Chmod(home, 0o750))
	opened(t, home)
	info, err := os.Stat(home)
	must(t, err)
	if info.Mode().Perm() != 0o750 {
		t.Errorf("found mode %v, expected the user's own choice, 0750", info.Mode())
	}
}

func TestHomeWithoutAName(t *testing.T) {
	t.Chdir(openDir(t))
	if s, err := Open(t.Context(), ""); err == nil {
		t.Errorf("found the current folder used, expected an error; closed with %v", s.Close())
	}
}

func TestDefaultHome(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", "/data")
	want := "/data/circlip"
	if os.Geteuid() == 0 {
		want = "/var/lib/circlip"
	}
	got, err := DefaultHome()
	if err != nil || got != want {
		t.Errorf("found %q (%v), expected %q", got, err, want)
	}
}
