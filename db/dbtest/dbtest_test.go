package dbtest_test

import (
	"testing"

	"circlip/db/dbtest"
)

func TestTwoTestsShareNothing(t *testing.T) {
	first, second := dbtest.Connect(t, dbtest.Migrated(t)), dbtest.Connect(t, dbtest.Migrated(t))
	if _, err := first.Exec(t.Context(), `INSERT INTO circlip.workshop (name) VALUES ('north')`); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		want int
		got  interface{ Scan(...any) error }
	}{
		"the writer sees its row":    {1, first.QueryRow(t.Context(), `SELECT count(*) FROM circlip.workshop`)},
		"the other database is bare": {0, second.QueryRow(t.Context(), `SELECT count(*) FROM circlip.workshop`)},
	} {
		var got int
		if err := c.got.Scan(&got); err != nil || got != c.want {
			t.Errorf("%s: found %d, %v, expected %d", name, got, err, c.want)
		}
	}
}

func TestAnEmptyDatabaseHasNoTables(t *testing.T) {
	conn := dbtest.Connect(t, dbtest.Empty(t))
	var schemas int
	err := conn.QueryRow(t.Context(), `SELECT count(*) FROM pg_namespace WHERE nspname = 'circlip'`).Scan(&schemas)
	if err != nil || schemas != 0 {
		t.Errorf("found %d schemas, %v, expected none", schemas, err)
	}
}

func BenchmarkFreshDatabase(b *testing.B) {
	for b.Loop() {
		dbtest.Migrated(b)
	}
}
