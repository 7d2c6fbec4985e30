package workbook

import (
	"cmp"
	"errors"
	"iter"
	"math"
	"slices"
	"strconv"
	"strings"

	"circlip/inventory"
	"circlip/inventory/book"
)

// slip is what a tab that comes back filled looks like: fields above a table,
// whose head is found by the names of its columns, wherever it stands and in
// whatever order they are; rows of totals below it.
type slip struct {
	fields  []book.Column
	columns []book.Column // the code of a line first, then its packs
	derived []string      // columns whose formulas are the program's own
	spare   []string      // columns that may be taken away
	totals  []string      // labels of rows that are no lines
}

// nameOf is how a column is called by the book, which knows small letters only;
// shown is how it is called on the sheet.
func nameOf(shown string) string { return strings.ToLower(shown) }
func shown(name string) string   { return strings.ToUpper(name[:1]) + name[1:] }

// headName is the name in a cell of a head, without the unit below it.
func headName(c book.Cell) string {
	name, _, _ := strings.Cut(strings.TrimSpace(c.Text), "\n")
	return nameOf(strings.TrimSpace(name))
}

func namesOf(columns []book.Column) []string {
	names := make([]string, len(columns))
	for i, c := range columns {
		names[i] = c.Name
	}
	return names
}

// filled is a slip as it was read: the values of its fields and rows.
type filled struct {
	values map[string]any // of the fields
	rows   []book.Record
	faults []book.Fault
}

// The most that is kept of a tab made to fill the memory.
const (
	mostRemembered = 100_000 // lines of a hidden sheet
	mostTold       = 1_000   // faults of a tab
)

// errTooLong ends the reading of a table.
var errTooLong = errors.New("too many lines")

// slipReader reads one tab in one pass: what stands above the table as it comes
// by, the table through the door of the book.
type slipReader struct {
	slip
	book    *Book
	context *book.Context
	sheet   *sheet
	at      map[string]int // cells of the table's columns
	head    int            // row of the head, 0 before it
	last    int            // row of the last line
	seen    map[string]bool
	filled
}

// fill reads a tab as a slip of so many lines at most. Faults name the tab, row
// and column as they are seen; an error is a failure to read the file.
func (b *Book) fill(tab sheetPart, s slip, most int, c *book.Context) (filled, error) {
	r := &slipReader{slip: s, book: b, context: c, seen: map[string]bool{}, filled: filled{values: map[string]any{}}}
	raw, err := b.parts.open(tab.part)
	if err != nil {
		return filled{}, err
	}
	defer raw.Close()
	watch := &stopwatch{r: raw, limit: readingTime}
	watch.start()
	r.sheet = &sheet{part: newPart(watch), name: tab.title, texts: b.texts, lim: b.lim, look: &looks{}}
	table := book.Table{Name: "slip", Columns: s.columns}
	faults, _, err := book.Read(table, r.rowsOfTable(), c, func(record book.Record) error {
		if len(r.rows) == most {
			return errTooLong
		}
		record.Values = slices.Clone(record.Values)
		r.rows = append(r.rows, record)
		return nil
	})
	switch {
	case errors.Is(err, errTooLong):
		faults = append(faults, book.Fault{Row: r.last, Problem: "the table is too long", Expected: "no more lines than were written"})
	case err != nil:
		return filled{}, err
	case r.head == 0 && r.sheet.err == nil:
		faults = []book.Fault{{Problem: "no row holds the names of the columns", Expected: "the table under its own names"}}
	}
	r.tell(faults...)
	r.unseen()
	r.missing()
	r.sign(tab.title)
	return r.filled, nil
}

// sign puts the names into the faults as they stand on the sheet.
func (r *slipReader) sign(tab string) {
	for i := range r.faults {
		f := &r.faults[i]
		f.Table = tab
		if r.named(f.Column) {
			f.Column = shown(f.Column)
		}
		if f.Problem == "holds a formula" {
			f.Expected = "a plain value; type it"
		}
	}
	inRowOrder(r.faults)
}

// inRowOrder sorts faults as a person looks for them.
func inRowOrder(faults []book.Fault) []book.Fault {
	slices.SortStableFunc(faults, func(a, b book.Fault) int { return cmp.Compare(a.Row, b.Row) })
	return faults
}

// named reports whether a fault's column is one of ours, and not a cell's name.
func (r *slipReader) named(column string) bool {
	is := func(c book.Column) bool { return c.Name == column }
	return slices.ContainsFunc(r.columns, is) || slices.ContainsFunc(r.fields, is)
}

// tell adds faults, as many as a person might read.
func (r *slipReader) tell(faults ...book.Fault) {
	r.faults = append(r.faults, faults[:min(len(faults), mostTold-len(r.faults))]...)
}

// rowsOfTable yields the head and the lines of the table; fields are read on
// the way to it.
func (r *slipReader) rowsOfTable() iter.Seq2[book.Row, error] {
	return func(yield func(book.Row, error) bool) {
		err := r.sheet.each(func(row book.Row) bool {
			switch {
			case r.head == 0 && !r.isHead(row):
				r.field(row)
				return true
			case r.head == 0:
				r.takeHead(row)
			case !r.isLine(row):
				return true
			default:
				r.last = row.Number
				if r.sheet.look.hiddenRow {
					r.tell(book.Fault{Row: row.Number, Problem: "the row is hidden", Expected: "only rows that can be seen; show it, or delete it"})
				}
			}
			return yield(row, nil)
		})
		if err != nil {
			yield(book.Row{}, err)
		}
	}
}

// isHead reports whether a row names two of the columns or more.
func (r *slipReader) isHead(row book.Row) bool {
	count := 0
	for _, c := range row.Cells {
		name := headName(c)
		if slices.ContainsFunc(r.columns, func(c book.Column) bool { return c.Name == name }) {
			count++
		}
	}
	return count >= 2
}

// takeHead notes where the columns stand and leaves their bare names.
func (r *slipReader) takeHead(row book.Row) {
	r.head, r.last, r.at = row.Number, row.Number, map[string]int{}
	for i := range row.Cells {
		row.Cells[i].Text = headName(row.Cells[i])
		r.at[row.Cells[i].Text] = i
	}
}

// isLine reports whether a row below the head is a line of the table. The
// formulas of the program's own columns are no more than what they follow from,
// and are taken out.
func (r *slipReader) isLine(row book.Row) bool {
	for _, name := range r.derived {
		if c := r.cell(row, name); c != nil && c.Formula {
			*c = book.Cell{}
		}
	}
	for _, c := range r.columns {
		if cell := r.cell(row, c.Name); cell != nil && cell.Numeric && (c.Kind == book.Date || c.Kind == book.CureMark) {
			r.shiftDay(cell)
		}
	}
	holds, total := false, false
	for _, c := range row.Cells {
		holds = holds || c.Formula || strings.TrimSpace(c.Text) != ""
		total = total || slices.Contains(r.totals, strings.TrimSpace(c.Text))
	}
	return holds && !(total && r.blank(row, r.columns[0].Name) && r.blank(row, r.columns[1].Name))
}

// cell is the named column's cell of a row, nil where there is none.
func (r *slipReader) cell(row book.Row, name string) *book.Cell {
	if i, ok := r.at[name]; ok && i < len(row.Cells) {
		return &row.Cells[i]
	}
	return nil
}

func (r *slipReader) blank(row book.Row, name string) bool {
	c := r.cell(row, name)
	return c == nil || (!c.Formula && strings.TrimSpace(c.Text) == "")
}

// shiftDay moves a day of the 1904 system to the 1900 system.
func (r *slipReader) shiftDay(c *book.Cell) {
	if serial, err := strconv.ParseFloat(c.Text, 64); err == nil && r.book.since != 0 {
		c.Text = strconv.FormatFloat(serial+float64(r.book.since), 'f', -1, 64)
	}
}

// field reads a row above the table if it begins with the label of a field: the
// next cell that holds anything is what was filled in.
func (r *slipReader) field(row book.Row) {
	filled := slices.DeleteFunc(slices.Clone(row.Cells), func(c book.Cell) bool { return !c.Formula && strings.TrimSpace(c.Text) == "" })
	for _, f := range r.fields {
		if len(filled) == 0 || nameOf(strings.TrimSpace(filled[0].Text)) != f.Name {
			continue
		}
		switch {
		case r.seen[f.Name]:
			r.tell(book.Fault{Row: row.Number, Column: f.Name, Problem: "the field stands twice", Expected: "it once"})
		case len(filled) > 2:
			r.tell(book.Fault{Row: row.Number, Column: f.Name, Problem: "more than one value", Found: filled[2].Text, Expected: "one"})
		case len(filled) == 2:
			r.value(f, row.Number, filled[1])
		case f.Required:
			r.tell(book.Fault{Row: row.Number, Column: f.Name, Problem: "blank", Expected: f.Help})
		}
		r.seen[f.Name] = true
	}
}

// value reads what was filled into a field as a table of one cell.
func (r *slipReader) value(f book.Column, row int, c book.Cell) {
	if f.Kind == book.Date && c.Numeric {
		r.shiftDay(&c)
	}
	rows := func(yield func(book.Row, error) bool) {
		_ = yield(book.Row{Number: row, Cells: []book.Cell{{Text: f.Name}}}, nil) && yield(book.Row{Number: row, Cells: []book.Cell{c}}, nil)
	}
	faults, _, _ := book.Read(book.Table{Name: "field", Columns: []book.Column{f}}, rows, r.context, func(record book.Record) error {
		r.values[f.Name] = record.Values[0]
		return nil
	})
	r.tell(faults...)
}

// missing tells of columns and fields that are gone, and with them what was
// typed there.
func (r *slipReader) missing() {
	if r.head == 0 {
		return
	}
	for _, c := range r.columns {
		if _, known := r.at[c.Name]; !known && !c.Required && !slices.Contains(r.spare, c.Name) { // the book tells of those required
			r.tell(book.Fault{Row: r.head, Column: c.Name, Problem: "the column is missing", Expected: "a column of this name in the header row"})
		}
	}
	for _, f := range r.fields {
		if !r.seen[f.Name] {
			r.tell(book.Fault{Column: f.Name, Problem: "the field is missing", Expected: "its row above the table, as it was written"})
		}
	}
}

// unseen tells of what a person cannot have seen of the table: columns that are
// read and hidden, and cells that are joined, of which a program keeps only the first.
func (r *slipReader) unseen() {
	for _, c := range r.columns {
		if i, ok := r.at[c.Name]; ok && r.sheet.look.hides(i+1) && !slices.Contains(r.spare, c.Name) {
			r.tell(book.Fault{Column: c.Name, Problem: "the column is hidden", Expected: "columns that can be seen; show it"})
		}
	}
	for _, a := range r.sheet.look.merged {
		if r.head > 0 && a.bottom >= r.head && a.top <= r.last {
			r.tell(book.Fault{Row: a.top, Column: cellName(a.left, a.top), Problem: "merged cells in the table", Expected: "one cell a column and line; split them"})
		}
	}
}

// sameNumber compares numbers as spreadsheets keep them, to 15 digits.
func sameNumber(a, b float64) bool {
	digits := func(x float64) string { return strconv.FormatFloat(x+0, 'e', significantDigits-1, 64) }
	return digits(a) == digits(b)
}

// tooMuch reports whether so many packs are more than any shelf can hold, or
// cost more than can be counted.
func tooMuch(packs int, pack inventory.Quantity, price inventory.Money) bool {
	const mostMoney = math.MaxInt64 / 1_000 // so that a thousand such lines can be added
	return int64(packs) > int64(inventory.MaxQuantity)/max(1, int64(pack)) || int64(packs) > mostMoney/max(1, int64(price))
}

const tooMuchProblem = "more than a shelf can hold or money can count"
