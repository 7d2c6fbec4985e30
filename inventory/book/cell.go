package book

import "iter"

// Cell is one cell as it was found. Numeric: a spreadsheet stored a number,
// which for a day is a serial of the 1900 system and for a clock a fraction of
// a day. Formula: the cell held a formula; Text is then its formula or result.
type Cell struct {
	Text    string
	Numeric bool
	Formula bool
}

// Row is one row of a table. Number counts lines from 1, the header's; in a
// CSV file it is the line on which the record begins. Cells are valid until
// the next row is asked for.
type Row struct {
	Number int
	Cells  []Cell
}

// Source is a book as it comes. Tables names its tables in lower case, also
// those that the book does not know. Rows yields a table's header row and then
// the others; a Fault as its error is a flaw of the input (damaged text, say)
// after which the table ends, any other error is a failure to read.
type Source interface {
	Tables() []string
	Rows(table string) iter.Seq2[Row, error]
	Close() error
}

// The limits of a cell and of a row. MaxCell counts UTF-16 units, as spreadsheets do.
const (
	MaxCell  = 32_767
	MaxCode  = 64 // characters
	MaxCells = 200
)
