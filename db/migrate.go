package db

import (
	"bytes"
	"context"
	"crypto/sha256"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"circlip/inventory"
)

// ErrMigration is wrapped when the database and this program do not agree on
// how the tables came about.
var ErrMigration = errors.New("migrations differ")

//go:embed migrations/*.sql
var migrationFiles embed.FS

//go:embed rights.sql
var rightsSQL string

// newest stands for the last migration there is.
const newest = -1

// migrationLock is the advisory lock that makes migrating programs take turns.
const migrationLock = 0x636972636c6970 // "circlip"

// migration is one numbered step of the tables, and the way back.
type migration struct {
	number   int
	name     string
	up, down string
	sum      [32]byte // of the way up, kept with the database
}

// readMigrations reads NNNN_name.up.sql and .down.sql, numbered from 1 without
// a gap.
func readMigrations(files fs.FS) ([]migration, error) {
	paths, err := fs.Glob(files, "migrations/*.up.sql")
	if err != nil {
		return nil, err
	}
	slices.Sort(paths)
	var steps []migration
	for i, path := range paths {
		m, err := readMigration(files, path)
		if err != nil {
			return nil, err
		}
		if m.number != i+1 {
			return nil, fmt.Errorf("%w: found %s, expected number %04d there", ErrMigration, path, i+1)
		}
		steps = append(steps, m)
	}
	return steps, nil
}

func readMigration(files fs.FS, path string) (migration, error) {
	base := strings.TrimSuffix(strings.TrimPrefix(path, "migrations/"), ".up.sql")
	digits, name, _ := strings.Cut(base, "_")
	number, err := strconv.Atoi(digits)
	if err != nil || name == "" {
		return migration{}, fmt.Errorf("%w: found file %s, expected NNNN_name.up.sql", ErrMigration, path)
	}
	up, err := fs.ReadFile(files, path)
	if err != nil {
		return migration{}, err
	}
	down, err := fs.ReadFile(files, "migrations/"+base+".down.sql")
	if err != nil {
		return migration{}, fmt.Errorf("%w: no way back for %s: %w", ErrMigration, path, err)
	}
	return migration{number: number, name: name, up: string(up), down: string(down), sum: sha256.Sum256(up)}, nil
}

// migrate brings the database that conn is connected to up or down to step
// number target. Each step runs in a transaction of its own that holds the
// lock and looks again, so that any number of programs may start at once and a
// crash leaves whole steps only.
func migrate(ctx context.Context, conn *pgx.Conn, files fs.FS, target int) error {
	steps, err := readMigrations(files)
	if err != nil {
		return err
	}
	if target == newest {
		target = len(steps)
	}
	at, err := appliedSteps(ctx, conn, steps)
	if err != nil {
		return err
	}
	for at != target {
		err := pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) error { return migrateOne(ctx, tx, steps, target) })
		if err != nil {
			return explain(err)
		}
		if at, err = appliedSteps(ctx, conn, steps); err != nil {
			return err
		}
	}
	return nil
}

// querier is what a connection and a transaction have in common.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

const appliedSQL = `SELECT number, name, sha256 FROM circlip.migration ORDER BY number`

// appliedSteps counts the steps that the database has and compares each with
// the program's: an old file must never change, since nobody would notice that
// two databases differ.
func appliedSteps(ctx context.Context, q querier, steps []migration) (int, error) {
	var exists bool
	if err := q.QueryRow(ctx, `SELECT to_regclass('circlip.migration') IS NOT NULL`).Scan(&exists); err != nil {
		return 0, explain(err)
	}
	if !exists {
		return 0, nil
	}
	rows, err := q.Query(ctx, appliedSQL)
	if err != nil {
		return 0, explain(err)
	}
	n := 0
	var number int
	var name string
	var sum []byte
	_, err = pgx.ForEachRow(rows, []any{&number, &name, &sum}, func() error {
		n++
		if number != n {
			return fmt.Errorf("%w: the database has step %d without step %d", ErrMigration, number, n)
		}
		if n > len(steps) {
			return fmt.Errorf("%w: the database has step %04d_%s, this program knows %d; use a newer circlip",
				ErrMigration, number, name, len(steps))
		}
		if !bytes.Equal(sum, steps[n-1].sum[:]) {
			return fmt.Errorf("%w: %04d_%s was changed after it was applied (found %x, expected %x); undo the change and add a new file",
				ErrMigration, number, name, steps[n-1].sum[:6], sum[:6])
		}
		return nil
	})
	return n, explain(err)
}

const lockMigrationsSQL = `SELECT pg_advisory_xact_lock($1)`

// migrateOne takes one step towards target, unless another program took it.
func migrateOne(ctx context.Context, tx pgx.Tx, steps []migration, target int) error {
	if _, err := tx.Exec(ctx, lockMigrationsSQL, int64(migrationLock)); err != nil {
		return err
	}
	roles, err := prepareSchema(ctx, tx)
	if err != nil {
		return err
	}
	at, err := appliedSteps(ctx, tx, steps)
	if err != nil || at == target {
		return err
	}
	if at < target {
		err = stepUp(ctx, tx, steps[at])
	} else {
		err = stepDown(ctx, tx, steps[at-1])
	}
	if err != nil || !roles {
		return err
	}
	return script(ctx, tx, rightsSQL)
}

func stepUp(ctx context.Context, tx pgx.Tx, m migration) error {
	if err := script(ctx, tx, m.up); err != nil {
		return fmt.Errorf("migration %04d_%s: %w", m.number, m.name, err)
	}
	_, err := tx.Exec(ctx, `INSERT INTO circlip.migration (number, name, sha256) VALUES (@number, @name, @sum)`,
		pgx.NamedArgs{"number": m.number, "name": m.name, "sum": m.sum[:]})
	return err
}

func stepDown(ctx context.Context, tx pgx.Tx, m migration) error {
	if err := script(ctx, tx, m.down); err != nil {
		return fmt.Errorf("migration %04d_%s, back: %w", m.number, m.name, err)
	}
	_, err := tx.Exec(ctx, `DELETE FROM circlip.migration WHERE number = @number`, pgx.NamedArgs{"number": m.number})
	return err
}

// script runs a file of several statements, which needs the simple protocol.
func script(ctx context.Context, tx pgx.Tx, sql string) error {
	return tx.Conn().PgConn().Exec(ctx, sql).Close()
}

const schemaOwnerSQL = `SELECT coalesce((SELECT nspowner::regrole::text FROM pg_namespace WHERE nspname = 'circlip'), '')`

const createSchemaSQL = `
CREATE TABLE circlip.migration (
	number     integer PRIMARY KEY,
	name       text NOT NULL,
	sha256     bytea NOT NULL,
	applied_at timestamptz NOT NULL DEFAULT now()
)`

// prepareSchema makes the schema of its own that all tables live in, owned by
// circlip_owner where the login may make roles, and goes on as its owner. It
// reports whether the roles are in use.
func prepareSchema(ctx context.Context, tx pgx.Tx) (roles bool, err error) {
	var owner string
	if err := tx.QueryRow(ctx, schemaOwnerSQL).Scan(&owner); err != nil {
		return false, err
	}
	if owner == "" {
		roles, err = prepareRoles(ctx, tx)
	} else {
		roles = owner == ownerRole
	}
	if err != nil {
		return false, err
	}
	if owner == "" {
		create := `CREATE SCHEMA circlip`
		if roles {
			create += ` AUTHORIZATION circlip_owner`
		}
		if err := script(ctx, tx, create+`; SET LOCAL search_path = circlip;`); err != nil {
			return false, err
		}
	}
	if roles {
		if _, err := tx.Exec(ctx, `SET LOCAL ROLE circlip_owner`); err != nil {
			return false, fmt.Errorf("become circlip_owner, who owns the tables: %w; connect as a member of that role", err)
		}
	}
	if owner == "" {
		if err := script(ctx, tx, createSchemaSQL); err != nil {
			return false, err
		}
	}
	return roles, script(ctx, tx, `SET LOCAL search_path = circlip`)
}

const (
	ownerRole = "circlip_owner" // owns the tables, never logs in
	appRole   = "circlip_app"   // what the program works as
)

// Roles belong to the whole server: another database may make them at the same
// moment. A savepoint lets a login that may not make roles go on without.
const createRolesSQL = `
DO $$
DECLARE
	wanted text;
BEGIN
	FOREACH wanted IN ARRAY ARRAY['circlip_owner', 'circlip_app'] LOOP
		IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = wanted) THEN
			BEGIN
				EXECUTE format('CREATE ROLE %I NOLOGIN', wanted);
			EXCEPTION WHEN duplicate_object OR unique_violation THEN
				NULL;
			END;
		END IF;
		IF NOT pg_has_role(wanted, 'MEMBER') THEN
			EXECUTE format('GRANT %I TO CURRENT_USER', wanted);
		END IF;
	END LOOP;
END $$`

// prepareRoles makes the two roles, and reports false where the login may not.
func prepareRoles(ctx context.Context, tx pgx.Tx) (bool, error) {
	err := pgx.BeginFunc(ctx, tx, func(inner pgx.Tx) error {
		_, err := inner.Exec(ctx, createRolesSQL)
		return err
	})
	if refused := new(pgconn.PgError); errors.As(err, &refused) && refused.Code == insufficientPrivilege {
		return false, nil
	}
	return err == nil, err
}

const describeServerSQL = `
SELECT current_setting('server_version_num')::integer, current_setting('server_version'), current_setting('server_encoding')`

// checkServer refuses servers that the tables and the exact hashes cannot rely on.
func checkServer(ctx context.Context, conn *pgx.Conn) error {
	var number int
	var version, encoding string
	if err := conn.QueryRow(ctx, describeServerSQL).Scan(&number, &version, &encoding); err != nil {
		return explain(err)
	}
	if number < 150000 {
		return fmt.Errorf("%w: found PostgreSQL %s, expected 15 or newer", inventory.ErrUnavailable, version)
	}
	if encoding != "UTF8" {
		return fmt.Errorf("%w: found a database in encoding %s, expected UTF8; create it with ENCODING 'UTF8'", inventory.ErrUnavailable, encoding)
	}
	return nil
}
