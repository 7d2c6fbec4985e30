package workbook

import (
	"strconv"

	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/reports"
)

// The columns of the hidden sheet that a delivery workbook carries, in the
// order of due.
var dueColumns = []book.Column{
	{Name: "check", Kind: book.Code, Required: true},
	{Name: "order", Kind: book.Code, Required: true},
	{Name: "workshop", Kind: book.Text},
	{Name: "supplier", Kind: book.Code, Required: true},
	{Name: "currency", Kind: book.Currency, Required: true},
	{Name: "item", Kind: book.Code, Required: true},
	{Name: "unit", Kind: book.Choice, Required: true, OneOf: measureNames},
	{Name: "packs", Kind: book.Integer, Required: true, Rule: "gte=0,lte=1000000"},
	{Name: "outstanding", Kind: book.Integer, Required: true, Rule: "gte=0,lte=1000000"},
	{Name: "pack", Kind: book.Integer, Required: true, Rule: "gte=1,lte=10000000000"},
	{Name: "price", Kind: book.Integer, Required: true, Rule: "gte=0,lte=100000000000000"},
}

// deliverySlip is a delivery as it comes back.
var deliverySlip = slip{
	fields: []book.Column{
		{Name: nameOf(reports.CameOnField), Kind: book.Date, Required: true, Help: "the day on which it came, YYYY-MM-DD"},
		{Name: nameOf(reports.RestField), Kind: book.YesNo, Required: true, Help: "yes or no"},
	},
	columns: []book.Column{
		{Name: "our code", Kind: book.Code, Required: true},
		{Name: nameOf(reports.CameColumn), Kind: book.Integer, Rule: "gte=0,lte=1000000"},
		{Name: "item", Kind: book.Text},
		{Name: "pack", Kind: book.Decimal},
		{Name: "packs ordered", Kind: book.Integer},
		{Name: "packs outstanding", Kind: book.Integer},
		{Name: nameOf(reports.ChargedColumn), Kind: book.Money},
		{Name: "lot", Kind: book.Code},
		{Name: "cure mark", Kind: book.CureMark},
		{Name: "expires on", Kind: book.Date},
	},
	spare: []string{"item", "pack", "packs ordered", "packs outstanding"},
}

// ReadDelivery reads a delivery sheet back after a person filled it. With any
// fault nothing is to be received. Items of which nothing came are not among
// its lines; a price charged as it was ordered at is nil. An error means that
// the file could not be read or is no workbook (it then wraps
// inventory.ErrInvalid).
func ReadDelivery(path string) (inventory.Delivery, []book.Fault, error) {
	b, err := OpenBook(path)
	if err != nil {
		return inventory.Delivery{}, nil, err
	}
	defer b.Close()
	return b.delivery()
}

func (b *Book) delivery() (inventory.Delivery, []book.Fault, error) {
	d, faults, err := b.due()
	if err != nil || len(faults) > 0 {
		return inventory.Delivery{}, faults, err
	}
	name := d.Sheet().Name
	tab, known := b.tab(name)
	if !known || tab.hidden {
		return inventory.Delivery{}, []book.Fault{{Table: name, Problem: "the sheet is missing or hidden", Expected: "the delivery under this name"}}, nil
	}
	f, err := b.fill(tab, deliverySlip, 10*len(d.Lines)+100, &book.Context{Currency: d.Currency})
	if err != nil {
		return inventory.Delivery{}, nil, err
	}
	came := inventory.Delivery{Workshop: d.Workshop, Order: d.Order, Supplier: d.Supplier.Code, Due: map[string]int{}}
	for _, l := range d.Lines {
		came.Due[l.Item.Code] = l.Outstanding
	}
	came.On, _ = f.values[nameOf(reports.CameOnField)].(inventory.Date)
	came.Closed, _ = f.values[nameOf(reports.RestField)].(bool)
	parcel := newParcel(d, tab.title)
	for _, row := range f.rows {
		line, faults := parcel.check(valuesOf(deliverySlip.columns, row))
		f.faults = append(f.faults, faults...)
		if line.Packs > 0 {
			came.Lines = append(came.Lines, line)
		}
	}
	if len(f.faults) == 0 && len(came.Lines) == 0 && !came.Closed {
		f.faults = []book.Fault{{Table: tab.title, Column: reports.CameColumn, Problem: "nothing came", Expected: "packs that came, or yes behind " + reports.RestField}}
	}
	if len(f.faults) > 0 {
		return inventory.Delivery{}, inRowOrder(f.faults), nil
	}
	return came, nil, nil
}

// due is the order that the workbook was written for.
func (b *Book) due() (d reports.DeliveryDue, faults []book.Fault, err error) {
	rows, faults, err := b.recall(deliveryMemory, dueColumns)
	if err != nil || len(faults) > 0 {
		return d, faults, err
	}
	if len(rows) == 0 {
		return d, notAsWritten(deliveryMemory, 0), nil
	}
	for i, row := range rows {
		v := valuesOf(dueColumns, row)
		if i == 0 {
			d = v.dueHead()
		}
		d.Lines = append(d.Lines, v.dueLine())
	}
	check := checkOf(d)
	for _, row := range rows {
		if v := valuesOf(dueColumns, row); v.text("check") != check || !sameDue(v.dueHead(), d) {
			return d, notAsWritten(deliveryMemory, row.Row), nil
		}
	}
	return d, nil, nil
}

// dueHead is what a line of the hidden sheet says of its order.
func (v values) dueHead() reports.DeliveryDue {
	currency, _ := inventory.ParseCurrency(v.text("currency")) // the book has checked it
	return reports.DeliveryDue{Order: v.text("order"), Workshop: v.text("workshop"), Supplier: inventory.Supplier{Code: v.text("supplier")}, Currency: currency}
}

// dueLine is the line itself.
func (v values) dueLine() reports.LineDue {
	return reports.LineDue{
		Item:  inventory.Item{Code: v.text("item"), Measure: inventory.Measure(v.text("unit"))},
		Packs: int(v.whole("packs")), Outstanding: int(v.whole("outstanding")),
		PackQty: inventory.Quantity(v.whole("pack")), Price: inventory.Money(v.whole("price")),
	}
}

// sameDue reports whether two lines say the same of their order.
func sameDue(a, b reports.DeliveryDue) bool {
	a.Lines, b.Lines = nil, nil
	return checkOf(a) == checkOf(b)
}

// parcel is what is due while its sheet is read.
type parcel struct {
	reports.DeliveryDue
	tab  string
	at   map[string]int     // the lines by the codes on the sheet
	seen map[[2]string]bool // items with their lots
}

func newParcel(d reports.DeliveryDue, tab string) parcel {
	p := parcel{d, tab, map[string]int{}, map[[2]string]bool{}}
	for i, l := range d.Lines {
		p.at[reports.Plain(l.Item.Code)] = i
	}
	return p
}

// check reads what came of one item and what is wrong with its row. An item may
// stand in two rows where its lots differ.
func (p parcel) check(v values) (line inventory.DeliveredLine, faults []book.Fault) {
	code := v.text("our code")
	tell := func(column, problem, found, expected string) {
		faults = append(faults, book.Fault{Table: p.tab, Row: v.row, Column: shown(column), Problem: problem, Found: found, Expected: expected})
	}
	at, known := p.at[code]
	if !known {
		tell("our code", "not an item of this order", code, "one of the items ordered; what else came is counted in by hand")
		return line, faults
	}
	of, m := p.Lines[at], p.Lines[at].Item.Measure
	line = inventory.DeliveredLine{Item: of.Item.Code, Packs: int(v.whole(nameOf(reports.CameColumn))), Lot: v.text("lot"), Expires: v.date("expires on")}
	if p.seen[[2]string{code, line.Lot}] {
		tell("our code", "the item stands twice", code, "each item once, or each of its lots once")
	}
	p.seen[[2]string{code, line.Lot}] = true
	if mark := v.text("cure mark"); mark != "" {
		line.Cure, _ = inventory.ParseCure(mark) // the book has checked it
	}
	if price, typed := v.of(nameOf(reports.ChargedColumn)).(inventory.Money); typed && price != of.Price {
		line.Price = &price
	}
	if pack, typed := v.of("pack").(float64); typed && !sameNumber(pack, m.Number(of.PackQty)) {
		tell("pack", "the pack was changed", v.found("pack"), m.Format(of.PackQty)+"; other packs are counted in by hand")
	}
	for _, figure := range []struct {
		column string
		want   int
	}{{"packs ordered", of.Packs}, {"packs outstanding", of.Outstanding}} {
		if found, typed := v.of(figure.column).(int64); typed && found != int64(figure.want) {
			tell(figure.column, "the figure was changed", v.found(figure.column), strconv.Itoa(figure.want))
		}
	}
	if tooMuch(line.Packs, of.PackQty, max(of.Price, charged(line))) {
		tell(nameOf(reports.CameColumn), tooMuchProblem, strconv.Itoa(line.Packs), "fewer")
	}
	return line, faults
}

// charged is the price on the invoice, nothing where it is as ordered.
func charged(l inventory.DeliveredLine) inventory.Money {
	if l.Price == nil {
		return 0
	}
	return *l.Price
}
