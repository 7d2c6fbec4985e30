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

// The minor units of ISO 4217 that are not the usual two decimals, as listed in
// github.com/datasets/currency-codes, 2026-02-01. The Go team's text module has
// rounding habits of its own (none for IQD and MGA) and cannot be asked.
var minorUnits = map[string]int{
	"BIF": 0, "CLP": 0, "DJF": 0, "GNF": 0, "ISK": 0, "JPY": 0, "KMF": 0, "KRW": 0, "PYG": 0, "RWF": 0, "UGX": 0,
	"UYI": 0, "VND": 0, "VUV": 0, "XAF": 0, "XOF": 0, "XPF": 0,
	"BHD": 3, "IQD": 3, "JOD": 3, "KWD": 3, "LYD": 3, "OMR": 3, "TND": 3,
	"CLF": 4, "UYW": 4,
}

// Codes younger than that module's table (all but MRU and UYW from memory), and
// codes that are no money: metals, funds, tests.
var (
	youngCurrencies = map[string]bool{"MRU": true, "STN": true, "UYW": true, "VES": true, "VED": true, "SLE": true, "XCG": true, "ZWG": true}
	notMoney        = map[string]bool{"XAU": true, "XAG": true, "XPT": true, "XPD": true, "XDR": true, "XSU": true, "XUA": true,
		"XBA": true, "XBB": true, "XBC": true, "XBD": true, "XTS": true, "XXX": true}
)

// ParseCurrency finds the currency by its ISO 4217 code, with the number of
// decimals that the standard gives it.
func ParseCurrency(code string) (Currency, error) {
	unit, err := currency.ParseISO(code)
	name := unit.String()
	if youngCurrencies[code] {
		name, err = code, nil
	}
	if err != nil || notMoney[name] {
		return Currency{}, fmt.Errorf("%w: found currency %q, expected a code of ISO 4217 such as EUR", ErrMoney, code)
	}
	decimals, unusual := minorUnits[name]
	if !unusual {
		decimals = 2
	}
	return Currency{Code: name, Decimals: decimals}, nil
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

// Number returns m as a float of the currency, for sheets and charts only. It
// divides once: 7 cents divided by 10 twice would be 0.06999999999999999.
func (c Currency) Number(m Money) float64 {
	scale := 1.0
	for range c.Decimals {
		scale *= 10
	}
	return float64(m) / scale
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
