package db

import (
	"context"
	"embed"
	"fmt"
	"iter"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
	"circlip/inventory/book"
)

//go:embed save/*.sql
var saveFiles embed.FS

// Save hands a workshop's book to write: every table with its rows as cells, in
// the order of their keys. All of it is of one moment.
// What is written loads to the same book and the same shelf, lot by lot; saving
// that gives the same cells again. Items whose ledger does not follow from the
// rows of the book have all their movements in the table moves. What is set
// aside for jobs, and why they were corrected or taken over, is not in a book.
//
//	err := store.Save(ctx, workshop, func(tables iter.Seq2[book.Table, iter.Seq2[[]string, error]]) error {
//		return folder.Write("backup", tables)
//	})
func (s *Store) Save(ctx context.Context, workshop int64, write func(iter.Seq2[book.Table, iter.Seq2[[]string, error]]) error) error {
	return s.InSnapshot(ctx, func(tx pgx.Tx) error {
		v := saving{ctx: ctx, tx: tx, workshop: workshop}
		if err := v.learn(); err != nil {
			return err
		}
		return write(v.tables)
	})
}

// saving is one save on its way through a snapshot.
type saving struct {
	ctx      context.Context
	tx       pgx.Tx
	workshop int64
	context  book.Context
}

// learn reads what formatting needs: the currency and the items' measures.
func (v *saving) learn() error {
	args := pgx.NamedArgs{"workshop": v.workshop}
	settings, err := pairs(v.ctx, v.tx, keptSettingsSQL, args)
	if err != nil {
		return err
	}
	if len(settings) == 0 {
		return fmt.Errorf("workshop %d: %w", v.workshop, inventory.ErrNotFound)
	}
	parsed, faults := book.SettingsOf(settings)
	if len(faults) > 0 {
		return faults[0]
	}
	measures, err := pairs(v.ctx, v.tx, keptMeasuresSQL, args)
	v.context = book.Context{Currency: parsed.Currency, Measure: func(item string) (inventory.Measure, bool) {
		m, known := measures[item]
		return inventory.Measure(m), known
	}}
	return err
}

// tables yields every table of the book, also those without rows.
func (v *saving) tables(yield func(book.Table, iter.Seq2[[]string, error]) bool) {
	for _, t := range book.Tables {
		if !yield(t, v.rows(t)) {
			return
		}
	}
}

// query asks for a table's rows, their columns in the book's order, days
// counted from 1970-01-01.
func (v *saving) query(t book.Table) (pgx.Rows, error) {
	sql, err := saveFiles.ReadFile("save/" + t.Name + ".sql")
	if err != nil {
		return nil, err
	}
	return v.tx.Query(v.ctx, string(sql), pgx.NamedArgs{"workshop": v.workshop})
}

// rows yields a table's rows as cells.
func (v *saving) rows(t book.Table) iter.Seq2[[]string, error] {
	return func(yield func([]string, error) bool) {
		rows, err := v.query(t)
		if err != nil {
			yield(nil, err)
			return
		}
		defer rows.Close()
		for rows.Next() {
			values, err := rows.Values()
			if err != nil {
				yield(nil, err)
				return
			}
			for i, c := range t.Columns {
				values[i] = bookValue(c, values[i])
			}
			if !yield(t.Format(values, &v.context), nil) {
				return
			}
		}
		if err := rows.Err(); err != nil {
			yield(nil, err)
		}
	}
}

// bookValue makes a value of the database the one that a Record has.
func bookValue(c book.Column, value any) any {
	if n, whole := value.(int32); whole {
		value = int64(n)
	}
	switch v := value.(type) {
	case nil:
		if c.Kind == book.Date {
			return inventory.Date(0)
		}
	case int64:
		return countOf(c.Kind, v)
	case []any:
		codes := make([]string, len(v))
		for i, code := range v {
			codes[i], _ = code.(string)
		}
		return codes
	}
	return value
}

// countOf gives a whole number the type of what it counts.
func countOf(kind book.Kind, n int64) any {
	switch kind {
	case book.Date:
		return inventory.Date(n)
	case book.Quantity:
		return inventory.Quantity(n)
	case book.Money:
		return inventory.Money(n)
	case book.UnitCost:
		return inventory.UnitCost(n)
	}
	return n
}
