package workbook

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"circlip/inventory"
	"circlip/inventory/book"
)

// form is how the cells of a column are stored.
type form int

const (
	formText form = iota // as text, also what looks like a number: 007, 3Q24
	formNumber
	formDate // as a number that is shown as a day
)

func formOf(kind book.Kind) form {
	switch kind {
	case book.Date:
		return formDate
	case book.Integer, book.Decimal, book.Quantity, book.Money, book.UnitCost:
		return formNumber
	}
	return formText
}

// epoch is the serial of 1970-01-01 in the 1900 system, in which 1900 is
// wrongly a leap year: right for all days from 1900-03-01 on.
const epoch = 25569

// significantDigits is how many digits spreadsheet programs keep of a number.
// One that has more is stored as text rather than changed.
const significantDigits = 15

// rowXML makes the <row> elements of one table.
type rowXML struct {
	table   book.Table
	letters []string // of the columns
	styles  []int
	row     int
	buf     []byte // the row at hand
}

func newRowXML(t book.Table, styles []int) *rowXML {
	x := &rowXML{table: t, styles: styles, row: 1} // the head is there
	for i := range t.Columns {
		name := cellName(i+1, 1)
		x.letters = append(x.letters, name[:len(name)-1])
	}
	return x
}

// next makes the next row of the texts of its cells, in the order of the
// table's columns. It is valid until the next call.
func (x *rowXML) next(texts []string) ([]byte, error) {
	if len(texts) > len(x.table.Columns) {
		return nil, fmt.Errorf("%w: %d cells, expected at most %d", inventory.ErrInvalid, len(texts), len(x.table.Columns))
	}
	if x.row++; x.row > lastRow {
		return nil, fmt.Errorf("%w: more than %d rows, the most that a sheet holds; save the book as a folder of CSV files", inventory.ErrInvalid, lastRow-1)
	}
	x.buf = append(x.buf[:0], `<row r="`...)
	x.buf = strconv.AppendInt(x.buf, int64(x.row), 10)
	x.buf = append(x.buf, `">`...)
	for i, text := range texts {
		if text == "" {
			continue
		}
		if err := x.cell(i, text); err != nil {
			return nil, fmt.Errorf("row %d, column %s: %w", x.row, x.table.Columns[i].Name, err)
		}
	}
	x.buf = append(x.buf, "</row>\n"...)
	return x.buf, nil
}

func (x *rowXML) cell(i int, text string) error {
	x.buf = append(x.buf, `<c r="`...)
	x.buf = append(x.buf, x.letters[i]...)
	x.buf = strconv.AppendInt(x.buf, int64(x.row), 10)
	x.buf = append(x.buf, `" s="`...)
	x.buf = strconv.AppendInt(x.buf, int64(x.styles[i]), 10)
	switch form := formOf(x.table.Columns[i].Kind); {
	case form == formDate:
		if day, err := inventory.ParseDate(text); err == nil {
			x.buf = append(x.buf, `"><v>`...)
			x.buf = strconv.AppendInt(x.buf, int64(day)+epoch, 10)
			x.buf = append(x.buf, `</v></c>`...)
			return nil
		}
	case form == formNumber && keepsDigits(text):
		x.buf = append(x.buf, `"><v>`...)
		x.buf = append(x.buf, text...)
		x.buf = append(x.buf, `</v></c>`...)
		return nil
	}
	x.buf = append(x.buf, `" t="inlineStr"><is><t`...)
	if isBlank(text[0]) || isBlank(text[len(text)-1]) {
		x.buf = append(x.buf, ` xml:space="preserve"`...)
	}
	x.buf = append(x.buf, '>')
	var err error
	x.buf, err = appendEscaped(x.buf, text)
	x.buf = append(x.buf, `</t></is></c>`...)
	return err
}

// keepsDigits reports whether text is a plain decimal that comes back from a
// spreadsheet program as it is.
func keepsDigits(text string) bool {
	return len(text) <= significantDigits && isNumber([]byte(text)) && !strings.ContainsAny(text, "eE")
}

// appendEscaped appends a text as a cell stores it: XML's own characters as
// references, what XML cannot hold as _xHHHH_, and the underscore of what only
// looks like that as _x005F_ (ISO/IEC 29500-1, 22.9.2.19).
func appendEscaped(to []byte, text string) ([]byte, error) {
	if len(text) > book.MaxCell && units(text) > book.MaxCell {
		return to, fmt.Errorf("%w: a text of %d characters, expected at most %d", inventory.ErrInvalid, units(text), book.MaxCell)
	}
	if !utf8.ValidString(text) {
		return to, fmt.Errorf("%w: a text that is not UTF-8: %.40q", inventory.ErrInvalid, text)
	}
	for i, r := range text {
		switch {
		case r == '&':
			to = append(to, "&amp;"...)
		case r == '<':
			to = append(to, "&lt;"...)
		case r == '>':
			to = append(to, "&gt;"...)
		case r == '\r' || !allowed(r):
			to = fmt.Appendf(to, "_x%04X_", r)
		case r == '_' && looksEscaped(text[i:]):
			to = append(to, "_x005F_"...)
		default:
			to = utf8.AppendRune(to, r)
		}
	}
	return to, nil
}

func looksEscaped(text string) bool {
	_, n := escaped([]byte(text[:min(len(text), 7)]))
	return n > 0
}

// units is the length of a text as spreadsheet programs count it, in UTF-16.
func units(text string) int {
	n := 0
	for _, r := range text {
		if n++; r > 0xFFFF {
			n++
		}
	}
	return n
}
