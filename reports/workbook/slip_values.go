package workbook

import (
	"fmt"
	"strings"

	"circlip/inventory"
	"circlip/inventory/book"
)

// values are those of a row by the names of their columns.
type values struct {
	row     int
	columns []book.Column
	values  []any
}

func valuesOf(columns []book.Column, r book.Record) values {
	return values{r.Row, columns, r.Values}
}

func (v values) of(name string) any {
	for i, c := range v.columns {
		if c.Name == name {
			return v.values[i]
		}
	}
	return nil
}

// text is that of a column, empty where the cell was blank.
func (v values) text(name string) string {
	text, _ := v.of(name).(string)
	return strings.Clone(text)
}

func (v values) whole(name string) int64 {
	n, _ := v.of(name).(int64)
	return n
}

func (v values) date(name string) inventory.Date {
	d, _ := v.of(name).(inventory.Date)
	return d
}

// found is a value as a fault shows it, empty where the cell was blank.
func (v values) found(name string) string {
	if value := v.of(name); value != nil {
		return fmt.Sprint(value)
	}
	return ""
}

// money is an amount as a fault shows it.
func (v values) money(name string, c inventory.Currency) string {
	if amount, typed := v.of(name).(inventory.Money); typed {
		return c.Format(amount)
	}
	return ""
}
