// Package reports is what people look at, as values. A Sheet is one shape that
// the terminal, the workbook and the pages all show, so that a number is
// computed once and shown three ways.
//
// Words: a column says what its cells are called, in which unit, and how dear
// its room is; a fact is a single labelled value above the table; a total
// stands below it. A cell knows its value, and where it follows from others
// also how, so that a spreadsheet keeps it alive.
//
//	sheet := reports.Summary(p)
//	err := reports.Text(os.Stdout, sheet, reports.Kits(p))
package reports

import (
	"circlip/inventory"
	"circlip/reports/chart"
)

// Sheet is a table with what belongs around it.
type Sheet struct {
	Key     string // by which formulas of other sheets find it
	Name    string // short, for a tab
	Title   string
	Notes   []string // sentences above the table
	Facts   []Fact   // labelled values above the table
	Fields  []Field  // below the facts, for a person to fill; a terminal shows none
	Columns []Column
	Rows    []Row
	Totals  []Total
	Empty   string   // instead of rows: what that means and what to do next
	Remarks []string // sentences below the table
	Charts  []chart.Chart
}

// Fact is a labelled value. Its unit is blank where the value says it all.
type Fact struct {
	Label string
	Value Cell
	Unit  string
}

// Field is a labelled value above the table that a person may fill.
type Field struct {
	Label string
	Kind  Kind
	Value Cell     // what holds as long as nothing else is typed
	OneOf []string // the words that may be typed; none: any
	Hint  string   // said to whoever fills it
}

// Column is what the cells below it have in common.
type Column struct {
	Name string // unique in its sheet: formulas and charts go by it
	Unit string // blank where every cell has its own, or none
	Kind Kind
	Rank int    // 0: always shown; where room is short the highest goes first
	Edit bool   // a person may change these cells
	Wrap bool   // texts are broken into lines rather than cut
	Hint string // said to whoever changes these cells

	OneOf []string // the words that may be typed; none: any
}

// Row is one line of a sheet; Strong marks what must not be overlooked. What
// makes it so is said in words in one of its cells.
type Row struct {
	Cells  []Cell
	Strong bool
}

// Total is a line below the table: a value under one of the columns.
type Total struct {
	Name, Column string
	Value        Cell
}

// Formula says how a cell follows from others. One of its parts is set. Names
// are those of the program's own columns and totals, never text of a person.
type Formula struct {
	Product   []string // these columns of the row, multiplied
	Add, Less []string // these columns of the row: those added less those taken off
	ColumnSum string   // a column over all rows
	TotalSum  []string // totals of the same sheet, added
	Sheet     string   // key of another sheet, and
	Total     string   // the total of it that is shown here
	Carriage  *Carriage
}

// Carriage is what a supplier asks for bringing the goods of a total: nothing
// where nothing is ordered, nothing from FreeFrom on where Free, else Flat.
type Carriage struct {
	Of             string // the total that is brought
	Ordered        string // the column whose sum says whether anything is
	Flat, FreeFrom inventory.Money
	Free           bool
	Currency       inventory.Currency
}

// column returns the index of the named column, -1 where there is none.
func (s Sheet) column(name string) int {
	for i, c := range s.Columns {
		if c.Name == name {
			return i
		}
	}
	return -1
}
