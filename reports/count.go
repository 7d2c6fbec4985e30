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
	ContainerColumn   = "Container"
	GrossColumn       = "Gross"
	TareColumn        = "Tare"
	TemperatureColumn = "Temperature"
	OpenedOnColumn    = "Opened on"
)

// CountDue is what is to be counted. Its sheet is blind: it does not show what
// is expected, so that nobody finds it.
type CountDue struct {
	Workshop   string
	WrittenOn  inventory.Date
	Of         string // what part of the shelf it is, such as a bin; empty: all of it
	Lines      []CountLine
	Containers []inventory.Container // all that are known; they need no tare
}

// CountLine is one item of it.
type CountLine struct {
	Item   inventory.Item
	OnHand inventory.Quantity // in the ledger as the sheet is written; not shown
	Last   []Vessel           // what its latest count was made of: a row each; none: one row
}

// Vessel is one container in which an item was found.
type Vessel struct {
	Container string         // empty: none that is known
	OpenedOn  inventory.Date // zero: it was not opened, or not known
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
	d := CountDue{Workshop: shop.Settings.Workshop, WrittenOn: shop.AsOf, Containers: shop.Containers}
	last := lastVessels(shop)
	for _, i := range shop.Items {
		if wanted(i) {
			d.Lines = append(d.Lines, CountLine{i, there[i.Code], last[i.Code]})
		}
	}
	slices.SortStableFunc(d.Lines, func(a, b CountLine) int {
		return cmp.Or(compareBins(a.Item.Bin, b.Item.Bin), cmp.Compare(a.Item.Code, b.Item.Code))
	})
	return d
}

// lastVessels is what the latest count of each fluid was made of, where that is
// more than one row without a container would say.
func lastVessels(shop inventory.Shop) map[string][]Vessel {
	on, last := map[string]inventory.Date{}, map[string][]Vessel{}
	for _, c := range shop.Counts {
		on[c.Item] = max(on[c.Item], c.Date)
	}
	for _, p := range shop.CountParts {
		if p.Date != on[p.Item] || p.Number == 0 {
			continue
		}
		v := Vessel{p.Container, p.OpenedOn}
		holds := func(c inventory.Container) bool { return c.Code == p.Container && c.Holds(p.Item) }
		if !slices.ContainsFunc(shop.Containers, holds) {
			v.Container = "" // it is gone, or for something else by now
		}
		last[p.Item] = append(last[p.Item], v)
	}
	return last
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
		s.Notes = append(s.Notes, weighNote)
		s.Columns = append(s.Columns, d.weighColumns()...)
	}
	for _, l := range d.Lines {
		vessels := l.Last
		if len(vessels) == 0 || !d.Weighs() {
			vessels = []Vessel{{}}
		}
		for _, v := range vessels {
			s.Rows = append(s.Rows, Row{Cells: l.cells(v, len(s.Columns))})
		}
	}
	return s
}

const weighNote = "Instead of measuring a fluid or grease, weigh it with its container; a known container needs no tare. Each container has a row: copy the row for a further one, delete that of one that is gone, and write 0 under Found for an empty one. They add up."

// weighColumns are for what stands in containers.
func (d CountDue) weighColumns() []Column {
	hint := "The code of a known container; blank: another, with its tare."
	if len(d.Containers) == 0 {
		hint = "Leave blank: no container is known. The book's table containers keeps their tares."
	}
	return []Column{
		{Name: ContainerColumn, Edit: true, Hint: hint, OneOf: d.codes()},
		{Name: GrossColumn, Unit: "g", Kind: QuantityKind, Edit: true, Hint: "Container and content on the scale."},
		{Name: TareColumn, Unit: "g", Kind: QuantityKind, Edit: true, Hint: "The empty container; blank: that of the known container."},
		{Name: TemperatureColumn, Unit: "°C", Kind: NumberKind, Edit: true, Hint: "Of the fluid; blank: taken as 15 °C."},
		{Name: OpenedOnColumn, Kind: DateKind, Edit: true, Hint: "The day on which the container was opened; blank: it is not, or nobody knows."},
	}
}

// codes are those of the containers in which anything of the count may be.
func (d CountDue) codes() (codes []string) {
	for _, c := range d.Containers {
		if slices.ContainsFunc(d.Lines, func(l CountLine) bool { return l.Item.Measure != inventory.Each && c.Holds(l.Item.Code) }) {
			codes = append(codes, Plain(c.Code))
		}
	}
	return codes
}

// cells are the row of a container of a line, those to be filled with as many
// decimals as its unit has.
func (l CountLine) cells(v Vessel, columns int) []Cell {
	i := l.Item
	cells := []Cell{Words(i.Code), Words(itemName(i)), Words(i.Bin), Words(string(i.Measure)), Measured(0, i.Measure).blank()}
	if columns > len(cells) {
		weight := Figure(0, 1).blank()
		cells = append(cells, Words(v.Container), weight, weight, weight, Day(v.OpenedOn))
	}
	return cells
}

// blank is a cell to be filled with a value like c.
func (c Cell) blank() Cell { return Cell{Kind: c.Kind, Decimals: c.Decimals} }
