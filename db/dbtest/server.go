package dbtest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// startServer makes a data directory on a memory disk and starts PostgreSQL
// in it without any care for durability.
func startServer() (*server, error) {
	bin, err := findServer()
	if err != nil {
		return nil, err
	}
	dir, err := os.MkdirTemp(memoryDisk(), "circlip-test-")
	if err != nil {
		return nil, err
	}
	account, err := unprivileged(dir)
	if err != nil {
		return nil, err
	}
	data := filepath.Join(dir, "data")
	initdb := exec.Command(filepath.Join(bin, "initdb"), "--no-sync", "--auth=trust", "--username=circlip",
		"--encoding=UTF8", "--locale=C", data)
	initdb.SysProcAttr, initdb.Dir = account, "/"
	if out, err := initdb.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("initdb: %w: %s", err, out)
	}
	if err := launch(filepath.Join(bin, "postgres"), dir, account); err != nil {
		return nil, err
	}
	s := &server{dir: dir}
	if err := s.wait(); err != nil {
		return nil, err
	}
	pid, err := os.ReadFile(filepath.Join(data, "postmaster.pid"))
	if err != nil {
		return nil, err
	}
	first, _, _ := bytes.Cut(pid, []byte("\n"))
	s.pid, err = strconv.Atoi(string(first))
	return s, err
}

// findServer returns the folder of the newest installed server's programs.
func findServer() (string, error) {
	found, _ := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	version := func(path string) int {
		n, _ := strconv.Atoi(strings.Split(path, "/")[4])
		return n
	}
	slices.SortFunc(found, func(a, b string) int { return version(b) - version(a) })
	if path, err := exec.LookPath("initdb"); err == nil {
		found = append(found, path)
	}
	if len(found) == 0 {
		return "", errors.New("found no initdb below /usr/lib/postgresql or in PATH; on Debian: apt-get install postgresql")
	}
	return filepath.Dir(found[0]), nil
}

func memoryDisk() string {
	if info, err := os.Stat("/dev/shm"); err == nil && info.IsDir() {
		return "/dev/shm"
	}
	return ""
}

// unprivileged gives dir to the account postgres when the tests run as root,
// as whom PostgreSQL refuses to start.
func unprivileged(dir string) (*syscall.SysProcAttr, error) {
	attributes := &syscall.SysProcAttr{Setsid: true}
	if os.Geteuid() != 0 {
		return attributes, nil
	}
	account, err := user.Lookup("postgres")
	if err != nil {
		return nil, fmt.Errorf("running as root, expected an account postgres to start the server as: %w", err)
	}
	uid, _ := strconv.Atoi(account.Uid)
	gid, _ := strconv.Atoi(account.Gid)
	attributes.Credential = &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
	return attributes, os.Chown(dir, uid, gid)
}

// keeper starts the server and outlives the test binary by a moment: when the
// pipe that the binary holds open breaks, it stops the server and removes the
// folder. Nothing is left behind by a panic, a time-out or a kill.
const keeper = `
"$1" -D "$2/data" -k "$2" -c listen_addresses= -c fsync=off -c full_page_writes=off -c synchronous_commit=off \
	-c shared_buffers=128MB -c max_connections=200 -c max_wal_size=1GB -c autovacuum_naptime=10s \
	-c log_min_messages=panic >"$2/log" 2>&1 </dev/null &
cat >/dev/null
kill -QUIT $!
wait
rm -rf "$2"`

func launch(postgres, dir string, account *syscall.SysProcAttr) error {
	reader, writer, err := os.Pipe()
	if err != nil {
		return err
	}
	cmd := exec.Command("/bin/sh", "-c", keeper, "keeper", postgres, dir)
	cmd.SysProcAttr, cmd.Dir, cmd.Stdin = account, "/", reader
	cmd.Env = []string{"LC_ALL=C", "TZ=UTC", "PATH=" + os.Getenv("PATH")}
	if err := cmd.Start(); err != nil {
		return err
	}
	keepOpen = writer
	return reader.Close()
}

// keepOpen is the binary's end of the keeper's pipe.
var keepOpen *os.File

// wait returns when the server answers.
func (s *server) wait() error {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	for {
		conn, err := pgx.Connect(ctx, s.dsn("postgres"))
		if err == nil {
			return conn.Close(ctx)
		}
		if ctx.Err() != nil {
			log, _ := os.ReadFile(filepath.Join(s.dir, "log"))
			return fmt.Errorf("no answer from the server: %w: %s", err, log)
		}
		time.Sleep(2 * time.Millisecond)
	}
}
