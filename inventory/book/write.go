package book

import (
	"fmt"
	"io"
	"iter"
	"strings"
	"unicode/utf8"

	"circlip/inventory"
)

// WriteTable writes one table as CSV: the header, then each row as
// Table.Format makes it. Text that a spreadsheet would take for a formula is
// guarded by a leading ', which Folder takes off.
func WriteTable(out io.Writer, table Table, rows iter.Seq2[[]string, error]) error {
	w := rowWriter{out: out, columns: table.Columns}
	header := make([]string, len(table.Columns))
	for i, c := range table.Columns {
		header[i] = c.Name
	}
	if err := w.write(header); err != nil {
		return err
	}
	for cells, err := range rows {
		if err != nil {
			return err
		}
		if err := w.write(cells); err != nil {
			return err
		}
	}
	return nil
}

// rowWriter writes rows as RFC 4180 has them, with LF at the end of lines.
type rowWriter struct {
	out     io.Writer
	columns []Column
	line    []byte
}

// write writes one row. Numbers that we formatted need no guard, for a leading
// minus is theirs; anything else that leads like a formula gets one.
func (w *rowWriter) write(cells []string) error {
	w.line = w.line[:0]
	for i, cell := range cells {
		if i > 0 {
			w.line = append(w.line, ',')
		}
		if !utf8.ValidString(cell) || strings.IndexByte(cell, 0) >= 0 {
			return fmt.Errorf("%w: column %s: found %s, expected UTF-8 text without NUL", inventory.ErrInvalid, w.columns[i].Name, quote(cell))
		}
		if !w.columns[i].isNumber() || !plainDecimal(cell) {
			cell = guard(cell)
		}
		w.line = appendCell(w.line, cell, len(cells) == 1)
	}
	w.line = append(w.line, '\n')
	_, err := w.out.Write(w.line)
	return err
}

// isNumber reports whether Format writes numbers for the column.
func (c Column) isNumber() bool {
	switch c.Kind {
	case Integer, Decimal, Quantity, Money, UnitCost:
		return true
	}
	return false
}

// appendCell quotes where it must. A blank cell that is alone on its line is
// quoted, for an empty line is no row.
func appendCell(line []byte, cell string, alone bool) []byte {
	if !strings.ContainsAny(cell, ",\"\r\n") && (cell != "" || !alone) {
		return append(line, cell...)
	}
	line = append(line, '"')
	for i := range len(cell) {
		if cell[i] == '"' {
			line = append(line, '"')
		}
		line = append(line, cell[i])
	}
	return append(line, '"')
}
