//go:build unix

package local

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

func waitMilliseconds(n int) { time.Sleep(time.Duration(n) * time.Millisecond) }

// killServer is kill -9 of the server's first process.
func killServer(t testing.TB, home string) {
	t.Helper()
	pid := running(t, home)
	if pid == 0 {
		t.Fatal("no server to kill")
	}
	must(t, syscall.Kill(pid, syscall.SIGKILL))
	expectSoon(t, "the killed server is gone", func() bool { return running(t, home) == 0 })
}

func TestKilledServer(t *testing.T) {
	home := newHome(t)
	s := opened(t, home)
	must(t, addRow(t.Context(), s))
	killServer(t, home)
	next := opened(t, home)
	if n := visits(t, next); n != "1" {
		t.Errorf("rows after kill -9 of the server: found %s, expected the 1 committed", n)
	}
	must(t, s.Close())
	must(t, next.Close())
	expectStopped(t, home)
}

// The user of a killed server can close it without an error.
func TestCloseAfterTheServerWasKilled(t *testing.T) {
	home := newHome(t)
	s := opened(t, home)
	killServer(t, home)
	must(t, s.Close())
}

// A statement that does not look at signals runs on for hours after its postmaster was killed and bars a new one.
func TestKilledServerWithAStatementUnderWay(t *testing.T) {
	home := newHome(t)
	s := opened(t, home)
	conn, err := pgx.Connect(t.Context(), s.DSN())
	must(t, err)
	go func() {
		_, _ = conn.Exec(context.Background(), "SET max_parallel_workers_per_gather = 0; SELECT count(*) FROM generate_series(1, 100) a, generate_series(1, 100000000) b")
	}()
	busy := func() bool {
		return ask(t, s, "SELECT count(*)::text FROM pg_stat_activity WHERE query LIKE '%100000000%' AND pid <> pg_backend_pid()") == "1"
	}
	expectSoon(t, "the statement runs", busy)
	killServer(t, home)
	if !siteOf(home).held() {
		t.Fatal("cluster: found it free, expected the statement's process to hold it")
	}
	must(t, addRow(t.Context(), opened(t, home)))
}

func TestEverythingKilled(t *testing.T) {
	home := newHome(t)
	var helpers []*process
	for range 3 {
		helpers = append(helpers, startHelper(t, home).begun())
	}
	pid := running(t, home)
	for _, h := range helpers {
		h.kill()
	}
	must(t, syscall.Kill(pid, syscall.SIGKILL))
	next := opened(t, home)
	if n := visits(t, next); n != "3" {
		t.Errorf("rows: found %s, expected the 3 committed", n)
	}
	must(t, next.Close())
	expectStopped(t, home)
}

// What a power cut or a process id given away anew leaves in postmaster.pid keeps PostgreSQL itself from starting.
func TestStalePidFile(t *testing.T) {
	stranger := exec.Command("sleep", "100")
	must(t, stranger.Start())
	defer func() {
		_ = stranger.Process.Kill()
		_ = stranger.Wait()
	}()
	alike := strangerOfTheSameAccount(t)
	gone := exec.Command("true")
	must(t, gone.Run())
	line := func(pid int) string { return fmt.Sprintf("%d\n/elsewhere\n1\n5432\n/tmp\n\n1 1\nready   \n", pid) }
	tests := map[string]string{
		"empty":                                   "",
		"half written":                            "12",
		"not a number":                            "what\n",
		"a process that is gone":                  line(gone.Process.Pid),
		"a live process of this user":             line(stranger.Process.Pid),
		"a live process of the server's account":  line(alike),
		"this process":                            line(os.Getpid()),
		"the parent, which PostgreSQL looks past": line(os.Getppid()),
		"process 1":                               line(1),
		"a negative number":                       line(-1),
	}
	// Somebody looking around in the cluster, whose process id the server had before.
	home := newHome(t)
	visitor := exec.Command("sleep", "100")
	visitor.Dir = filepath.Join(home, "pgdata")
	must(t, visitor.Start())
	defer func() {
		_ = visitor.Process.Kill()
		_ = visitor.Wait()
	}()
	tests["a live process that works in the cluster's folder"] = line(visitor.Process.Pid)
	for name, text := range tests {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(home, "pgdata", "postmaster.pid")
			must(t, os.WriteFile(path, []byte(text), 0o600))
			must(t, siteOf(home).account(t).give(path))
			s := opened(t, home)
			must(t, addRow(t.Context(), s))
			must(t, s.Close())
			expectStopped(t, home)
		})
	}
	for _, cmd := range []*exec.Cmd{stranger, visitor} {
		if got, err := os.Readlink(fmt.Sprintf("/proc/%d/exe", cmd.Process.Pid)); err != nil && runtime.GOOS == "linux" {
			t.Errorf("the stranger whose process id was found: %s (%v), expected it left alone", got, err)
		}
	}
}

// account is the first choice of who runs the cluster.
func (s site) account(t *testing.T) account {
	t.Helper()
	return s.accounts()[0]
}

// strangerOfTheSameAccount is a process that has nothing to do with us but its account, which is the case that
// PostgreSQL refuses.
func strangerOfTheSameAccount(t *testing.T) int {
	t.Helper()
	cmd := siteOf(newHome(t)).account(t).command(context.Background(), "/bin/sleep", "100")
	must(t, cmd.Start())
	t.Cleanup(func() {
		_ = cmd.Process.Kill()
		_ = cmd.Wait()
	})
	return cmd.Process.Pid
}

// The guard itself: without forgetting the file the server does not start.
func TestPostgresRefusesAStalePidFile(t *testing.T) {
	for name, text := range map[string]string{"empty": "", "same account": fmt.Sprintf("%d\n", strangerOfTheSameAccount(t))} {
		t.Run(name, func(t *testing.T) {
			home := newHome(t)
			path := filepath.Join(home, "pgdata", "postmaster.pid")
			must(t, os.WriteFile(path, []byte(text), 0o600))
			s := siteOf(home)
			s.tuning = durable
			must(t, s.account(t).give(path))
			_, err := s.start(t.Context())
			if err == nil {
				t.Fatal("found the server started, expected PostgreSQL's own guard to refuse")
			}
			expectContains(t, err.Error(), "postmaster.pid", s.log())
		})
	}
}

func TestStartThatFailsLeavesNoLock(t *testing.T) {
	home := newHome(t)
	conf := filepath.Join(home, "pgdata", "postgresql.conf")
	good, err := os.ReadFile(conf)
	must(t, err)
	must(t, os.WriteFile(conf, []byte("no_such_setting = on\n"), 0o600))
	if _, err = Open(t.Context(), home); err == nil {
		t.Fatal("found the server started, expected the bad setting to keep it from it")
	}
	expectContains(t, err.Error(), "no_such_setting", "postgres.log")
	must(t, os.WriteFile(conf, good, 0o600))
	must(t, opened(t, home).Close())
}

// Ctrl-C while the cluster is made or the server starts.
func TestGivenUpOnTheWay(t *testing.T) {
	home := filepath.Join(openDir(t), "home")
	for _, wait := range []time.Duration{0, 5, 20, 100, 300} {
		ctx, cancel := context.WithTimeout(t.Context(), wait*time.Millisecond)
		s, err := Open(ctx, home)
		cancel()
		if err == nil {
			must(t, s.Close())
			continue
		}
		if !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("after %d ms: found %v, expected the deadline", wait, err)
		}
		expectSoon(t, "no server is left", func() bool { return !siteOf(home).held() })
	}
	must(t, opened(t, home).Close())
	expectStopped(t, home)
}

// Given up before the server has so much as written down its process id.
func TestGivenUpRightAfterTheServerWasSpawned(t *testing.T) {
	s := siteOf(newHome(t))
	s.tuning = durable
	p, _, ok := s.installed(t.Context(), 0)
	if !ok {
		t.Skip("NOT CHECKED: no server is installed here")
	}
	socket, err := s.socketFolder(p.account)
	must(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if err := s.spawn(ctx, p, socket); !errors.Is(err, context.Canceled) {
		t.Errorf("found %v, expected the cancellation", err)
	}
	expectSoon(t, "no server is left", func() bool { return !s.held() })
}

// An initdb that was killed leaves a folder beside the cluster's place.
func TestHalfMadeClusterIsSwept(t *testing.T) {
	home := filepath.Join(openDir(t), "home")
	half := filepath.Join(home, "pgdata.new-1")
	must(t, os.MkdirAll(half, 0o700))
	must(t, os.WriteFile(filepath.Join(half, "PG_VERSION"), []byte("15\n"), 0o600))
	must(t, opened(t, home).Close())
	left, err := filepath.Glob(filepath.Join(home, "pgdata.new*"))
	must(t, err)
	if len(left) > 0 {
		t.Errorf("found %s, expected it swept", strings.Join(left, ", "))
	}
}

// A server that is alive and does not answer is named, and not ended: it may be busy with a recovery.
func TestServerThatDoesNotAnswer(t *testing.T) {
	home := newHome(t)
	opened(t, home)
	pid := running(t, home)
	must(t, syscall.Kill(pid, syscall.SIGSTOP))
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	_, err := Open(ctx, home)
	must(t, syscall.Kill(pid, syscall.SIGCONT))
	if !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("found %v, expected the deadline", err)
	}
	expectContains(t, err.Error(), fmt.Sprint(pid), home)
	if running(t, home) != pid {
		t.Error("server: found it ended, expected it left alone")
	}
}

func TestWaitingForTheLockEndsWithTheContext(t *testing.T) {
	home := newHome(t)
	starting, err := siteOf(home).starting(t.Context())
	must(t, err)
	defer starting.release()
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	_, err = Open(ctx, home)
	if !errors.Is(err, context.DeadlineExceeded) {
		t.Fatalf("found %v, expected the deadline", err)
	}
	expectContains(t, err.Error(), "start.lock")
}
