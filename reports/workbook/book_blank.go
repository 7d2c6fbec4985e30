package workbook

import (
	"bytes"
	"fmt"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"

	"circlip/inventory/book"
)

// guideName is the sheet that explains a book to who fills it in. It is no
// table: the reader passes over it without a word.
const guideName = "about this book"

const (
	typeface = "Calibri"
	headFill = "E7E6E6"
	isoDays  = "yyyy-mm-dd"
	asText   = 49 // the number format @: what is typed stays as it is typed
	widest   = 40
)

// blank is a book without rows, and how the cells of its rows are formatted.
type blank struct {
	file   *excelize.File
	styles map[string][]int // by table, one a column
}

// newBlank makes the book's sheets: a header with notes, formats and checks of
// what is typed, and in the settings the keys. Close the file.
func newBlank() (*blank, error) {
	b := &blank{file: excelize.NewFile(), styles: make(map[string][]int)}
	if err := b.fill(); err != nil {
		b.file.Close()
		return nil, fmt.Errorf("blank book: %w", err)
	}
	return b, nil
}

func (b *blank) fill() error {
	if err := b.file.SetSheetName("Sheet1", guideName); err != nil {
		return err
	}
	// The library's own dates stand for no moment: the same rows, the same bytes.
	if err := b.file.SetDocProps(&excelize.DocProperties{Title: "Workshop book", Creator: "circlip"}); err != nil {
		return err
	}
	for _, t := range book.Tables {
		if err := b.sheet(t); err != nil {
			return fmt.Errorf("sheet %s: %w", t.Name, err)
		}
	}
	return b.guide()
}

// sheet makes the sheet of a table with its header.
func (b *blank) sheet(t book.Table) error {
	if _, err := b.file.NewSheet(t.Name); err != nil {
		return err
	}
	for i, c := range t.Columns {
		if err := b.column(t, c, i+1); err != nil {
			return fmt.Errorf("column %s: %w", c.Name, err)
		}
	}
	panes := &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft",
		Selection: []excelize.Selection{{SQRef: "A2", ActiveCell: "A2", Pane: "bottomLeft"}}}
	if err := b.file.SetPanes(t.Name, panes); err != nil {
		return err
	}
	return b.page(t.Name)
}

// page has a sheet printed one page wide, across.
func (b *blank) page(sheet string) error {
	landscape, fit, wide, high := "landscape", true, 1, 0
	if err := b.file.SetSheetProps(sheet, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	return b.file.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: &landscape, FitToWidth: &wide, FitToHeight: &high})
}

// column formats a column and writes its head, the note and the check.
func (b *blank) column(t book.Table, c book.Column, number int) error {
	letter, err := excelize.ColumnNumberToName(number)
	if err != nil {
		return err
	}
	body, err := b.file.NewStyle(bodyStyle(c))
	if err != nil {
		return err
	}
	head, err := b.file.NewStyle(headStyle(c))
	if err != nil {
		return err
	}
	b.styles[t.Name] = append(b.styles[t.Name], body)
	cell := letter + "1"
	// The format of a column is laid over the cells it has: the head's comes after.
	for _, step := range []func() error{
		func() error { return b.file.SetColWidth(t.Name, letter, letter, width(c)) },
		func() error { return b.file.SetColStyle(t.Name, letter, body) },
		func() error { return b.file.SetCellStr(t.Name, cell, c.Name) },
		func() error { return b.file.SetCellStyle(t.Name, cell, cell, head) },
		func() error { return b.file.AddComment(t.Name, note(cell, c)) },
		func() error { return b.check(t.Name, letter, c) },
	} {
		if err := step(); err != nil {
			return err
		}
	}
	return nil
}

// bodyStyle formats the cells below a head. Text columns are formatted as text,
// so that a program does not turn what is typed there into a number or a day.
func bodyStyle(c book.Column) *excelize.Style {
	style := &excelize.Style{Font: &excelize.Font{Family: typeface, Size: 11, Bold: c.Key}}
	switch format := isoDays; formOf(c.Kind) {
	case formText:
		style.NumFmt = asText
	case formDate:
		style.CustomNumFmt = &format
	}
	return style
}

// headStyle sets heads off by a tone and a line, the key's by their weight.
func headStyle(c book.Column) *excelize.Style {
	align := &excelize.Alignment{Horizontal: "left"}
	if formOf(c.Kind) != formText {
		align.Horizontal = "right"
	}
	return &excelize.Style{
		Font: &excelize.Font{Family: typeface, Size: 11, Bold: c.Key}, Alignment: align,
		Fill:   excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{headFill}},
		Border: []excelize.Border{{Type: "bottom", Style: 1, Color: "000000"}},
		NumFmt: asText,
	}
}

// width fits the head and the usual content, in characters.
func width(c book.Column) float64 {
	usual := 12
	switch c.Kind {
	case book.Text:
		usual = 26
	case book.Code, book.Codes, book.GTIN:
		usual = 16
	}
	for _, choice := range c.OneOf {
		usual = max(usual, len(choice)+3)
	}
	return float64(min(max(usual, len(c.Name)+3), widest))
}

// note is the note on a column's head.
func note(cell string, c book.Column) excelize.Comment {
	lines := describe(c)
	return excelize.Comment{
		Cell: cell, Author: "circlip",
		Paragraph: []excelize.RichTextRun{{Text: strings.Join(lines, "\n"), Font: &excelize.Font{Family: typeface, Size: 10}}},
		Width:     260, Height: uint(30 + 22*len(lines)),
	}
}

// describe says all there is to know about a column, a fact a line.
func describe(c book.Column) []string {
	lines := []string{c.Help, "Expected: " + expected(c) + "."}
	switch {
	case c.Key && c.Required:
		lines = append(lines, "Part of the key; required.")
	case c.Key:
		lines = append(lines, "Part of the key; may be blank.")
	case c.Required:
		lines = append(lines, "Required.")
	}
	if c.Default != "" {
		lines = append(lines, "Blank means "+c.Default+".")
	}
	if c.Refers != "" {
		lines = append(lines, "Found in the sheet "+c.Refers+".")
	}
	return lines
}

// expected says in a few words what may stand in a column's cells.
func expected(c book.Column) string {
	switch c.Kind {
	case book.Code:
		return fmt.Sprintf("a code of at most %d characters, without ;", book.MaxCode)
	case book.Codes:
		return "codes with ; between them"
	case book.Integer:
		return "a whole number" + bounds(c)
	case book.Decimal:
		return "a number" + bounds(c)
	case book.YesNo:
		return "yes or no"
	case book.Date:
		return "a day, as 2027-03-01"
	case book.CureMark:
		return "a day, as 2024-08-15, or a quarter, as 3Q24"
	case book.Clock:
		return "a time of day, as 16:30"
	case book.Quantity:
		return "a quantity in the item's unit" + bounds(c)
	case book.Money, book.UnitCost:
		return "an amount in the workshop's currency"
	case book.GTIN:
		return "8, 12, 13 or 14 digits"
	case book.Material:
		return "a material code, as NBR or FKM"
	}
	if len(c.OneOf) > 0 {
		return strings.Join(c.OneOf, ", ")
	}
	return "text"
}

// bounds says in words what Column.Bounds says in numbers.
func bounds(c book.Column) string {
	least, most, above := c.Bounds()
	switch {
	case above && math.IsInf(most, 1):
		return fmt.Sprintf(" above %g", least)
	case above:
		return fmt.Sprintf(" above %g and at most %.9g", least, most)
	case math.IsInf(most, 1):
		return fmt.Sprintf(" of %g or more", least)
	}
	return fmt.Sprintf(" from %g to %.9g", least, most)
}

// bytes writes the blank book as a file.
func (b *blank) bytes() ([]byte, error) {
	var out bytes.Buffer
	if err := b.file.Write(&out); err != nil {
		return nil, fmt.Errorf("blank book: %w", err)
	}
	return out.Bytes(), nil
}
