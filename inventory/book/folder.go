package book

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"maps"
	"path"
	"slices"
	"strings"

	"circlip/inventory"
)

// folder is a book of CSV files.
type folder struct {
	fsys  fs.FS
	files map[string]string // by table
}

// Folder reads a folder of CSV files, a table a file: items.csv and so on, in
// UTF-8, commas between the cells. Other files are not looked at; two files of
// one table, or no CSV file at all, are an error that wraps
// inventory.ErrInvalid.
func Folder(fsys fs.FS) (Source, error) {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return nil, fmt.Errorf("read the book's folder: %w", err)
	}
	files := map[string]string{}
	for _, entry := range entries {
		name := entry.Name()
		table, isCSV := strings.CutSuffix(strings.ToLower(name), ".csv")
		if !isCSV || table == "" || strings.HasPrefix(table, ".") || !regular(fsys, name) {
			continue
		}
		if other, ok := files[table]; ok {
			return nil, Fault{Table: table, Problem: "two files of one table", Found: other + " and " + name, Expected: "one of them"}
		}
		files[table] = name
	}
	if len(files) == 0 {
		return nil, fmt.Errorf("read the book's folder: %w: found no CSV file, expected %s.csv and others", inventory.ErrInvalid, Tables[0].Name)
	}
	return &folder{fsys, files}, nil
}

// regular follows links and keeps out folders, pipes and devices.
func regular(fsys fs.FS, name string) bool {
	info, err := fs.Stat(fsys, name)
	return err == nil && info.Mode().IsRegular()
}

// Tables names the files without their ending, in lower case.
func (f *folder) Tables() []string { return slices.Sorted(maps.Keys(f.files)) }

// Close does nothing: a file is open only while its rows are read.
func (f *folder) Close() error { return nil }

// Rows opens the table's file, reads it as it is asked for, and closes it.
func (f *folder) Rows(table string) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		file, err := f.fsys.Open(path.Clean(f.files[table]))
		if err != nil {
			yield(Row{}, fmt.Errorf("open table %s: %w", table, err))
			return
		}
		defer file.Close()
		r := newRecords(file, table)
		if err := r.begin(); err != nil {
			yield(Row{}, err)
			return
		}
		for first := true; ; first = false {
			row, err := r.next()
			if errors.Is(err, io.EOF) {
				return
			}
			if err == nil && first {
				err = r.separated(row)
			}
			if !yield(row, err) || err != nil {
				return
			}
		}
	}
}

// separated tells of a file whose header has another sign between its cells.
func (r *records) separated(header Row) error {
	if len(header.Cells) > 1 {
		return nil
	}
	for sign, name := range map[string]string{";": "semicolons", "\t": "tabs", "|": "bars"} {
		if strings.Contains(header.Cells[0].Text, sign) {
			return r.fault(header.Number, name+" between the cells", header.Cells[0].Text, "commas")
		}
	}
	return nil
}
