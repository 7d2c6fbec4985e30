package book

import (
	"math"
	"strings"
	"testing"

	"circlip/inventory"
)

// spec is one rule of one kind of column: what a cell becomes, or its fault.
type spec struct {
	rule  string
	cell  Cell
	value any
	fault string // after "t:2:x: "
}

func typed(text string) Cell  { return Cell{Text: text} }
func number(text string) Cell { return Cell{Text: text, Numeric: true} }

// checkKind reads each cell in a table of an item and the column x.
func checkKind(t *testing.T, x Column, item string, specs []spec) {
	t.Helper()
	x.Name = "x"
	table := Table{"t", "", []Column{{Name: "item", Kind: Code, Key: true, Required: true}, x}}
	for _, s := range specs {
		rows := func(yield func(Row, error) bool) {
			_ = yield(Row{1, []Cell{{Text: "item"}, {Text: "x"}}}, nil) && yield(Row{2, []Cell{{Text: item}, s.cell}}, nil)
		}
		o := readAll(t, table, rows, workshopContext())
		if s.fault != "" {
			want(t, s.rule, o.Faults, []string{"t:2:x: " + s.fault})
			continue
		}
		if len(o.Faults) > 0 {
			t.Errorf("%s: found the fault %q, expected the value %v", s.rule, o.Faults, s.value)
			continue
		}
		want(t, s.rule, o.Records[0].Values[1], s.value)
	}
}

func day(text string) inventory.Date {
	d, err := inventory.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

func TestTextCells(t *testing.T) {
	checkKind(t, Column{Kind: Text}, "SEAL", []spec{
		{"any characters", typed("Öl für »Dämpfer« 油"), "Öl für »Dämpfer« 油", ""},
		{"blanks inside and around stay", typed(" a  b "), " a  b ", ""},
		{"several lines", typed("a\nb"), "a\nb", ""},
		{"line ends become LF", typed("a\r\nb\rc"), "a\nb\nc", ""},
		{"blank", typed(""), nil, ""},
		{"nothing but blanks is blank", typed(" \u00a0\t"), nil, ""},
		{"a number stays as it shows", number("0.30000000000000004"), "0.3", ""},
		{"a big number has no exponent", number("1.2345E+9"), "1234500000", ""},
		{"a number a spreadsheet cannot hold", number("12345678901234567"), nil,
			`a number of more than 15 digits, the last of which a spreadsheet loses, found "12345678901234567", expected the cell stored as text`},
		{"a control character", typed("a\x1bb"), nil, `holds a control character, found "a\x1bb", expected text`},
		{"a non-character", typed("a\uFFFE"), nil, `holds a control character, found "a\ufffe", expected text`},
		{"as long as a cell can be", typed(strings.Repeat("a", MaxCell)), strings.Repeat("a", MaxCell), ""},
		{"longer than a cell can be", typed(strings.Repeat("a", MaxCell+1)), nil,
			`longer than 32767 characters, found "` + strings.Repeat("a", 60) + `"…, expected a shorter text`},
		{"umlauts count once", typed(strings.Repeat("ä", MaxCell)), strings.Repeat("ä", MaxCell), ""},
		{"signs beyond 16 bits count twice, as in spreadsheets", typed(strings.Repeat("🛠", MaxCell/2+1)), nil,
			`longer than 32767 characters, found "` + strings.Repeat("🛠", 60) + `"…, expected a shorter text`},
		{"a formula", Cell{Text: "1+1", Formula: true}, nil, `holds a formula, found "1+1", expected a plain value`},
	})
}

func TestCodeCells(t *testing.T) {
	checkKind(t, Column{Kind: Code, Required: true}, "SEAL", []spec{
		{"letters, digits, signs, blanks inside", typed("Ring 20×2,5 #7"), "Ring 20×2,5 #7", ""},
		{"64 characters", typed(strings.Repeat("é", 64)), strings.Repeat("é", 64), ""},
		{"65 characters", typed(strings.Repeat("e", 65)), nil, `longer than 64 characters, found "` + strings.Repeat("e", 60) + `"…, expected a code of at most 64 characters`},
		{"an accent in two characters is one", typed("e\u0301"), "é", ""},
		{"a number", number("4711"), "4711", ""},
		{"a leading blank", typed(" A"), nil, `begins or ends with a blank, found " A", expected the code without it`},
		{"a trailing line end", typed("A\n"), nil, `begins or ends with a blank, found "A\n", expected the code without it`},
		{"a line end inside", typed("A\nB"), nil, `holds a character that does not print, found "A\nB", expected letters, digits and signs`},
		{"a blank of no width", typed("A\u200bB"), nil, `holds a character that does not print, found "A\u200bB", expected letters, digits and signs`},
		{"a sign that turns the text about", typed("A\u202eB"), nil, `holds a character that does not print, found "A\u202eB", expected letters, digits and signs`},
		{"a semicolon", typed("A;B"), nil, `holds a ;, found "A;B", expected one code`},
		{"blank", typed(""), nil, `blank, expected a code`},
	})
}

func TestCodesCells(t *testing.T) {
	checkKind(t, Column{Kind: Codes}, "SEAL", []spec{
		{"one", typed("A"), []string{"A"}, ""},
		{"several, blanks beside the ;", typed("A; B ;C"), []string{"A", "B", "C"}, ""},
		{"a ; at the end", typed("A;B;"), []string{"A", "B"}, ""},
		{"an accent in two characters is one", typed("e\u0301;A"), []string{"é", "A"}, ""},
		{"none", typed(""), []string{}, ""},
		{"a number", number("50"), []string{"50"}, ""},
		{"a gap", typed("A;;B"), nil, `a blank code between two ;, found "A;;B", expected codes with one ; between them`},
		{"only a ;", typed(";"), nil, `a blank code between two ;, found ";", expected codes with one ; between them`},
		{"one twice", typed("A;B;A"), nil, `the code "A" stands twice, found "A;B;A", expected each code once`},
		{"one too long", typed("A;" + strings.Repeat("b", 65)), nil, `longer than 64 characters, found "A;` + strings.Repeat("b", 58) + `"…, expected a code of at most 64 characters`},
	})
}

func TestIntegerCells(t *testing.T) {
	const expected = "expected a whole number from 1 to 53"
	checkKind(t, Column{Kind: Integer, Rule: "gte=1,lte=53"}, "SEAL", []spec{
		{"the least", typed("1"), int64(1), ""},
		{"the most", typed("53"), int64(53), ""},
		{"blanks around", typed(" 7 "), int64(7), ""},
		{"leading zeros", typed("007"), int64(7), ""},
		{"decimals that are zeros", typed("7.0"), int64(7), ""},
		{"a spreadsheet's number", number("7"), int64(7), ""},
		{"a spreadsheet's number a hair off", number("6.9999999999999996"), int64(7), ""},
		{"blank", typed(""), nil, ""},
		{"below", typed("0"), nil, `out of range, found "0", ` + expected},
		{"above", typed("54"), nil, `out of range, found "54", ` + expected},
		{"negative", typed("-1"), nil, `negative, found "-1", ` + expected},
		{"a fraction", typed("7.5"), nil, `not a whole number in range, found "7.5", ` + expected},
		{"beyond 64 bits", typed("99999999999999999999"), nil, `not a whole number in range, found "99999999999999999999", ` + expected},
		{"words", typed("seven"), nil, `not a number, found "seven", ` + expected},
		{"digits of other scripts", typed("٧"), nil, `not a number, found "٧", ` + expected},
		{"hexadecimal", typed("0x7"), nil, `not a number, found "0x7", ` + expected},
	})
}

func TestDecimalCells(t *testing.T) {
	const expected = "expected a number with a decimal point from -100 to 1000"
	checkKind(t, Column{Kind: Decimal, Rule: "gte=-100,lte=1000"}, "SEAL", []spec{
		{"a decimal point", typed("12.5"), 12.5, ""},
		{"negative where that is allowed", typed("-12.5"), -12.5, ""},
		{"no minus zero", typed("-0"), 0.0, ""},
		{"15 digits of a spreadsheet's number", number("0.30000000000000004"), 0.3, ""},
		{"0.1 + 0.7 of a spreadsheet", number("0.7999999999999999"), 0.8, ""},
		{"a spreadsheet's exponent", number("1.0000000000000001E-5"), 0.00001, ""},
		{"below", typed("-100.5"), nil, `out of range, found "-100.5", ` + expected},
		{"above", typed("1000.5"), nil, `out of range, found "1000.5", ` + expected},
		{"a decimal comma", typed("12,5"), nil, `a number with a decimal comma, found "12,5", ` + expected},
		{"thousands marks", typed("1,000.5"), nil, `a number with thousands marks, found "1,000.5", ` + expected},
		{"thousands blanks", typed("1 000"), nil, `a number with thousands marks, found "1 000", ` + expected},
		{"thousands apostrophes", typed("1'000"), nil, `a number with thousands marks, found "1'000", ` + expected},
		{"an exponent", typed("1e3"), nil, `a number with an exponent, found "1e3", ` + expected},
		{"a big exponent", typed("1e999"), nil, `a number with an exponent, found "1e999", ` + expected},
		{"a plus", typed("+5"), nil, `a number with a plus sign, found "+5", ` + expected},
		{"no number", typed("NaN"), nil, `not a finite number, found "NaN", ` + expected},
		{"infinite", typed("-Infinity"), nil, `not a finite number, found "-Infinity", ` + expected},
		{"a spreadsheet's NaN", number("NaN"), nil, `not a number, found "NaN", ` + expected},
		{"a spreadsheet's error", number("#DIV/0!"), nil, `not a number, found "#DIV/0!", ` + expected},
		{"a point alone", typed("."), nil, `not a number, found ".", ` + expected},
		{"no digit before the point", typed(".5"), nil, `not a number, found ".5", ` + expected},
		{"no digit after the point", typed("5."), nil, `not a number, found "5.", ` + expected},
		{"a unit", typed("12 mm"), nil, `not a number, found "12 mm", ` + expected},
		{"more digits than a float holds is out of range", typed("1" + strings.Repeat("0", 400)), nil,
			`out of range, found "1` + strings.Repeat("0", 59) + `"…, ` + expected},
	})
}

func TestZeroHasNoSign(t *testing.T) {
	o := readAll(t, mustTable(t, "items"), sheet("item,kind,unit,flash_point_c", "A,oil,ml,-0"), nil)
	if v, ok := o.Records[0].Values[12].(float64); !ok || math.Signbit(v) {
		t.Errorf("found %v, expected 0 without a minus", o.Records[0].Values[12])
	}
}

func TestNumbersAboveABound(t *testing.T) {
	checkKind(t, Column{Kind: Decimal, Rule: "gt=0,lte=100"}, "SEAL", []spec{
		{"the bound itself", typed("0"), nil, `out of range, found "0", expected a number with a decimal point above 0 and at most 100`},
		{"a little above", typed("0.001"), 0.001, ""},
	})
}

func TestYesNoCells(t *testing.T) {
	checkKind(t, Column{Kind: YesNo, Default: "yes"}, "SEAL", []spec{
		{"yes", typed("yes"), true, ""},
		{"no in any case", typed("NO"), false, ""},
		{"a spreadsheet's truth", typed("TRUE"), true, ""},
		{"blank is the default", typed(""), true, ""},
		{"another language", typed("ja"), nil, `neither yes nor no, found "ja", expected yes or no`},
		{"a number", number("1"), nil, `neither yes nor no, found "1", expected yes or no`},
	})
}

func TestDateCells(t *testing.T) {
	checkKind(t, Column{Kind: Date}, "SEAL", []spec{
		{"a day", typed("2026-02-28"), day("2026-02-28"), ""},
		{"a leap day", typed("2028-02-29"), day("2028-02-29"), ""},
		{"the first", typed("1970-01-02"), day("1970-01-02"), ""},
		{"the last", typed("2199-12-31"), day("2199-12-31"), ""},
		{"blank is none", typed(""), inventory.Date(0), ""},
		{"a spreadsheet's serial", number("45000"), day("2023-03-15"), ""},
		{"the serial of 1 January 2000", number("36526.0"), day("2000-01-01"), ""},
		{"a serial with a time", number("45000.5"), nil, `a date with a time of day, found "45000.5", expected a date alone`},
		{"a serial before 1970", number("25568"), nil, `year out of range, found "25568", expected a year from 1970 to 2199`},
		{"a serial beyond all calendars", number("1e300"), nil, `not a date, found "1e300", expected YYYY-MM-DD`},
		{"a negative serial", number("-1"), nil, `year out of range, found "-1", expected a year from 1970 to 2199`},
		{"no leap day", typed("2026-02-29"), nil, `no such day, found "2026-02-29", expected a day that exists, as YYYY-MM-DD`},
		{"month 13", typed("2026-13-01"), nil, `no such day, found "2026-13-01", expected a day that exists, as YYYY-MM-DD`},
		{"a year too far", typed("2206-01-01"), nil, `year out of range, found "2206-01-01", expected a year from 1970 to 2199`},
		{"two digits of a year", typed("26-02-01"), nil, `not a date, found "26-02-01", expected YYYY-MM-DD`},
		{"no leading zeros", typed("2026-2-1"), nil, `not a date, found "2026-2-1", expected YYYY-MM-DD`},
		{"day first", typed("01.02.2026"), nil, `not a date, found "01.02.2026", expected YYYY-MM-DD`},
		{"slashes", typed("02/01/2026"), nil, `not a date, found "02/01/2026", expected YYYY-MM-DD`},
		{"with a time", typed("2026-02-01 00:00"), nil, `not a date, found "2026-02-01 00:00", expected YYYY-MM-DD`},
		{"words", typed("today"), nil, `not a date, found "today", expected YYYY-MM-DD`},
	})
}

func TestCureMarkCells(t *testing.T) {
	const expected = "expected YYYY-MM-DD, or a quarter such as 3Q24"
	checkKind(t, Column{Kind: CureMark}, "SEAL", []spec{
		{"a quarter", typed("3Q24"), "3Q24", ""},
		{"in small letters", typed("3q24"), "3Q24", ""},
		{"with the whole year", typed("4Q2023"), "4Q2023", ""},
		{"with a slash", typed("3/94"), "3/94", ""},
		{"a day", typed("2024-08-15"), "2024-08-15", ""},
		{"a spreadsheet's serial", number("45000"), "2023-03-15", ""},
		{"quarter 5", typed("5Q24"), nil, `neither a date nor a quarter mark, found "5Q24", ` + expected},
		{"no year", typed("3Q"), nil, `neither a date nor a quarter mark, found "3Q", ` + expected},
		{"no such day", typed("2024-02-30"), nil, `neither a date nor a quarter mark, found "2024-02-30", ` + expected},
	})
}

func TestClockCells(t *testing.T) {
	const expected = "expected HH:MM, from 00:00 to 23:59"
	checkKind(t, Column{Kind: Clock}, "SEAL", []spec{
		{"a time", typed("14:30"), "14:30", ""},
		{"midnight", typed("00:00"), "00:00", ""},
		{"one digit of the hour", typed("8:30"), "08:30", ""},
		{"a spreadsheet's fraction of a day", number("0.60416666666666663"), "14:30", ""},
		{"a spreadsheet's midnight", number("0"), "00:00", ""},
		{"a fraction with seconds", number("0.6045"), nil, `not a time of day, found "0.6045", ` + expected},
		{"more than a day", number("1.25"), nil, `not a time of day, found "1.25", ` + expected},
		{"less than none", number("-0.25"), nil, `not a time of day, found "-0.25", ` + expected},
		{"a whole day", number("1"), nil, `not a time of day, found "1", ` + expected},
		{"24:00", typed("24:00"), nil, `not a time of day, found "24:00", ` + expected},
		{"minute 60", typed("12:60"), nil, `not a time of day, found "12:60", ` + expected},
		{"seconds", typed("12:00:00"), nil, `not a time of day, found "12:00:00", ` + expected},
		{"noon in words", typed("12 pm"), nil, `not a time of day, found "12 pm", ` + expected},
	})
}

func TestWeekdayAndChoiceCells(t *testing.T) {
	checkKind(t, Column{Kind: Weekday, OneOf: weekdays}, "SEAL", []spec{
		{"a weekday", typed("mon"), "mon", ""},
		{"in any case", typed("Sun"), "sun", ""},
		{"in full", typed("monday"), nil, `not one of the choices, found "monday", expected one of mon, tue, wed, thu, fri, sat, sun`},
		{"a slip", typed("thx"), nil, `not one of the choices, found "thx", expected one of mon, tue, wed, thu, fri, sat, sun; is it "thu"?`},
	})
	checkKind(t, Column{Kind: Choice, OneOf: []string{"fleet", "customer"}}, "SEAL", []spec{
		{"a choice", typed("fleet"), "fleet", ""},
		{"a slip", typed("custoner"), nil, `not one of the choices, found "custoner", expected one of fleet, customer; is it "customer"?`},
	})
}

func TestQuantityCells(t *testing.T) {
	checkKind(t, Column{Kind: Quantity, Rule: "gt=0"}, "SEAL", []spec{
		{"pieces", typed("12"), inventory.Quantity(12), ""},
		{"a spreadsheet's pieces", number("12"), inventory.Quantity(12), ""},
		{"half a piece", typed("0.5"), nil, `not a quantity of this item, found "0.5", expected a quantity in ea, a whole number`},
		{"none", typed("0"), nil, `out of range, found "0", expected a quantity above 0 with a decimal point`},
		{"negative", typed("-3"), nil, `negative, found "-3", expected a quantity above 0 with a decimal point`},
		{"more than there can be", typed("10000000001"), nil, `not a quantity of this item, found "10000000001", expected a quantity in ea, a whole number`},
		{"words", typed("two"), nil, `not a number, found "two", expected a quantity above 0 with a decimal point`},
	})
	checkKind(t, Column{Kind: Quantity}, "OIL", []spec{
		{"millilitres to a tenth", typed("12.5"), inventory.Quantity(125), ""},
		{"a sum in a spreadsheet", number("0.30000000000000004"), inventory.Quantity(3), ""},
		{"none where none is allowed", typed("0"), inventory.Quantity(0), ""},
		{"hundredths", typed("12.55"), nil, `not a quantity of this item, found "12.55", expected a quantity in ml, with one decimal at most`},
		{"blank", typed(""), nil, ""},
	})
}

func TestMoneyCells(t *testing.T) {
	checkKind(t, Column{Kind: Money}, "SEAL", []spec{
		{"cents", typed("12.50"), inventory.Money(1250), ""},
		{"whole euros", typed("12"), inventory.Money(1200), ""},
		{"a spreadsheet's amount", number("19.989999999999998"), inventory.Money(1999), ""},
		{"none", typed("0"), inventory.Money(0), ""},
		{"tenths of cents", typed("12.505"), nil, `not an amount in EUR, found "12.505", expected an amount with 2 decimals at most`},
		{"negative", typed("-1"), nil, `negative, found "-1", expected an amount of 0 or more with a decimal point`},
		{"with its sign", typed("€ 5"), nil, `not a number, found "€ 5", expected an amount of 0 or more with a decimal point`},
		{"a decimal comma", typed("12,50"), nil, `a number with a decimal comma, found "12,50", expected an amount of 0 or more with a decimal point`},
	})
	checkKind(t, Column{Kind: UnitCost}, "OIL", []spec{
		{"parts of a cent", typed("0.0249"), inventory.UnitCost(24900), ""},
		{"parts of a millionth", typed("0.0000001"), nil, `not a cost in EUR, found "0.0000001", expected an amount with 6 decimals at most`},
	})
}

func TestGTINCells(t *testing.T) {
	checkKind(t, Column{Kind: GTIN}, "SEAL", []spec{
		{"13 digits", typed("6291041500213"), "6291041500213", ""},
		{"a number that lost its leading zero", number("36000241457"), "036000241457", ""},
		{"a wrong digit", typed("6291041500214"), nil, `wrong check digit 4, found "6291041500214", expected the last digit to be 3, or the others to be corrected`},
		{"9 digits", typed("629104150"), nil, `not a bar code number, found "629104150", expected the 8, 12, 13 or 14 digits under the bar code`},
		{"letters", typed("62910415002I3"), nil, `not a bar code number, found "62910415002I3", expected the 8, 12, 13 or 14 digits under the bar code`},
	})
}

func TestMaterialCells(t *testing.T) {
	checkKind(t, Column{Kind: Material}, "SEAL", []spec{
		{"a rubber", typed("NBR"), "NBR", ""},
		{"in small letters", typed("fkm"), "FKM", ""},
		{"a plastic", typed("PTFE"), "PTFE", ""},
		{"one that no list knows stays", typed("Bronze"), "Bronze", ""},
	})
	items := mustTable(t, "items")
	o := readAll(t, items, sheet("item,kind,unit,material", "A,seal,ea,NBX", "B,seal,ea,NBX", "C,hardware,ea,Bronze"), nil)
	want(t, "warnings, each once", o.Warnings, []string{
		`items: material "NBX" is not one that is known; is it "NBR"?`,
		`items: material "Bronze" is not one that is known`,
	})
}
