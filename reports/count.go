package reports

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
)

// What a person fills on a count sheet.
const (
	CountedOnField    = "Counted on"
	FoundColumn       = "Found"
	GrossColumn       = "Gross"
	TareColumn        = "Tare"
	TemperatureColumn = "Temperature"
)

// CountDue is what is to be counted. Its sheet is blind: it does not show what
// is expected, so that nobody finds it.
type CountDue struct {
	Workshop  string
	WrittenOn inventory.Date
	Of        string // what part of the shelf it is, such as a bin; empty: all of it
	Lines     []CountLine
}

// CountLine is one item of it.
type CountLine struct {
	Item   inventory.Item
	OnHand inventory.Quantity // in the ledger as the sheet is written; not shown
}

// CountAll is a count of every item of the shop, or of those of one bin.
func CountAll(shop inventory.Shop, bin string) (CountDue, error) {
	d := countDue(shop, func(i inventory.Item) bool { return bin == "" || i.Bin == bin })
	if bin != "" {
		d.Of = "bin " + bin
	}
	if len(d.Lines) == 0 && bin != "" {
		return CountDue{}, fmt.Errorf("count: %w: found no item in the bin %q, expected a bin of the book's items", inventory.ErrNotFound, bin)
	}
	return d, nil
}

// CountOf is a count of the items named, such as a count plan proposes.
func CountOf(shop inventory.Shop, items []string) (CountDue, error) {
	d := countDue(shop, func(i inventory.Item) bool { return slices.Contains(items, i.Code) })
	for _, code := range items {
		if !slices.ContainsFunc(d.Lines, func(l CountLine) bool { return l.Item.Code == code }) {
			return CountDue{}, fmt.Errorf("count: %w: found the item %q to be counted, expected one of the book", inventory.ErrNotFound, code)
		}
	}
	d.Of = plural(len(d.Lines), "item", "items")
	return d, nil
}

// countDue lists what is wanted as people walk past it.
func countDue(shop inventory.Shop, wanted func(inventory.Item) bool) CountDue {
	there := map[string]inventory.Quantity{}
	for _, l := range shop.Lots {
		there[l.Item] += l.OnHand
	}
	d := CountDue{Workshop: shop.Settings.Workshop, WrittenOn: shop.AsOf}
	for _, i := range shop.Items {
		if wanted(i) {
			d.Lines = append(d.Lines, CountLine{i, there[i.Code]})
		}
	}
	slices.SortStableFunc(d.Lines, func(a, b CountLine) int {
		return cmp.Or(compareBins(a.Item.Bin, b.Item.Bin), cmp.Compare(a.Item.Code, b.Item.Code))
	})
	return d
}

// Weighs reports whether a scale can tell how much there is of an item: its
// weight is its quantity, or its density is known.
func Weighs(i inventory.Item) bool {
	return i.Measure == inventory.Gram || (i.Measure == inventory.Millilitre && i.DensityKgM3 > 0)
}

// Weighs reports whether anything of the count can be weighed: only then its
// sheet has columns for that.
func (d CountDue) Weighs() bool {
	return slices.ContainsFunc(d.Lines, func(l CountLine) bool { return Weighs(l.Item) })
}

// Sheet is to be filled at the shelf.
func (d CountDue) Sheet() Sheet {
	s := Sheet{
		Key: "count", Name: "Count", Title: "Count",
		Notes: []string{"Count all that is there: expired parts, and what lies in the trays of open jobs, too. Write 0 where there is none; what is left blank was not counted."},
		Facts: []Fact{
			{"Written on", Words(longDay(d.WrittenOn)), ""},
			{"Items", Counted(len(d.Lines)), ""},
		},
		Fields: []Field{{Label: CountedOnField, Kind: DateKind, Hint: "The day of the count. Nothing should be taken or received while it lasts."}},
		Columns: []Column{
			{Name: "Our code"}, {Name: "Item", Wrap: true}, {Name: "Bin"}, {Name: "Unit"},
			{Name: FoundColumn, Kind: QuantityKind, Edit: true, Hint: "Pieces, or what is there in the unit of the line; blank: not counted."},
		},
		Empty: "There is no item to be counted.",
	}
	if d.Of != "" {
		s.Title = "Count of " + d.Of
	}
	if d.Weighs() {
		s.Notes = append(s.Notes, "Instead of measuring a fluid or grease, weigh it with its container. Copy the row for each further container: they add up.")
		s.Columns = append(s.Columns,
			Column{Name: GrossColumn, Unit: "g", Kind: QuantityKind, Edit: true, Hint: "Container and content on the scale."},
			Column{Name: TareColumn, Unit: "g", Kind: QuantityKind, Edit: true, Hint: "The empty container."},
			Column{Name: TemperatureColumn, Unit: "°C", Kind: NumberKind, Edit: true, Hint: "Of the fluid; blank: taken as 15 °C."})
	}
	for _, l := range d.Lines {
		s.Rows = append(s.Rows, Row{Cells: l.cells(len(s.Columns))})
	}
	return s
}

// cells are the row of a line, those to be filled with as many decimals as its
// unit has.
func (l CountLine) cells(columns int) []Cell {
	i := l.Item
	cells := []Cell{Words(i.Code), Words(itemName(i)), Words(i.Bin), Words(string(i.Measure)), Measured(0, i.Measure).blank()}
	for len(cells) < columns {
		cells = append(cells, Figure(0, 1).blank())
	}
	return cells
}

// blank is a cell to be filled with a value like c.
func (c Cell) blank() Cell { return Cell{Kind: c.Kind, Decimals: c.Decimals} }
