package book

import (
	"fmt"
	"strings"
	"unicode/utf16"
	"unicode/utf8"
)

// rowValues is one row on its way to a Record.
type rowValues struct {
	*reader
	cells  []Cell
	values []any
	bad    []bool

	withheld    bool // fine as far as one can tell, but something earlier is at fault
	unknownItem bool // a quantity of an item that neither book nor database has
}

// parse reads every field, each fault told, and then fills in the columns that
// a blank cell takes from another. A column that is missing altogether was
// told once, at the header.
func (v *rowValues) parse(number int) {
	for i := range v.fields {
		f := &v.fields[i]
		cell := f.cell(v.cells)
		value, flaw := v.value(f, cell)
		if flaw == nil {
			v.values[i] = value
			continue
		}
		v.bad[i] = true
		if f.at >= 0 {
			v.fault(Fault{Row: number, Column: f.Name, Problem: flaw.problem, Found: cell.Text, Expected: flaw.expected})
		}
	}
	for i := range v.fields {
		if from := v.fields[i].sameAs; from >= 0 && v.values[i] == nil {
			v.values[i] = v.values[from]
		}
	}
}

// value is what a cell comes to, before anything else of the row is known.
func (v *rowValues) value(f *field, cell Cell) (any, *flaw) {
	switch {
	case cell.Formula:
		return nil, &flaw{"holds a formula", "a plain value"}
	case tooLong(cell.Text):
		return nil, &flaw{fmt.Sprintf("longer than %d characters", MaxCell), "a shorter text"}
	case !blank(cell.Text):
		return f.parse(cell, v)
	case f.Required:
		return nil, &flaw{"blank", f.expected}
	}
	return f.fallback, nil
}

// tooLong counts as spreadsheets do: a character beyond 16 bits counts twice.
func tooLong(text string) bool {
	if len(text) <= MaxCell {
		return false
	}
	units := 0
	for _, r := range text {
		units += max(1, utf16.RuneLen(r)) // a broken byte counts as one
	}
	return units > MaxCell
}

// blank text is none, or blanks of any kind. The first byte settles nearly
// every cell.
func blank(text string) bool {
	if text == "" {
		return true
	}
	if text[0] > ' ' && text[0] < utf8.RuneSelf {
		return false
	}
	return strings.TrimSpace(text) == ""
}

// checkItem tells of an item whose measure is needed and not known.
func (v *rowValues) checkItem(number int) {
	if !v.unknownItem {
		return
	}
	var known []string
	if v.suggested++; v.suggested <= maxSuggestions { // each takes a look at every item
		known = v.context.itemsRead()
	}
	at := Fault{Table: v.table.Name, Row: number, Column: "item", Found: v.of("item").(string)}
	v.faults = append(v.faults, UnknownCode(at, "items", known))
}

// checkRules runs the rules of the whole row whose columns are fine.
func (v *rowValues) checkRules(number int) {
	for _, rule := range v.rules {
		if v.anyBad(rule.needs) {
			continue
		}
		if flaw := rule.broken(v); flaw != nil {
			f := v.fieldOf(rule.column)
			v.fault(Fault{Row: number, Column: f.Name, Problem: flaw.problem, Found: f.cell(v.cells).Text, Expected: flaw.expected})
		}
	}
}

// anyBad reports whether one of the columns is at fault.
func (v *rowValues) anyBad(names []string) bool {
	for i := range v.fields {
		for _, name := range names {
			if v.fields[i].Name == name && v.bad[i] {
				return true
			}
		}
	}
	return false
}

// of is the value of a column: nil when blank or at fault.
func (v *rowValues) of(name string) any {
	for i := range v.fields {
		if v.fields[i].Name == name {
			return v.values[i]
		}
	}
	return nil
}
