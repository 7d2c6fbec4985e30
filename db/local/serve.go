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

	"github.com/jackc/pgx/v5/pgconn"
)

const (
	// port is only a part of the socket's name.
	port = 5432
	// pollEvery is short beside the 45 ms that a start takes.
	pollEvery = 2 * time.Millisecond
	// comeOrGo is how long a server that neither answers nor ends is waited for: recovery after a crash in the middle
	// of a large load takes some seconds.
	comeOrGo = time.Minute
)

// durable and throwaway are the settings given on the command line, where no file in the cluster overrides them.
var (
	durable = append([]string{
		"fsync=on", "full_page_writes=on", "synchronous_commit=on", "max_connections=100", "max_wal_size=256MB",
	}, always...)
	// Creating a database by copying files wants two checkpoints, and a worker of autovacuum in the template would hold
	// it up: tests make many.
	throwaway = append([]string{
		"fsync=off", "full_page_writes=off", "synchronous_commit=off", "max_connections=300", "max_wal_size=1GB",
		"wal_level=minimal", "max_wal_senders=0", "autovacuum=off",
	}, always...)
	// jit costs a small database more than it gives; what is logged must not grow with use.
	always = []string{
		"listen_addresses=", "unix_socket_permissions=0700", "shared_buffers=64MB", "timezone=UTC", "log_timezone=UTC",
		"jit=off", "log_checkpoints=off", "log_min_error_statement=panic",
	}
)

// join finds a server of this cluster that runs, waiting for one that is about to start or to end. The socket's folder
// is empty when there is none; what a dead one left behind is cleared away.
func (s site) join(ctx context.Context) (string, error) {
	ctx, cancel := context.WithTimeoutCause(ctx, comeOrGo, errors.New("it neither answers nor ends"))
	defer cancel()
	for {
		p, there, err := s.postmaster()
		if err != nil {
			return "", err
		}
		if !there || !s.lives(p) {
			return "", s.clear(there)
		}
		if p.ready && answers(ctx, p.socket) == nil {
			return p.socket, nil
		}
		if err := sleep(ctx); err != nil {
			return "", fmt.Errorf("private database server, process %d of %s: %w", p.pid, s.home, err)
		}
	}
}

// clear readies the folder of a server that is no more for a new one.
func (s site) clear(pidFile bool) error {
	if !pidFile {
		return nil
	}
	endOrphans(s.data())
	return s.forget()
}

// start makes the cluster if there is none and starts its server. start.lock is held.
func (s site) start(ctx context.Context) (string, error) {
	major, err := s.major()
	if err != nil {
		return "", err
	}
	p, err := s.programs(ctx, major)
	if err != nil {
		return "", err
	}
	if major == 0 {
		if err := s.create(ctx, p); err != nil {
			return "", err
		}
	}
	if err := s.entrust(p.account); err != nil {
		return "", err
	}
	socket, err := s.socketFolder(p.account)
	if err != nil {
		return "", err
	}
	return socket, s.spawn(ctx, p, socket)
}

// entrust gives the account the cluster if it belongs to another, as after a change between the ways to run as root.
func (s site) entrust(a account) error {
	info, err := os.Stat(s.data())
	if err != nil {
		return err
	}
	if uid, _ := ownerOf(info); uid == a.uid {
		return nil
	}
	return a.give(s.data())
}

// spawn starts the server and returns when it answers.
func (s site) spawn(ctx context.Context, p programs, socket string) error {
	log, err := s.openLog()
	if err != nil {
		return err
	}
	defer log.Close()
	data, err := os.Open(s.data())
	if err != nil {
		return err
	}
	defer data.Close()
	args := []string{"-c", "unix_socket_directories=" + socket}
	for _, setting := range s.tuning {
		args = append(args, "-c", setting)
	}
	// The server outlives ctx and, if others use it, this process.
	cmd := p.account.command(context.WithoutCancel(ctx), filepath.Join(p.dir, "postgres"), args...)
	p.account.handOver(cmd, data)
	cmd.Stdout, cmd.Stderr = log, log
	if err := cmd.Start(); err != nil {
		return fmt.Errorf("starting the private database: %w", err)
	}
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	return s.await(ctx, ended)
}

// await polls until the server answers or has ended.
func (s site) await(ctx context.Context, ended <-chan error) error {
	for {
		p, _, err := s.postmaster()
		if err != nil {
			return err
		}
		if p.ready && answers(ctx, p.socket) == nil {
			return nil
		}
		select {
		case err := <-ended:
			return fmt.Errorf("the private database did not start: %v; the end of %s: %s", err, s.log(), s.logTail())
		case <-ctx.Done():
			return fmt.Errorf("starting the private database: %w", context.Cause(ctx))
		case <-time.After(pollEvery):
		}
	}
}

// stop ends the server in order: clients are cut, everything is written out.
func (s site) stop(ctx context.Context) error {
	p, there, err := s.postmaster()
	if err != nil || !there || !s.lives(p) {
		return err
	}
	if err := syscall.Kill(p.pid, syscall.SIGINT); err != nil {
		return fmt.Errorf("stopping the private database, process %d: %w", p.pid, err)
	}
	for there && s.lives(p) {
		if sleep(ctx) != nil {
			return fmt.Errorf("the private database, process %d, still stops after %v; see %s", p.pid, stopWithin, s.log())
		}
		if _, there, err = s.postmaster(); err != nil {
			return err
		}
	}
	_ = os.Remove(p.socket)
	return nil
}

// answers says whether the server lets one in; that there is no database yet is an answer as well.
func answers(ctx context.Context, socket string) error {
	conn, err := pgconn.Connect(ctx, dsn(socket, database))
	if noDatabase(err) {
		return nil
	}
	if err != nil {
		return err
	}
	return conn.Close(ctx)
}

func noDatabase(err error) bool {
	var said *pgconn.PgError
	return errors.As(err, &said) && said.Code == "3D000" // invalid_catalog_name
}

// ensureDatabase makes the database if it is not there: the program may have been killed after it made the cluster.
func ensureDatabase(ctx context.Context, socket string) error {
	conn, err := pgconn.Connect(ctx, dsn(socket, database))
	if err == nil {
		return conn.Close(ctx)
	}
	if !noDatabase(err) {
		return err
	}
	if conn, err = pgconn.Connect(ctx, dsn(socket, "postgres")); err != nil {
		return err
	}
	_, err = conn.Exec(ctx, "CREATE DATABASE "+database).ReadAll()
	return errors.Join(err, conn.Close(ctx))
}

func sleep(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return context.Cause(ctx)
	case <-time.After(pollEvery):
		return nil
	}
}
