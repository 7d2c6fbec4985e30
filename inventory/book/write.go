package book

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"circlip/inventory"
)

// WriteFolder writes a folder of CSV files, a table a file, each row as
// Table.Format makes it. Every file is written beside its place and moved
// there when all are complete, so that an error before that leaves the folder
// as it was. Text that a spreadsheet would take for a formula is guarded by a
// leading ', which Folder takes off.
func WriteFolder(dir string, tables iter.Seq2[Table, iter.Seq2[[]string, error]]) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return fmt.Errorf("make the book's folder: %w", err)
	}
	var written []draft
	defer func() {
		for _, d := range written {
			os.Remove(d.temp) // those in place are gone from there
		}
	}()
	for table, rows := range tables {
		d, err := writeTable(dir, table, rows)
		written = append(written, d)
		if err != nil {
			return fmt.Errorf("write table %s: %w", table.Name, err)
		}
	}
	for _, d := range written {
		if err := os.Rename(d.temp, d.name); err != nil {
			return fmt.Errorf("put a table of the book in its place: %w", err)
		}
	}
	return syncFolder(dir)
}

// draft is a file that waits to be moved to its place.
type draft struct{ temp, name string }

// writeTable writes one file beside its place, complete and on the disk. The
// draft is told of even when it failed, so that it can be removed.
func writeTable(dir string, table Table, rows iter.Seq2[[]string, error]) (draft, error) {
	file, err := os.CreateTemp(dir, "."+table.Name+".*.tmp")
	if err != nil {
		return draft{}, err
	}
	d := draft{file.Name(), filepath.Join(dir, table.Name+".csv")}
	out := bufio.NewWriterSize(file, 64<<10)
	err = writeRows(out, table, rows)
	if err == nil {
		err = out.Flush()
	}
	if err == nil {
		err = file.Chmod(0o644)
	}
	if err == nil {
		err = file.Sync()
	}
	return d, errors.Join(err, file.Close())
}

// syncFolder makes the moves last beyond a loss of power, where the system can.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return fmt.Errorf("sync the book's folder: %w", err)
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, errors.ErrUnsupported) {
		return fmt.Errorf("sync the book's folder: %w", err)
	}
	return nil
}

// writeRows writes the header and then every row.
func writeRows(out io.Writer, table Table, rows iter.Seq2[[]string, error]) error {
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
