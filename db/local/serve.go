//go:build unix

package local

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5/pgconn"
)

const (
	// port is only a part of the socket's name.
	port = 5432
	// pollEvery is short beside the 45 ms that a start takes.
	pollEvery = 2 * time.Millisecond
	// comeOrGo is how long another process's server that neither answers nor ends is waited for. It may be recovering,
	// which takes some seconds after a crash in the middle of a large load.
	comeOrGo = time.Minute
	// answerWithin is how long a server that says it is ready may leave its socket unanswered.
	answerWithin = 10 * time.Second
)

// Settings are given on the command line, where no file in the cluster overrides them.
var (
	// durable keeps what is committed: every commit waits for the disk, and a page torn by a power cut is mended from
	// the log. A small log keeps recovery short.
	durable = append([]string{
		"fsync=on", "full_page_writes=on", "synchronous_commit=on", "max_connections=100", "max_wal_size=256MB",
	}, append(throughTheCache(), always...)...)
	// throwaway keeps nothing. Creating a database by copying files wants two checkpoints, and a worker of autovacuum in the template would hold
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

// throughTheCache makes macOS, whose fsync stops at the drive's cache, write through it:
// https://www.postgresql.org/docs/15/wal-reliability.html
func throughTheCache() []string {
	if runtime.GOOS == "darwin" {
		return []string{"wal_sync_method=fsync_writethrough"}
	}
	return nil
}

// join finds a server of this cluster that runs, waiting for one that is about to start or to end. The socket's folder
// is empty when there is none; what a dead one left behind is cleared away.
func (s site) join(ctx context.Context) (string, error) {
	ctx, cancel := context.WithTimeoutCause(ctx, comeOrGo, errors.New("it neither answers nor ends"))
	defer cancel()
	silence := errors.New("not ready")
	for {
		p, there, err := s.postmaster()
		if err != nil {
			return "", err
		}
		if !there || !s.lives(p) {
			return "", s.clear(ctx)
		}
		if p.ready {
			var answers bool
			if answers, silence = reach(ctx, p.socket); answers {
				return p.socket, silence
			}
		}
		if err := sleep(ctx); err != nil {
			return "", fmt.Errorf("private database server, process %d of %s: %w: %w", p.pid, s.home, err, silence)
		}
	}
}

// clear readies the cluster of a server that is no more for a new one. A process without its postmaster that is busy
// does not notice for as long as its statement runs, and a new server beside it would ruin the cluster.
func (s site) clear(ctx context.Context) error {
	for s.held() {
		endOrphans(s.name(), s.data())
		if err := sleep(ctx); err != nil {
			return fmt.Errorf("%s is in use by a server that is not to be seen from here, as in another container: %w", s.data(), err)
		}
	}
	return s.forget()
}

// held says whether any process of a server of this cluster is left, wherever it runs: each inherits the lock that is
// put on the folder before the server starts. File systems that cannot lock folders leave it to PostgreSQL's own guard.
func (s site) held() bool {
	data, err := os.Open(s.data())
	if err != nil {
		return false
	}
	l := &lock{data}
	defer l.release()
	return errors.Is(l.try(exclusive), syscall.EWOULDBLOCK)
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
	// The lock goes over to the server with the descriptor and stays until its last process has ended.
	if err := (&lock{data}).try(exclusive); errors.Is(err, syscall.EWOULDBLOCK) {
		return fmt.Errorf("%s is in use by another server", s.data())
	}
	args := []string{"-c", "cluster_name=" + s.name(), "-c", "unix_socket_directories=" + socket}
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
	// Waited for until it ends, lest it stay a zombie as long as this process lives.
	ended := make(chan error, 1)
	go func() { ended <- cmd.Wait() }()
	if err := s.await(ctx, ended); err != nil {
		// It may not have written down its process id yet, by which it would be stopped otherwise.
		_ = cmd.Process.Signal(syscall.SIGINT)
		return err
	}
	return nil
}

// await polls until the server answers or has ended. Recovery may take as long as ctx allows.
func (s site) await(ctx context.Context, ended <-chan error) error {
	var ready time.Time
	for {
		p, _, err := s.postmaster()
		if err != nil {
			return err
		}
		if p.ready {
			if ready.IsZero() {
				ready = time.Now()
			}
			there, err := reach(ctx, p.socket)
			if there || time.Since(ready) > answerWithin {
				return err
			}
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
	ctx, cancel := context.WithTimeout(ctx, stopWithin)
	defer cancel()
	// The kernel drops the lock on the folder a moment after the process is gone.
	for s.lives(p) || s.held() {
		if sleep(ctx) != nil {
			return fmt.Errorf("the private database, process %d, still stops after %v; see %s", p.pid, stopWithin, s.log())
		}
	}
	if oursAlone(p.socket) {
		clearSocketFolder(p.socket)
	}
	return nil
}

// reach connects to the database and makes it if it is not there: the program may have been killed after it made the
// cluster. False means that the server does not answer, or not yet.
func reach(ctx context.Context, socket string) (there bool, err error) {
	conn, err := pgconn.Connect(ctx, dsn(socket, database))
	if err == nil {
		return true, conn.Close(ctx)
	}
	var said *pgconn.PgError
	switch {
	// https://www.postgresql.org/docs/15/errcodes-appendix.html
	case !errors.As(err, &said), said.Code == "57P03": // cannot_connect_now: it starts or stops
		return false, err
	case said.Code != "3D000": // invalid_catalog_name: there is no such database
		return true, err
	}
	if conn, err = pgconn.Connect(ctx, dsn(socket, "postgres")); err != nil {
		return true, err
	}
	_, err = conn.Exec(ctx, "CREATE DATABASE "+database).ReadAll()
	return true, errors.Join(err, conn.Close(ctx))
}

// sleep waits until it is worth looking again, or says why ctx ended.
func sleep(ctx context.Context) error {
	select {
	case <-ctx.Done():
		return context.Cause(ctx)
	case <-time.After(pollEvery):
		return nil
	}
}
