package db

import (
	"context"
	"io/fs"
	"time"

	"github.com/jackc/pgx/v5"
)

// SetPatience says how long acts are tried again.
func (s *Store) SetPatience(d time.Duration) { s.patience = d }

// HangUp closes the pool's connections; the next act starts a session.
func (s *Store) HangUp() { s.pool.Reset() }

// Migrate brings a database to a step of the given files; Newest for the last.
func Migrate(ctx context.Context, conn *pgx.Conn, files fs.FS, target int) error {
	return migrate(ctx, conn, files, target)
}

const Newest = newest

// Migrations are the program's own.
var Migrations fs.FS = migrationFiles

// Guards and Limits are what Check expects to find.
var (
	Guards = guards
	Limits = limits
)

// Bulk is the transaction that a load works in.
func (s *Store) Bulk(ctx context.Context, write func(pgx.Tx) error) error {
	return s.inBulk(ctx, write)
}

// Persist is the retry loop.
func Persist(ctx context.Context, patience time.Duration, work func(context.Context) error) error {
	return persist(ctx, patience, work)
}

// Request is an act as the database is asked for it.
func Request(act Act) (kind string, request map[string]any) { return act.kind(), act.request() }
