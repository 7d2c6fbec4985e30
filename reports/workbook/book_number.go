package workbook

import (
	"bytes"
	"slices"
	"strconv"

	"circlip/inventory/book"
)

// isNumber tells whether b is a decimal number as workbooks store them:
// -12, 0.5, 1.0000000000000001E-2. No blanks, no infinity, no hexadecimal.
func isNumber(b []byte) bool {
	b = bytes.TrimPrefix(b, []byte("-"))
	whole := leadingDigits(b)
	b = b[whole:]
	fraction := 0
	if len(b) > 0 && b[0] == '.' {
		fraction = leadingDigits(b[1:])
		if fraction == 0 {
			return false
		}
		b = b[1+fraction:]
	}
	if whole+fraction == 0 || len(b) == 0 {
		return whole+fraction > 0
	}
	if b[0] != 'E' && b[0] != 'e' {
		return false
	}
	b = b[1:]
	if len(b) > 0 && (b[0] == '+' || b[0] == '-') {
		b = b[1:]
	}
	return len(b) > 0 && len(b) <= 3 && leadingDigits(b) == len(b)
}

func leadingDigits(b []byte) int {
	n := 0
	for n < len(b) && b[n] >= '0' && b[n] <= '9' {
		n++
	}
	return n
}

// dateColumns moves the dates of a workbook that counts days from 1904 to the
// 1900 system. A date is told by its column, as book.Read tells it: the cells'
// formats are not looked at.
type dateColumns struct {
	table   string
	days    int // between the systems, 0 for a workbook of the 1900 system
	headed  bool
	columns map[int]bool
}

func (d *dateColumns) shift(row book.Row) {
	switch {
	case d.days == 0:
	case !d.headed:
		d.headed, d.columns = true, columnsOf(d.table, row, book.Date, book.CureMark)
	default:
		for i := range row.Cells {
			if c := &row.Cells[i]; c.Numeric && d.columns[i] {
				if serial, err := strconv.ParseFloat(c.Text, 64); err == nil {
					c.Text = strconv.FormatFloat(serial+float64(d.days), 'f', -1, 64)
				}
			}
		}
	}
}

// columnsOf finds the cells of a header whose columns are of one of the kinds.
func columnsOf(table string, header book.Row, kinds ...book.Kind) map[int]bool {
	t, _ := book.TableOf(table)
	found := make(map[int]bool)
	for _, column := range t.Columns {
		for i, c := range header.Cells {
			if tableName(c.Text) == column.Name && slices.Contains(kinds, column.Kind) {
				found[i] = true
			}
		}
	}
	return found
}
