package workbook

import (
	"strings"

	"github.com/xuri/excelize/v2"

	"circlip/inventory/book"
)

var guideText = []string{
	"Each sheet is one table; its first row names the columns. Fill in from the second row on; rows may come in any order.",
	"Columns in bold are the key: no two rows may have the same key. Choose a cell, or rest on a column's head, to see what belongs there.",
	"Leave blank what you do not know: a blank cell means what the list below says. Sheets that you do not need stay empty.",
	"Days are real dates, shown as 2027-03-01. Numbers have no unit and no currency sign. Several codes in one cell have ; between them.",
	"Formulas are not read: paste their values. Sheets and columns of other names are passed over with a warning.",
	"Load the book with: circlip load FILE.xlsx. It is taken whole or, with a list of everything that is wrong, not at all.",
}

// The widths of the guide's columns in characters.
var guideWidths = []int{18, 20, 14, 48, 20, 84}

// guide fills in the sheet that explains the book.
func (b *blank) guide() error {
	g := guide{file: b.file}
	g.write("title", "The workshop's book")
	g.row++
	for _, line := range guideText {
		g.write("line", line)
	}
	g.row++
	g.write("head", "sheet", "column", "key", "expected", "blank means", "what it is")
	for _, t := range book.Tables {
		g.write("table", t.Name, "", "", "", "", t.Help)
		g.link(t.Name)
		for _, c := range t.Columns {
			g.write("column", "", c.Name, keyWords(c), expected(c), blankMeans(c), c.Help)
		}
	}
	g.row++
	g.write("head", "setting", "", "", "expected", "blank means", "what it is")
	for _, c := range book.Settings {
		g.write("column", c.Name, "", keyWords(c), expected(c), blankMeans(c), c.Help)
	}
	for i, width := range guideWidths {
		letter := string(rune('A' + i))
		g.do(func() error { return b.file.SetColWidth(guideName, letter, letter, float64(width)) })
	}
	g.do(func() error { return b.page(guideName) })
	return g.err
}

// keyWords says in words what bold type says in the sheets.
func keyWords(c book.Column) string {
	var words []string
	if c.Key {
		words = append(words, "key")
	}
	if c.Required {
		words = append(words, "required")
	}
	return strings.Join(words, ", ")
}

func blankMeans(c book.Column) string {
	if c.SameAs != "" {
		return "the same as " + c.SameAs
	}
	return c.Default
}

// guide writes row by row until the first failure.
type guide struct {
	file *excelize.File
	row  int // the last one written
	err  error
}

func (g *guide) do(step func() error) {
	if g.err == nil {
		g.err = step()
	}
}

// write writes the next row, as it looks for what it is.
func (g *guide) write(as string, texts ...string) {
	g.row++
	lines := 1
	for i, text := range texts {
		if text != "" {
			g.do(func() error { return g.file.SetCellStr(guideName, cellName(i+1, g.row), text) })
		}
		lines = max(lines, (len(text)+guideWidths[i]-1)/guideWidths[i])
	}
	if as == "column" && lines > 1 { // not every program makes room by itself
		g.do(func() error { return g.file.SetRowHeight(guideName, g.row, float64(15*lines)) })
	}
	g.do(func() error {
		id, err := g.file.NewStyle(guideStyle(as))
		if err != nil {
			return err
		}
		return g.file.SetCellStyle(guideName, cellName(1, g.row), cellName(len(texts), g.row), id)
	})
}

// guideStyle has three weights and one tone do for the whole sheet.
func guideStyle(as string) *excelize.Style {
	font, align := &excelize.Font{Family: typeface, Size: 11}, &excelize.Alignment{Vertical: "top"}
	style := &excelize.Style{Font: font, Alignment: align}
	switch as {
	case "title":
		font.Bold, font.Size = true, 16
	case "head":
		font.Bold = true
		style.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{headFill}}
	case "table":
		font.Bold = true
	case "column":
		align.WrapText = true
	}
	return style
}

// link makes the first cell of the last row lead to a sheet.
func (g *guide) link(sheet string) {
	g.do(func() error {
		return g.file.SetCellHyperLink(guideName, cellName(1, g.row), sheet+"!A1", "Location")
	})
}
