package book

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // time zones are known on machines that have no database of them

	"circlip/inventory"

	"golang.org/x/text/unicode/norm"
)

// field is a column made ready for reading cells.
type field struct {
	Column
	at       int // cell of the row; -1: not in this sheet
	sameAs   int // field whose value a blank cell takes; -1: none
	fallback any // of a blank cell
	expected string
}

// flaw is what is wrong with a cell, and what it should be.
type flaw struct{ problem, expected string }

// noLimit is the text, and the default, of settings that may be unlimited.
const noLimit = "none"

// fieldsOf makes the columns of a table ready, once for each reading.
func fieldsOf(columns []Column) []field {
	fields := make([]field, len(columns))
	for i, c := range columns {
		f := field{Column: c, at: -1, sameAs: -1, expected: c.expectation()}
		for j, other := range columns {
			if other.Name == c.SameAs {
				f.sameAs = j
			}
		}
		f.fallback = f.blankValue()
		fields[i] = f
	}
	return fields
}

// blankValue is what a blank cell means.
func (f *field) blankValue() any {
	switch {
	case f.Default == noLimit:
		return nil
	case f.Default != "":
		value, flaw := f.parse(Cell{Text: f.Default}, nil)
		if flaw != nil {
			panic("book: default of column " + f.Name + ": " + flaw.problem) // a mistake in Tables
		}
		return value
	case f.Kind == Date:
		return inventory.Date(0)
	case f.Kind == Codes:
		return []string{}
	case f.Key:
		return ""
	}
	return nil
}

// cell is the field's cell of a row, blank where the row is too short.
func (f *field) cell(cells []Cell) Cell {
	if f.at < 0 || f.at >= len(cells) {
		return Cell{}
	}
	return cells[f.at]
}

// parse reads a cell that is not blank. The row is needed for quantities,
// amounts and warnings only.
func (f *field) parse(cell Cell, row *rowValues) (any, *flaw) {
	text := strings.TrimSpace(cell.Text)
	if f.Default == noLimit && strings.EqualFold(text, noLimit) {
		return nil, nil
	}
	switch {
	case cell.Numeric:
		if f.Kind == Date || f.Kind == CureMark || f.Kind == Clock {
			return f.parseSerial(text)
		}
		number, flaw := f.spreadsheetNumber(text)
		if flaw != nil {
			return nil, flaw
		}
		text = number
	case f.Kind == Text || f.Kind == Code:
		text = cell.Text
	}
	switch f.Kind {
	case Integer, Decimal, Quantity, Money, UnitCost:
		return f.parseNumber(text, row)
	}
	return f.parseText(text, row)
}

// parseText reads the kinds that are not numbers.
func (f *field) parseText(text string, row *rowValues) (any, *flaw) {
	switch f.Kind {
	case Text:
		return freeText(text)
	case Code:
		text = norm.NFC.String(text)
		return text, checkText(text, codeTags)
	case Codes:
		return codes(text)
	case YesNo:
		return f.yesNo(text)
	case Date:
		d, flaw := date(text)
		return d, flaw
	case CureMark:
		return cureMark(text)
	case Clock:
		return clock(text)
	case Weekday, Choice:
		return f.choice(text)
	case GTIN:
		return text, gtin(text)
	case Material:
		return material(text, row)
	case Currency:
		return currencyCode(text)
	case TimeZone:
		return text, checkText(text, "timezone")
	}
	panic(fmt.Sprintf("book: column %s has no such kind %d", f.Name, f.Kind)) // a mistake in Tables
}

// freeText keeps text as it is, but for line ends: a spreadsheet cannot hold
// the others.
func freeText(text string) (any, *flaw) {
	if strings.Contains(text, "\r") {
		text = strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")
	}
	return text, checkText(text, "textual")
}

// codes splits at ; and trims: "a; b". A ; at the end is no fault.
func codes(text string) (any, *flaw) {
	parts := strings.Split(strings.TrimSuffix(text, ";"), ";")
	seen := make(map[string]bool, len(parts))
	for i, part := range parts {
		part = norm.NFC.String(strings.TrimSpace(part))
		if part == "" {
			return nil, &flaw{"a blank code between two ;", "codes with one ; between them"}
		}
		if flaw := checkText(part, codeTags); flaw != nil {
			return nil, flaw
		}
		if seen[part] {
			return nil, &flaw{"the code " + quote(part) + " stands twice", "each code once"}
		}
		seen[part] = true
		parts[i] = part
	}
	return parts, nil
}

// yesNo takes the book's words and those that spreadsheets make of them.
func (f *field) yesNo(text string) (any, *flaw) {
	switch strings.ToLower(text) {
	case "yes", "true": // spreadsheets make TRUE of it
		return true, nil
	case "no", "false":
		return false, nil
	}
	return nil, &flaw{"neither yes nor no", f.expected}
}

// choice takes a word of the list in any case and keeps it as the list has it.
func (f *field) choice(text string) (any, *flaw) {
	for _, allowed := range f.OneOf {
		if strings.EqualFold(text, allowed) {
			return allowed, nil
		}
	}
	return nil, &flaw{"not one of the choices", f.expected + suggestion(text, f.OneOf)}
}

// date reads YYYY-MM-DD and tells apart what is no date, what is no day of the
// calendar, and what lies beyond the years of the book.
func date(text string) (inventory.Date, *flaw) {
	d, err := inventory.ParseDate(text)
	if err == nil {
		return d, nil
	}
	var year, month, day int
	n, _ := fmt.Sscanf(text, "%4d-%2d-%2d", &year, &month, &day)
	switch {
	case n < 3 || len(text) != len(time.DateOnly):
		return 0, &flaw{"not a date", "YYYY-MM-DD"}
	case year < 1970 || year > 2199:
		return 0, &flaw{"year out of range", "a year from 1970 to 2199"}
	}
	return 0, &flaw{"no such day", "a day that exists, as YYYY-MM-DD"}
}

// cureMark keeps a day or a quarter of cure as written: 2024-08-15, 3Q24,
// 3Q2024, 3/94.
func cureMark(text string) (any, *flaw) {
	if _, err := inventory.ParseCure(text); err != nil {
		return nil, &flaw{"neither a date nor a quarter mark", "YYYY-MM-DD, or a quarter such as 3Q24"}
	}
	return strings.ToUpper(text), nil
}

// clock keeps a time of day as HH:MM; the hour may be typed with one digit.
func clock(text string) (any, *flaw) {
	if flaw := checkText(text, "datetime=15:04"); flaw != nil {
		return nil, flaw
	}
	if len(text) == len("8:30") {
		text = "0" + text
	}
	return text, nil
}

// currencyCode needs both: a code that is in force, by the validator's list,
// and one whose decimals are known, by inventory's.
func currencyCode(text string) (any, *flaw) {
	text = strings.ToUpper(text)
	if flaw := checkText(text, "iso4217"); flaw != nil {
		return nil, flaw
	}
	c, err := inventory.ParseCurrency(text)
	if err != nil {
		return nil, &flaw{"a currency whose decimals are not known", "a code of ISO 4217 such as EUR"}
	}
	return c.Code, nil
}

// Spreadsheets count days from 1899-12-30, which is right from 1 March 1900 on.
const serialOf1970 = 25_569

// parseSerial turns a spreadsheet's number into a day or a time of day.
func (f *field) parseSerial(text string) (any, *flaw) {
	n, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(n) || math.Abs(n) > 1e7 {
		return nil, &flaw{"not a date", f.expected}
	}
	if f.Kind == Clock {
		minutes := n * 24 * 60
		if n < 0 || n >= 1 || math.Abs(minutes-math.Round(minutes)) > 1.0/120 || math.Round(minutes) == 24*60 {
			return nil, &flaw{"not a time of day", f.expected}
		}
		m := int(math.Round(minutes))
		return fmt.Sprintf("%02d:%02d", m/60, m%60), nil
	}
	d := inventory.Date(math.Floor(n)) - serialOf1970
	if n != math.Floor(n) {
		return nil, &flaw{"a date with a time of day", "a date alone"}
	}
	checked, flaw := date(time.Unix(int64(d)*86400, 0).UTC().Format(time.DateOnly))
	if flaw != nil || f.Kind == Date {
		return checked, flaw
	}
	return checked.String(), nil
}
