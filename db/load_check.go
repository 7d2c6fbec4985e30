package db

import (
	"cmp"
	"context"
	"slices"

	"github.com/jackc/pgx/v5"

	"circlip/inventory/book"
)

// unknownCode is the problem by which a check names a code that the table in
// its expectation does not have.
const unknownCode = "unknown code"

// check finds what is wrong between the rows of the book, and between them and
// what the workshop has. Each file of the folder check lists the faults of one
// table: row, column, problem, found, expected.
func (l *loading) check(ctx context.Context) error {
	_, err := l.tx.CopyFrom(ctx, pgx.Identifier{"spoiled"}, []string{"refers", "code"}, pgx.CopyFromRows(l.spoiled))
	if err != nil {
		return err
	}
	if err := script(ctx, l.tx, loadSQL("known")); err != nil {
		return err
	}
	c := codes{loading: l, known: map[string][]string{}, suggested: map[book.Fault]book.Fault{}}
	for _, t := range book.Tables {
		if t.Name == "settings" {
			continue
		}
		faults, err := l.faultsOf(ctx, t.Name)
		if err != nil {
			return err
		}
		for _, f := range faults {
			if f.Problem == unknownCode {
				if f, err = c.suggest(ctx, f); err != nil {
					return err
				}
			}
			l.fault(f)
		}
	}
	if err := l.checkNamed(ctx, &c); err != nil {
		return err
	}
	l.sortFaults()
	return nil
}

const unknownNamedSQL = `
SELECT n.place::integer
FROM unnest(@refers::text[], @codes::text[]) WITH ORDINALITY AS n (refers, code, place)
WHERE EXISTS (SELECT FROM known AS k WHERE k.refers = n.refers)
    AND NOT EXISTS (SELECT FROM known AS k WHERE k.refers = n.refers AND k.code = n.code)
ORDER BY n.place`

// checkNamed finds unknown codes in rows that have other faults, so that one
// reading tells all that is wrong with them. A cell that has a fault already is
// not told of twice.
func (l *loading) checkNamed(ctx context.Context, c *codes) error {
	var refers, codes []string
	for _, n := range l.named {
		refers, codes = append(refers, n.refers), append(codes, n.code)
	}
	rows, err := l.tx.Query(ctx, unknownNamedSQL, pgx.NamedArgs{"refers": refers, "codes": codes})
	if err != nil {
		return err
	}
	unknown, err := pgx.CollectRows(rows, pgx.RowTo[int])
	if err != nil {
		return err
	}
	told := map[reference]bool{}
	for _, f := range l.faults {
		told[reference{table: f.Table, row: f.Row, column: f.Column}] = true
	}
	for _, place := range unknown {
		n := l.named[place-1]
		if told[reference{table: n.table, row: n.row, column: n.column}] {
			continue
		}
		f, err := c.suggest(ctx, book.Fault{Table: n.table, Row: n.row, Column: n.column, Problem: unknownCode, Found: n.code, Expected: n.refers})
		if err != nil {
			return err
		}
		l.fault(f)
	}
	return nil
}

// faultsOf runs one table's checks.
func (l *loading) faultsOf(ctx context.Context, table string) ([]book.Fault, error) {
	rows, err := l.tx.Query(ctx, loadSQL("check/"+table), l.args())
	if err != nil {
		return nil, err
	}
	var faults []book.Fault
	f := book.Fault{Table: table}
	_, err = pgx.ForEachRow(rows, []any{&f.Row, &f.Column, &f.Problem, &f.Found, &f.Expected}, func() error {
		faults = append(faults, f)
		return nil
	})
	return faults, err
}

// sortFaults puts them in the order of the book's tables, then of rows.
func (l *loading) sortFaults() {
	place := map[string]int{}
	for i, t := range book.Tables {
		place[t.Name] = i
	}
	slices.SortStableFunc(l.faults, func(a, b book.Fault) int {
		return cmp.Or(cmp.Compare(place[a.Table], place[b.Table]), cmp.Compare(a.Row, b.Row))
	})
}

// codes suggests known codes for unknown ones.
type codes struct {
	loading   *loading
	known     map[string][]string       // by table
	suggested map[book.Fault]book.Fault // by table referred to and code
	compared  int
}

// maxCompared bounds how many pairs of codes are compared, some microseconds
// each: beyond it something else is wrong than a few slips of the hand.
const maxCompared = 1_000_000

const knownCodesSQL = `SELECT DISTINCT code FROM known WHERE refers = @refers ORDER BY code`

// suggest names the nearest known code. The same slip in many rows is looked up
// once.
func (c *codes) suggest(ctx context.Context, f book.Fault) (book.Fault, error) {
	refers := f.Expected
	key := book.Fault{Table: refers, Found: f.Found}
	if named, done := c.suggested[key]; done {
		f.Expected = named.Expected
		return f, nil
	}
	known, listed := c.known[refers]
	if !listed {
		rows, err := c.loading.tx.Query(ctx, knownCodesSQL, pgx.NamedArgs{"refers": refers})
		if err != nil {
			return f, err
		}
		if known, err = pgx.CollectRows(rows, pgx.RowTo[string]); err != nil {
			return f, err
		}
		c.known[refers] = known
	}
	if c.compared += len(known); c.compared > maxCompared {
		known = nil
	}
	f = book.UnknownCode(f, refers, known)
	c.suggested[key] = f
	return f, nil
}
