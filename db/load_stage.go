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
	if t.Name == "counts" {
		if err := l.learnFluids(ctx); err != nil {
			return err
		}
	}
	columns := []string{"row"}
	for _, c := range t.Columns {
		columns = append(columns, c.Name)
	}
	if t.Name == "counts" {
		columns = append(columns, "found")
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
		return l.weigh(r)
	}
	return r, true
}

// weigh adds what was found of the item: the quantity counted, or what the
// weights come to.
func (l *loading) weigh(r book.Record) (book.Record, bool) {
	if counted, ok := r.Values[2].(inventory.Quantity); ok {
		r.Values = append(r.Values, counted)
		return r, true
	}
	code, _ := r.Values[0].(string)
	item, known := l.fluids[code]
	if !known {
		r.Values = append(r.Values, inventory.Quantity(0)) // an unknown code, found by the checks
		return r, true
	}
	w := inventory.Weighing{}
	w.GrossG, _ = r.Values[3].(float64)
	w.TareG, _ = r.Values[4].(float64)
	if temp, given := r.Values[5].(float64); given {
		w.TempC = &temp
	}
	found, err := w.Quantity(item.measure, item.density)
	if err != nil {
		l.fault(weighingFault(r.Row, code, item.measure, err))
		return r, false
	}
	r.Values = append(r.Values, found)
	return r, true
}

// weighingFault says what the item lacks to be weighed.
func weighingFault(row int, item string, measure inventory.Measure, err error) book.Fault {
	f := book.Fault{Table: "counts", Row: row, Column: "gross_g", Found: item}
	switch measure {
	case inventory.Each:
		f.Problem, f.Expected = "an item kept in ea was weighed", "a number of pieces in qty"
	case inventory.Millilitre:
		f.Problem, f.Expected = "an item kept in ml was weighed, but has no density", "density_kg_m3 of the item, or a quantity in qty"
	default:
		f.Problem, f.Expected = err.Error(), "weights that can be"
	}
	return f
}

// fluid is what weighing needs to know of an item.
type fluid struct {
	measure inventory.Measure
	density float64 // kg/m³ at 15 °C; 0: not stated
}

const fluidsSQL = `
SELECT item, unit, coalesce(density_kg_m3, 0) FROM staged_items
UNION ALL
SELECT item, measure, coalesce(density_kg_m3, 0) FROM item AS kept
WHERE workshop = @workshop AND NOT EXISTS (SELECT FROM staged_items AS s WHERE s.item = kept.item)`

// learnFluids keeps a few words an item: with the items' measures, the only
// thing of a load that grows with its book.
func (l *loading) learnFluids(ctx context.Context) error {
	rows, err := l.tx.Query(ctx, fluidsSQL, l.args())
	if err != nil {
		return err
	}
	l.fluids = map[string]fluid{}
	var item string
	var f fluid
	_, err = pgx.ForEachRow(rows, []any{&item, &f.measure, &f.density}, func() error {
		l.fluids[item] = f
		return nil
	})
	return err
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

// referredTo are the tables whose first column others need, by name or, as an
// order needs an offer of its item and a use a lot of it, by what it tells.
var referredTo = map[string]bool{
	"suppliers": true, "items": true, "offers": true, "models": true, "services": true, "units": true, "jobs": true,
	"stock": true, "orders": true,
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
