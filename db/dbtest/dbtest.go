// Package dbtest gives every test a PostgreSQL database of its own, empty or
// migrated. A test binary starts one server on a memory disk at first use,
// migrates one template database, and clones it for each test in some 20 ms.
// The server ends with the binary, however that ends.
//
//	store := dbtest.Open(t)        // fresh tables, gone after the test
//	dsn := dbtest.Migrated(t)      // the same as an address, as superuser
//
// Tests fail where no PostgreSQL is installed; CIRCLIP_SKIP_DB=1 skips them, but not where CI is set.
package dbtest

import (
	"context"
	"fmt"
	"os"
	"sync"
	"testing"

	"github.com/jackc/pgx/v5"

	"circlip/db"
)

// Open returns a store on a fresh migrated database, closed and dropped when
// the test is over.
func Open(t testing.TB) *db.Store {
	t.Helper()
	return OpenDSN(t, Migrated(t))
}

// OpenDSN opens the database at dsn for the time of the test.
func OpenDSN(t testing.TB, dsn string) *db.Store {
	t.Helper()
	store, err := db.Open(t.Context(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(store.Close)
	return store
}

// Migrated returns the address of a fresh migrated database, with the rights
// of a superuser.
func Migrated(t testing.TB) string {
	t.Helper()
	s := running(t)
	if err := s.migrateTemplate(); err != nil {
		t.Fatalf("migrate the tests' template database: %v", err)
	}
	return s.create(t, "TEMPLATE circlip_template STRATEGY file_copy")
}

// Empty returns the address of a fresh database without any tables.
func Empty(t testing.TB) string {
	t.Helper()
	return running(t).create(t, "TEMPLATE template0 STRATEGY file_copy")
}

// Connect returns a connection to dsn for the time of the test.
func Connect(t testing.TB, dsn string) *pgx.Conn {
	t.Helper()
	conn, err := pgx.Connect(t.Context(), dsn)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = conn.Close(context.WithoutCancel(t.Context())) })
	return conn
}

// Socket is the path of the server's socket, for tests that stand between a
// client and the server.
func Socket(t testing.TB) string { t.Helper(); return running(t).socket }

// start runs once a binary.
var start = sync.OnceValues(startServer)

func running(t testing.TB) *server {
	t.Helper()
	if os.Getenv("CIRCLIP_SKIP_DB") != "" && os.Getenv("CI") == "" {
		t.Skip("CIRCLIP_SKIP_DB is set: nothing of the database is tested")
	}
	s, err := start()
	if err != nil {
		t.Fatalf("a PostgreSQL server for the tests: %v (CIRCLIP_SKIP_DB=1 skips these tests)", err)
	}
	return s
}

// create makes a database and drops it when the test is over.
func (s *server) create(t testing.TB, how string) string {
	t.Helper()
	name := fmt.Sprintf("t%d", s.last.Add(1))
	if err := s.run("CREATE DATABASE " + name + " " + how); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.run("DROP DATABASE " + name + " WITH (FORCE)"); err != nil {
			t.Error(err)
		}
	})
	return s.dsn(name)
}
