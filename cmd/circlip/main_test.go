package main

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5"

	"circlip/db/dbtest"
)

// outcome is how a command ended and what it said.
type outcome struct {
	status   int
	out, err string
}

// circlip runs one command in this process.
func circlip(t testing.TB, args ...string) outcome {
	t.Helper()
	var stdout, stderr bytes.Buffer
	status := run(t.Context(), args, &stdout, &stderr)
	return outcome{status, stdout.String(), stderr.String()}
}

// done is circlip for a command that must succeed; it returns standard output.
func done(t testing.TB, args ...string) string {
	t.Helper()
	o := circlip(t, args...)
	if o.status != statusDone {
		t.Fatalf("circlip %v: exit status %d: %s", args, o.status, o.err)
	}
	return o.out
}

// books are what a database for a test may hold.
var books = map[string]*stockedBook{
	"empty": {},
	"small": {path: "../../testdata/cli/small"},
	"demo":  {path: "../../testdata/demo"},
}

// stockedBook is a book and the database that it was loaded into, once, to be
// cloned.
type stockedBook struct {
	path string
	once sync.Once
	err  error
}

var clones atomic.Int64

// database is a fresh database with a book in it, for the time of the test: its
// address, with the rights of a superuser.
func database(t testing.TB, name string) string {
	t.Helper()
	b, known := books[name]
	if !known {
		t.Fatalf("no book %q", name)
	}
	b.once.Do(func() { b.err = b.stock(t, name) })
	if b.err != nil {
		t.Fatal(b.err)
	}
	clone := fmt.Sprintf("clone%d", clones.Add(1))
	ask(t, fmt.Sprintf("CREATE DATABASE %s TEMPLATE stocked_%s STRATEGY file_copy", clone, name))
	t.Cleanup(func() { ask(t, "DROP DATABASE "+clone+" WITH (FORCE)") })
	return address(t, clone)
}

// stock loads the book through the program itself.
func (b *stockedBook) stock(t testing.TB, name string) error {
	t.Helper()
	ask(t, "CREATE DATABASE stocked_"+name)
	args := []string{"load", b.path}
	if b.path == "" {
		args = []string{"check"} // finds no workshop, but makes the tables
	}
	o := circlip(t, append(args, "--database", address(t, "stocked_"+name))...)
	if o.status != statusDone && b.path != "" {
		return fmt.Errorf("load %s: %s", b.path, o.err)
	}
	return nil
}

// address leads to a database of the test server; the server's owner is the
// role circlip.
func address(t testing.TB, name string) string {
	t.Helper()
	socket := dbtest.Socket(t)
	port := strings.TrimPrefix(filepath.Ext(socket), ".")
	return fmt.Sprintf("host=%s port=%s user=circlip dbname=%s sslmode=disable", filepath.Dir(socket), port, name)
}

// ask runs statements in the test server's own database.
func ask(t testing.TB, sql string) {
	t.Helper()
	tell(t, address(t, "postgres"), sql)
}

// tell runs statements in a database.
func tell(t testing.TB, dsn, sql string) {
	t.Helper()
	ctx := context.WithoutCancel(t.Context())
	conn, err := pgx.Connect(ctx, dsn)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = conn.Close(ctx) }()
	if _, err := conn.PgConn().Exec(ctx, sql).ReadAll(); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}
