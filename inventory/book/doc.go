// Package book is the one door for what people type or send: a workshop's
// book, a table a file or sheet, as cells of text in and values or named
// faults out, and back again.
//
// Three words to know:
//
//   - A Table says which columns a sheet has, of which kind each is, and what
//     a blank cell means. Tables lists them all, each after those it refers to.
//   - A Source is a book as it comes: rows of cells by table. Folder reads a
//     folder of CSV files; the workbook package reads a spreadsheet.
//   - A Fault is one thing wrong in one cell: where, what, what was found and
//     what is expected. A row with a fault yields no record, and reading goes
//     on, so that all faults are told at once.
//
// For example, every good row of the units of a folder:
//
//	source, err := book.Folder(os.DirFS("mybook"))
//	units, _ := book.TableOf("units")
//	faults, warnings, err := book.Read(units, source.Rows("units"), &book.Context{}, func(r book.Record) error {
//		fmt.Println(r.Row, r.Values[0])
//		return nil
//	})
//
// Codes, dates and numbers are read strictly: a date that two countries read
// differently is refused, not guessed.
package book
