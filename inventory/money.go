package inventory

import (
	"errors"
	"fmt"
	"math/big"

	"golang.org/x/text/currency"
)

// Money is a whole number of the currency's minor unit (ISO 4217): cents for
// the euro, yen for the yen.
type Money int64

// UnitCost is what one of an item's measure costs (a piece, a millilitre, a
// gram), in ten-thousandths of the currency's minor unit: oil at 24.90 the
// litre is 0.0249 a millilitre, which no minor unit can hold.
type UnitCost int64

// Currency is an ISO 4217 currency with its number of decimals.
type Currency struct {
	Code     string
	Decimals int
}

// ErrMoney is wrapped by every refusal of an amount's or a currency's text.
var ErrMoney = errors.New("not an amount of money")

const (
	maxMoney          = 1_000_000_000_000_00 // a million million euros, in cents
	unitCostFraction  = 10_000
	unitCostDecimals  = 4
	maxUnitCostNumber = maxMoney * unitCostFraction / 1_000_000
)

// ParseCurrency finds the currency by its ISO 4217 code; the number of
// decimals comes from the standard's table as kept by the Go team's text
// module.
func ParseCurrency(code string) (Currency, error) {
	unit, err := currency.ParseISO(code)
	if err != nil {
		return Currency{}, fmt.Errorf("%w: found currency %q, expected a code of ISO 4217 such as EUR", ErrMoney, code)
	}
	decimals, _ := currency.Standard.Rounding(unit)
	return Currency{Code: unit.String(), Decimals: decimals}, nil
}

// Parse reads a decimal such as "12.50" exactly; more decimals than the
// currency has are an error unless they are zeros.
func (c Currency) Parse(text string) (Money, error) {
	n, err := parseDecimal(text, c.Decimals)
	if err != nil {
		return 0, fmt.Errorf("%w in %s: %w", ErrMoney, c.Code, err)
	}
	if n > maxMoney {
		return 0, fmt.Errorf("%w in %s: found %q, expected a smaller amount", ErrMoney, c.Code, text)
	}
	return Money(n), nil
}

// Format writes m with all the currency's decimals: "12.50".
func (c Currency) Format(m Money) string { return formatDecimal(int64(m), c.Decimals) }

// Number returns m as a float of the currency, for sheets and charts only.
func (c Currency) Number(m Money) float64 {
	n := float64(m)
	for range c.Decimals {
		n /= 10
	}
	return n
}

// ParseUnitCost reads a cost of one piece, millilitre or gram, exact to a
// ten-thousandth of the minor unit.
func (c Currency) ParseUnitCost(text string) (UnitCost, error) {
	n, err := parseDecimal(text, c.Decimals+unitCostDecimals)
	if err != nil {
		return 0, fmt.Errorf("%w in %s: %w", ErrMoney, c.Code, err)
	}
	if n > maxUnitCostNumber {
		return 0, fmt.Errorf("%w in %s: found %q, expected a smaller amount", ErrMoney, c.Code, text)
	}
	return UnitCost(n), nil
}

// FormatUnitCost writes u with the currency's decimals and as many more as it
// needs.
func (c Currency) FormatUnitCost(u UnitCost) string {
	text := formatDecimal(int64(u), c.Decimals+unitCostDecimals)
	for extra := unitCostDecimals; extra > 0 && text[len(text)-1] == '0'; extra-- {
		text = text[:len(text)-1]
	}
	if text[len(text)-1] == '.' {
		text = text[:len(text)-1]
	}
	return text
}

// Value is what q of an item costs at u, rounded once, half away from zero, to
// the minor unit.
func Value(q Quantity, m Measure, u UnitCost) Money {
	return Money(ratio(int64(q), int64(u), m.Steps()*unitCostFraction))
}

// CostOf spreads a price over the quantity it buys: the unit cost, rounded
// once, half away from zero. A quantity of zero costs zero.
func CostOf(price Money, q Quantity, m Measure) UnitCost {
	if q == 0 {
		return 0
	}
	return UnitCost(ratio(int64(price), m.Steps()*unitCostFraction, int64(q)))
}

// ratio is a·b/c, half away from zero, without overflow on the way.
func ratio(a, b, c int64) int64 {
	p := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
	negative := (p.Sign() < 0) != (c < 0)
	p.Abs(p)
	d := new(big.Int).Abs(big.NewInt(c))
	p.Add(p.Lsh(p, 1), d).Quo(p, d.Lsh(d, 1))
	if negative {
		p.Neg(p)
	}
	return p.Int64()
}
