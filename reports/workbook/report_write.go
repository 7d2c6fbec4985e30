package workbook

import (
	"fmt"

	"circlip/reports"

	pretty "github.com/jedib0t/go-pretty/v6/text"
	"github.com/xuri/excelize/v2"
)

// excelEpoch is day 0 of a spreadsheet's dates, 1899-12-30, before day 0 of
// ours.
const excelEpoch = 25569

// write fills one tab. What belongs to the tab itself is set before the rows:
// excelize drops whatever comes after the stream's end without a word.
func (b *reportBook) write(p *placedSheet) error {
	if err := b.setUp(p); err != nil {
		return err
	}
	for i, c := range p.Charts {
		if err := b.addChart(p, c, i); err != nil {
			return fmt.Errorf("chart %q: %w", c.Title, err)
		}
	}
	stream, err := b.file.NewStreamWriter(p.tab)
	if err != nil {
		return err
	}
	w := &rowWriter{book: b, sheet: p, stream: stream}
	if p.head <= 12 { // a frozen head must leave room for rows
		w.keep(stream.SetPanes(&excelize.Panes{
			Freeze: true, YSplit: p.head, TopLeftCell: fmt.Sprintf("A%d", p.first), ActivePane: "bottomLeft",
		}))
	}
	w.heading()
	w.table()
	w.below()
	if w.err != nil {
		return w.err
	}
	return stream.Flush()
}

// rowWriter writes the rows of a tab from top to bottom; the first failure
// sticks.
type rowWriter struct {
	book   *reportBook
	sheet  *placedSheet
	stream *excelize.StreamWriter
	row    []any // used again for every row
	err    error
}

// style is the number of a style; a failure sticks like any other.
func (w *rowWriter) style(s reportStyle) int {
	id, err := w.book.style(s)
	w.keep(err)
	return id
}

// keep holds on to the first failure: what follows it is of no use.
func (w *rowWriter) keep(err error) {
	if w.err == nil {
		w.err = err
	}
}

// set writes the row gathered in w.row.
func (w *rowWriter) set(number int, options ...excelize.RowOpts) {
	if w.err == nil {
		w.keep(w.stream.SetRow(fmt.Sprintf("A%d", number), w.row, options...))
	}
	w.row = w.row[:0]
}

// sentence writes a text over all columns, as high as it needs.
func (w *rowWriter) sentence(number int, sentence string, role reportRole) {
	sentence = reports.Plain(sentence)
	style := w.style(reportStyle{role: role, wrap: true}) // what runs over the last column would shrink the page
	w.row = append(w.row, excelize.Cell{StyleID: style, Value: sentence})
	height := lineHeight * w.sheet.lines(sentence, 1)
	if role == titleRole {
		height = titleHeight * w.sheet.lines(sentence, titleSize)
	}
	w.set(number, excelize.RowOpts{Height: min(height, excelize.MaxRowHeight)})
	w.merge(number, 1, len(w.sheet.Columns))
}

// merge joins the cells of a row from one column to another.
func (w *rowWriter) merge(row, from, to int) {
	if w.err != nil || to <= from {
		return
	}
	first, err := excelize.CoordinatesToCellName(from, row)
	w.keep(err)
	last, err := excelize.CoordinatesToCellName(to, row)
	w.keep(err)
	w.keep(w.stream.MergeCell(first, last))
}

// heading is all that stands above the table.
func (w *rowWriter) heading() {
	w.sentence(1, w.sheet.Title, titleRole)
	for i, note := range w.sheet.Notes {
		w.sentence(2+i, note, noteRole)
	}
	over := w.sheet.factColumn()
	for i, f := range w.sheet.Facts {
		w.fact(w.sheet.facts+i, over, f)
	}
	for i, f := range w.sheet.Fields {
		w.field(w.sheet.fields+i, over, f)
	}
	for row := w.sheet.chartRow; row > 0 && row < w.sheet.head; row++ {
		w.set(row, excelize.RowOpts{Height: rowHeight}) // charts stand on rows of known height
	}
}

// fact writes the label over the first columns, the value behind it and its
// unit behind that.
func (w *rowWriter) fact(row, over int, f reports.Fact) {
	w.row = append(w.row, excelize.Cell{StyleID: w.style(reportStyle{role: factRole}), Value: f.Label})
	for len(w.row) < over {
		w.row = append(w.row, nil)
	}
	w.row = append(w.row, w.cell(f.Value, row, reportStyle{role: valueRole}))
	if f.Unit != "" && f.Value.Kind != reports.ShareKind {
		w.row = append(w.row, excelize.Cell{StyleID: w.style(reportStyle{role: factRole, indent: true}), Value: f.Unit})
	}
	w.set(row, excelize.RowOpts{Height: rowHeight})
	w.merge(row, 1, over)
}

// field writes the label like that of a fact, and a framed cell behind it. One
// for free text is as wide as the sheet and two lines high.
func (w *rowWriter) field(row, over int, f reports.Field) {
	w.row = append(w.row, excelize.Cell{StyleID: w.style(reportStyle{role: factRole}), Value: f.Label})
	for len(w.row) < over {
		w.row = append(w.row, nil)
	}
	last, height, value := over+1, rowHeight, f.Value
	style := reportStyle{edit: true, wrap: freeText(f)}
	if freeText(f) {
		last, height = len(w.sheet.Columns), 2*rowHeight
	}
	if value.Blank() {
		value.Kind = f.Kind
	}
	for len(w.row) < last {
		w.row = append(w.row, w.cell(value, row, style))
		value = reports.Cell{Kind: f.Kind} // the frame goes around all cells
	}
	w.set(row, excelize.RowOpts{Height: float64(height)})
	w.merge(row, 1, over)
	w.merge(row, over+1, last)
}

// freeText reports whether anything may be typed into a field.
func freeText(f reports.Field) bool { return f.Kind == reports.TextKind && len(f.OneOf) == 0 }

// cell is a value with its style and, where it follows from others, its
// formula.
func (w *rowWriter) cell(c reports.Cell, row int, s reportStyle) any {
	s.kind, s.decimals = c.Kind, c.Decimals
	cell := excelize.Cell{StyleID: w.style(s), Formula: w.book.formula(w.sheet, c.Formula, row)}
	switch {
	case c.Blank():
	case c.Kind == reports.TextKind:
		cell.Value = reports.Plain(c.String())
	case c.Kind == reports.DateKind:
		cell.Value = int(c.Date()) + excelEpoch
	default:
		cell.Value = c.Number()
	}
	return cell
}

// table is the head and the rows, or a sentence where there are none.
func (w *rowWriter) table() {
	p := w.sheet
	lines := 1
	for i, c := range p.Columns {
		name, unit := c.Name, 0
		if c.Unit != "" && c.Kind != reports.ShareKind {
			name, unit = name+"\n"+c.Unit, 1
		}
		lines = max(lines, linesOf(c.Name, p.widths[i]-1)+unit)
		w.row = append(w.row, excelize.Cell{StyleID: w.style(reportStyle{role: headRole, kind: c.Kind, indent: i > 0}), Value: name})
	}
	w.set(p.head, excelize.RowOpts{Height: lineHeight*float64(lines) + 4})
	for n, r := range p.Rows {
		w.body(p.first+n, r)
	}
	if len(p.Rows) == 0 {
		w.sentence(p.first, p.Empty, noteRole)
	}
}

// body writes one row of the table, as high as its longest text needs. Only
// texts longer than their column are broken: others would be at a hyphen.
func (w *rowWriter) body(number int, r reports.Row) {
	p, lines := w.sheet, 1
	for i, c := range r.Cells {
		if c.Blank() {
			c.Kind = p.Columns[i].Kind
		}
		style := reportStyle{mixed: p.mixed[i], strong: r.Strong, edit: p.Columns[i].Edit, indent: i > 0}
		if c.Kind == reports.TextKind && pretty.StringWidthWithoutEscSequences(c.String()) > mostColumn {
			style.wrap = true
			lines = max(lines, linesOf(c.String(), p.widths[i]*narrow))
		}
		w.row = append(w.row, w.cell(c, number, style))
	}
	w.set(number, excelize.RowOpts{Height: min(max(rowHeight, lineHeight*float64(lines)), excelize.MaxRowHeight)})
}

// below is the totals, each on its own line under the column it adds up, and
// the remarks.
func (w *rowWriter) below() {
	p := w.sheet
	for i, t := range p.Totals {
		row, last := p.totals+i, i == len(p.Totals)-1
		at := p.column(t.Column)
		for column := range at - 1 {
			label := excelize.Cell{StyleID: w.style(reportStyle{role: totalRole, last: last})}
			if column == 0 {
				label.Value = t.Name
			}
			w.row = append(w.row, label)
		}
		w.row = append(w.row, w.cell(t.Value, row, reportStyle{role: totalRole, last: last}))
		w.set(row, excelize.RowOpts{Height: rowHeight})
	}
	for i, remark := range p.Remarks {
		w.sentence(p.remarks+i, "– "+reports.Plain(remark), noteRole)
	}
}
