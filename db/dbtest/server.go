package dbtest

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/db/local"
)

// server is the test binary's one PostgreSQL.
type server struct {
	local    *local.Server
	socket   string // path of the socket itself
	template sync.Once
	migrated error
	last     atomic.Int64
	keepOpen *os.File // this end of the keeper's pipe
}

// startServer starts a throwaway server on a memory disk.
func startServer() (*server, error) {
	dir, err := os.MkdirTemp(memoryDisk(), "circlip-test-")
	if err != nil {
		return nil, err
	}
	// The account that runs the server must be able to pass.
	if err := os.Chmod(dir, 0o755); err != nil {
		return nil, err
	}
	s := &server{}
	if err := s.keep(dir); err != nil {
		return nil, err
	}
	if s.local, err = local.OpenThrowaway(context.Background(), dir); err != nil {
		return nil, err
	}
	config, err := pgx.ParseConfig(s.local.DSN())
	if err != nil {
		return nil, err
	}
	s.socket = filepath.Join(config.Host, fmt.Sprintf(".s.PGSQL.%d", config.Port))
	return s, nil
}

func memoryDisk() string {
	if info, err := os.Stat("/dev/shm"); err == nil && info.IsDir() {
		return "/dev/shm"
	}
	return ""
}

// keeper outlives the test binary by a moment: when the pipe that the binary
// holds open breaks, it stops the server and removes the folder. Nothing is
// left behind by a panic, a time-out or a kill.
const keeper = `
cat >/dev/null
read pid <"$1/throwaway/pgdata/postmaster.pid" && kill -INT "$pid"
while kill -0 "$pid"; do sleep 0.05; done
rm -rf "$1"`

func (s *server) keep(dir string) error {
	reader, writer, err := os.Pipe()
	if err != nil {
		return err
	}
	cmd := exec.Command("/bin/sh", "-c", keeper, "keeper", dir)
	cmd.Dir, cmd.Stdin, cmd.SysProcAttr = "/", reader, ownSession()
	if err := cmd.Start(); err != nil {
		return err
	}
	s.keepOpen = writer
	return reader.Close()
}

// dsn is the address of one of the server's databases.
func (s *server) dsn(database string) string {
	return strings.Replace(s.local.DSN(), "dbname=circlip", "dbname="+database, 1)
}

// run executes one statement in the server's own database.
func (s *server) run(sql string) error {
	ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
	defer cancel()
	conn, err := pgx.Connect(ctx, s.dsn("postgres"))
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close(ctx) }()
	_, err = conn.Exec(ctx, sql)
	return err
}

// migrateTemplate makes the database that Migrated clones, once.
func (s *server) migrateTemplate() error {
	s.template.Do(func() {
		if s.migrated = s.run("CREATE DATABASE circlip_template TEMPLATE template0"); s.migrated != nil {
			return
		}
		var store *db.Store
		if store, s.migrated = db.Open(context.Background(), s.dsn("circlip_template")); s.migrated == nil {
			store.Close()
		}
	})
	return s.migrated
}
