package db_test

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"circlip/db"
	"circlip/inventory"
)

// The model of orders, kits and lots that go on under another name.

type modelOrder struct {
	code, sheet, supplier string
	on                    inventory.Date
	lines                 []inventory.OrderLine
}

type modelInspection struct {
	db.Extend
	newLot string
}

func (m *model) order(code string) *modelOrder {
	for _, o := range m.orders {
		if o.code == code {
			return o
		}
	}
	return nil
}

func (o *modelOrder) line(item string) *inventory.OrderLine {
	for i := range o.lines {
		if o.lines[i].Item == item {
			return &o.lines[i]
		}
	}
	return nil
}

func (m *model) place(a db.Place, done *db.Done) *refused {
	for _, o := range m.orders {
		if a.Sheet != "" && o.sheet == a.Sheet {
			return &refused{kind: "conflict", order: o.code}
		}
	}
	if m.order(a.Order) != nil {
		return &refused{kind: "conflict", order: a.Order}
	}
	if !slices.Contains(m.suppliers, a.Supplier) {
		return &refused{kind: "not found", order: a.Order}
	}
	o := &modelOrder{code: a.Order, sheet: a.Sheet, supplier: a.Supplier, on: a.On}
	for _, l := range a.Lines {
		if no := m.unknown(l.Item, ""); no != nil {
			return no
		}
		o.lines = append(o.lines, inventory.OrderLine{Order: a.Order, Item: l.Item, Supplier: a.Supplier, Packs: l.Packs,
			PackQty: l.PackQty, Price: l.Price, PlacedOn: a.On, DueOn: l.Due})
	}
	m.orders = append(m.orders, o)
	done.Order = a.Order
	return nil
}

func (m *model) deliver(a db.Deliver, done *db.Done) *refused {
	o := m.order(a.Order)
	if o == nil {
		return &refused{kind: "not found", order: a.Order}
	}
	for _, l := range a.Lines {
		ordered := o.line(l.Item)
		switch {
		case ordered == nil:
			return &refused{kind: "not found", order: a.Order, item: l.Item}
		case l.Packs > 0 && ordered.ClosedOn != 0, l.Qty > inventory.Quantity(l.Packs)*ordered.PackQty:
			return &refused{kind: "conflict", order: a.Order, item: l.Item}
		}
	}
	if a.On < o.on {
		return &refused{kind: "conflict", order: a.Order}
	}
	lines := slices.Clone(a.Lines)
	slices.SortStableFunc(lines, func(x, y db.DeliverLine) int {
		return cmp.Or(cmp.Compare(x.Item, y.Item), cmp.Compare(x.Lot, y.Lot))
	})
	for _, l := range lines {
		if l.Packs == 0 {
			continue
		}
		if no := m.bring(o, l, a.On, done); no != nil {
			return no
		}
	}
	if a.Closed && !o.giveUp(lines, a.On) && len(done.Moved) == 0 {
		return &refused{kind: "conflict", order: a.Order}
	}
	return nil
}

// bring puts one line of a delivery on the shelf.
func (m *model) bring(o *modelOrder, l db.DeliverLine, on inventory.Date, done *db.Done) *refused {
	lot := m.find(l.Item, l.Lot)
	switch {
	case l.Lot == "":
		lot = m.lotCalled(l.Item, o.code, on, l.Expires, l.UnitCost)
	case lot == nil:
		lot = m.newLot(l.Item, l.Lot, on, l.Expires, l.UnitCost)
	case lot.expires != l.Expires || lot.cost != l.UnitCost:
		return &refused{kind: "conflict", order: o.code, item: l.Item, lot: l.Lot}
	}
	lot.move(inventory.FromOrder, inventory.Shelf, o.code, l.Qty, on, 0, done)
	last := &lot.moved[len(lot.moved)-1]
	last.order, last.packs = o.code, l.Packs
	ordered := o.line(l.Item)
	ordered.ReceivedPacks += l.Packs
	ordered.ReceivedOn = max(ordered.ReceivedOn, on)
	return nil
}

// giveUp closes what is missing of the lines, or of the order where there are
// none, and reports whether anything was.
func (o *modelOrder) giveUp(lines []db.DeliverLine, on inventory.Date) (any bool) {
	for i := range o.lines {
		l := &o.lines[i]
		named := len(lines) == 0 || slices.ContainsFunc(lines, func(d db.DeliverLine) bool { return d.Item == l.Item })
		if named && l.ClosedOn == 0 && l.ReceivedPacks < l.Packs {
			l.ClosedOn, any = on, true
		}
	}
	return any
}

// takeBack undoes what a delivery did to its order; its movement is reversed by
// now.
func (m *model) takeBack(wrong modelMovement) {
	l := m.order(wrong.order).line(wrong.Item)
	l.ClosedOn = 0
	l.ReceivedPacks -= wrong.packs
	l.ReceivedOn = 0
	for _, lot := range m.shelf(wrong.Item, "") {
		for _, moved := range lot.moved {
			undone := slices.ContainsFunc(lot.moved, func(u modelMovement) bool { return u.reverses == moved.Seq })
			if moved.order == wrong.order && !undone {
				l.ReceivedOn = max(l.ReceivedOn, moved.HappenedOn)
			}
		}
	}
}

// lotCalled is the first of base, base-2, … that is new or alike.
func (m *model) lotCalled(item, base string, received, expires inventory.Date, cost inventory.UnitCost) *modelLot {
	for n := 1; ; n++ {
		lot := m.find(item, numbered(base, n))
		if lot == nil {
			return m.newLot(item, numbered(base, n), received, expires, cost)
		}
		if lot.expires == expires && lot.cost == cost {
			return lot
		}
	}
}

func numbered(base string, n int) string {
	if n == 1 {
		return base
	}
	return fmt.Sprintf("%s-%d", base, n)
}

func (m *model) openKit(a db.OpenKit, done *db.Done) *refused {
	if no := m.unknown(a.Kit, ""); no != nil {
		return no
	}
	for _, p := range a.Parts {
		switch held := m.kits[a.Kit][p.Item]; {
		case held == 0:
			return &refused{kind: "not found", item: p.Item}
		case p.Qty > held:
			return &refused{kind: "conflict", item: p.Item}
		}
	}
	lacking := a.Qty
	var opened []*modelLot
	var kits []inventory.Quantity
	for _, l := range m.shelf(a.Kit, a.Lot) {
		part := min(l.free(), lacking)
		if part == 0 || a.Lot == "" && l.expires != 0 && l.expires <= a.On {
			continue
		}
		l.move(inventory.Shelf, inventory.OpenedKit, a.Kit, part, a.On, 0, done)
		opened, kits = append(opened, l), append(kits, part)
		lacking -= part
	}
	if lacking > 0 {
		return m.short(db.Line{Item: a.Kit, Lot: a.Lot, Qty: a.Qty}, "", a.Qty-lacking)
	}
	for i, kit := range opened {
		for _, p := range a.Parts {
			lot := m.lotCalled(p.Item, kit.code, kit.received, sooner(kit.expires, p.Expires), p.UnitCost)
			lot.move(inventory.OpenedKit, inventory.Shelf, a.Kit, p.Qty*kits[i], a.On, 0, done)
		}
	}
	return nil
}

// sooner is the earlier of two days, of which zero is never.
func sooner(a, b inventory.Date) inventory.Date {
	if a == 0 || b == 0 {
		return max(a, b)
	}
	return min(a, b)
}

// was reports whether a lot became what it is in such a way, or one before it.
func (m *model) was(l *modelLot, became string) bool {
	for ; l != nil && l.origin != ""; l = m.find(l.item, l.origin) {
		if l.became == became {
			return true
		}
	}
	return false
}

// goOn takes a quantity on under the first new name.
func (m *model) goOn(l *modelLot, added, became string, expires inventory.Date, qty inventory.Quantity, on inventory.Date, done *db.Done) *modelLot {
	n := 1
	for m.find(l.item, numbered(l.code+added, n)) != nil {
		n++
	}
	next := m.newLot(l.item, numbered(l.code+added, n), l.received, expires, l.cost)
	next.origin, next.became = l.code, became
	l.move(inventory.Shelf, inventory.Relotted, became, qty, on, 0, done)
	next.move(inventory.Relotted, inventory.Shelf, became, qty, on, 0, done)
	return next
}

func (m *model) extend(a db.Extend, done *db.Done) *refused {
	if no := m.unknown(a.Item, a.Lot); no != nil {
		return no
	}
	l := m.find(a.Item, a.Lot)
	if m.was(l, "inspected") || l.onHand == 0 || l.expires == 0 || a.Until <= l.expires {
		return &refused{kind: "conflict", item: a.Item, lot: a.Lot}
	}
	jobs := slices.SortedFunc(maps.Keys(l.kept), func(x, y string) int { return cmp.Compare(l.lastKept[x], l.lastKept[y]) })
	kept := maps.Clone(l.kept)
	for _, job := range jobs {
		l.keep(job, -kept[job], done)
	}
	next := m.goOn(l, " inspected", "inspected", a.Until, l.onHand, a.On, done)
	for _, job := range jobs {
		next.keep(job, kept[job], done)
	}
	m.inspections = append(m.inspections, modelInspection{a, next.code})
	return nil
}

func (m *model) openContainer(a db.OpenContainer, done *db.Done) *refused {
	if no := m.unknown(a.Item, a.Lot); no != nil {
		return no
	}
	l := m.find(a.Item, a.Lot)
	if m.was(l, "opened") {
		return &refused{kind: "conflict", item: a.Item, lot: a.Lot}
	}
	if l.free() < a.Qty {
		return &refused{kind: "short", item: a.Item, lot: a.Lot, found: l.free(), expected: a.Qty}
	}
	m.goOn(l, " opened "+a.On.String(), "opened", sooner(l.expires, a.Until), a.Qty, a.On, done)
	return nil
}

// written is a date as the rows of wholeLedgerSQL have it.
func written(d inventory.Date) string {
	if d == 0 {
		return ""
	}
	return d.String()
}

// delivered are the movements that brought packs of an order.
func (m *model) delivered() (came []modelMovement) {
	for _, l := range m.lots {
		for _, moved := range l.moved {
			if moved.order != "" {
				came = append(came, moved)
			}
		}
	}
	return came
}

// orderRows are the model's part of what wholeLedgerSQL tells of orders.
func (m *model) orderRows() (rows []string) {
	for _, o := range m.orders {
		if o.sheet != "" {
			rows = append(rows, fmt.Sprintf("sheet %s is order %s", o.sheet, o.code))
		}
		for _, l := range o.lines {
			rows = append(rows, fmt.Sprintf("order %s of %s from %s on %s: %d × %d at %d due %s, %d came by %s, closed %s", o.code, l.Item,
				o.supplier, o.on, l.Packs, l.PackQty, l.Price, written(l.DueOn), l.ReceivedPacks, written(l.ReceivedOn), written(l.ClosedOn)))
		}
	}
	for _, moved := range m.delivered() {
		rows = append(rows, fmt.Sprintf("%s/%s #%d brought %d packs of %s", moved.Item, moved.Lot, moved.Seq, moved.packs, moved.order))
	}
	for _, i := range m.inspections {
		rows = append(rows, fmt.Sprintf("%s/%s inspected by %s on %s (%s), goes on as %s until %s", i.Item, i.Lot, i.By, i.On, i.Note, i.newLot, i.Until))
	}
	return rows
}

// countOrders counts what the kinds of acts and their ends do not tell.
func (r *ledgerRun) countOrders(act db.Act, outcome string, done db.Done) {
	if outcome != "done" {
		return
	}
	switch a := act.(type) {
	case db.Extend:
		if len(done.Kept) > 0 {
			r.reach["inspected with set-asides"]++
		}
	case db.Reverse:
		if l := r.model.find(a.Item, a.Lot); l.moved[a.Seq-1].order != "" {
			r.reach["packs taken back"]++
		}
	case db.Deliver:
		if slices.ContainsFunc(r.model.order(a.Order).lines, func(l inventory.OrderLine) bool { return l.ClosedOn == a.On }) {
			r.reach["line closed"]++
		}
	}
	for _, moved := range done.Moved {
		if l := len(moved.Lot); moved.Seq == 1 && l > 2 && moved.Lot[l-2] == '-' && moved.Lot[l-1] < '9' {
			r.reach["one more lot of a name"]++
		}
	}
}
