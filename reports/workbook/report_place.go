package workbook

import (
	"fmt"
	"strings"

	"circlip/reports"
	"circlip/reports/chart"

	pretty "github.com/jedib0t/go-pretty/v6/text"
	"github.com/xuri/excelize/v2"
)

// Widths in characters, heights in points.
const (
	leastColumn = 5
	leastTyped  = 14 // of a column into which a person types texts
	leastFound  = 8  // of one that is blank, to be filled with numbers by hand
	mostColumn  = 30 // longer texts are broken into lines
	lineHeight  = 13.5
	rowHeight   = 15
	titleHeight = 20
	titleSize   = 1.5 // of its bold letters against those of the table
	chartHeight = 300
	chartRows   = 16  // rows of 20 pixels under a chart, with some air
	chartsAbove = 2   // beside each other
	leastSheet  = 84  // so that titles and notes find room
	portrait    = 118 // what still prints well across an upright page
)

// placedSheet is a sheet and where on its tab everything stands. Rows and
// columns count from 1; a row of 0 is not there.
type placedSheet struct {
	reports.Sheet
	tab      string
	widths   []float64 // of the columns, in characters
	mixed    []bool    // columns that hold whole numbers beside tenths
	facts    int       // first row of the facts
	fields   int       // first row of the fields, right below them
	chartRow int       // row of the first charts
	head     int       // row of the columns' names
	first    int       // first row of the table
	totals   int       // row of the first total
	remarks  int       // row of the first remark
	last     int       // last row of all
}

// placeSheet lays a sheet out from top to bottom: title, notes, facts, charts,
// table, totals, remarks, a free row between.
func placeSheet(s reports.Sheet, tab string) *placedSheet {
	p := &placedSheet{Sheet: s, tab: tab}
	p.measure()
	next := 2 + len(s.Notes)
	section := func(rows int) int {
		if rows == 0 {
			return 0
		}
		start := next + 1
		next = start + rows
		return start
	}
	p.facts = section(len(s.Facts) + len(s.Fields))
	p.fields = p.facts + len(s.Facts)
	p.chartRow = section((len(s.Charts) + chartsAbove - 1) / chartsAbove * chartRows)
	p.head = section(1 + max(1, len(s.Rows))) // without rows, the head and what to do next
	p.first = p.head + 1
	if len(s.Totals) > 0 {
		p.totals = next
		next += len(s.Totals)
	}
	p.remarks = section(len(s.Remarks))
	p.last = next - 1
	return p
}

// measure gives every column the width of its widest cell, within bounds.
func (p *placedSheet) measure() {
	p.widths = make([]float64, len(p.Columns))
	p.mixed = make([]bool, len(p.Columns))
	for i, c := range p.Columns {
		widest := leastColumn
		if c.Edit && !holdsNumber(c.Kind) {
			widest = leastTyped
		}
		for word := range strings.FieldsSeq(c.Name + " " + c.Unit) {
			widest = max(widest, len(word))
		}
		whole, tenths, blank := false, false, true
		for _, r := range p.Rows {
			cell := r.Cells[i]
			blank = blank && cell.Blank()
			widest = max(widest, pretty.StringWidthWithoutEscSequences(cell.String()))
			whole = whole || cell.Decimals == 0
			tenths = tenths || cell.Decimals > 0
		}
		if c.Edit && blank {
			widest = max(widest, leastFound)
		}
		p.mixed[i] = c.Kind == reports.QuantityKind && whole && tenths
		for _, t := range p.Totals {
			if t.Column == c.Name {
				widest = max(widest, len(t.Value.String()))
			}
		}
		p.widths[i] = float64(min(widest, mostColumn)) + 2
		if i > 0 && !holdsNumber(c.Kind) {
			p.widths[i]++ // of indent
		}
		for linesOf(c.Name, p.widths[i]-1) > 2 {
			p.widths[i]++
		}
	}
	for _, f := range p.Fields { // so that what is to be filled stands right behind its label
		p.widths[0] = max(p.widths[0], float64(len(f.Label))+2)
	}
	if short := leastSheet - p.width(); short > 0 {
		p.widths[p.roomiest()] += short
	}
	p.widenForFacts()
}

// widenForFacts gives the column in which the values of facts and fields stand
// the width of the widest number or day: a spreadsheet shows none that is cut.
func (p *placedSheet) widenForFacts() {
	if len(p.Facts)+len(p.Fields) == 0 {
		return
	}
	at, widest := p.factColumn(), 0
	for _, f := range p.Facts {
		if holdsNumber(f.Value.Kind) {
			widest = max(widest, len(f.Value.String())+len("%"))
		}
	}
	for _, f := range p.Fields {
		if f.Kind == reports.DateKind {
			widest = max(widest, len("2027-03-01"))
		}
	}
	p.widths[at] = max(p.widths[at], float64(widest)+2) // bold
}

// factColumn is how many columns the labels of facts and fields take: their
// values stand in the next.
func (p *placedSheet) factColumn() int {
	longest := 0
	for _, f := range p.Facts {
		longest = max(longest, len(f.Label))
	}
	for _, f := range p.Fields {
		longest = max(longest, len(f.Label))
	}
	return min(p.span(longest), len(p.Columns)-1)
}

// holdsNumber reports whether cells of the kind are set flush right.
func holdsNumber(k reports.Kind) bool { return k != reports.TextKind && k != reports.DateKind }

// roomiest is the column that looks best when it is wider than it needs: the
// last of texts, else the last.
func (p *placedSheet) roomiest() int {
	for i := len(p.Columns) - 1; i >= 0; i-- {
		if p.Columns[i].Kind == reports.TextKind {
			return i
		}
	}
	return len(p.Columns) - 1
}

// width is that of all columns together.
func (p *placedSheet) width() float64 {
	sum := 0.0
	for _, w := range p.widths {
		sum += w
	}
	return sum
}

// span is the last of the columns from 1 that together hold so many
// characters.
func (p *placedSheet) span(characters int) int {
	sum := 0.0
	for i, w := range p.widths {
		if sum += w; sum >= float64(characters)+1 {
			return i + 1
		}
	}
	return len(p.widths)
}

// narrow is how much more letters than digits a line holds, at the least.
const narrow = 1.05

// lines is how many lines a sentence takes across all columns, in letters so
// much larger than those of the table.
func (p *placedSheet) lines(sentence string, size float64) float64 {
	return float64(linesOf(sentence, p.width()*narrow/size))
}

// linesOf is how many lines a text takes when broken at spaces to a width.
func linesOf(sentence string, width float64) int {
	lines, used := 1, 0.0
	for word := range strings.FieldsSeq(sentence) {
		wide := float64(pretty.StringWidthWithoutEscSequences(word))
		if used > 0 && used+1+wide > width {
			lines, used = lines+1, 0
		}
		if used > 0 {
			used++
		}
		lines += int(wide / width) // a word longer than the line is broken in itself
		used += wide
	}
	return lines
}

// column is the number of the named column, from 1; 0 where there is none.
func (p *placedSheet) column(name string) int {
	for i, c := range p.Columns {
		if c.Name == name {
			return i + 1
		}
	}
	return 0
}

// ref is the cell of the named column in a row. Sheets are made by this
// program: a name that is not there is a fault in it.
func (p *placedSheet) ref(name string, row int) string {
	at, err := excelize.CoordinatesToCellName(p.column(name), row)
	if err != nil {
		panic(fmt.Sprintf("sheet %s has no column %q", p.Key, name))
	}
	return at
}

// rangeOf is the named column over some rows of the table, as charts take it.
func (p *placedSheet) rangeOf(name string, rows chart.Rows) string {
	letter, err := excelize.ColumnNumberToName(p.column(name))
	if err != nil {
		panic(fmt.Sprintf("sheet %s has no column %q", p.Key, name))
	}
	from := p.first + rows.First
	return fmt.Sprintf("%s!$%s$%d:$%s$%d", quotedTab(p.tab), letter, from, letter, from+rows.Count-1)
}

// headOf is the cell with the column's name: charts take names from cells only.
func (p *placedSheet) headOf(name string) string {
	letter, err := excelize.ColumnNumberToName(p.column(name))
	if err != nil {
		panic(fmt.Sprintf("sheet %s has no column %q", p.Key, name))
	}
	return fmt.Sprintf("%s!$%s$%d", quotedTab(p.tab), letter, p.head)
}

// totalRef is the cell of the named total.
func (p *placedSheet) totalRef(name string) string {
	for i, t := range p.Totals {
		if t.Name == name {
			return p.ref(t.Column, p.totals+i)
		}
	}
	panic(fmt.Sprintf("sheet %s has no total %q", p.Key, name))
}

// formula writes how a cell in a row follows from others, empty where it
// stands for itself.
func (b *reportBook) formula(p *placedSheet, f *reports.Formula, row int) string {
	switch {
	case f == nil:
		return ""
	case len(f.Product) > 0:
		return strings.Join(p.refs(f.Product, row), "*")
	case len(f.Add) > 0:
		return p.difference(f, row)
	case f.ColumnSum != "":
		return p.columnSum(f.ColumnSum)
	case len(f.TotalSum) > 0:
		var refs []string
		for _, name := range f.TotalSum {
			refs = append(refs, p.totalRef(name))
		}
		return strings.Join(refs, "+")
	case f.Sheet != "":
		other := b.byKey[f.Sheet]
		return quotedTab(other.tab) + "!" + other.totalRef(f.Total)
	case f.Carriage != nil:
		return p.carriage(*f.Carriage)
	}
	return ""
}

// columnSum adds a column over all rows of the table.
func (p *placedSheet) columnSum(name string) string {
	return fmt.Sprintf("SUM(%s:%s)", p.ref(name, p.first), p.ref(name, p.first+len(p.Rows)-1))
}

// refs are the cells of several columns in a row.
func (p *placedSheet) refs(names []string, row int) []string {
	var refs []string
	for _, name := range names {
		refs = append(refs, p.ref(name, row))
	}
	return refs
}

// difference adds columns that stand side by side as a range: blank cells in
// it count as nothing.
func (p *placedSheet) difference(f *reports.Formula, row int) string {
	add := p.refs(f.Add, row)
	sum := strings.Join(add, "+")
	if last := len(add) - 1; last > 1 && p.column(f.Add[last])-p.column(f.Add[0]) == last {
		sum = fmt.Sprintf("SUM(%s:%s)", add[0], add[last])
	}
	for _, less := range p.refs(f.Less, row) {
		sum += "-" + less
	}
	return sum
}

// carriage goes by packs, not by goods: a supplier may bring a gift and ask for
// the way.
func (p *placedSheet) carriage(c reports.Carriage) string {
	goods := p.totalRef(c.Of)
	flat := c.Currency.Format(c.Flat)
	if c.Free {
		flat = fmt.Sprintf("IF(%s>=%s,0,%s)", goods, c.Currency.Format(c.FreeFrom), flat)
	}
	return fmt.Sprintf("IF(%s=0,0,%s)", p.columnSum(c.Ordered), flat)
}
