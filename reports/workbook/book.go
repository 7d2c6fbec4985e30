// Package workbook reads and writes spreadsheets in the .xlsx format: the
// workshop's book, and the sheets that people fill: orders of the reorder
// workbook and deliveries, out and in.
//
// Three words to know:
//
//   - The book is a workshop's data as people keep it, a sheet a table
//     (package inventory/book). OpenBook reads one, WriteBook and WriteBlank
//     write one.
//   - A slip is a sheet of ours that comes back filled: ReadAnswers reads what a
//     person made of the orders, ReadDelivery what came. What was proposed comes
//     back with it on a hidden sheet, its memory, so that every change is told.
//   - A part is one of the files that a .xlsx, which is a zip file, holds: the
//     list of sheets, each sheet, the texts that sheets share.
//
// A file comes from outside, so nothing in it is trusted: the zip directory is
// checked before anything is unpacked, and each part is read by a strict
// scanner of our own that takes a sheet whole or names the place of the
// damage. The general library (excelize) returns half of a damaged sheet and
// no error; it makes the sheets that are written, and is a second opinion in
// the tests.
//
// For example, the rows of the sheet items:
//
//	b, err := workbook.OpenBook("shop.xlsx")
//	defer b.Close()
//	for row, err := range b.Rows("items") {
//		fmt.Println(row.Number, row.Cells[0].Text, err)
//	}
package workbook

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"os"
	"strings"
	"time"

	"circlip/inventory"
	"circlip/inventory/book"
)

// standard are the limits of a book. Measured: 100,000 rows of 12 filled
// columns are 5 MiB packed and 46 to 57 MiB unpacked, 10 to 12 to 1; the most
// repetitive sheet a spreadsheet program writes, formatted rows without cells,
// is 45 to 1. So the limits pass a book of 900,000 such rows and refuse a bomb
// by its directory. Ratio guards time, not memory: nothing but the shared
// texts grows with the file.
var standard = limits{
	file:      128 << 20,
	directory: 1 << 20,
	entries:   200,
	unpacked:  512 << 20,
	ratio:     100,
	free:      4 << 20,
	texts:     1_000_000,
	textBytes: 32 << 20,
	rows:      lastRow,
	columns:   book.MaxCells,
}

// readingTime is how long reading one part may take, the caller's own time
// between the rows not counted.
const readingTime = time.Minute

// Book is a workshop book in one .xlsx file, open for reading. It implements
// book.Source: each worksheet is a table of the same name.
//
// Cells are read as they are stored: numbers and dates as numbers whatever
// their format, hidden rows and sheets like all others, of merged cells the
// top left one. A sheet is read from its part as it is asked for, in one pass
// and in memory that does not grow with its rows.
type Book struct {
	closer   io.Closer
	parts    *container
	lim      limits
	since    int // days to add to a date's serial: 1462 in the 1904 system
	sheets   []sheetPart
	texts    []string
	warnings []string
}

// sheetPart says where a worksheet lies.
type sheetPart struct {
	name, part string
	title      string // as it stands on the tab
	hidden     bool
}

// OpenBook opens a book and checks everything but the sheets' own rows, which
// are checked as they are read. Errors wrap inventory.ErrInvalid where the
// file is no whole book, and name what it is instead. Close the book.
func OpenBook(path string) (*Book, error) {
	// A pipe or device would block or never end.
	if info, err := os.Stat(path); err != nil {
		return nil, fmt.Errorf("book %s: %w", path, err)
	} else if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%w: book %s: found no plain file, expected .xlsx", inventory.ErrInvalid, path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("book %s: %w", path, err)
	}
	info, err := f.Stat()
	if err != nil {
		return nil, errors.Join(fmt.Errorf("book %s: %w", path, err), f.Close())
	}
	b, err := openBook(f, info.Size(), standard)
	if err != nil {
		return nil, errors.Join(fmt.Errorf("%w: book %s: %w", inventory.ErrInvalid, path, err), f.Close())
	}
	b.closer = f
	return b, nil
}

func openBook(r io.ReaderAt, size int64, lim limits) (*Book, error) {
	parts, err := openContainer(r, size, lim)
	if err != nil {
		return nil, err
	}
	b := &Book{parts: parts, lim: lim}
	if err := b.outline(); err != nil {
		return nil, err
	}
	return b, nil
}

// Close closes the file. A Book leaves nothing behind.
func (b *Book) Close() error {
	if b.closer == nil {
		return nil
	}
	return b.closer.Close()
}

// Tables are the names of the worksheets in their order, but for the sheet
// that explains a book (see WriteBook).
func (b *Book) Tables() []string {
	var names []string
	for _, s := range b.sheets {
		if s.name != guideName {
			names = append(names, s.name)
		}
	}
	return names
}

// Warnings are remarks about the book as a whole: its hidden sheets.
func (b *Book) Warnings() []string { return b.warnings }

// Rows are the rows of a table that hold anything, its header first. A damaged
// sheet ends in a book.Fault, which shows only where the damage lies: the rows
// before it are no table and must be dropped.
func (b *Book) Rows(table string) iter.Seq2[book.Row, error] {
	return func(yield func(book.Row, error) bool) {
		for _, s := range b.sheets {
			if s.name == table {
				if err := b.rows(s, yield); err != nil {
					yield(book.Row{}, err)
				}
				return
			}
		}
		yield(book.Row{}, fmt.Errorf("%w: the book has no sheet %s", inventory.ErrNotFound, table))
	}
}

func (b *Book) rows(from sheetPart, yield func(book.Row, error) bool) error {
	raw, err := b.parts.open(from.part)
	if err != nil {
		return book.Fault{Table: from.name, Problem: err.Error()}
	}
	defer raw.Close()
	watch := &stopwatch{r: raw, limit: readingTime}
	watch.start()
	s := &sheet{part: newPart(watch), name: from.name, texts: b.texts, lim: b.lim}
	dates := dateColumns{table: from.name, days: b.since}
	return s.each(func(row book.Row) bool {
		dates.shift(row)
		watch.stop()
		defer watch.start()
		return yield(row, nil)
	})
}

// stopwatch reads until a time is used up; it runs between start and stop.
type stopwatch struct {
	r       io.Reader
	limit   time.Duration
	spent   time.Duration
	started time.Time
}

func (w *stopwatch) start() { w.started = time.Now() }
func (w *stopwatch) stop()  { w.spent += time.Since(w.started) }

func (w *stopwatch) Read(b []byte) (int, error) {
	if spent := w.spent + time.Since(w.started); spent > w.limit {
		return 0, fmt.Errorf("not read within %s", w.limit)
	}
	return w.r.Read(b)
}

// tableName is the table that a sheet's name means.
func tableName(sheet string) string { return strings.ToLower(strings.TrimSpace(sheet)) }
