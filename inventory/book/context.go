package book

import (
	"maps"
	"slices"
	"strings"

	"circlip/inventory"
)

// Context is what rows need to know that is not in them: what earlier tables
// of the book, or the database, already said. Reading items notes their
// measures in it, so one Context serves a whole book, one table at a time.
// Where an earlier table was at fault, so that the currency or a measure is not
// known, amounts are checked for their form only and their rows yield no
// record: one mistake is told once.
type Context struct {
	Currency inventory.Currency
	Measure  func(item string) (inventory.Measure, bool)

	measures map[string]inventory.Measure // as read; "" where it was at fault
	items    []string                     // their sorted codes, made when first needed
	cut      bool                         // items could not be read to their end
}

// note keeps the measure of an item just read, for the quantities of later
// tables. An item whose own unit is at fault is known all the same, so that
// one mistake is told once.
func (c *Context) note(v rowValues) {
	item, ok := v.of("item").(string)
	if !ok {
		return
	}
	unit, _ := v.of("unit").(string)
	if c.measures == nil {
		c.measures = map[string]inventory.Measure{}
	}
	c.measures[strings.Clone(item)] = inventory.Measure(strings.Clone(unit))
}

// itemsRead is the sorted codes of the items of this book.
func (c *Context) itemsRead() []string {
	if len(c.items) != len(c.measures) {
		c.items = slices.Sorted(maps.Keys(c.measures))
	}
	return c.items
}

// measure is the measure of an item; "" where it is known to be at fault.
func (c *Context) measure(item string) (inventory.Measure, bool) {
	if m, ok := c.measures[item]; ok {
		return m, true
	}
	if c.Measure == nil {
		return "", false
	}
	return c.Measure(item)
}
