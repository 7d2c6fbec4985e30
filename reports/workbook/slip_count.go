package workbook

import (
	"fmt"
	"math"

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
	{Name: "item", Kind: book.Code, Required: true},
	{Name: "unit", Kind: book.Choice, Required: true, OneOf: measureNames},
	{Name: "density", Kind: book.Decimal, Required: true, Rule: "gte=0,lte=25000"},
	{Name: "ledger", Kind: book.Code, Required: true},
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
			book.Column{Name: nameOf(reports.GrossColumn), Kind: book.Decimal, Rule: "gte=0,lte=10000000"},
			book.Column{Name: nameOf(reports.TareColumn), Kind: book.Decimal, Rule: "gte=0,lte=10000000"},
			book.Column{Name: nameOf(reports.TemperatureColumn), Kind: book.Decimal, Rule: "gte=-50,lte=100"})
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
	shelf := newShelfRows(d, tab.title)
	for _, row := range f.rows {
		c, faults := shelf.check(valuesOf(form.columns, row))
		f.faults = append(f.faults, faults...)
		if c != nil {
			taken.Counted = append(taken.Counted, *c)
		}
	}
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
		density, _ := v.of("density").(float64)
		item := inventory.Item{Code: v.text("item"), Measure: inventory.Measure(v.text("unit")), DensityKgM3: density}
		there, masked := unmask(d, item.Code, v.text("ledger"))
		if !masked || head.Workshop != d.Workshop || head.WrittenOn != d.WrittenOn {
			return d, notAsWritten(countMemory, row.Row), nil
		}
		d.Lines = append(d.Lines, reports.CountLine{Item: item, OnHand: there})
	}
	check := checkOfCount(d)
	for _, row := range rows {
		if v := valuesOf(toCountColumns, row); v.text("check") != check {
			return d, notAsWritten(countMemory, row.Row), nil
		}
	}
	if len(rows) == 0 {
		return d, notAsWritten(countMemory, 0), nil
	}
	return d, nil, nil
}

// shelfRows is what is to be counted while its sheet is read.
type shelfRows struct {
	tab  string
	at   map[string]inventory.Item // by the codes on the sheet
	seen map[string]bool           // pieces that were counted
}

func newShelfRows(d reports.CountDue, tab string) shelfRows {
	s := shelfRows{tab, map[string]inventory.Item{}, map[string]bool{}}
	for _, l := range d.Lines {
		s.at[reports.Plain(l.Item.Code)] = l.Item
	}
	return s
}

// teller gathers what is wrong with a row.
type teller struct {
	tab    string
	row    int
	faults []book.Fault
}

func (t *teller) tell(column, problem, found, expected string) {
	t.faults = append(t.faults, book.Fault{Table: t.tab, Row: t.row, Column: shown(nameOf(column)), Problem: problem, Found: found, Expected: expected})
}

// check reads what was found of an item or of one container, nil where the row
// is blank, and what is wrong with it. Pieces stand in one row, fluids and
// grease in as many as they have containers.
func (s shelfRows) check(v values) (*inventory.Counted, []book.Fault) {
	t, code := &teller{tab: s.tab, row: v.row}, v.text("our code")
	item, known := s.at[code]
	if !known {
		t.tell("our code", "not an item of this count", code, "one of the items listed; what else was found is counted by itself")
		return nil, t.faults
	}
	if unit := v.text("unit"); unit != "" && unit != string(item.Measure) {
		t.tell("unit", "the unit was changed", unit, string(item.Measure))
	}
	counted := v.of(nameOf(reports.FoundColumn)) != nil
	weighed := v.of(nameOf(reports.GrossColumn)) != nil || v.of(nameOf(reports.TareColumn)) != nil || v.of(nameOf(reports.TemperatureColumn)) != nil
	c := &inventory.Counted{Item: item.Code}
	switch {
	case counted && weighed:
		t.tell(reports.FoundColumn, "counted and weighed", v.found(nameOf(reports.FoundColumn)), "one of them; another container has its own row")
	case counted:
		c.Qty = t.found(v, item)
	case weighed:
		c.Weighed = t.weighing(v, item)
		if c.Weighed != nil {
			c.Qty = t.content(*c.Weighed, item)
		}
	default:
		return nil, t.faults
	}
	if s.seen[item.Code] && item.Measure == inventory.Each {
		t.tell("our code", "the item stands twice", code, "each item once; add up what lies in several places")
	}
	s.seen[item.Code] = true
	return c, t.faults
}

// found is the number that was counted, in steps of the item's measure.
func (t *teller) found(v values, item inventory.Item) inventory.Quantity {
	number, _ := v.of(nameOf(reports.FoundColumn)).(float64)
	steps := number * float64(item.Measure.Steps())
	switch whole := math.Round(steps); {
	case !sameNumber(steps, whole):
		decimals := "a whole number"
		if item.Measure.Steps() > 1 {
			decimals = "one decimal at most"
		}
		t.tell(reports.FoundColumn, "too many decimals", v.found(nameOf(reports.FoundColumn)), decimals)
	case whole > float64(inventory.MaxQuantity):
		t.tell(reports.FoundColumn, "more than a shelf can hold", v.found(nameOf(reports.FoundColumn)), "at most "+item.Measure.Format(inventory.MaxQuantity))
	default:
		return inventory.Quantity(whole)
	}
	return 0
}

// weighing is a container on the scale, nil where its row is not whole.
func (t *teller) weighing(v values, item inventory.Item) *inventory.Weighing {
	gross, hasGross := v.of(nameOf(reports.GrossColumn)).(float64)
	tare, hasTare := v.of(nameOf(reports.TareColumn)).(float64)
	w := &inventory.Weighing{GrossG: gross, TareG: tare}
	if temp, typed := v.of(nameOf(reports.TemperatureColumn)).(float64); typed {
		w.TempC = &temp
	}
	switch {
	case item.Measure == inventory.Each:
		t.tell(reports.GrossColumn, "a weight of pieces", v.found(nameOf(reports.GrossColumn)), "the number of pieces under "+reports.FoundColumn)
	case !reports.Weighs(item):
		t.tell(reports.GrossColumn, "a weight of an item without a density", v.found(nameOf(reports.GrossColumn)), "what is there in ml under "+reports.FoundColumn)
	case !hasGross:
		t.tell(reports.GrossColumn, "blank", "", "the weight of the container with what it holds")
	case !hasTare:
		t.tell(reports.TareColumn, "blank", "", "the weight of the empty container, 0 where there is none")
	case gross < tare:
		t.tell(reports.GrossColumn, "less than the empty container", fmt.Sprint(gross), fmt.Sprintf("%v or more", tare))
	default:
		return w
	}
	return nil
}

// content is what a container held.
func (t *teller) content(w inventory.Weighing, item inventory.Item) inventory.Quantity {
	q, err := w.Quantity(item.Measure, item.DensityKgM3)
	if err != nil {
		t.tell(reports.GrossColumn, "more than a shelf can hold", fmt.Sprint(w.GrossG), "at most "+item.Measure.Format(inventory.MaxQuantity)+" "+string(item.Measure))
	}
	return q
}
