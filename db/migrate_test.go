package db_test

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/db/dbtest"
	"circlip/inventory"
)

var update = flag.Bool("update", false, "write schema.sql anew")

// schemaMajor is the release whose pg_dump wrote schema.sql; others write the
// same tables in other words.
const schemaMajor = "15"

// dump is the schema of a database as pg_dump writes it, without what differs
// from run to run.
func dump(t *testing.T, dsn string) string {
	t.Helper()
	config, err := pgx.ParseConfig(dsn)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(pgDump(t), "--schema-only", "--schema=circlip", "--host="+config.Host, "--username="+config.User, config.Database)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	text := regexp.MustCompile(`(?m)^(--.*|\\(un)?restrict .*|SET .*|SELECT pg_catalog.set_config.*)\n`).ReplaceAllString(string(out), "")
	return regexp.MustCompile(`\n{3,}`).ReplaceAllString(strings.TrimSpace(text), "\n\n") + "\n"
}

func pgDump(t *testing.T) string {
	t.Helper()
	if path := filepath.Join("/usr/lib/postgresql", schemaMajor, "bin/pg_dump"); fileExists(path) {
		return path
	}
	path, err := exec.LookPath("pg_dump")
	if err != nil {
		t.Skip("no pg_dump here")
	}
	if out, err := exec.Command(path, "--version").Output(); err != nil || !strings.Contains(string(out), " "+schemaMajor+".") {
		t.Skipf("schema.sql is written by pg_dump %s, here is %s", schemaMajor, out)
	}
	return path
}

func fileExists(path string) bool { _, err := os.Stat(path); return err == nil }

// schema.sql is for readers: all migrations in one, as the database has them.
func TestSchemaFileIsTrue(t *testing.T) {
	got := "-- The tables as all migrations leave them, for reading; written by: go test ./db -run TestSchemaFileIsTrue -update\n\n" +
		dump(t, dbtest.Migrated(t))
	if *update {
		if err := os.WriteFile("schema.sql", []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile("schema.sql")
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("schema.sql (-file +database); write it anew with -update:\n%s", diff)
	}
}

func steps(t *testing.T) int {
	t.Helper()
	files, err := fs.Glob(db.Migrations, "migrations/*.up.sql")
	if err != nil || len(files) == 0 {
		t.Fatalf("found %v, %v, expected migrations", files, err)
	}
	return len(files)
}

// Every step goes up, back and up again; each time the tables are the same.
func TestEveryStepGoesUpDownAndUpAgain(t *testing.T) {
	dsn := dbtest.Empty(t)
	conn := dbtest.Connect(t, dsn)
	last := steps(t)
	to := func(step int) string {
		if err := db.Migrate(t.Context(), conn, db.Migrations, step); err != nil {
			t.Fatalf("to step %d: %v", step, err)
		}
		return dump(t, dsn)
	}
	var up []string
	for step := range last {
		up = append(up, to(step+1))
	}
	for step := last - 1; step > 0; step-- {
		if diff := cmp.Diff(strings.Split(up[step-1], "\n"), strings.Split(to(step), "\n")); diff != "" {
			t.Errorf("back at step %d (-on the way up +on the way down):\n%s", step, diff)
		}
	}
	if bare := to(0); strings.Contains(bare, "FUNCTION") || strings.Count(bare, "CREATE TABLE") != 1 {
		t.Errorf("all the way back, expected nothing but the list of steps, found:\n%s", bare)
	}
	if diff := cmp.Diff(strings.Split(up[last-1], "\n"), strings.Split(to(db.Newest), "\n")); diff != "" {
		t.Errorf("up again (-first +second):\n%s", diff)
	}
	if diff := cmp.Diff(up[last-1], dump(t, dbtest.Migrated(t))); diff != "" {
		t.Errorf("step by step and at once differ:\n%s", diff)
	}
}

func TestSixProgramsMigrateAtOnce(t *testing.T) {
	dsn := dbtest.Empty(t)
	var wait sync.WaitGroup
	errs := make([]error, 6)
	for i := range errs {
		wait.Go(func() {
			var store *db.Store
			if store, errs[i] = db.Open(context.Background(), dsn); errs[i] == nil {
				store.Close()
			}
		})
	}
	wait.Wait()
	if err := errors.Join(errs...); err != nil {
		t.Fatal(err)
	}
	applied := collect(t, dbtest.Connect(t, dsn), rowToInt, `SELECT number FROM circlip.migration ORDER BY number`)
	if len(applied) != steps(t) {
		t.Errorf("found steps %v, expected each of %d once", applied, steps(t))
	}
}

// copied is the program's migrations as files that a test may change.
func copied(t *testing.T) fstest.MapFS {
	t.Helper()
	files := fstest.MapFS{}
	err := fs.WalkDir(db.Migrations, "migrations", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		data, err := fs.ReadFile(db.Migrations, path)
		files[path] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func TestFilesThatDoNotFitAreRefused(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(fstest.MapFS)
		want  string
	}{
		"an applied file was edited": {
			func(f fstest.MapFS) {
				f["migrations/0002_ledger.up.sql"] = &fstest.MapFile{Data: append(slices.Clone(f["migrations/0002_ledger.up.sql"].Data), '\n')}
			},
			"0002_ledger was changed after it was applied"},
		"the database knows more steps": {
			func(f fstest.MapFS) {
				for path := range f {
					if !strings.HasPrefix(path, "migrations/0001") {
						delete(f, path)
					}
				}
			}, "this program knows 1; use a newer circlip"},
		"a number is missing": {
			func(f fstest.MapFS) { delete(f, "migrations/0002_ledger.up.sql") }, "expected number 0002 there"},
		"there is no way back": {
			func(f fstest.MapFS) { delete(f, "migrations/0002_ledger.down.sql") }, "no way back"},
		"a name without a number": {
			func(f fstest.MapFS) { f["migrations/ledger.up.sql"] = f["migrations/0002_ledger.up.sql"] }, "expected NNNN_name.up.sql"},
	} {
		t.Run(name, func(t *testing.T) {
			conn := dbtest.Connect(t, dbtest.Migrated(t))
			files := copied(t)
			c.spoil(files)
			err := db.Migrate(t.Context(), conn, files, db.Newest)
			if !errors.Is(err, db.ErrMigration) || !strings.Contains(err.Error(), c.want) {
				t.Errorf("found %v, expected %q", err, c.want)
			}
		})
	}
}

// A step that fails half way leaves the steps before it and nothing of itself.
func TestAStepThatFailsLeavesNothing(t *testing.T) {
	dsn := dbtest.Empty(t)
	conn := dbtest.Connect(t, dsn)
	files := copied(t)
	bad := fmt.Sprintf("migrations/%04d_bad", steps(t)+1)
	files[bad+".up.sql"] = &fstest.MapFile{Data: []byte("CREATE TABLE half (n integer); SELECT 1 / 0;")}
	files[bad+".down.sql"] = &fstest.MapFile{Data: []byte("DROP TABLE half;")}
	if err := db.Migrate(t.Context(), conn, files, db.Newest); err == nil || !strings.Contains(err.Error(), "_bad") {
		t.Errorf("found %v, expected the step to be named", err)
	}
	if diff := cmp.Diff(dump(t, dbtest.Migrated(t)), dump(t, dsn)); diff != "" {
		t.Errorf("the failed step left something:\n%s", diff)
	}
	files[bad+".up.sql"].Data = []byte("CREATE TABLE half (n integer);")
	if err := db.Migrate(t.Context(), conn, files, db.Newest); err != nil {
		t.Errorf("mended: %v", err)
	}
}

// A login that may not make roles works as itself; the triggers still refuse.
func TestALoginWithoutRightsToMakeRoles(t *testing.T) {
	dsn := dbtest.Empty(t)
	admin := dbtest.Connect(t, dsn)
	name := admin.Config().Database
	for _, sql := range []string{`CREATE ROLE plain_` + name + ` LOGIN`, `ALTER DATABASE ` + name + ` OWNER TO plain_` + name} {
		if _, err := admin.Exec(t.Context(), sql); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() {
		ctx := context.WithoutCancel(t.Context())
		if _, err := admin.Exec(ctx, `DROP OWNED BY plain_`+name+` CASCADE; ALTER DATABASE `+name+` OWNER TO circlip; DROP ROLE plain_`+name,
			pgx.QueryExecModeSimpleProtocol); err != nil {
			t.Error(err)
		}
	})
	plain := strings.Replace(dsn, "user=circlip", "user=plain_"+name, 1)
	s := &shop{Store: dbtest.OpenDSN(t, plain), dsn: dsn, admin: admin}
	s.workshop = s.another(t)
	s.must(t, receive("seal", "L", 5))
	s.must(t, take("J", "seal", 2))
	s.must(t, place("PO-7", db.PlaceLine{Item: "wiper", Packs: 1, PackQty: 5}))
	s.must(t, deliver("PO-7", db.DeliverLine{Item: "wiper", Packs: 1, Qty: 5}))
	s.must(t, inspect("seal", "L", day(31)))
	s.must(t, db.CloseJob{Job: "J", On: day(5)})
	conn := dbtest.Connect(t, plain)
	for table, change := range ledgerTables {
		if table == "set_aside" || strings.HasPrefix(table, "seal") || table == "import" {
			continue // empty here
		}
		refusedWith(t, conn, `UPDATE circlip.`+table+` SET `+change, isKept)
		refusedWith(t, conn, `DELETE FROM circlip.`+table, isKept)
		refusedWith(t, conn, `TRUNCATE circlip.`+table+` CASCADE`, isKept)
	}
	refusedWith(t, conn, `SET session_replication_role = replica`, noRight)
	s.mustBeSound(t)
	dbtest.OpenDSN(t, plain) // a second time
	s.Close()
}

func TestOpenRefuses(t *testing.T) {
	t.Parallel() // it mostly waits
	for name, c := range map[string]struct {
		dsn  string
		kind error
		want string
	}{
		"an address that is none":      {"postgres://%zz", inventory.ErrInvalid, "database address"},
		"a server that is not there":   {"host=/nowhere", inventory.ErrUnavailable, "gave up after"},
		"a database that is not there": {strings.Replace(dbtest.Empty(t), "dbname=", "dbname=no_", 1), inventory.ErrUnavailable, "does not exist"},
	} {
		_, err := db.Open(t.Context(), c.dsn)
		if err == nil || !strings.Contains(err.Error(), c.want) || !errors.Is(err, c.kind) {
			t.Errorf("%s: found %v, expected %q", name, err, c.want)
		}
	}
	admin := dbtest.Connect(t, dbtest.Empty(t))
	latin := "latin_" + admin.Config().Database
	if _, err := admin.Exec(t.Context(), `CREATE DATABASE `+latin+` ENCODING 'LATIN1' TEMPLATE template0`); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _, _ = admin.Exec(context.WithoutCancel(t.Context()), `DROP DATABASE `+latin) })
	_, err := db.Open(t.Context(), strings.Replace(admin.Config().ConnString(), "dbname="+admin.Config().Database, "dbname="+latin, 1))
	if !errors.Is(err, inventory.ErrUnavailable) || !strings.Contains(err.Error(), "UTF8") {
		t.Errorf("a database in LATIN1: found %v, expected it to be refused", err)
	}
}
