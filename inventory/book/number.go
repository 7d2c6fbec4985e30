package book

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"circlip/inventory"
)

// significant is how many digits of a number a spreadsheet keeps; beyond them
// 0.1 + 0.2 shows as 0.30000000000000004.
const significant = 15

// spreadsheetNumber writes a spreadsheet's float as a plain decimal of 15
// significant digits.
func (f *field) spreadsheetNumber(text string) (string, *flaw) {
	n, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(n) || math.IsInf(n, 0) {
		return "", &flaw{"not a number", f.expected}
	}
	isText := f.Kind == Text || f.Kind == Code || f.Kind == Codes || f.Kind == GTIN
	if isText && math.Abs(n) >= 1e15 {
		return "", &flaw{"a number of more than 15 digits, the last of which a spreadsheet loses", "the cell stored as text"}
	}
	n, err = strconv.ParseFloat(strconv.FormatFloat(n, 'e', significant-1, 64), 64)
	if err != nil {
		return "", &flaw{"not a number", f.expected}
	}
	plain := formatFloat(n)
	if f.Kind == GTIN { // leading zeros are lost, and weigh nothing in the check digit
		for len(plain) < 14 && !gtinLength(len(plain)) {
			plain = "0" + plain
		}
	}
	return plain, nil
}

// formatFloat writes the shortest plain decimal that reads back as n.
func formatFloat(n float64) string {
	if n == 0 {
		return "0" // not -0
	}
	return strconv.FormatFloat(n, 'f', -1, 64)
}

// parseNumber reads a plain decimal: digits, a decimal point, perhaps a minus.
func (f *field) parseNumber(text string, row *rowValues) (any, *flaw) {
	if !plainDecimal(text) {
		return nil, &flaw{whyNoNumber(text), f.expected}
	}
	if text[0] == '-' && f.unsigned() {
		return nil, &flaw{"negative", f.expected}
	}
	switch f.Kind {
	case Integer:
		n, err := strconv.ParseInt(withoutZeros(text), 10, 64)
		if err != nil {
			return nil, &flaw{"not a whole number in range", f.expected}
		}
		return n, f.inBounds(n)
	case Decimal:
		n, err := strconv.ParseFloat(text, 64)
		if err != nil {
			return nil, &flaw{"out of range", f.expected}
		}
		return n + 0, f.inBounds(n) // -0 becomes 0
	case Quantity:
		return f.parseQuantity(text, row)
	}
	return f.parseMoney(text, row)
}

// unsigned reports whether a minus is wrong whatever follows.
func (f *field) unsigned() bool {
	least, _, _ := f.Bounds()
	return least >= 0
}

// withoutZeros cuts decimals that are all zeros: 3.0 is a whole number.
func withoutZeros(text string) string {
	whole, fraction, _ := strings.Cut(text, ".")
	if strings.Trim(fraction, "0") == "" {
		return whole
	}
	return text
}

// parseQuantity counts in the measure of the row's item.
func (f *field) parseQuantity(text string, row *rowValues) (any, *flaw) {
	item, ok := row.of("item").(string)
	if !ok { // the cell of the item is at fault, and that is told
		row.withheld = true
		return nil, nil
	}
	m, known := row.context.measure(item)
	if !known || m == "" {
		row.withheld = true
		row.unknownItem = !known && !row.context.cut
		return nil, nil
	}
	q, err := m.ParseQuantity(text)
	if err != nil {
		return nil, &flaw{"not a quantity of this item", "a quantity in " + string(m) + quantityDecimals[m]}
	}
	return q, f.inBounds(q)
}

var quantityDecimals = map[inventory.Measure]string{
	inventory.Each:       ", a whole number",
	inventory.Millilitre: ", with one decimal at most",
	inventory.Gram:       ", with one decimal at most",
}

// parseMoney reads an amount of the workshop's currency.
func (f *field) parseMoney(text string, row *rowValues) (any, *flaw) {
	c := row.context.Currency
	if c.Code == "" {
		row.withheld = true
		return nil, nil
	}
	if f.Kind == UnitCost {
		u, err := c.ParseUnitCost(text)
		if err != nil {
			return nil, &flaw{"not a cost in " + c.Code, fmt.Sprintf("an amount with %d decimals at most", c.Decimals+4)}
		}
		return u, nil
	}
	m, err := c.Parse(text)
	if err != nil {
		return nil, &flaw{"not an amount in " + c.Code, fmt.Sprintf("an amount with %d decimals at most", c.Decimals)}
	}
	return m, nil
}

// plainDecimal reports whether text is digits with a decimal point, perhaps
// after a minus.
func plainDecimal(text string) bool {
	whole, fraction, dotted := strings.Cut(strings.TrimPrefix(text, "-"), ".")
	return digits(whole) && (!dotted || digits(fraction))
}

// digits reports whether text is one ASCII digit or more, and nothing else.
func digits(text string) bool {
	for i := range len(text) {
		if text[i] < '0' || text[i] > '9' {
			return false
		}
	}
	return text != ""
}

// whyNoNumber names the commonest ways of writing numbers that are not read,
// since they mean different things in different countries or none at all.
func whyNoNumber(text string) string {
	_, err := strconv.ParseFloat(text, 64)
	isNumber := err == nil || strings.Contains(err.Error(), "range")
	switch lower := strings.ToLower(strings.TrimLeft(text, "+-")); {
	case strings.HasPrefix(lower, "inf") || lower == "nan":
		return "not a finite number"
	case strings.HasPrefix(text, "+") && plainDecimal(text[1:]):
		return "a number with a plus sign"
	case isNumber && strings.ContainsAny(lower, "ex"):
		return "a number with an exponent"
	case plainDecimal(strings.Replace(text, ",", ".", 1)):
		return "a number with a decimal comma"
	case plainDecimal(thousandsMarks.Replace(text)):
		return "a number with thousands marks"
	}
	return "not a number"
}

var thousandsMarks = strings.NewReplacer(",", "", " ", "", "'", "", "\u00a0", "", "\u202f", "", "’", "", "_", "")
