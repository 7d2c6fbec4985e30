//go:build unix

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
)

// Ctrl-C while a book is loaded into the private database: nothing of it is
// kept, and the server stops with the program, its only user.
func TestAnInterruptedLoadKeepsNothing(t *testing.T) {
	t.Parallel()
	home, big := filepath.Join(openFolder(t), "home"), longBook(t)
	// Merging is soon over: a lock holds it up until it has been seen.
	for _, c := range []struct{ rule, hold, work string }{
		{"while rows are read", `SELECT`, `copy "staged_readings"%`},
		{"while tables are merged", `LOCK TABLE circlip.reading IN SHARE MODE`, `MERGE INTO reading %`},
	} {
		t.Run(c.rule, func(t *testing.T) {
			load, said := start(t, "load", big, "--home", home)
			waitFor(t, home, c.hold, c.work)
			if err := load.Process.Signal(os.Interrupt); err != nil {
				t.Fatal(err)
			}
			interrupted := time.Now()
			err := load.Wait()
			if took := time.Since(interrupted); took > 10*time.Second {
				t.Errorf("it ended %v after the interrupt, expected soon", took)
			}
			if status := exitStatus(err); status != statusRefused || said.String() != "circlip: interrupted; nothing half done is kept\n" {
				t.Errorf("exit status %d (%v) and %q, expected 1 and that nothing is kept", status, err, said)
			}
			expectStopped(t, home)
			o := circlip(t, "book", "save", filepath.Join(t.TempDir(), "saved"), "--home", home)
			if want := "circlip: workshop: not found: there is none yet; load a book first\n"; o.status != statusRefused || o.err != want {
				t.Errorf("exit status %d and %q, expected no workshop to be there", o.status, o.err)
			}
		})
	}
	// The same book is good, and what was broken off twice stands in no way.
	if out := done(t, "load", big, "--home", home); !strings.Contains(out, ", 0 changed, ") || strings.Contains(out, " 0 new, ") {
		t.Errorf("loaded in the end: %s", out)
	}
	expectStopped(t, home)
}

// longBook is the demo's, with so many readings that loading them takes a while.
func longBook(t *testing.T) string {
	t.Helper()
	big := files{}
	for name, text := range folderOf(t, "../../testdata/demo") {
		if strings.HasSuffix(name, ".csv") {
			big[name] = text
		}
	}
	var earlier strings.Builder
	first, err := inventory.ParseDate("2020-01-01")
	if err != nil {
		t.Fatal(err)
	}
	for line := range strings.Lines(big["units.csv"]) {
		unit, _, _ := strings.Cut(line, ",")
		for day := range inventory.Date(500) {
			if unit != "unit" {
				fmt.Fprintf(&earlier, "%s,%s,0,\n", unit, first+day)
			}
		}
	}
	if !strings.HasPrefix(big["readings.csv"], "unit,date,hours,reset\n") {
		t.Fatal("the readings of the demo have other columns")
	}
	big["readings.csv"] += earlier.String()
	return big.folder(t)
}

// start starts the program as a process of its own.
func start(t *testing.T, args ...string) (*exec.Cmd, *bytes.Buffer) {
	t.Helper()
	cmd := exec.Command("circlip", args...)
	var said bytes.Buffer
	cmd.Stderr = &said
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = cmd.Process.Kill() })
	return cmd, &said
}

func exitStatus(err error) int {
	var failed *exec.ExitError
	if errors.As(err, &failed) {
		return failed.ExitCode()
	}
	return statusDone
}

func pidFile(home string) string { return filepath.Join(home, "pgdata", "postmaster.pid") }

// waitFor returns as soon as the private server works at a statement, watching
// through a connection of its own, whose transaction first does what holds the
// work up.
func waitFor(t *testing.T, home, hold, work string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), time.Minute)
	defer cancel()
	var conn *pgx.Conn
	for ; ; time.Sleep(time.Millisecond) {
		if err := ctx.Err(); err != nil {
			t.Fatalf("the server never worked at %s: %v", work, err)
		}
		if conn == nil {
			if conn = watch(ctx, home); conn != nil {
				if _, err := conn.Exec(ctx, `BEGIN; `+hold); err != nil {
					t.Fatal(err)
				}
			}
			continue
		}
		// A transaction sees what others do as it first saw it.
		if _, err := conn.Exec(ctx, `SELECT pg_stat_clear_snapshot()`); err != nil {
			t.Fatal(err)
		}
		var busy bool
		const atWork = `SELECT count(*) > 0 FROM pg_stat_activity WHERE state = 'active' AND query ILIKE $1 AND pid <> pg_backend_pid()`
		if err := conn.QueryRow(ctx, atWork, work).Scan(&busy); err != nil {
			t.Fatal(err)
		}
		if busy {
			if err := conn.Close(ctx); err != nil {
				t.Fatal(err)
			}
			return
		}
	}
}

// watch connects to the home's server, or gives nil where there is none yet.
func watch(ctx context.Context, home string) *pgx.Conn {
	text, err := os.ReadFile(pidFile(home))
	lines := strings.Split(string(text), "\n")
	if err != nil || len(lines) < 8 { // the eighth says that it is ready
		return nil
	}
	conn, err := pgx.Connect(ctx, fmt.Sprintf("host=%s port=%s user=circlip dbname=circlip sslmode=disable", lines[4], lines[3]))
	if err != nil {
		return nil
	}
	return conn
}

// expectStopped fails when the home's server runs, or did not stop in order.
func expectStopped(t *testing.T, home string) {
	t.Helper()
	text, err := os.ReadFile(pidFile(home))
	if err == nil {
		t.Errorf("the server runs, or was killed: %s", text)
	}
}

// A command that waits for the private server to start can be called off too.
func TestAnInterruptWhileTheServerStarts(t *testing.T) {
	t.Parallel()
	home := filepath.Join(openFolder(t), "home")
	for _, after := range []time.Duration{20 * time.Millisecond, 300 * time.Millisecond, time.Second} {
		check, said := start(t, "check", "--home", home)
		time.Sleep(after)
		if err := check.Process.Signal(syscall.SIGTERM); err != nil && !errors.Is(err, os.ErrProcessDone) {
			t.Fatal(err)
		}
		if status := exitStatus(check.Wait()); status != statusRefused && status != -1 { // -1: before it listened
			t.Errorf("called off after %v: exit status %d: %s", after, status, said)
		}
		expectStopped(t, home)
	}
	if o := circlip(t, "check", "--home", home); o.status != statusRefused || !strings.Contains(o.err, "load a book first") {
		t.Errorf("afterwards: exit status %d: %s", o.status, o.err)
	}
	expectStopped(t, home)
}

// Work that is called off ends with whatever error was nearest, a connection
// closed under it for one: what counts is that it was called off.
func TestWhatIsCalledOffIsNoLostDatabase(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	for _, c := range []struct {
		status int
		said   string
	}{
		{statusUnreachable, "circlip: database unavailable: closed\n"},
		{statusRefused, "circlip: interrupted; nothing half done is kept\n"},
	} {
		var said bytes.Buffer
		s := &session{ctx: ctx, err: &said}
		if status := s.failed(fmt.Errorf("%w: closed", inventory.ErrUnavailable)); status != c.status || said.String() != c.said {
			t.Errorf("exit status %d and %q, expected %d and %q", status, said.String(), c.status, c.said)
		}
		stop()
	}
}
