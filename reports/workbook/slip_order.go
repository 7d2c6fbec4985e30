package workbook

import (
	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/reports"
)

// The columns of the hidden sheet that a reorder workbook carries, in the order
// of proposals: of an order the same in each of its lines.
var proposalColumns = []book.Column{
	{Name: "sheet", Kind: book.Text, Required: true},
	{Name: "proposal", Kind: book.Code, Required: true},
	{Name: "orders", Kind: book.Integer, Required: true, Rule: "gte=1,lte=10000"},
	{Name: "workshop", Kind: book.Text},
	{Name: "as_of", Kind: book.Date, Required: true},
	{Name: "supplier", Kind: book.Code, Required: true},
	{Name: "place_by", Kind: book.Date, Required: true},
	{Name: "earlier", Kind: book.Integer, Required: true, Rule: "gte=0,lte=1000000000"},
	{Name: "currency", Kind: book.Currency, Required: true},
	{Name: "item", Kind: book.Code, Required: true},
	{Name: "unit", Kind: book.Choice, Required: true, OneOf: measureNames},
	{Name: "packs", Kind: book.Integer, Required: true, Rule: "gte=0,lte=1000000"},
	{Name: "pack", Kind: book.Integer, Required: true, Rule: "gte=1,lte=10000000000"},
	{Name: "price", Kind: book.Integer, Required: true, Rule: "gte=0,lte=100000000000000"},
	{Name: "position", Kind: book.Integer, Required: true},
}

var measureNames = []string{string(inventory.Each), string(inventory.Millilitre), string(inventory.Gram)}

// orderSlip is a supplier's order as it comes back. Prices and packs are not
// for a person to change: they are there to tell that nobody did, or that rows
// were sorted in part.
var orderSlip = slip{
	fields: []book.Column{{Name: nameOf(reports.NoteField), Kind: book.Text}},
	columns: []book.Column{
		{Name: "our code", Kind: book.Code, Required: true},
		{Name: "packs", Kind: book.Integer, Rule: "gte=0,lte=1000000"},
		{Name: "your code", Kind: book.Text},
		{Name: "item", Kind: book.Text},
		{Name: "pack", Kind: book.Decimal},
		{Name: "price", Kind: book.Money},
		{Name: "quantity", Kind: book.Decimal},
		{Name: "line total", Kind: book.Money},
		{Name: "note", Kind: book.Text},
	},
	derived: []string{"quantity", "line total"},
	spare:   []string{"your code", "item", "quantity", "line total"},
	totals:  []string{"Goods", "Carriage", "Total"},
}

// proposed is one order as its workbook remembers it.
type proposed struct {
	inventory.Proposal
	tab      string
	currency inventory.Currency
	measures []inventory.Measure // of the lines
	at       map[string]int      // the lines by the codes on the sheet
}

// ReadAnswers reads a reorder workbook back after a person looked it over, in
// any spreadsheet program: what is to be ordered, an answer a sheet. Lines that
// were struck are not in the answers. With any fault nothing is to be ordered;
// faults name sheet, row and column. An error means that the file could not be
// read or is no workbook (it then wraps inventory.ErrInvalid).
func ReadAnswers(path string) ([]inventory.Answer, []book.Fault, error) {
	b, err := OpenBook(path)
	if err != nil {
		return nil, nil, err
	}
	defer b.Close()
	return b.answers()
}

func (b *Book) answers() (answers []inventory.Answer, faults []book.Fault, err error) {
	orders, faults, err := b.proposals()
	if err != nil || len(faults) > 0 {
		return nil, faults, err
	}
	for _, o := range orders {
		answer, found, err := b.answer(o)
		if err != nil {
			return nil, nil, err
		}
		answers, faults = append(answers, answer), append(faults, found...)
	}
	if len(faults) > 0 {
		return nil, faults, nil
	}
	return answers, nil, nil
}

// tab finds a sheet by the name on its tab.
func (b *Book) tab(title string) (sheetPart, bool) {
	for _, s := range b.sheets {
		if s.name == tableName(title) {
			return s, true
		}
	}
	return sheetPart{}, false
}

// written is what a workbook is that carries a hidden sheet of the name.
var written = map[string]string{ordersMemory: "a reorder workbook", deliveryMemory: "a delivery sheet", countMemory: "a count sheet"}

// recall reads the hidden sheet of what a workbook was written from.
func (b *Book) recall(name string, columns []book.Column) ([]book.Record, []book.Fault, error) {
	tab, known := b.tab(name)
	for other, kind := range written {
		if _, has := b.tab(other); has && !known {
			return nil, []book.Fault{{Table: other, Problem: "found " + kind, Expected: written[name]}}, nil
		}
	}
	if !known {
		return nil, []book.Fault{{Table: name, Problem: "the hidden sheet is missing", Expected: written[name] + " as it was written, with all its sheets"}}, nil
	}
	f, err := b.fill(tab, slip{columns: columns}, mostRemembered, &book.Context{})
	return f.rows, f.faults, err
}

// proposals are the orders of the workbook as they were proposed. Their names
// follow from what they say, so that a hidden sheet that was changed is told.
func (b *Book) proposals() ([]proposed, []book.Fault, error) {
	rows, faults, err := b.recall(ordersMemory, proposalColumns)
	if err != nil || len(faults) > 0 {
		return nil, faults, err
	}
	var orders []proposed
	ids := map[string]int{}
	for _, row := range rows {
		v := valuesOf(proposalColumns, row)
		id, order := v.text("proposal"), v.order()
		at, known := ids[id]
		if !known {
			at, ids[id] = len(orders), len(orders)
			orders = append(orders, order)
		}
		if !sameOrder(order, orders[at]) {
			return nil, notAsWritten(ordersMemory, row.Row), nil
		}
		v.addLine(&orders[at])
	}
	for id, at := range ids {
		if orders[at].ID() != id {
			return nil, notAsWritten(ordersMemory, 0), nil
		}
	}
	if len(rows) > 0 && int64(len(orders)) != valuesOf(proposalColumns, rows[0]).whole("orders") {
		return nil, notAsWritten(ordersMemory, 0), nil
	}
	return orders, nil, nil
}

// notAsWritten is the fault of a hidden sheet that was changed.
func notAsWritten(memory string, row int) []book.Fault {
	return []book.Fault{{Table: memory, Row: row, Problem: "the hidden sheet was changed", Expected: "it as it was written; write the workbook again"}}
}

// sameOrder reports whether two lines say the same of their order.
func sameOrder(a, b proposed) bool {
	a.Lines, b.Lines = nil, nil
	return a.ID() == b.ID() && a.tab == b.tab && a.currency == b.currency
}

// order is what a line of the hidden sheet says of its order.
func (v values) order() proposed {
	currency, _ := inventory.ParseCurrency(v.text("currency")) // the book has checked it
	return proposed{tab: v.text("sheet"), currency: currency, at: map[string]int{}, Proposal: inventory.Proposal{
		Workshop: v.text("workshop"), AsOf: v.date("as_of"), Supplier: v.text("supplier"),
		PlaceBy: v.date("place_by"), Earlier: int(v.whole("earlier")),
	}}
}

func (v values) addLine(o *proposed) {
	o.at[reports.Plain(v.text("item"))] = len(o.Lines)
	o.measures = append(o.measures, inventory.Measure(v.text("unit")))
	o.Lines = append(o.Lines, inventory.ProposedLine{
		Item: v.text("item"), Packs: int(v.whole("packs")), PackQty: inventory.Quantity(v.whole("pack")),
		Price: inventory.Money(v.whole("price")), Position: inventory.Quantity(v.whole("position")),
	})
}

// answer reads the sheet of one order.
func (b *Book) answer(o proposed) (inventory.Answer, []book.Fault, error) {
	tab, known := b.tab(o.tab)
	switch {
	case !known:
		return inventory.Answer{}, []book.Fault{{Table: o.tab, Problem: "the sheet is missing", Expected: "the order to " + o.Supplier + " under this name; to order nothing from it, strike its lines"}}, nil
	case tab.hidden:
		return inventory.Answer{}, []book.Fault{{Table: o.tab, Problem: "the sheet is hidden", Expected: "a sheet that can be seen; show it, and strike its lines if nothing is to be ordered"}}, nil
	}
	f, err := b.fill(tab, orderSlip, 2*len(o.Lines)+100, &book.Context{Currency: o.currency})
	if err != nil {
		return inventory.Answer{}, nil, err
	}
	answer := inventory.Answer{Proposal: o.Proposal}
	answer.Note, _ = f.values[nameOf(reports.NoteField)].(string)
	lines := map[string]inventory.AnsweredLine{}
	seen := map[string]bool{}
	for _, row := range f.rows {
		v := valuesOf(orderSlip.columns, row)
		at, faults := o.check(v, seen)
		f.faults = append(f.faults, faults...)
		if packs := int(v.whole("packs")); at >= 0 && packs > 0 {
			item := o.Lines[at].Item
			lines[item] = inventory.AnsweredLine{Item: item, Packs: packs, Note: v.text("note")}
		}
	}
	for _, l := range o.Lines { // a person may have sorted the rows
		if line, ordered := lines[l.Item]; ordered {
			answer.Lines = append(answer.Lines, line)
		}
	}
	return answer, inRowOrder(f.faults), nil
}

// check finds the line of the proposal that a row answers, -1 where there is
// none, and what is wrong with the row.
func (o proposed) check(v values, seen map[string]bool) (at int, faults []book.Fault) {
	code := v.text("our code")
	at, known := o.at[code]
	tell := func(column, problem, found, expected string) {
		faults = append(faults, book.Fault{Table: o.tab, Row: v.row, Column: shown(column), Problem: problem, Found: found, Expected: expected})
	}
	switch {
	case !known:
		tell("our code", "not an item of this order", code, o.expectedItem(code))
		return -1, faults
	case seen[code]:
		tell("our code", "the item stands twice", code, "each item once")
	}
	seen[code] = true
	line, m := o.Lines[at], o.measures[at]
	if pack, typed := v.of("pack").(float64); !typed || !sameNumber(pack, m.Number(line.PackQty)) {
		tell("pack", "the pack was changed", v.found("pack"), m.Format(line.PackQty)+"; packs come from the book's offers")
	}
	if price, typed := v.of("price").(inventory.Money); !typed || price != line.Price {
		tell("price", "the price was changed", v.money("price", o.currency), o.currency.Format(line.Price)+"; prices come from the book's offers")
	}
	if tooMuch(int(v.whole("packs")), line.PackQty, line.Price) {
		tell("packs", tooMuchProblem, v.found("packs"), "fewer")
	} else if column, now := o.followsOtherwise(v, line, m); column != "" {
		tell(column, "was typed over and does not follow from packs", now, "its formula; change packs")
	}
	return at, faults
}

// expectedItem names the order's item that is most like a code.
func (o proposed) expectedItem(code string) string {
	var items []string
	for _, l := range o.Lines {
		items = append(items, l.Item)
	}
	if near, ok := book.Nearest(code, items); ok {
		return "one of the items proposed; is it " + near + "?"
	}
	return "one of the items proposed; order others by hand"
}

// followsOtherwise finds a figure that was typed in the place of a formula and
// says something else.
func (o proposed) followsOtherwise(v values, line inventory.ProposedLine, m inventory.Measure) (column, now string) {
	packs := v.whole("packs")
	if q, typed := v.of("quantity").(float64); typed && !sameNumber(q, m.Number(line.PackQty*inventory.Quantity(packs))) {
		return "quantity", v.found("quantity")
	}
	if total, typed := v.of("line total").(inventory.Money); typed && total != line.Price*inventory.Money(packs) {
		return "line total", v.money("line total", o.currency)
	}
	return "", ""
}
