package main

import (
	"fmt"
	"iter"
	"strconv"

	"circlip/inventory"
	"circlip/inventory/book"
)

// bookTakes holds what is typed for columns of a table to the book's own rules:
// what a book cannot hold would keep a saved one from being loaded again.
func bookTakes(table string, typed map[string]string) error {
	whole, _ := book.TableOf(table)
	head, row := book.Row{Number: 1}, book.Row{Number: 2}
	for _, c := range whole.Columns {
		head.Cells = append(head.Cells, book.Cell{Text: c.Name})
		row.Cells = append(row.Cells, book.Cell{Text: typed[c.Name]})
	}
	var rows iter.Seq2[book.Row, error] = func(yield func(book.Row, error) bool) { _ = yield(head, nil) && yield(row, nil) }
	faults, _, err := book.Read(whole, rows, nil, func(book.Record) error { return nil })
	for _, f := range faults {
		if typed[f.Column] != "" { // the others are not typed here
			return fmt.Errorf("%w: %s: %s, found %q, expected %s", inventory.ErrInvalid, f.Column, f.Problem, f.Found, f.Expected)
		}
	}
	return err
}

// dayTyped is the day that an option says, or another where it says none.
func dayTyped(option, text string, otherwise inventory.Date) (inventory.Date, error) {
	if text == "" {
		return otherwise, nil
	}
	day, err := inventory.ParseDate(text)
	if err != nil {
		return 0, fmt.Errorf("%s: %w", option, err)
	}
	return day, nil
}

// check holds what was noted to the book's columns of readings and settings.
func (n seen) check() error {
	settings, readings := map[string]string{}, map[string]string{}
	if n.Compression != "" {
		settings["compression"] = n.Compression
	}
	if n.Note != "" {
		settings["note"] = n.Note
	}
	if n.Air != nil {
		settings["air_bar"] = strconv.FormatFloat(*n.Air, 'f', -1, 64)
	}
	if n.Rebound != nil {
		settings["rebound_clicks"] = strconv.Itoa(*n.Rebound)
	}
	if n.Spacers != nil {
		settings["volume_spacers"] = strconv.Itoa(*n.Spacers)
	}
	if n.Hours != nil {
		readings["hours"] = strconv.FormatFloat(*n.Hours, 'f', -1, 64)
	}
	if err := bookTakes("setups", settings); err != nil {
		return err
	}
	return bookTakes("readings", readings)
}
