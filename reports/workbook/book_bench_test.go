package workbook

import (
	"fmt"
	"io"
	"iter"
	"path/filepath"
	"testing"

	"circlip/inventory/book"
)

// manyItems are rows of twelve filled columns: four texts of choice, four
// texts, four numbers.
func manyItems(n int) iter.Seq2[book.Table, iter.Seq2[[]string, error]] {
	items, _ := book.TableOf("items")
	return func(yield func(book.Table, iter.Seq2[[]string, error]) bool) {
		yield(items, func(yield func([]string, error) bool) {
			for i := range n {
				row := []string{fmt.Sprintf("item-%d", i), fmt.Sprintf("Seal of %d & more", i), "seal", "ea", "NBR", "36", "yes",
					fmt.Sprint(i % 90), "3.53", "70", "", "", "", fmt.Sprintf("bin %d", i%400), fmt.Sprintf("%013d", i)}
				if !yield(row, nil) {
					return
				}
			}
		})
	}
}

const benchRows = 100_000

func BenchmarkReadBook(b *testing.B) {
	path := filepath.Join(b.TempDir(), "book.xlsx")
	if err := WriteBook(path, manyItems(benchRows)); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		source, err := OpenBook(path)
		if err != nil {
			b.Fatal(err)
		}
		for _, err := range source.Rows("items") {
			if err != nil {
				b.Fatal(err)
			}
		}
		source.Close()
	}
	b.ReportMetric(float64(benchRows*b.N)/b.Elapsed().Seconds(), "rows/s")
}

func BenchmarkWriteBook(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		if err := writeBook(io.Discard, manyItems(benchRows)); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(benchRows*b.N)/b.Elapsed().Seconds(), "rows/s")
}

func BenchmarkWriteBlank(b *testing.B) {
	path := filepath.Join(b.TempDir(), "book.xlsx")
	for b.Loop() {
		if err := WriteBlank(path); err != nil {
			b.Fatal(err)
		}
	}
}
