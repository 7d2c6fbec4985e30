// Package db keeps a workshop's book and its stock ledger in PostgreSQL. It
// holds all of the program's SQL.
//
// The book is what people write down and may correct: items, offers, units,
// jobs. The ledger is what happened to stock: acts (a delivery received, parts
// taken for a job, a count) and the movements they made, which are never
// changed and never removed. Every act carries its own key; doing it again
// with the same key gives the stored answer and moves nothing.
//
//	store, err := db.Open(ctx, "postgres:///circlip")
//	if err != nil {
//		return err
//	}
//	defer store.Close()
//	done, err := store.Do(ctx, workshop, uuid.New(), db.Take{
//		Job: "J-0412", On: today, Lines: []db.Line{{Item: "wiper-35", Qty: 2}},
//	})
package db

import (
	"context"
	"fmt"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"

	"circlip/inventory"
)

// Store is a pool of connections to one migrated database. It is safe for use
// by several goroutines.
type Store struct {
	pool     *pgxpool.Pool
	patience time.Duration // how long one act is tried again
}

const (
	maxConnections = 16
	patience       = 10 * time.Second
	openPatience   = 3 * time.Second // a server that restarts is back by then
)

// sessionSQL bounds how long a session may wait, work and idle, so that a
// stuck one shows an error instead of a hanging screen.
const sessionSQL = `
SET search_path = circlip;
SET timezone = 'UTC';
SET lock_timeout = '2s';
SET statement_timeout = '5s';
SET idle_in_transaction_session_timeout = '10s';
DO $$
BEGIN
	PERFORM set_config('client_connection_check_interval', '2s', false);
EXCEPTION WHEN invalid_parameter_value THEN
	NULL; -- not every system can
END $$;`

// Open connects to the database that dsn names (a URL or key=value pairs),
// brings its tables up to date and returns a pool that works as the role
// circlip_app where there is one. Where the login may not make roles, the pool
// works as the login itself; the ledger's triggers still guard it.
//
// It wraps inventory.ErrUnavailable when the database cannot be reached or is
// older than PostgreSQL 15, and ErrMigration when its tables were made by
// other migrations than this program's.
func Open(ctx context.Context, dsn string) (*Store, error) {
	config, err := pgxpool.ParseConfig(dsn)
	if err != nil {
		return nil, fmt.Errorf("database address: %w: %w", inventory.ErrInvalid, err)
	}
	session, err := prepare(ctx, config.ConnConfig)
	if err != nil {
		return nil, fmt.Errorf("open database %q on %s: %w", config.ConnConfig.Database, config.ConnConfig.Host, err)
	}
	if !strings.Contains(dsn, "pool_max_conns") {
		config.MaxConns = maxConnections
	}
	config.AfterConnect = func(ctx context.Context, conn *pgx.Conn) error {
		return conn.PgConn().Exec(ctx, session).Close()
	}
	pool, err := pgxpool.NewWithConfig(ctx, config)
	if err != nil {
		return nil, fmt.Errorf("open database: %w", explain(err))
	}
	return &Store{pool: pool, patience: patience}, nil
}

// prepare migrates the database and returns the statements that every session
// of the pool starts with.
func prepare(ctx context.Context, config *pgx.ConnConfig) (session string, err error) {
	var conn *pgx.Conn
	err = persist(ctx, openPatience, func(attempt context.Context) (err error) {
		conn, err = pgx.ConnectConfig(attempt, config)
		return err
	})
	if err != nil {
		return "", err
	}
	defer func() { _ = conn.Close(context.WithoutCancel(ctx)) }()
	if err := checkServer(ctx, conn); err != nil {
		return "", err
	}
	if err := migrate(ctx, conn, migrationFiles, newest); err != nil {
		return "", err
	}
	var owner string
	if err := conn.QueryRow(ctx, schemaOwnerSQL).Scan(&owner); err != nil {
		return "", err
	}
	if owner != ownerRole {
		return sessionSQL, nil
	}
	return sessionSQL + "SET ROLE " + appRole + ";", nil
}

// Close gives up all connections.
func (s *Store) Close() { s.pool.Close() }

// InSnapshot runs read in one snapshot of the database, so that everything it
// reads is of the same moment whatever others write meanwhile. It cannot
// write. Reading may take as long as ctx allows.
func (s *Store) InSnapshot(ctx context.Context, read func(pgx.Tx) error) error {
	return s.inTransaction(ctx, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}, read)
}

// inBulk runs write in one transaction, once: for work whose input cannot be
// read twice. It may take as long as ctx allows and keeps everything or
// nothing.
func (s *Store) inBulk(ctx context.Context, write func(pgx.Tx) error) error {
	return s.inTransaction(ctx, pgx.TxOptions{IsoLevel: pgx.ReadCommitted}, write)
}

// inTransaction tries until a transaction is open, and then runs work once: it
// may have passed on what it read.
func (s *Store) inTransaction(ctx context.Context, options pgx.TxOptions, work func(pgx.Tx) error) error {
	var tx pgx.Tx
	err := s.try(ctx, func(attempt context.Context) (err error) {
		tx, err = s.pool.BeginTx(attempt, options) // the context bounds the beginning only
		if err != nil {
			return err
		}
		_, err = tx.Exec(attempt, `SET LOCAL statement_timeout = 0; SET LOCAL idle_in_transaction_session_timeout = 0`,
			pgx.QueryExecModeSimpleProtocol)
		if err != nil {
			_ = tx.Rollback(context.WithoutCancel(ctx))
		}
		return err
	})
	if err != nil {
		return err
	}
	defer func() { _ = tx.Rollback(context.WithoutCancel(ctx)) }()
	if err := work(tx); err != nil {
		return explain(err)
	}
	return explain(tx.Commit(ctx))
}
