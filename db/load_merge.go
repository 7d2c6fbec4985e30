package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"circlip/inventory/book"
)

// The tables from the first of these on tell of the shelf, or come after them.
// What is new in them must be known before they are merged, and priced by the
// offers that came before. The last has no table of its own: the ledger takes
// it.
const (
	firstOfShelf = "job_use"
	ofTheLedger  = "moves"
)

// merge brings the workshop's tables to what is staged; it writes only rows
// that are new or changed.
func (l *loading) merge(ctx context.Context) error {
	counts, err := l.countRows(ctx)
	if err != nil {
		return err
	}
	for _, t := range book.Tables {
		if t.Name == firstOfShelf {
			if err := script(ctx, l.tx, loadSQL("told")); err != nil {
				return err
			}
		}
		n := counts[t.Name]
		switch {
		case t.Name == ofTheLedger:
			n.written = n.staged - n.both
		case n.staged > 0:
			done, err := l.tx.Exec(ctx, loadSQL("merge/"+t.Name), l.args())
			if err != nil {
				return fmt.Errorf("table %s: %w", t.Name, err)
			}
			n.written = int(done.RowsAffected())
		}
		if n.staged+n.kept == 0 {
			continue // nothing to tell
		}
		made := n.staged - n.both
		l.report.Tables = append(l.report.Tables, TableLoad{
			Table: t.Name, Rows: n.staged, New: made, Changed: n.written - made, Same: n.staged - n.written, Missing: n.kept - n.both,
		})
	}
	return nil
}

// rowCounts are the rows of one table in the book, those that the workshop had,
// those of both, and those that were written. They are counted beforehand,
// since MERGE of PostgreSQL 15 does not say which were new.
type rowCounts struct{ staged, kept, both, written int }

// countRows counts all tables in one statement.
func (l *loading) countRows(ctx context.Context) (map[string]rowCounts, error) {
	rows, err := l.tx.Query(ctx, loadSQL("counts"), l.args())
	if err != nil {
		return nil, err
	}
	counts := map[string]rowCounts{}
	var table string
	var n rowCounts
	_, err = pgx.ForEachRow(rows, []any{&table, &n.staged, &n.kept, &n.both}, func() error {
		counts[table] = n
		return nil
	})
	return counts, err
}
