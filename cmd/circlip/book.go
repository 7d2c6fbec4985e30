package main

import (
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"
	"strings"

	"circlip/db"
	"circlip/inventory/book"
	"circlip/inventory/book/folder"
	"circlip/reports/workbook"
)

type loadCommand struct {
	Path string `arg:"" help:"A folder of CSV files, or one .xlsx." type:"path"`
}

// Run takes in a book. On a terminal the rows are counted as they are read.
func (c loadCommand) Run(s *session) error {
	source, err := openSource(c.Path)
	if err != nil {
		return err
	}
	defer source.Close()
	report, err := s.load(source)
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.document(s.loadDocument(report))
	}
	s.sayLoaded(report)
	return nil
}

// load takes the book in, with progress on a terminal. Warnings are told once
// the database is closed: whoever reads them may go away.
func (s *session) load(source book.Source) (db.LoadReport, error) {
	var report db.LoadReport
	err := s.with(func(store opened) (err error) {
		add, done := progress(s.err, "reading the book")
		defer done()
		if report, err = store.Load(s.ctx, counted{source, add}, s.opts.Workshop); err != nil {
			return err
		}
		return s.settleDay(store, report.Workshop)
	})
	if file, ok := source.(*workbook.Book); ok {
		report.Warnings = append(report.Warnings, file.Warnings()...)
	}
	for _, w := range report.Warnings {
		say(s.err, "warning: %s", w)
	}
	return report, err
}

func (s *session) sayLoaded(r db.LoadReport) {
	rows, fresh, changed, missing := 0, 0, 0, 0
	for _, t := range r.Tables {
		rows += t.Rows
		fresh += t.New
		changed += t.Changed
		missing += t.Missing
	}
	fmt.Fprintf(s.out, "%s\n  %s read, %d new, %d changed, %s of the shelf.\n", r.Workshop.Name, plural(rows, "row"), fresh, changed, plural(r.Movements, "new movement"))
	if missing > 0 {
		fmt.Fprintf(s.out, "%s of earlier books are not in this one and stay as they were.\n", plural(missing, "row"))
	}
}

// openSource opens a book and refuses what has no table of one: the wrong
// folder or file, most likely.
func openSource(path string) (book.Source, error) {
	source, err := folderOrWorkbook(path)
	if err != nil {
		return nil, err
	}
	if known, warnings := book.Match(source.Tables()); len(known) == 0 {
		err := fmt.Errorf("book %s: found no table of a book, expected %s and others", path, book.Tables[0].Name)
		for _, w := range warnings {
			err = fmt.Errorf("%w; %s", err, w)
		}
		return nil, errors.Join(err, source.Close())
	}
	return source, nil
}

// folderOrWorkbook tells a folder of CSV files from a workbook.
func folderOrWorkbook(path string) (book.Source, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, fmt.Errorf("book %s: %w; expected a folder of CSV files or one .xlsx", path, errors.Unwrap(err))
	}
	if !info.IsDir() {
		return workbook.OpenBook(path)
	}
	source, err := book.Folder(os.DirFS(path))
	if err != nil {
		return nil, fmt.Errorf("book %s: %w", path, err)
	}
	return source, nil
}

type bookCommand struct {
	Blank  blankCommand  `cmd:"" help:"Write an empty book with a sheet for every table, to fill in."`
	Revise reviseCommand `cmd:"" help:"Have a line of the bill of materials say another quantity from a day on; the old line stays for the days before."`
	Save   saveCommand   `cmd:"" help:"Write the database back out as a book that loads to the same state, but for what is set aside."`
}

type blankCommand struct {
	Path string `arg:"" help:"The .xlsx to write." type:"path"`
}

// Validate refuses names that a spreadsheet program would not open.
func (c blankCommand) Validate() error {
	if strings.EqualFold(filepath.Ext(c.Path), ".xlsx") {
		return nil
	}
	return fmt.Errorf("found the name %q, expected one that ends in .xlsx", filepath.Base(c.Path))
}

// Run writes an empty book; it needs no database. What is there already may be
// somebody's filled in book and stays.
func (c blankCommand) Run(s *session) error {
	if _, err := os.Lstat(c.Path); err == nil {
		return fmt.Errorf("book blank: %s is there already, expected a new name; nothing was written", c.Path)
	}
	if err := workbook.WriteBlank(c.Path); err != nil {
		return err
	}
	if s.opts.JSON {
		return s.document(fileDocument{s.headOf(""), c.Path})
	}
	fmt.Fprintf(s.out, "Empty book: %s\nFill in its sheets, then: circlip load %s\n", c.Path, filepath.Base(c.Path))
	return nil
}

type saveCommand struct {
	Path string `arg:"" help:"The .xlsx to write, or a folder for CSV files." type:"path"`
}

// Run writes the database out: a workbook where the path ends so, else a
// folder.
func (c saveCommand) Run(s *session) error {
	var workshop db.Workshop
	err := s.with(func(store opened) (err error) {
		if workshop, err = store.Workshop(s.ctx, s.opts.Workshop); err != nil {
			return err
		}
		if err = s.settleDay(store, workshop); err != nil {
			return err
		}
		return store.Save(s.ctx, workshop.ID, c.write)
	})
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.document(fileDocument{s.headOf(workshop.Name), c.Path})
	}
	fmt.Fprintf(s.out, "%s: saved to %s\n", workshop.Name, c.Path)
	return nil
}

func (c saveCommand) write(tables iter.Seq2[book.Table, iter.Seq2[[]string, error]]) error {
	if strings.EqualFold(filepath.Ext(c.Path), ".xlsx") {
		return workbook.WriteBook(c.Path, tables)
	}
	return folder.Write(c.Path, tables)
}
