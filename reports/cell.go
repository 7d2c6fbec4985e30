package reports

import (
	"math"
	"strconv"
	"strings"

	"circlip/inventory"
)

// Kind is what a cell holds; it decides how it is aligned and written.
type Kind int

// The kinds. A quantity is in the item's measure, an amount in the workshop's
// currency, a share from 0 to 1.
const (
	TextKind Kind = iota
	CountKind
	QuantityKind
	MoneyKind
	DateKind
	ShareKind
	NumberKind
)

// Cell is one value, typed. The zero Cell is blank.
type Cell struct {
	Kind     Kind
	Decimals int // that are shown
	Formula  *Formula

	known bool // not blank
	text  string
	exact int64   // count, steps, minor units or day
	value float64 // what a spreadsheet calculates with
}

// Words is a cell of text, empty text a blank one. What people typed stays
// text wherever it is shown.
func Words(text string) Cell { return Cell{Kind: TextKind, text: text, known: text != ""} }

// Counted is a whole number of things.
func Counted(n int) Cell {
	return Cell{Kind: CountKind, exact: int64(n), value: float64(n), known: true}
}

// Measured is a quantity, in its measure.
func Measured(q inventory.Quantity, m inventory.Measure) Cell {
	c := Cell{Kind: QuantityKind, exact: int64(q), value: m.Number(q), known: true}
	if m.Steps() > 1 {
		c.Decimals = 1
	}
	return c
}

// Amount is money, with the currency's decimals.
func Amount(m inventory.Money, c inventory.Currency) Cell {
	return Cell{Kind: MoneyKind, Decimals: c.Decimals, exact: int64(m), value: c.Number(m), known: true}
}

// Day is a date; no date is blank.
func Day(d inventory.Date) Cell {
	return Cell{Kind: DateKind, exact: int64(d), text: d.String(), known: !d.IsZero()}
}

// Share is a part of 1, rounded down to a tenth of a percent: what falls short
// of a target must not look as if it met it.
func Share(p float64) Cell {
	tenths := math.Floor(p*1000 + 1e-9)
	return Cell{Kind: ShareKind, Decimals: 1, exact: int64(tenths), value: tenths / 1000, known: true}
}

// Figure is any other number, rounded to so many decimals.
func Figure(x float64, decimals int) Cell {
	scale := math.Pow10(decimals)
	rounded := math.Round(x*scale)/scale + 0 // −0 becomes 0
	return Cell{Kind: NumberKind, Decimals: decimals, value: rounded, known: true}
}

// With attaches the way in which the cell follows from others.
func (c Cell) With(f Formula) Cell {
	c.Formula = &f
	return c
}

// Blank reports whether the cell holds nothing.
func (c Cell) Blank() bool { return !c.known }

// Number is what a spreadsheet calculates with: pieces, ml or g, whole units
// of the currency, a share of 1.
func (c Cell) Number() float64 { return c.value }

// Date is the day of a DateKind cell.
func (c Cell) Date() inventory.Date { return inventory.Date(c.exact) }

// String is the cell as people read it, without its unit.
func (c Cell) String() string {
	switch {
	case !c.known:
		return ""
	case c.Kind == TextKind || c.Kind == DateKind:
		return c.text
	case c.Kind == ShareKind:
		return strconv.FormatFloat(float64(c.exact)/10, 'f', 1, 64)
	}
	return grouped(strconv.FormatFloat(c.value, 'f', c.Decimals, 64))
}

// grouped sets a comma after every three digits of the whole part.
func grouped(number string) string {
	sign := ""
	if strings.HasPrefix(number, "-") {
		sign, number = "-", number[1:]
	}
	whole, fraction, _ := strings.Cut(number, ".")
	for i := len(whole) - 3; i > 0; i -= 3 {
		whole = whole[:i] + "," + whole[i:]
	}
	if fraction != "" {
		whole += "." + fraction
	}
	return sign + whole
}
