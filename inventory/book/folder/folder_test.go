package folder

import (
	"errors"
	"iter"
	"os"
	"path/filepath"
	"testing"

	"circlip/inventory/book"

	"github.com/google/go-cmp/cmp"
)

// cellsOf is rows of cells that end with an error, if there is one.
func cellsOf(rows [][]string, err error) iter.Seq2[[]string, error] {
	return func(yield func([]string, error) bool) {
		for _, row := range rows {
			if !yield(row, nil) {
				return
			}
		}
		if err != nil {
			yield(nil, err)
		}
	}
}

func oneTable(table book.Table, rows iter.Seq2[[]string, error]) iter.Seq2[book.Table, iter.Seq2[[]string, error]] {
	return func(yield func(book.Table, iter.Seq2[[]string, error]) bool) { yield(table, rows) }
}

var twoTexts = book.Table{Name: "two", Columns: []book.Column{{Name: "a", Kind: book.Text}, {Name: "b", Kind: book.Text}}}

// listing is the files of a folder with their content.
func listing(t *testing.T, dir string) map[string]string {
	t.Helper()
	files := map[string]string{}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		content, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		files[e.Name()] = string(content)
	}
	return files
}

func TestAFolderIsWrittenWholeOrNotAtAll(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "book")
	season, _ := book.TableOf("season")
	both := func(last error) iter.Seq2[book.Table, iter.Seq2[[]string, error]] {
		return func(yield func(book.Table, iter.Seq2[[]string, error]) bool) {
			_ = yield(season, cellsOf([][]string{{"7", "1.5"}}, nil)) && yield(twoTexts, cellsOf([][]string{{"x", "y"}}, last))
		}
	}
	if err := Write(dir, both(nil)); err != nil {
		t.Fatal(err)
	}
	first := map[string]string{"season.csv": "week,factor\n7,1.5\n", "two.csv": "a,b\nx,y\n"}
	if diff := cmp.Diff(first, listing(t, dir)); diff != "" {
		t.Errorf("files (-expected +found):\n%s", diff)
	}

	lost := errors.New("connection lost")
	changed := func(yield func(book.Table, iter.Seq2[[]string, error]) bool) {
		_ = yield(season, cellsOf([][]string{{"8", "2"}}, nil)) && yield(twoTexts, cellsOf([][]string{{"x", "z"}}, lost))
	}
	if err := Write(dir, changed); !errors.Is(err, lost) || err.Error() != "write table two: connection lost" {
		t.Errorf("found %v, expected the error of the rows", err)
	}
	if diff := cmp.Diff(first, listing(t, dir)); diff != "" {
		t.Errorf("files after a failure (-expected +found):\n%s", diff)
	}
}

func TestAFolderThatCannotBeWritten(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := Write(file, oneTable(twoTexts, cellsOf(nil, nil))); err == nil {
		t.Error("a file in the folder's place: found no error")
	}
	dir := t.TempDir()
	if err := os.MkdirAll(filepath.Join(dir, "two.csv", "x"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := Write(dir, oneTable(twoTexts, cellsOf(nil, nil))); err == nil {
		t.Error("a folder in a file's place: found no error")
	}
	entries, _ := os.ReadDir(dir)
	if len(entries) != 1 {
		t.Errorf("found %v left behind", entries)
	}
}
