// Package folder puts a book on the disk as a folder of CSV files. It is apart
// from package book, which touches no files but those handed to it.
//
//	err := folder.Write("backup", tables)
package folder

import (
	"bufio"
	"errors"
	"fmt"
	"iter"
	"os"
	"path/filepath"

	"circlip/inventory/book"
)

// Write writes a folder of CSV files, a table a file. Every file is written beside its place and moved
// there when all are complete, so that an error before that leaves the folder
// as it was.
func Write(dir string, tables iter.Seq2[book.Table, iter.Seq2[[]string, error]]) error {
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
func writeTable(dir string, table book.Table, rows iter.Seq2[[]string, error]) (draft, error) {
	file, err := os.CreateTemp(dir, "."+table.Name+".*.tmp")
	if err != nil {
		return draft{}, err
	}
	d := draft{file.Name(), filepath.Join(dir, table.Name+".csv")}
	out := bufio.NewWriterSize(file, 64<<10)
	err = book.WriteTable(out, table, rows)
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
