package book

import (
	"errors"
	"iter"

	"circlip/inventory"
)

// Context is what rows need to know that is not in them: what earlier tables
// of the book, or the database, already said. Reading items notes their
// measures in it, so one Context serves a whole book, one table at a time.
type Context struct {
	Currency inventory.Currency
	Measure  func(item string) (inventory.Measure, bool)
}

// Record is one good row, its values in the order of the table's columns and
// of the types that their kinds name.
type Record struct {
	Row    int
	Values []any
}

var errUnwritten = errors.ErrUnsupported

// Read streams a table.
func Read(t Table, rows iter.Seq2[Row, error], c *Context, each func(Record) error) (faults []Fault, warnings []string, err error) {
	return nil, nil, errUnwritten
}

// Format writes the values of a record as cells, the inverse of reading.
func (t Table) Format(values []any, c *Context) []string { return nil }

// Match returns the book's tables that a source has, in their order, and a
// warning for every other table it has.
func Match(source []string) (known []Table, warnings []string) { return nil, nil }
