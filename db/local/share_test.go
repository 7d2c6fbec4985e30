//go:build unix

package local

import (
	"os"
	"path/filepath"
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
	pid := strconv.Itoa(running(t, home))
	entries, err := os.ReadDir(filepath.Join("/proc", pid, "fd"))
	if err != nil {
		t.Skipf("NOT CHECKED: no list of a process's open files here: %v", err)
	}
	for _, e := range entries {
		name, _ := os.Readlink(filepath.Join("/proc", pid, "fd", e.Name()))
		if base := filepath.Base(name); base == "start.lock" || base == "users.lock" {
			t.Errorf("open files of the server: found %s, which would count it as a user of itself", name)
		}
	}
}
