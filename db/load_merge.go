package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"circlip/inventory/book"
)

// The last four tables tell of the shelf. What is new in them must be known
// before they are merged, and priced by the offers that came before.
const firstOfShelf = "job_use"

// merge brings the workshop's tables to what is staged; it writes only rows
// that are new or changed.
func (l *loading) merge(ctx context.Context) error {
	before, err := l.countRows(ctx)
	if err != nil {
		return err
	}
	written := map[string]int{}
	for _, t := range book.Tables {
		if t.Name == firstOfShelf {
			if err := script(ctx, l.tx, loadSQL("told")); err != nil {
				return err
			}
		}
		if before[t.Name].staged == 0 {
			continue
		}
		done, err := l.tx.Exec(ctx, loadSQL("merge/"+t.Name), l.args())
		if err != nil {
			return fmt.Errorf("table %s: %w", t.Name, err)
		}
		written[t.Name] = int(done.RowsAffected())
	}
	after, err := l.countRows(ctx)
	for _, t := range book.Tables { // only what a workshop has is worth telling
		staged, kept := before[t.Name].staged, after[t.Name].kept
		if kept == 0 {
			continue
		}
		made := kept - before[t.Name].kept
		l.report.Tables = append(l.report.Tables, TableLoad{
			Table: t.Name, Rows: staged, New: made, Changed: written[t.Name] - made, Same: staged - written[t.Name], Missing: kept - staged,
		})
	}
	return err
}

// rowCounts are the rows of one table in the book, and those that the workshop
// has.
type rowCounts struct{ staged, kept int }

// countRows counts all tables in one statement. New rows are told by counting
// before and after, since MERGE of PostgreSQL 15 does not say what it did.
func (l *loading) countRows(ctx context.Context) (map[string]rowCounts, error) {
	rows, err := l.tx.Query(ctx, loadSQL("counts"), l.args())
	if err != nil {
		return nil, err
	}
	counts := map[string]rowCounts{}
	var table string
	var n rowCounts
	_, err = pgx.ForEachRow(rows, []any{&table, &n.staged, &n.kept}, func() error {
		counts[table] = n
		return nil
	})
	return counts, err
}
