//go:build unix

package local

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"sync"
	"syscall"
	"testing"
)

// Six processes open a home at once, each uses it for a moment, and three times over the server is gone afterwards.
// The first round begins without a cluster, so that all six meet while one makes it.
func TestSeveralAtOnce(t *testing.T) {
	const processes, rounds = 6, 3
	home := filepath.Join(openDir(t), "home")
	for range rounds {
		var helpers []*process
		for range processes {
			helpers = append(helpers, startHelper(t, home))
		}
		var done sync.WaitGroup
		for _, h := range helpers {
			done.Go(func() {
				h.begun()
				h.end()
			})
		}
		done.Wait()
		if t.Failed() {
			return
		}
		expectStopped(t, home)
	}
	if n := visits(t, opened(t, home)); n != strconv.Itoa(processes*rounds) {
		t.Errorf("rows: found %s, expected %d", n, processes*rounds)
	}
}

func TestLastOneOutStops(t *testing.T) {
	home := newHome(t)
	first, second := startHelper(t, home).begun(), startHelper(t, home).begun()
	server := running(t, home)
	first.end()
	if pid := running(t, home); pid != server || pid == 0 {
		t.Errorf("server after the starter left: found process %d, expected %d to run on", pid, server)
	}
	second.end()
	expectStopped(t, home)
}

// One that waits for its turn to open finds the server still there when it comes.
func TestTheLastOneWaitsForWhoIsAtTheDoor(t *testing.T) {
	home := newHome(t)
	s := opened(t, home)
	starting, err := s.site.starting(t.Context())
	must(t, err)
	next := startHelper(t, home)
	expectSoon(t, "the next one waits for start.lock", func() bool {
		return slices.Contains(openFiles(t, next.cmd.Process.Pid), "start.lock")
	})
	server := running(t, home)
	must(t, s.site.quit(t.Context(), s.users))
	if pid := running(t, home); pid != server || pid == 0 {
		t.Errorf("server: found process %d, expected %d to be left for the next", pid, server)
	}
	must(t, starting.release())
	next.begun().end()
	expectStopped(t, home)
	reopen(t, s)
}

// reopen makes a server that was quit by hand fit for the Close at the test's end.
func reopen(t *testing.T, s *Server) {
	t.Helper()
	var err error
	s.users, err = acquire(t.Context(), filepath.Join(s.site.home, "users.lock"), shared)
	must(t, err)
}

// One that gives up at the door stops the server that was left running for it.
func TestWhoIsAtTheDoorGivesUp(t *testing.T) {
	home := newHome(t)
	s := opened(t, home)
	starting, err := s.site.starting(t.Context())
	must(t, err)
	ctx, cancel := context.WithCancel(t.Context())
	gaveUp := make(chan error)
	go func() {
		_, err := Open(ctx, home)
		gaveUp <- err
	}()
	expectSoon(t, "the next one waits for start.lock", func() bool {
		files := openFiles(t, os.Getpid())
		own := slices.Index(files, "start.lock")
		return slices.Contains(files[own+1:], "start.lock")
	})
	must(t, s.site.quit(t.Context(), s.users))
	cancel()
	must(t, starting.release())
	if err := <-gaveUp; !errors.Is(err, context.Canceled) {
		t.Errorf("found %v, expected the cancellation", err)
	}
	expectStopped(t, home)
	reopen(t, s)
}

// Two uses within one process count as two.
func TestTwiceInOneProcess(t *testing.T) {
	home := newHome(t)
	first, second := opened(t, home), opened(t, home)
	must(t, first.Close())
	must(t, first.Close()) // a second Close is not the other user's
	if running(t, home) == 0 {
		t.Error("server: found it stopped, expected it to run for the second user")
	}
	must(t, second.Close())
	expectStopped(t, home)
}

// A server left alone by kill -9 of its starter is joined by the next process, which stops it.
func TestKilledStarter(t *testing.T) {
	home := newHome(t)
	starter := startHelper(t, home).begun()
	server := running(t, home)
	starter.kill()
	next := startHelper(t, home).begun()
	if pid := running(t, home); pid != server || pid == 0 {
		t.Errorf("server: found process %d, expected the next process to join %d", pid, server)
	}
	next.end()
	expectStopped(t, home)
}

// A starter killed at any moment of the start leaves what the next process can use.
func TestStarterKilledOnTheWay(t *testing.T) {
	home := newHome(t)
	for delay := range 12 {
		starter := startHelper(t, home)
		waitMilliseconds(5 * delay)
		starter.kill()
		next := startHelper(t, home).begun()
		next.end()
		expectStopped(t, home)
	}
	if n := visits(t, opened(t, home)); n < "12" {
		t.Errorf("rows: found %s, expected at least the 12 of the processes not killed", n)
	}
}

// Ctrl-C in a terminal goes to the whole process group; a server that others share must not be in it.
func TestServerIsOutOfTheTerminalsReach(t *testing.T) {
	home := newHome(t)
	opened(t, home)
	group, err := syscall.Getpgid(running(t, home))
	must(t, err)
	if own := syscall.Getpgrp(); group == own {
		t.Errorf("process group of the server: found the program's own, %d", own)
	}
}

// The server outlives programs and must not keep their folder in use, nor another process's locks.
func TestServerHoldsOnlyItsOwnFiles(t *testing.T) {
	home := newHome(t)
	opened(t, home)
	for _, name := range openFiles(t, running(t, home)) {
		if name == "start.lock" || name == "users.lock" {
			t.Errorf("open files of the server: found %s, which would count it as a user of itself", name)
		}
	}
}

// openFiles are the last parts of the names of a process's open files.
func openFiles(t *testing.T, pid int) []string {
	t.Helper()
	fds := filepath.Join("/proc", strconv.Itoa(pid), "fd")
	entries, err := os.ReadDir(fds)
	if err != nil {
		t.Skipf("NOT CHECKED: no list of a process's open files here: %v", err)
	}
	var names []string
	for _, e := range entries {
		if name, err := os.Readlink(filepath.Join(fds, e.Name())); err == nil {
			names = append(names, filepath.Base(name))
		}
	}
	return names
}
