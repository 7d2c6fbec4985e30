package main

import (
	"iter"

	"circlip/inventory/book"
)

// counted is a source that tells how many rows were read of it.
type counted struct {
	book.Source
	add func(rows int)
}

// Rows counts in hundreds, since telling costs more than reading.
func (c counted) Rows(table string) iter.Seq2[book.Row, error] {
	return func(yield func(book.Row, error) bool) {
		n := 0
		for row, err := range c.Source.Rows(table) {
			if n++; n%100 == 0 {
				c.add(100)
			}
			if !yield(row, err) {
				return
			}
		}
	}
}
