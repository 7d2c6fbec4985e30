package workbook

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"circlip/reports"

	"github.com/xuri/excelize/v2"
)

// WriteBench writes the papers of the bench to a file, which takes its place
// when it is whole.
func WriteBench(path string, p reports.Papers) error {
	return writeWhole(path, "bench", func(w io.Writer) error { return EncodeBench(w, p) })
}

// EncodeBench writes that workbook: the pick list, and a tab for each job's
// card. The same papers give the same bytes.
func EncodeBench(w io.Writer, p reports.Papers) error {
	return encodeSheets(w, "Bench papers", p.Workshop, p.On, []reports.Sheet{p.PickList}, nil, func(b *reportBook) error {
		for _, c := range p.Cards {
			if err := b.card(c); err != nil {
				return fmt.Errorf("card of job %s: %w", c.Job, err)
			}
		}
		return nil
	})
}

// A card holds several tables below each other, each with columns of its own.
// They stand on one grid of narrow columns, of which each table's columns join
// as many as they need. Joined columns hold more letters than each by itself,
// since only the outer ones keep a margin.
const (
	gridColumns = 24
	gridSet     = 4.0 // characters, as a column's width is set
	gridWidth   = 4.7 // characters, as a column of several holds them
	labelSpan   = 4   // of a fact's label
	leastSpan   = 2
	leastBlank  = 12.0                             // characters to be written into
	penHeight   = 18                               // points: a line to be written on by hand
	bold        = 1.1                              // letters against those that are not
	halfFact    = gridColumns/2 - labelSpan        // of the value of a fact that shares its row
	pageHeight  = 860                              // points of an upright page of the grid's width
	shrunk      = 1.2                              // how much more than a page is made smaller to fit on one
	gridLine    = gridColumns * gridWidth * narrow // letters across
)

// cardRow is one row of a card and its height in points.
type cardRow struct {
	height float64
	write  func(w *rowWriter, row int) // gathers the row
	spans  []int                       // columns of the grid that are joined; nil: as write does it
}

// card adds the tab of a card.
func (b *reportBook) card(c reports.Card) error {
	rows := cardRows(c)
	p := &placedSheet{
		Sheet:  reports.Sheet{Key: "card", Columns: make([]reports.Column, gridColumns)},
		tab:    b.freeTab("Job " + c.Job),
		widths: slices.Repeat([]float64{gridSet}, gridColumns),
		last:   len(rows),
	}
	if _, err := b.file.NewSheet(p.tab); err != nil {
		return fmt.Errorf("naming a sheet %q: %w", p.tab, err)
	}
	b.sheets = append(b.sheets, p)
	if err := b.setUp(p); err != nil {
		return err
	}
	if err := b.onePage(p.tab, rows); err != nil {
		return err
	}
	stream, err := b.file.NewStreamWriter(p.tab)
	if err != nil {
		return err
	}
	w := &rowWriter{book: b, sheet: p, stream: stream}
	for i, r := range rows {
		r.write(w, i+1)
		w.set(i+1, excelize.RowOpts{Height: min(r.height, excelize.MaxRowHeight)})
		w.mergeSpans(i+1, r.spans)
	}
	if w.err != nil {
		return w.err
	}
	return stream.Flush()
}

// onePage makes a card that is a little longer than a page so much smaller that
// it fits: what is found on the back of a card gets lost.
func (b *reportBook) onePage(tab string, rows []cardRow) error {
	height, one := 0.0, 1
	for _, r := range rows {
		height += r.height
	}
	if height > shrunk*pageHeight {
		return nil
	}
	return b.file.SetPageLayout(tab, &excelize.PageLayoutOptions{FitToHeight: &one})
}

// freeTab is a tab's name that no other of the book has.
func (b *reportBook) freeTab(name string) string {
	taken := map[string]bool{"history": true}
	for _, s := range b.sheets {
		taken[strings.ToLower(s.tab)] = true
	}
	return freeName(legalName(name), taken)
}

// cardRows are the rows of a card from top to bottom.
func cardRows(c reports.Card) []cardRow {
	rows := []cardRow{sentenceRow(c.Title, titleRole)}
	rows = append(rows, factRows(c.Facts)...)
	rows = append(rows, blankRow, sentenceRow("Before anything is opened", valueRole))
	for _, caution := range c.Cautions {
		rows = append(rows, cautionRow(caution))
	}
	for _, s := range slices.Concat(c.Tables, c.Forms) {
		rows = append(rows, tableRows(s, gridSpans(alike(s, c.Tables)))...)
	}
	return rows
}

// alike is a table with the rows of all that are of its kind, whose columns
// should stand under each other.
func alike(s reports.Sheet, tables []reports.Sheet) *placedSheet {
	rows := s.Rows
	for _, other := range tables {
		if other.Key == s.Key {
			rows = slices.Concat(rows, other.Rows)
		}
	}
	s.Rows = rows
	return placeSheet(s, "")
}

// tableRows are a table of a card with its title, or what stands instead of it.
func tableRows(s reports.Sheet, spans []int) []cardRow {
	rows := []cardRow{blankRow, sentenceRow(s.Title, valueRole)}
	for _, note := range s.Notes {
		rows = append(rows, sentenceRow(note, noteRole))
	}
	if len(s.Rows) == 0 {
		return append(rows, sentenceRow(s.Empty, noteRole))
	}
	placed := placeSheet(s, "")
	rows = append(rows, headRow(s, spans))
	for _, r := range s.Rows {
		rows = append(rows, bodyRow(placed, r, spans))
	}
	return rows
}

// across is a row that is one cell.
var across = []int{gridColumns}

var blankRow = cardRow{height: rowHeight / 2, write: func(*rowWriter, int) {}}

// sentenceRow is a text over all columns.
func sentenceRow(text string, role reportRole) cardRow {
	text = reports.Plain(text)
	height := lineHeight * float64(linesOf(text, gridLine/bold))
	if role == titleRole {
		height = titleHeight * float64(linesOf(text, gridLine/titleSize))
	}
	return cardRow{height, func(w *rowWriter, _ int) {
		w.joined(w.textCell(text, reportStyle{role: role, wrap: true}), gridColumns)
	}, across}
}

// cautionRow is filled so that it is not overlooked; the heading above says
// what it is.
func cautionRow(text string) cardRow {
	text = "– " + text
	height := lineHeight*float64(linesOf(text, gridLine)) + 2
	return cardRow{height, func(w *rowWriter, _ int) {
		w.joined(w.textCell(text, reportStyle{strong: true, wrap: true}), gridColumns)
	}, across}
}

// factRows puts two facts on a row where both find room.
func factRows(facts []reports.Fact) []cardRow {
	var rows []cardRow
	for len(facts) > 0 {
		n := 1
		if len(facts) > 1 && isShort(facts[0]) && isShort(facts[1]) {
			n = 2
		}
		rows = append(rows, factRow(facts[:n]))
		facts = facts[n:]
	}
	return rows
}

func isShort(f reports.Fact) bool { return linesOf(factText(f), halfFact*gridWidth/bold) == 1 }

// factText is the value of a fact with its unit.
func factText(f reports.Fact) string {
	return strings.TrimSpace(reports.Plain(f.Value.String()) + " " + f.Unit)
}

func factRow(facts []reports.Fact) cardRow {
	each := gridColumns / len(facts)
	r := cardRow{height: rowHeight}
	for _, f := range facts {
		r.height = max(r.height, rowHeight*float64(linesOf(factText(f), float64(each-labelSpan)*gridWidth/bold)))
		r.spans = append(r.spans, labelSpan, each-labelSpan)
	}
	r.write = func(w *rowWriter, _ int) {
		for _, f := range facts {
			w.joined(w.textCell(f.Label, reportStyle{role: factRole}), labelSpan)
			w.joined(w.textCell(factText(f), reportStyle{role: valueRole, wrap: true}), each-labelSpan)
		}
	}
	return r
}

// headRow is the columns' names.
func headRow(s reports.Sheet, spans []int) cardRow {
	lines := 1
	for i, c := range s.Columns {
		lines = max(lines, linesOf(c.Name, (float64(spans[i])*gridWidth-1)/bold))
	}
	return cardRow{lineHeight*float64(lines) + 4, func(w *rowWriter, _ int) {
		for i, c := range s.Columns {
			w.joined(w.textCell(c.Name, reportStyle{role: headRole, kind: c.Kind, indent: i > 0}), spans[i])
		}
	}, spans}
}

// bodyRow is as high as its longest text, and where there is room for a pen, at
// least as high as a written line.
func bodyRow(p *placedSheet, r reports.Row, spans []int) cardRow {
	lines, height := 1, float64(rowHeight)
	for i, c := range r.Cells {
		if p.Columns[i].Edit && c.Blank() {
			height = penHeight
		} else if c.Kind == reports.TextKind {
			lines = max(lines, linesOf(reports.Plain(c.String()), float64(spans[i])*gridWidth-1))
		}
	}
	return cardRow{max(height, lineHeight*float64(lines)), func(w *rowWriter, row int) {
		for i, c := range r.Cells {
			edit := p.Columns[i].Edit && c.Blank()
			style := reportStyle{mixed: p.mixed[i], strong: r.Strong, edit: edit, indent: i > 0, wrap: c.Kind == reports.TextKind && !edit}
			w.joined(w.cell(c, row, style), spans[i])
		}
	}, spans}
}

// textCell is a text of the program's own.
func (w *rowWriter) textCell(text string, s reportStyle) excelize.Cell {
	return excelize.Cell{StyleID: w.style(s), Value: text}
}

// joined appends a cell over so many columns of the grid; the others have its
// style, for the sake of its frame.
func (w *rowWriter) joined(cell any, span int) {
	w.row = append(w.row, cell)
	c, _ := cell.(excelize.Cell)
	for range span - 1 {
		w.row = append(w.row, excelize.Cell{StyleID: c.StyleID})
	}
}

// mergeSpans joins the cells of a row as its columns span the grid.
func (w *rowWriter) mergeSpans(row int, spans []int) {
	from := 1
	for _, span := range spans {
		w.merge(row, from, from+span-1)
		from += span
	}
}

// gridSpans deals the columns of the grid out to those of a table: numbers get
// what they need, texts share the rest in proportion to their longest, blank
// ones to their names.
func gridSpans(p *placedSheet) []int {
	spans, wants := make([]int, len(p.Columns)), make([]float64, len(p.Columns))
	left, room, texts := gridColumns, float64(gridColumns), 0.0
	for i, c := range p.Columns {
		spans[i] = leastSpan
		switch {
		case holdsNumber(c.Kind):
			spans[i] = max(leastSpan, int(math.Ceil(p.widths[i]/gridWidth)))
			room -= float64(spans[i])
		case c.Edit:
			wants[i] = max(leastBlank, float64(len(c.Name)))
		default:
			wants[i] = p.widths[i]
		}
		left -= spans[i]
		texts += wants[i]
	}
	share := room / texts
	for ; left > 0; left-- {
		most := 0
		for i := range wants {
			if wants[i] > 0 && (wants[most] == 0 || wants[i]*share-float64(spans[i]) > wants[most]*share-float64(spans[most])) {
				most = i
			}
		}
		spans[most]++
	}
	return spans
}
