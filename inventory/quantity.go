package inventory

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Quantity is a whole number of an item's smallest step: one piece for ea,
// 0.1 ml for ml, 0.1 g for g.
type Quantity int64

// MaxQuantity bounds every quantity that enters the books: a thousand cubic
// metres of oil, or ten thousand million pieces. It leaves room to add a
// hundred million of them in an int64.
const MaxQuantity Quantity = 10_000_000_000

// Measure says what an item's quantities count. The book calls it the item's
// unit; the code calls it measure, since a unit is also a fork, shock or
// dropper.
type Measure string

// The three measures of the book.
const (
	Each       Measure = "ea"
	Millilitre Measure = "ml"
	Gram       Measure = "g"
)

// ErrQuantity is wrapped by every refusal of a quantity's text.
var ErrQuantity = errors.New("not a quantity")

// Steps returns how many smallest steps make one of the measure: 1 for ea, 10
// for ml and g.
func (m Measure) Steps() int64 {
	if m == Each {
		return 1
	}
	return 10
}

// ParseQuantity reads a decimal such as "12" or "12.5" exactly. More decimals
// than the measure has steps for are an error unless they are zeros; so are
// signs, exponents and amounts beyond MaxQuantity.
func (m Measure) ParseQuantity(text string) (Quantity, error) {
	decimals := 0
	if m.Steps() == 10 {
		decimals = 1
	}
	n, err := parseDecimal(text, decimals)
	if err != nil {
		return 0, fmt.Errorf("%w in %s: %w", ErrQuantity, m, err)
	}
	if n > int64(MaxQuantity) {
		return 0, fmt.Errorf("%w in %s: found %q, expected at most %s", ErrQuantity, m, text, m.Format(MaxQuantity))
	}
	return Quantity(n), nil
}

// Format writes q without trailing zeros: "12", "12.5", "-3".
func (m Measure) Format(q Quantity) string {
	if m.Steps() == 1 {
		return strconv.FormatInt(int64(q), 10)
	}
	return strings.TrimSuffix(formatDecimal(int64(q), 1), ".0")
}

// Number returns q as a float of the measure, for JSON, sheets and charts.
func (m Measure) Number(q Quantity) float64 { return float64(q) / float64(m.Steps()) }

// RoundUp turns an amount in the measure into steps, rounding up once; amounts
// within a billionth of a step count as that step, so that 0.1 × 3 stays 0.3.
func (m Measure) RoundUp(amount float64) Quantity {
	return Quantity(math.Ceil(amount*float64(m.Steps()) - 1e-9))
}

// Nearest turns an amount in the measure into steps, rounding to the nearest once.
func (m Measure) Nearest(amount float64) Quantity {
	return Quantity(math.Round(amount * float64(m.Steps())))
}

// parseDecimal reads digits with at most so many decimals into a whole number
// of the last decimal. Thousands marks, signs and exponents are refused: they
// mean different things in different countries.
func parseDecimal(text string, decimals int) (int64, error) {
	whole, fraction, dotted := strings.Cut(text, ".")
	if whole == "" || !digits(whole) || (dotted && (fraction == "" || !digits(fraction))) {
		return 0, fmt.Errorf("found %q, expected digits with a decimal point such as 12 or 12.5", text)
	}
	kept := strings.TrimRight(fraction, "0")
	if len(kept) > decimals {
		return 0, fmt.Errorf("found %q, expected at most %d decimals", text, decimals)
	}
	n, err := strconv.ParseInt(whole+kept+strings.Repeat("0", decimals-len(kept)), 10, 64)
	if err != nil {
		return 0, fmt.Errorf("found %q, expected a smaller number", text)
	}
	return n, nil
}

// formatDecimal writes n last-decimals as a decimal with all its decimals.
func formatDecimal(n int64, decimals int) string {
	sign := ""
	if n < 0 {
		sign, n = "-", -n
	}
	text := fmt.Sprintf("%0*d", decimals+1, n)
	if decimals == 0 {
		return sign + text
	}
	return sign + text[:len(text)-decimals] + "." + text[len(text)-decimals:]
}

func digits(text string) bool {
	for _, r := range text {
		if r < '0' || r > '9' {
			return false
		}
	}
	return true
}
