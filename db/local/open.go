//go:build unix

package local

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
	"time"
)

// How several processes share one server
//
// No process is in charge: whoever comes first starts the server, whoever leaves last stops it, and either may be killed
// at any moment. Two files locked with flock carry it, because the kernel drops a killed process's locks:
//
//	opening  users.lock shared, then start.lock; look for a server, start one if there is none; free start.lock
//	closing  start.lock, then try to turn users.lock from shared to exclusive: if that works nobody else uses the
//	         server or waits for it, so stop it; free both
//
// Neither waits for users.lock while it holds start.lock, so they cannot lock each other out. What a kill leaves:
//
//	a process in the middle of its work      its lock is gone, the server runs on; the next one joins and stops it
//	the starter, before the server answers   the next one finds it starting and waits, or finds what is left and ends it
//	initdb                                   a half-made folder beside the cluster's place, swept by the next
//	the server                               postmaster.pid and perhaps processes that have not noticed; the next one
//	                                         ends those, removes the file and starts a new server, which recovers
//
// The server holds a lock of its own: the descriptor of the data folder, locked and handed to it, is inherited by all
// its processes. As long as it is locked some of them live, even where they cannot be seen, as in another container.

const (
	// stopWithin is how long a server may take to write out what it holds and end.
	stopWithin = time.Minute
	// giveUpWithin is how long a process that was told to give up still waits for its turn to clear up.
	giveUpWithin = 2 * time.Second
)

// A site is a home and what is in it.
type site struct {
	home   string
	tuning []string // settings of the server
	system system   // where to look for server programs
}

// data is the cluster, in the server's own words the data directory.
func (s site) data() string    { return filepath.Join(s.home, "pgdata") }
func (s site) log() string     { return filepath.Join(s.home, "postgres.log") }
func (s site) version() string { return filepath.Join(s.data(), "PG_VERSION") }

// name tells the processes of this cluster's server from those of others: all of them show it in their command line.
// It is made of what the cluster is on the disk, which stays the same under another path.
func (s site) name() string {
	info, err := os.Stat(s.data())
	if err != nil {
		return "no cluster"
	}
	stat := info.Sys().(*syscall.Stat_t)
	return fmt.Sprintf("circlip-%x-%x", uint64(stat.Dev), stat.Ino)
}

// starting is held while the server is started or stopped, so that one process at a time does either.
func (s site) starting(ctx context.Context) (*lock, error) {
	return acquire(ctx, filepath.Join(s.home, "start.lock"), exclusive)
}

// open starts or joins. Whoever holds start.lock and then cannot have users.lock for itself alone is not the last; one
// that waits for its turn to open counts as well, or each of several short commands would stop the server on the next.
func open(ctx context.Context, home string, sys system, tuning []string) (*Server, error) {
	if home == "" {
		return nil, errors.New("home of the private database: found no name, expected a folder")
	}
	home, err := filepath.Abs(home)
	if err != nil {
		return nil, err
	}
	s := site{home, tuning, sys}
	// Where this fails nothing else can work either.
	if err := makeHome(home); err != nil {
		return nil, fmt.Errorf("home of the private database: %w", err)
	}
	users, err := acquire(ctx, filepath.Join(home, "users.lock"), shared)
	if err != nil {
		return nil, err
	}
	starting, err := s.starting(ctx)
	if err != nil {
		// Another may have left the server running for this one, which now gives up.
		return nil, errors.Join(err, s.leave(users, giveUpWithin))
	}
	defer starting.release()
	socket, err := s.serve(ctx)
	if err != nil {
		return nil, errors.Join(err, s.quit(context.WithoutCancel(ctx), users))
	}
	server := &Server{site: s, socket: socket, users: users, trimmer: make(chan struct{})}
	go s.trimLog(server.trimmer)
	return server, nil
}

// serve returns the socket's folder of a server that answers and has the database.
func (s site) serve(ctx context.Context) (string, error) {
	socket, err := s.join(ctx)
	if err == nil && socket == "" {
		socket, err = s.start(ctx)
	}
	return socket, err
}

// leave gives up the use of the server. A process that cannot have its turn in time leaves it to the others.
func (s site) leave(users *lock, within time.Duration) error {
	ctx, cancel := context.WithTimeout(context.Background(), within)
	defer cancel()
	starting, err := s.starting(ctx)
	if err != nil {
		return errors.Join(fmt.Errorf("the private database is left running: %w", err), users.release())
	}
	defer starting.release()
	return s.quit(ctx, users)
}

// quit stops the server unless others use it. start.lock is held.
func (s site) quit(ctx context.Context, users *lock) error {
	if users.try(exclusive) != nil {
		return users.release()
	}
	return errors.Join(s.stop(ctx), users.release())
}

// makeHome makes the folder if it is not there. Root's is open to be passed through, whatever the umask, because the
// account that runs the server may have to reach programs below it; what is in it is closed one by one.
func makeHome(home string) error {
	if _, err := os.Stat(home); err == nil {
		return nil
	}
	if err := os.MkdirAll(home, 0o700); err != nil {
		return err
	}
	if os.Geteuid() != 0 {
		return nil
	}
	return os.Chmod(home, 0o711)
}
