package book

import (
	"errors"
	"fmt"
	"iter"
	"strings"
)

// Record is one good row, its values in the order of the table's columns and
// of the types that their kinds name.
type Record struct {
	Row    int
	Values []any
}

const (
	maxRows     = 5_000_000
	maxFaults   = 100_000 // a table, after which it is not read on
	maxWarnings = 100

	maxSuggestions = 1000
)

// Read streams a table: each gets a Record for every good row, in the order of
// the rows; bad rows yield all their faults. Warnings tell of columns that the
// table does not have and of materials that no list knows. Columns may stand
// in any order, blank rows are skipped. An error is a failure to read, or
// what each returned.
func Read(t Table, rows iter.Seq2[Row, error], c *Context, each func(Record) error) (faults []Fault, warnings []string, err error) {
	if c == nil {
		c = &Context{}
	}
	if t.Name == "settings" {
		return readSettings(t, rows, c, each)
	}
	return read(t, rows, c, each)
}

// Match returns the book's tables that a source has, in the book's order, and
// a warning for every other table it has.
func Match(source []string) (known []Table, warnings []string) {
	has := map[string]bool{}
	for _, name := range source {
		has[name] = true
	}
	var all []string
	for _, t := range Tables {
		all = append(all, t.Name)
		if has[t.Name] {
			known = append(known, t)
		}
	}
	for _, name := range source {
		if _, ok := TableOf(name); !ok {
			warnings = append(warnings, fmt.Sprintf("table %s is not of the book and is left out%s", quote(name), suggestion(name, all)))
		}
	}
	return known, warnings
}

// suggestion is "; is it …?" for the nearest of the known names, or nothing.
func suggestion(name string, known []string) string {
	if near, ok := Nearest(name, known); ok {
		return "; is it " + quote(near) + "?"
	}
	return ""
}

// reader is the state of one Read.
type reader struct {
	table    Table
	context  *Context
	each     func(Record) error
	fields   []field
	rules    []rowRule
	width    int  // cells of the header
	headless bool // the header is at fault: cells are checked, no row is good
	cut      bool // the table was not read to its end
	rows     int
	faults   []Fault
	warnings []string
	warned   map[string]bool

	suggested int
}

var errEnough = errors.New("enough")

// read is Read for any table but settings.
func read(t Table, rows iter.Seq2[Row, error], c *Context, each func(Record) error) ([]Fault, []string, error) {
	r := &reader{table: t, context: c, each: each, fields: fieldsOf(t.Columns), rules: rowRules[t.Name], warned: map[string]bool{}}
	err := r.run(rows)
	if t.Name == "items" {
		c.cut = r.cut || r.headless
	}
	if errors.Is(err, errEnough) {
		err = nil
	}
	return r.faults, r.warnings, err
}

// run takes the first row for the header and the others for data. A Fault of
// the source ends the table; what stood before it has been told.
func (r *reader) run(rows iter.Seq2[Row, error]) error {
	headed := false
	for row, err := range rows {
		var flaw Fault
		if errors.As(err, &flaw) {
			r.faults = append(r.faults, flaw)
			r.cut = true
			return nil
		}
		if err != nil {
			return fmt.Errorf("read table %s: %w", r.table.Name, err)
		}
		if !headed {
			headed = true
			r.header(row)
			continue
		}
		if err := r.row(row); err != nil {
			return err
		}
	}
	if !headed {
		r.cut = true
		r.fault(Fault{Problem: "empty, without even a header row", Expected: "the columns " + strings.Join(r.columnNames(), ", ")})
	}
	return nil
}

// fault adds one of this table.
func (r *reader) fault(f Fault) {
	f.Table = r.table.Name
	r.faults = append(r.faults, f)
}

// warn says a thing once, and not too many things.
func (r *reader) warn(text string) {
	if r.warned[text] || len(r.warned) > maxWarnings {
		return
	}
	r.warned[text] = true
	if len(r.warned) > maxWarnings {
		text = r.table.Name + ": more warnings are not shown"
	}
	r.warnings = append(r.warnings, text)
}

// columnNames is the table's columns, for suggestions.
func (r *reader) columnNames() []string {
	var all []string
	for _, f := range r.fields {
		all = append(all, f.Name)
	}
	return all
}

// header finds where each column stands.
func (r *reader) header(row Row) {
	for i, cell := range row.Cells {
		name := strings.ToLower(strings.TrimSpace(cell.Text))
		if name == "" {
			continue
		}
		r.width = i + 1
		switch f := r.fieldOf(name); {
		case i >= MaxCells:
			r.headless = true
			r.fault(Fault{Row: row.Number, Problem: fmt.Sprintf("the header has more than %d cells", MaxCells)})
			return
		case f == nil:
			r.warn(fmt.Sprintf("%s: column %s is not of the table and is left out%s", r.table.Name, quote(name), suggestion(name, r.columnNames())))
		case f.at >= 0:
			r.headless = true
			r.fault(Fault{Row: row.Number, Column: f.Name, Problem: "the column stands twice", Expected: "it once"})
		default:
			f.at = i
		}
	}
	for _, f := range r.fields {
		if f.at < 0 && f.Required {
			r.headless = true
			r.fault(Fault{Row: row.Number, Column: f.Name, Problem: "the column is missing", Expected: "a column of this name in the header row"})
		}
	}
}

// fieldOf finds a field by its column's name; nil where there is none.
func (r *reader) fieldOf(name string) *field {
	for i := range r.fields {
		if r.fields[i].Name == name {
			return &r.fields[i]
		}
	}
	return nil
}

// row reads one row of data. Its record is given out only when nothing is
// wrong with it and nothing it relies on is unknown.
func (r *reader) row(row Row) error {
	if allBlank(row.Cells) {
		return nil
	}
	if r.rows++; r.rows > maxRows {
		r.cut = true
		r.fault(Fault{Row: row.Number, Problem: fmt.Sprintf("more than %d rows", maxRows), Expected: "a table split by date or workshop"})
		return errEnough
	}
	before := len(r.faults)
	r.ragged(row)
	v := rowValues{reader: r, cells: row.Cells, values: make([]any, len(r.fields)), bad: make([]bool, len(r.fields))}
	v.parse(row.Number)
	v.checkItem(row.Number)
	v.checkRules(row.Number)
	if r.table.Name == "items" {
		r.context.note(v)
	}
	if len(r.faults) > maxFaults {
		r.cut = true
		r.fault(Fault{Row: row.Number, Problem: fmt.Sprintf("more than %d faults; the rest of the table was not read", maxFaults)})
		return errEnough
	}
	if len(r.faults) > before || r.headless || v.withheld {
		return nil
	}
	return r.each(Record{Row: row.Number, Values: v.values})
}

// allBlank rows are what spreadsheets leave below their data. A formula is not
// blank, whatever it shows.
func allBlank(cells []Cell) bool {
	for _, c := range cells {
		if c.Formula || !blank(c.Text) {
			return false
		}
	}
	return true
}

// ragged finds cells to the right of the header's last.
func (r *reader) ragged(row Row) {
	if len(row.Cells) > MaxCells {
		r.fault(Fault{Row: row.Number, Problem: fmt.Sprintf("more than %d cells", MaxCells)})
		return
	}
	if len(row.Cells) <= r.width {
		return
	}
	for _, c := range row.Cells[r.width:] {
		if c.Formula || !blank(c.Text) {
			r.fault(Fault{Row: row.Number, Problem: "more cells than the header has", Found: c.Text, Expected: fmt.Sprintf("at most %d", r.width)})
			return
		}
	}
}
