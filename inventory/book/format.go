package book

import (
	"fmt"
	"strconv"
	"strings"

	"circlip/inventory"
)

// Format writes the values of a record as cells, the inverse of reading. A
// quantity needs the measure of the row's item and an amount the currency,
// from the Context; where they lack, the cell is one that will not be read.
func (t Table) Format(values []any, c *Context) []string {
	cells := make([]string, len(values))
	var measure inventory.Measure
	for i, value := range values {
		if t.Columns[i].Name == "item" {
			code, _ := value.(string)
			measure, _ = c.measure(code)
		}
		if value != nil {
			cells[i] = formatValue(value, c.Currency, measure)
		}
	}
	return cells
}

// formatValue writes one value as the parse functions read it.
func formatValue(value any, currency inventory.Currency, measure inventory.Measure) string {
	switch v := value.(type) {
	case string:
		return v
	case []string:
		return strings.Join(v, ";")
	case int64:
		return strconv.FormatInt(v, 10)
	case float64:
		return formatFloat(v)
	case bool:
		if v {
			return "yes"
		}
		return "no"
	case inventory.Date:
		return v.String()
	case inventory.Quantity:
		if measure != "" {
			return measure.Format(v)
		}
	case inventory.Money:
		if currency.Code != "" {
			return currency.Format(v)
		}
	case inventory.UnitCost:
		if currency.Code != "" {
			return currency.FormatUnitCost(v)
		}
	}
	return fmt.Sprintf("%d of unknown measure or currency", value)
}
