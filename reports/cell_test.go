package reports

import (
	"math"
	"testing"
	"time"

	"circlip/inventory"
)

var (
	euro = inventory.Currency{Code: "EUR", Decimals: 2}
	yen  = inventory.Currency{Code: "JPY", Decimals: 0}
)

func TestCellsReadAsPeopleWriteThem(t *testing.T) {
	rows := []struct {
		rule   string
		cell   Cell
		text   string
		number float64
	}{
		{"a count has no decimals", Counted(7), "7", 7},
		{"thousands are set apart", Counted(1234567), "1,234,567", 1234567},
		{"a hundred needs no comma", Counted(-100), "-100", -100},
		{"a thousand below zero keeps its sign before it", Counted(-1000), "-1,000", -1000},
		{"pieces are whole", Measured(12, inventory.Each), "12", 12},
		{"millilitres show their tenth", Measured(125, inventory.Millilitre), "12.5", 12.5},
		{"a whole millilitre shows its tenth too", Measured(10000, inventory.Millilitre), "1,000.0", 1000},
		{"grams below zero", Measured(-5, inventory.Gram), "-0.5", -0.5},
		{"money has the currency's decimals", Amount(123450, euro), "1,234.50", 1234.5},
		{"yen have none", Amount(123450, yen), "123,450", 123450},
		{"a share is rounded down: what misses a target must not seem to meet it", Share(0.96999), "96.9", 0.969},
		{"a share on the tenth stays there", Share(0.57), "57.0", 0.57},
		{"all but everything is not everything", Share(0.99999), "99.9", 0.999},
		{"certainty is 100", Share(1), "100.0", 1},
		{"a figure is rounded to its decimals", Figure(7.449, 1), "7.4", 7.4},
		{"a figure that rounds to nothing has no sign", Figure(-0.04, 1), "0.0", 0},
		{"a day is written as ISO 8601 has it", Day(inventory.NewDate(2027, time.March, 1)), "2027-03-01", 0},
		{"text is text, whatever it looks like", Words("=1+1"), "=1+1", 0},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := r.cell.String(); got != r.text {
				t.Errorf("String() = %q, expected %q", got, r.text)
			}
			if got := r.cell.Number(); got != r.number || math.Signbit(got) != math.Signbit(r.number) {
				t.Errorf("Number() = %v, expected %v", got, r.number)
			}
			if r.cell.Blank() {
				t.Error("Blank() = true for a cell that holds something")
			}
		})
	}
}

func TestNothingIsBlank(t *testing.T) {
	for rule, cell := range map[string]Cell{
		"the zero cell": {}, "no text": Words(""), "no date": Day(0),
	} {
		if !cell.Blank() || cell.String() != "" {
			t.Errorf("%s: Blank() = %v, String() = %q, expected a blank cell", rule, cell.Blank(), cell.String())
		}
	}
	if Counted(0).Blank() || Measured(0, inventory.Each).Blank() || Share(0).Blank() {
		t.Error("a zero is a value: expected it not to be blank")
	}
}

func TestWithLeavesTheCellItCameFromAlone(t *testing.T) {
	plain := Counted(3)
	if with := plain.With(Formula{ColumnSum: "Total"}); with.Formula == nil || plain.Formula != nil {
		t.Error("expected the formula on the new cell only")
	}
}
