package db

import (
	"context"
	"errors"
	"iter"
	"strings"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgtype"

	"circlip/inventory"
	"circlip/inventory/book"
)

// stage copies the good rows of a table into its temporary table as they are
// read; at no time more than one row is held.
func (l *loading) stage(ctx context.Context, t book.Table) error {
	columns := []string{"row"}
	for _, c := range t.Columns {
		columns = append(columns, c.Name)
	}
	if reckoned := reckonedOf[t.Name]; reckoned != nil {
		columns = append(columns, reckoned...)
		if err := l.learnScales(ctx); err != nil {
			return err
		}
	}
	var readErr error
	next, stop := iter.Pull(l.records(t, &readErr))
	defer stop()
	values := make([]any, len(columns)) // of one row; COPY has read it before the next
	_, err := l.tx.CopyFrom(ctx, pgx.Identifier{"staged_" + t.Name}, columns, pgx.CopyFromFunc(func() ([]any, error) {
		record, more := next()
		if !more {
			return nil, readErr
		}
		values = append(values[:0], int64(record.Row))
		for _, v := range record.Values {
			values = append(values, sqlValue(v))
		}
		return values, nil
	}))
	if readErr != nil {
		return readErr
	}
	return err
}

// reckonedOf are the columns of staged rows that complete adds to the book's.
var reckonedOf = map[string][]string{"counts": {"found"}, "count_parts": {"tared", "found"}}

var errStopped = errors.New("stopped")

// records are the rows of a table that are good by themselves. Faults and
// warnings of the others are kept, and the codes of rows that cannot be staged.
func (l *loading) records(t book.Table, failed *error) iter.Seq[book.Record] {
	return func(yield func(book.Record) bool) {
		w := watch{table: t}
		faults, warnings, err := book.Read(t, w.rows(l.source.Rows(t.Name)), &l.context, func(r book.Record) error {
			r, w.staged = l.complete(t.Name, r)
			if w.staged && !yield(r) {
				return errStopped
			}
			return nil
		})
		l.faults = append(l.faults, faults...)
		l.report.Warnings = append(l.report.Warnings, warnings...)
		l.spoiled = append(l.spoiled, w.spoiled...)
		l.named = append(l.named, w.named...)
		if !errors.Is(err, errStopped) {
			*failed = err
		}
	}
}

// complete checks and adds what the reader of rows cannot know.
func (l *loading) complete(table string, r book.Record) (book.Record, bool) {
	switch table {
	case "settings":
		if l.settings == nil {
			l.settings = map[string]string{}
		}
		key, _ := r.Values[0].(string)
		l.settings[key], _ = r.Values[1].(string)
	case "counts":
		return l.weighCount(r)
	case "count_parts":
		return l.weighPart(r)
	}
	return r, true
}

// watch sees the rows of a table go by and keeps the codes of those that come
// to nothing, so that rows that name them are not told that they do not exist.
type watch struct {
	table   book.Table
	staged  bool                // the row at hand
	at      map[int]book.Column // by cell: the first column, and those that refer to a table
	spoiled [][]any
	named   []reference
}

// reference is a code that a spoiled row names in another table.
type reference struct {
	table        string
	row          int
	column       string
	refers, code string
}

// referredTo are the tables whose first column others need, by name or by what
// it tells: an order needs an offer of its item, a use a lot of it, a count its
// parts, a part its count, and a disposal those of its day.
var referredTo = map[string]bool{
	"suppliers": true, "items": true, "offers": true, "models": true, "services": true, "units": true, "jobs": true,
	"stock": true, "orders": true, "containers": true, "counts": true, "count_parts": true, "disposals": true,
}

// rows passes the rows on. A row that came and went without being staged is
// spoiled, whether it had a fault or names a row that has one; the codes in it
// are kept, since the checks of staged rows do not see them.
func (w *watch) rows(rows iter.Seq2[book.Row, error]) iter.Seq2[book.Row, error] {
	return func(yield func(book.Row, error) bool) {
		for row, err := range rows {
			w.staged = false
			if !yield(row, err) {
				return
			}
			switch {
			case w.at == nil:
				w.readHead(row.Cells)
			case !w.staged:
				w.keep(row)
			}
		}
	}
}

// readHead finds the columns that hold codes.
func (w *watch) readHead(cells []book.Cell) {
	w.at = map[int]book.Column{}
	for i, cell := range cells {
		for k, c := range w.table.Columns {
			if strings.EqualFold(strings.TrimSpace(cell.Text), c.Name) && (k == 0 || c.Refers != "") {
				w.at[i] = c
			}
		}
	}
}

// keep notes the codes of a spoiled row.
func (w *watch) keep(row book.Row) {
	for i, cell := range row.Cells {
		c, holds := w.at[i]
		if !holds {
			continue
		}
		for text := range strings.SplitSeq(cell.Text, ";") {
			code := strings.Clone(strings.TrimSpace(text))
			if code == "" || code == inventory.AnyModel {
				continue
			}
			if c.Name == w.table.Columns[0].Name && referredTo[w.table.Name] {
				w.spoiled = append(w.spoiled, []any{w.table.Name, code})
			}
			if c.Refers != "" {
				w.named = append(w.named, reference{w.table.Name, row.Number, c.Name, c.Refers, code})
			}
		}
	}
}

// sqlValue makes a value of the book one that COPY takes.
func sqlValue(value any) any {
	switch v := value.(type) {
	case inventory.Date:
		if v.IsZero() {
			return nil
		}
		return sqlDate(v)
	case inventory.Quantity:
		return int64(v)
	case inventory.Money:
		return int64(v)
	case inventory.UnitCost:
		return int64(v)
	}
	return value
}

// endless is a date that never comes.
var endless = pgtype.Date{InfinityModifier: pgtype.Infinity, Valid: true}

// sqlDate writes a day as PostgreSQL's date.
type sqlDate inventory.Date

// DateValue implements pgtype.DateValuer.
func (d sqlDate) DateValue() (pgtype.Date, error) {
	return pgtype.Date{Time: inventory.Date(d).Time(), Valid: true}, nil
}
