package workbook

import (
	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/reports"
)

// The columns of the hidden sheet that a count workbook carries, in the order
// of toCount.
var toCountColumns = []book.Column{
	{Name: "check", Kind: book.Code, Required: true},
	{Name: "workshop", Kind: book.Text},
	{Name: "written_on", Kind: book.Date, Required: true},
	{Name: "item", Kind: book.Code}, // of a container: what it is for, blank for anything
	{Name: "unit", Kind: book.Choice, OneOf: measureNames},
	{Name: "density", Kind: book.Decimal, Rule: "gte=0,lte=25000"},
	{Name: "ledger", Kind: book.Code},
	{Name: "container", Kind: book.Code},
	{Name: "tare", Kind: book.Decimal, Rule: "gte=0,lte=10000000"},
}

// countSlip is a count as it comes back; weights are asked for only where
// something can be weighed.
func countSlip(weighs bool) slip {
	s := slip{
		fields: []book.Column{{Name: nameOf(reports.CountedOnField), Kind: book.Date, Required: true, Help: "the day of the count, YYYY-MM-DD"}},
		columns: []book.Column{
			{Name: "our code", Kind: book.Code, Required: true},
			{Name: nameOf(reports.FoundColumn), Kind: book.Decimal, Rule: "gte=0,lte=10000000000"},
			{Name: "item", Kind: book.Text},
			{Name: "bin", Kind: book.Text},
			{Name: "unit", Kind: book.Text},
		},
		spare: []string{"item", "bin", "unit"},
	}
	if weighs {
		s.columns = append(s.columns,
			book.Column{Name: nameOf(reports.ContainerColumn), Kind: book.Code},
			book.Column{Name: nameOf(reports.GrossColumn), Kind: book.Decimal, Rule: "gte=0,lte=10000000"},
			book.Column{Name: nameOf(reports.TareColumn), Kind: book.Decimal, Rule: "gte=0,lte=10000000"},
			book.Column{Name: nameOf(reports.TemperatureColumn), Kind: book.Decimal, Rule: "gte=-50,lte=100"},
			book.Column{Name: nameOf(reports.OpenedOnColumn), Kind: book.Date})
	}
	return s
}

// ReadCount reads a count sheet back after a person filled it. With any fault
// nothing is to be posted. Rows that were left blank are not among those
// counted. An error means that the file could not be read or is no workbook (it
// then wraps inventory.ErrInvalid).
func ReadCount(path string) (inventory.Stocktake, []book.Fault, error) {
	b, err := OpenBook(path)
	if err != nil {
		return inventory.Stocktake{}, nil, err
	}
	defer b.Close()
	return b.count()
}

func (b *Book) count() (inventory.Stocktake, []book.Fault, error) {
	d, faults, err := b.toCount()
	if err != nil || len(faults) > 0 {
		return inventory.Stocktake{}, faults, err
	}
	name := d.Sheet().Name
	tab, known := b.tab(name)
	if !known || tab.hidden {
		return inventory.Stocktake{}, []book.Fault{{Table: name, Problem: "the sheet is missing or hidden", Expected: "the count under this name"}}, nil
	}
	form := countSlip(d.Weighs())
	f, err := b.fill(tab, form, 10*len(d.Lines)+100, &book.Context{})
	if err != nil {
		return inventory.Stocktake{}, nil, err
	}
	taken := inventory.Stocktake{Workshop: d.Workshop, WrittenOn: d.WrittenOn}
	taken.On, _ = f.values[nameOf(reports.CountedOnField)].(inventory.Date)
	for _, l := range d.Lines {
		taken.Listed = append(taken.Listed, inventory.Listed{Item: l.Item.Code, OnHand: l.OnHand})
	}
	shelf := newShelfRows(d, tab.title, taken.On)
	for _, row := range f.rows {
		c, faults := shelf.check(valuesOf(form.columns, row))
		f.faults = append(f.faults, faults...)
		if c != nil {
			taken.Counted = append(taken.Counted, *c)
		}
	}
	f.faults = append(f.faults, shelf.forgotten()...)
	f.faults = append(f.faults, wholeCount(taken, tab.title, len(f.faults) > 0)...)
	if len(f.faults) > 0 {
		return inventory.Stocktake{}, inRowOrder(f.faults), nil
	}
	return taken, nil, nil
}

// wholeCount tells what is wrong with a count beyond its rows.
func wholeCount(s inventory.Stocktake, tab string, faulty bool) (faults []book.Fault) {
	if !s.On.IsZero() && s.On < s.WrittenOn {
		faults = append(faults, book.Fault{Table: tab, Column: reports.CountedOnField, Problem: "before the sheet was written", Found: s.On.String(), Expected: s.WrittenOn.String() + " or later"})
	}
	if !faulty && len(s.Counted) == 0 {
		faults = append(faults, book.Fault{Table: tab, Column: reports.FoundColumn, Problem: "nothing was counted", Expected: "what was found, 0 where there was none"})
	}
	return faults
}

// toCount is what the workbook was written for.
func (b *Book) toCount() (d reports.CountDue, faults []book.Fault, err error) {
	rows, faults, err := b.recall(countMemory, toCountColumns)
	if err != nil || len(faults) > 0 {
		return d, faults, err
	}
	for i, row := range rows {
		v := valuesOf(toCountColumns, row)
		head := reports.CountDue{Workshop: v.text("workshop"), WrittenOn: v.date("written_on")}
		if i == 0 {
			d = head
		}
		if head.Workshop != d.Workshop || head.WrittenOn != d.WrittenOn || !v.rememberedBy(&d) {
			return d, notAsWritten(countMemory, row.Row), nil
		}
	}
	check := checkOfCount(d)
	for _, row := range rows {
		if v := valuesOf(toCountColumns, row); v.text("check") != check {
			return d, notAsWritten(countMemory, row.Row), nil
		}
	}
	if len(d.Lines) == 0 {
		return d, notAsWritten(countMemory, 0), nil
	}
	return d, nil, nil
}

// rememberedBy adds the item or container of a row to what was to be counted;
// false: it is neither.
func (v values) rememberedBy(d *reports.CountDue) bool {
	if code := v.text("container"); code != "" {
		tare, known := v.of("tare").(float64)
		d.Containers = append(d.Containers, inventory.Container{Code: code, Item: v.text("item"), TareG: tare})
		return known
	}
	density, known := v.of("density").(float64)
	item := inventory.Item{Code: v.text("item"), Measure: inventory.Measure(v.text("unit")), DensityKgM3: density}
	there, masked := unmask(*d, item.Code, v.text("ledger"))
	d.Lines = append(d.Lines, reports.CountLine{Item: item, OnHand: there})
	return known && masked && item.Code != "" && item.Measure != ""
}
